"""Every page of what people had, opened once, on the data folder of this process."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from django.test import Client
from django.urls import reverse
from PIL import Image

from remodel.board.models import PlacedPiece
from remodel.board.placed import piece_key
from remodel.board.queries import takes_of_house
from remodel.board.services import recompute
from remodel.cards.models import PrintPack
from remodel.cards.queries import cards_for
from remodel.history.models import Change
from remodel.history.services import By, undo
from remodel.house.models import House, Partition, Room
from remodel.people.services import household
from remodel.supply.models import Movement, Order, Store
from remodel.work.models import DayLog, Phase, Photo
from tests.kept.facts import facts

__all__ = ["visit"]

HOUSE_PAGES = (
    "house-detail",
    "room-list",
    "partition-list",
    "house-history",
    "house-edit",
    "house-rules",
    "house-export",
    "house-together",
    "house-cards",
    "house-marking",
    "house-packs",
    "log-list",
    "log-pick",
    "use-list",
    "price-list",
    "order-list",
    "order-new",
    "stock-list",
    "stock-csv",
)
ROOM_PAGES = (
    "room-detail",
    "room-boards",
    "room-needs",
    "room-edit",
    "room-history",
    "room-phases",
    "room-cards",
    "room-cut",
    "room-hanging",
    "room-marking",
    "room-drawings",
)
ORDER_PAGES = ("order-detail", "order-csv")
PLACED_PAGES = ("order-store", "order-receive")


def _pages(house: Any) -> Iterator[str]:
    """The addresses of one house: every room, order, day and print of it; of some slow pages the
    first alone."""
    yield from (reverse(page, args=[house.pk]) for page in HOUSE_PAGES)
    for room in Room.objects.filter(house=house):
        yield from (reverse(page, args=[room.pk]) for page in ROOM_PAGES)
        cards = cards_for(room)
        if cards is not None and cards.sheets:
            yield reverse("room-card", args=[room.pk, cards.sheets[0].key])
    for order in Order.objects.filter(house=house):
        pages = ORDER_PAGES + (PLACED_PAGES if order.state == Order.State.PLACED else ())
        yield from (reverse(page, args=[order.pk]) for page in pages)
    yield from (
        reverse("partition-detail", args=[row.pk])
        for row in Partition.objects.filter(house=house)[:1]
    )
    yield from (
        reverse("log-change", args=[row.pk]) for row in DayLog.objects.filter(room__house=house)
    )
    yield from (reverse("store-change", args=[row.pk]) for row in Store.objects.filter(house=house))
    for item in (
        Movement.objects.filter(house=house).order_by().values_list("item", flat=True).distinct()
    ):
        yield reverse("stock-item", args=[house.pk, item])
    for phase in Phase.objects.filter(room__house=house, own=True):
        yield reverse("phase-detail", args=[phase.pk])
    for pack in PrintPack.objects.filter(house=house):
        yield reverse("house-pack", args=[pack.pk])
        yield reverse("pack-check", args=[pack.code])


def _opened(client: Any) -> list[list[Any]]:
    """Each page that does not answer 200, with what it answers."""
    wrong = []
    for address in [
        "/houses",
        "/devices",
        "/who",
        *(page for house in House.objects.all() for page in _pages(house)),
    ]:
        answer = client.get(address)
        if answer.status_code != 200:
            wrong.append([address, answer.status_code])
    return wrong


def _files(client: Any) -> dict[str, list[Any]]:
    """The photos as they are opened through the product, and the packs that are kept as files."""
    photos = []
    for photo in Photo.objects.order_by("at"):
        answer = client.get(reverse("photo-image", args=[photo.pk]))
        picture = Image.open(io.BytesIO(_body(answer)))
        picture.load()
        photos.append([photo.caption, picture.format, *picture.size])
    packs = [
        _body(client.get(reverse("house-pack-file", args=[pack.pk])))[:5].decode()
        for pack in PrintPack.objects.exclude(file="")
    ]
    return {"photos": photos, "packs": packs}


def _body(answer: Any) -> bytes:
    body: bytes = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return body


def _put_back(client: Any) -> list[list[Any]]:
    """What an undo of the removal of each room of the demo house gives: the room's name and what
    its page answers.

    The history keeps rows as they once were, so a migration that changes a column has to carry the
    history too.
    """
    removed = list(
        Room.all_objects.filter(house__is_demo=True).exclude(deleted_at=None).order_by("name")
    )
    groups = [Change.objects.filter(row=room.pk).latest("id").group for room in removed]
    for group in dict.fromkeys(groups):
        undo(by=By(household()), group=group)
    return [
        [room.name, client.get(reverse("room-detail", args=[room.pk])).status_code]
        for room in Room.objects.filter(pk__in=[room.pk for room in removed]).order_by("name")
    ]


def _unplaced() -> list[list[str]]:
    """The boards that hang and are on no plan of their room now."""
    unplaced = []
    for piece in PlacedPiece.objects.filter(state="hung", as_planned=True).select_related("room"):
        takes = takes_of_house(piece.house_id).get(piece.room_id)
        keys = {place.key for place in takes.places} if takes else set()
        if piece_key(piece.surface, piece.mark) not in keys:
            unplaced.append([piece.room.name, piece.mark])
    return unplaced


def visit() -> dict[str, Any]:
    """What people entered (`facts`), the pages that did not open, the photos and packs, and each
    removed room once its removal is undone. Figures are worked out first, as the worker does once
    a version is new."""
    for house in House.objects.all():
        recompute(house, whole=True)
    client = Client(SERVER_NAME="localhost")
    readings = {
        "facts": facts(),
        "unplaced": _unplaced(),
        "wrong": _opened(client),
        **_files(client),
    }
    return readings | {"put back": _put_back(client)}
