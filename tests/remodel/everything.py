"""Ada's house with one of everything that a route can point at."""

from __future__ import annotations

import io
import uuid
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image

from remodel.bridge.lengths import FOOT, INCH
from remodel.cards.models import PrintPack
from remodel.cards.pack_files import pack_files
from remodel.cards.queries import cards_for
from remodel.history.models import Change
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.partitions import partition_add
from remodel.house.things import hidden_add
from remodel.logbook import day_write
from remodel.people.models import Device, Membership, Person
from remodel.people.services import invitation_make
from remodel.supply.claims import keep_for
from remodel.supply.ledger import move
from remodel.supply.models import Movement, Order, OwnedSheet, Store
from remodel.supply.orders import (
    order_close,
    order_line_set,
    order_make,
    order_place,
    order_receive,
)
from remodel.work.faces import face_close
from remodel.work.models import AcceptedStop, Photo, SaidStep
from remodel.work.photos import reencoded
from remodel.work.services import added_need_add, note_add, phase_add
from tests.remodel.board.two_plans import dear_plan, offer_of
from tests.remodel.factories import accept_stops, ada, demo_house, room_add_line
from tests.remodel.made_once import made_once
from tests.remodel.routes import Route

__all__ = ["Everything", "a_photo"]


def a_photo() -> SimpleUploadedFile:
    written = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 60, 30)).save(written, "JPEG")
    return SimpleUploadedFile("wall.jpg", written.getvalue(), content_type="image/jpeg")


class Everything:
    """`url(route)` fills a route's path with what the house has. Fails for a parameter nobody said
    here: a new kind of id is added where it can be met."""

    def __init__(self) -> None:
        self.ada = ada()
        self.values, photo = made_once(("everything", self.ada.pk), self._make)
        self.values = dict(self.values)
        self.house = House.objects.get(pk=self.values["house_id"])
        self.room = Room.objects.get(pk=self.values["room_id"])
        self.closed = Order.objects.get(pk=self.values["closed_id"])
        # Tests have folders of their own.
        if not pack_files().exists("everything.pdf"):
            pack_files().save("everything.pdf", ContentFile(b"%PDF-1.7"))
        name = Photo.objects.get(pk=self.values["photo_id"]).image.name
        if not default_storage.exists(name):
            default_storage.save(name, ContentFile(photo))

    def _make(self) -> tuple[dict[str, Any], bytes]:
        """The ids of what there is, by the names that routes have for them, and the photo's
        file."""
        by = By(self.ada)
        house = demo_house(self.ada, "quay-flat")
        room = house.rooms.order_by("position").first()
        assert room is not None
        wall = room.walls.order_by("position").first()
        assert wall is not None
        phase = phase_add(by=by, room=room, name="Trim")
        added = added_need_add(
            by=by, phase=phase, material="tape-paper", amount="4 ft", goes_by="doors", per="1 each"
        )
        placed: dict[str, Any] = {
            "across_origin": "left",
            "across_to": "near",
            "across_distance": FOOT,
            "up_origin": "floor",
            "up_distance": 7 * FOOT,
            "width": 4 * INCH,
            "height": 4 * INCH,
        }
        opening = room.openings.first()
        cutout = room.cutouts.first()
        assert opening is not None
        assert cutout is not None
        hidden = hidden_add(
            by=by, room=room, surface=wall.key, kind="blocking", planned=True, **placed
        )
        bare = room_add_line(by=by, house=house, name="Box room", line="3600 x 3000 x 2400")
        partition = partition_add(
            by=by,
            room=bare,
            surface=bare.walls.get(position=0).key,
            name="Closet wall",
            behind="Closet",
            at=9 * FOOT,
            side="right",
        )
        store = Store.objects.create(house=house, name="Mill Street Lumber")
        order = order_make(by=by, house=house, phases=["hanging", "taping"], rooms=[room])
        # Two more than are needed, so that some can go back to the store.
        line = next(line for line in order.lines.all() if line.packs)
        order_line_set(by=by, line=line, packs=line.packs + 2, reason="Two spare")
        order = order_place(by=by, order=order, without_prices=True, unseen_framing=True)
        line = order.lines.get(pk=line.pk)
        receipt = order_receive(by=by, line=line, packs=line.packs, paid=1000)
        # Of something for taping one pack is here and kept for the bare room. Kept for its hanging,
        # all it hangs would be claimed, and no board be free to go back.
        bought = [other for other in order.lines.all() if other.packs]
        other = next(other for other in bought if other.phase == "taping")
        taken = other.item
        keep_for(by=by, house=house, wanted=[(bare.phases.get(key=other.phase).pk, taken)])
        move(by=by, house=house, item=taken, kind="found", amount=other.pack_amount)
        sold = house.sheets.first()
        assert sold is not None
        offcut = OwnedSheet.objects.create(
            house=house,
            key="here-offcut",
            board=sold.board,
            thickness=sold.thickness,
            width=FOOT,
            length=2 * FOOT,
            count=2,
        )
        # Nothing of this order came and nothing is to come: its rooms are short, so a later draft
        # buys for them, and it can still be taken back.
        closed = order_make(by=by, house=house, phases=["finishing"], rooms=[bare])
        closed = order_place(by=by, order=closed, without_prices=True, without_unmet=True)
        closed = order_close(by=by, order=closed)
        log = day_write(
            by=by, phase=phase, day=timezone.localdate(), minutes=60, photo=reencoded(a_photo())
        )
        plan = offer_of(room, dear_plan(room))
        invitation, token = invitation_make(by=by, house=house)
        device = Device.objects.create(token_hash="d" * 64, label="Phone")
        movement = Movement.objects.filter(house=house).latest("serial")
        pack = PrintPack.objects.create(
            house=house,
            room=room,
            title=room.name,
            paper="a4",
            state="done",
            rooms=[room.key],
            file="everything.pdf",
        )
        accept_stops(house)
        SaidStep.objects.create(
            house=house, step="/leaks-fixed", person=self.ada, at=timezone.now()
        )
        photo = Photo.objects.get(log=log)
        photo.wall = wall  # it shows a wall as well
        photo.save()
        face = face_close(by=by, room=room, surface="ceiling")
        values = {
            "accepted_id": AcceptedStop.objects.filter(house=house).earliest("key").pk,
            "house_id": house.pk,
            "room_id": room.pk,
            "key": wall.key,
            "word": "opening",
            "opening_id": opening.pk,
            "cutout_id": cutout.pk,
            "hidden_id": hidden.pk,
            "partition_id": partition.pk,
            "choice": f"partition.{partition.key}",
            "plan_id": plan.pk,
            "board": sold.board,
            "thickness": sold.thickness,
            "phase_id": phase.pk,
            "added_id": added.pk,
            "note_id": note_add(by=by, house=house, room=room, text="Out of plumb").pk,
            "log_id": log.pk,
            "photo_id": photo.pk,
            "face_id": face.pk,
            "material_id": house.materials.first().pk,  # type: ignore[union-attr]
            "store_id": store.pk,
            "order_id": order.pk,
            "closed_id": closed.pk,
            "line_id": line.pk,
            "receipt_id": receipt.pk,
            "item": movement.item,
            "movement_id": movement.pk,
            "offcut_id": offcut.pk,
            "group": Change.objects.filter(row=phase.pk).latest("id").group,
            "membership_id": Membership.objects.get(house=house, person=self.ada).pk,
            "invitation_id": invitation.pk,
            "device_id": device.pk,
            "token": token,
            "which": wall.key,
            "sheet": self._sheet(room),
            "piece": self._piece(room),
            "way": "down",
            "pack_id": pack.pk,
            "code": pack.code,
        }
        with photo.image.open() as file:
            return values, file.read()

    def _sheet(self, room: Room) -> str:
        cards = cards_for(room)
        assert cards is not None
        return cards.sheets[0].key

    def _piece(self, room: Room) -> str:
        cards = cards_for(room)
        assert cards is not None
        pieces = [piece for sheet in cards.sheets for piece in sheet.pieces]
        return next(piece.key for piece in pieces if piece.room_key == room.key)

    def url(self, route: Route, *, missing: bool = False) -> str:
        """The route's path for what is here, or for something that was never made."""
        path = route.path
        for name in route.parameters:
            start = path.index("<")
            value = self.values[name]
            if missing and name.endswith("_id"):
                value = 10**9 if isinstance(value, int) else uuid.uuid4()
            if missing and name == "code":
                value = "ZZZZZZZZ"
            if missing and name == "group":
                value = uuid.uuid4()
            path = f"{path[:start]}{value}{path[path.index('>') + 1 :]}"
        return path

    def ask(self, client: Client, verb: str, route: Route, *, missing: bool = False) -> Any:
        """The answer, read to its end, at which the client closes it; `page` has its text. To close
        it here as well would close the test's own connection to PostgreSQL."""
        answer = client.generic(verb, self.url(route, missing=missing))
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
        answer.page = body.decode("utf-8", "replace")  # type: ignore[attr-defined]
        return answer

    def client(self, person: Person, **more: Any) -> Client:
        client = Client(**more)
        client.force_login(person)
        return client
