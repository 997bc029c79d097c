"""What tests of saving share: pages with forms, and the state that a write changes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from django.apps import apps
from django.db import connection, models, transaction
from django.test import Client
from django.urls import Resolver404, resolve, reverse

from remodel.bridge.lengths import FOOT
from remodel.cards.models import PrintPack
from remodel.history.services import By
from remodel.history.versioned import Versioned
from remodel.house.services import house_remove, room_add_surfaces
from remodel.house_files.new import house_add
from remodel.people.models import Membership, Role
from remodel.piles import pile_make
from remodel.supply.models import Material
from remodel.supply.orders import order_line_add, order_make
from tests.remodel.everything import Everything
from tests.remodel.factories import PersonFactory, accept_stops, ben, room_add_line
from tests.remodel.page_forms import PageForm, forms_of
from tests.remodel.routes import routes

__all__ = ["FormHouse", "route_of", "state", "taken_back"]

# files: no form stands in them, and some take a second to make
_FILES = {
    "order-print",
    "order-csv",
    "stock-csv",
    "stock-table",
    "house-money-csv",
    "room-drawing-svg",
    "room-drawing-dxf",
    "photo-image",
}
_FILES |= {"house-export", "house-pack-file"}
# written by looking round, or made anew from what people wrote
_NOT_WRITTEN = {
    "sessions.session",
    "people.attempt",
    "board.result",
    "board.roomresult",
    "board.searchjob",
    "board.worker",
}


@cache
def _counting() -> str:
    """One query for all tables: how many rows, and the sum of their versions where they have
    one."""
    parts = []
    for model in apps.get_models():
        label, table = model._meta.label_lower, model._meta.db_table
        if label not in _NOT_WRITTEN and model.__module__.startswith("remodel"):
            versions = "coalesce(sum(version), 0)" if issubclass(model, Versioned) else "0"
            parts.append(f"select '{label}', count(*), {versions} from {table}")
    return " union all ".join(parts)


def state() -> dict[str, tuple[int, int]]:
    """How many rows each table has, and the versions of those people edit."""
    with connection.cursor() as cursor:
        cursor.execute(_counting())
        return {label: (rows, versions) for label, rows, versions in cursor.fetchall()}


@contextmanager
def taken_back() -> Iterator[None]:
    """Whatever is written inside is as if it had never been."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def route_of(action: str) -> str:
    try:
        return resolve(action.partition("?")[0]).url_name or ""
    except Resolver404:
        return ""


class FormHouse(Everything):
    """Everything, with what only some houses have: a draft order, a room of listed surfaces, a
    second owner."""

    def __init__(self) -> None:
        super().__init__()
        by = By(self.ada)
        self.ben = ben()
        Membership.objects.create(house=self.house, person=self.ben, role=Role.OWNER)
        listed = room_add_surfaces(
            by=by,
            house=self.house,
            name="Attic",
            surfaces=[("", "wall", 12 * FOOT, 8 * FOOT), ("", "ceiling", 10 * FOOT, 4 * FOOT)],
        )
        bare = self.house.rooms.get(name="Box room")
        draft = order_make(by=by, house=self.house, phases=["taping"], rooms=[bare])
        material = self.house.materials.first()  # type: ignore[union-attr]
        order_line_add(
            by=by, order=draft, pack=material.packs.first(), packs=2, reason="For the garage"
        )
        worked_out = next(line for line in draft.lines.all() if line.packs and not line.reason)
        other = Membership.objects.create(
            house=self.house, person=PersonFactory(name="Hal"), role=Role.HELPER
        )
        several = Material.objects.annotate(packs_on_sale=models.Count("packs")).filter(
            house=self.house
        )
        self.values["material_id"] = several.filter(packs_on_sale__gt=1)[0].pk
        gone = house_add(by=by, name="Sold house")
        house_remove(by=by, house=gone)
        study, hall, nook, den = (
            room_add_line(by=by, house=self.house, name=name, line="3600 x 3000 x 2400")
            for name in ("Study", "Hall", "Nook room", "Den")
        )
        pile_make(by=by, house=self.house, rooms=[study, hall])
        accept_stops(self.house)
        waiting = PrintPack.objects.create(
            house=self.house, title="House pack", paper="a4", rooms=[self.room.key]
        )
        together = reverse("house-together", args=[self.house.pk])
        self.more_pages = [
            f"{together}?room={nook.pk}&room={den.pk}&show=yes",
            reverse("house-pack", args=[waiting.pk]),
            reverse("partition-add", args=[nook.pk]),
            reverse("order-detail", args=[draft.pk]),
            reverse("order-detail", args=[self.closed.pk]),
            reverse("order-line", args=[worked_out.pk]),
            reverse("order-add", args=[draft.pk]),
            reverse("room-surfaces", args=[listed.pk]),
            reverse("membership-role", args=[other.pk]),
            reverse("partition-list", args=[self.house.pk]),
            reverse("surface-behind", args=[self.room.pk, "ceiling"]),
        ]

    def addresses(self) -> list[str]:
        """Every page of the house, and those that only some houses have."""
        own = [
            self.url(route)
            for route in routes()
            if "GET" in route.methods
            and route.name not in _FILES
            and route.who in ("anybody", "house", "owner", "hosted")
        ]
        return [*own, *self.more_pages]

    def forms(self, client: Client) -> dict[str, tuple[str, PageForm]]:
        """Every form of every page by where it is sent: the first page that shows it, and the
        form."""
        forms: dict[str, tuple[str, PageForm]] = {}
        for address in self.addresses():
            answer = client.get(address)
            if answer.status_code == 200 and "text/html" in answer["Content-Type"]:
                for form in forms_of(answer.content.decode(), address):
                    stands = forms.get(form.action)
                    if stands is None or len(form.typed) > len(stands[1].typed):
                        forms[form.action] = (address, form)
        return forms
