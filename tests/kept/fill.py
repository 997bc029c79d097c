"""The demo house with a history of its own: one of everything that a later migration must carry.

All of it is written through the services and pages that people's own writes go through, never as
rows. Everybody and everything in it is invented.
"""

from __future__ import annotations

import io
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image, ImageDraw

from remodel.board import worker
from remodel.board.models import Plan
from remodel.board.plans import plan_accept, plan_keep, plan_leave
from remodel.board.queries import takes_of_house
from remodel.bridge.cards import BACK_UP, FACE_UP
from remodel.bridge.lengths import FOOT, INCH, MM, Amount
from remodel.cards import printing
from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for, hanging_for
from remodel.cards.services import marking_set
from remodel.history.models import Change
from remodel.history.services import By, undo
from remodel.house.models import House, Room, Wall
from remodel.house.partitions import partition_add, partition_remove
from remodel.house.services import (
    house_remove,
    house_set_rules,
    room_add_surfaces,
    room_add_walls,
    room_change,
    room_remove,
    room_resize,
)
from remodel.house.things import (
    cutout_add,
    hidden_add,
    opening_add,
    opening_remove,
    surface_choice_set,
)
from remodel.house_files.new import house_add
from remodel.logbook import day_write
from remodel.people.models import Person
from remodel.people.services import (
    device_pair,
    device_withdraw,
    household,
    invitation_make,
    pairing_code_make,
    person_add,
)
from remodel.piles import pile_make
from remodel.supply.claims import keep_for, put_first, set_free
from remodel.supply.ledger import balances, carry, count_left, find_missing, move, on_hand, run_out
from remodel.supply.ledger import reverse as movement_reverse
from remodel.supply.models import BoardKind, Material, Movement, Order, OrderLine, Pack, SheetOnSale
from remodel.supply.orders import (
    order_line_add,
    order_line_set,
    order_line_tick,
    order_make,
    order_place,
    order_receive,
    order_receive_all,
    order_return,
    order_take_back,
    receipt_take_back,
)
from remodel.supply.services import (
    material_add,
    owned_sheet_add,
    pack_change,
    sheet_change,
    sheet_remove,
    store_add,
    store_remove,
)
from remodel.ticks import Ticked, tick, tick_all
from remodel.work.models import Phase
from remodel.work.photos import Picture, photo_add, photo_change, photo_remove, reencoded
from remodel.work.services import (
    note_add,
    note_change,
    note_remove,
    phase_add,
    phase_move,
    phase_set_state,
)
from tests.remodel.factories import room_add_line

__all__ = ["fill"]

SEARCHES = 4  # of the worker, each of at most two minutes


def fill() -> None:
    """Carry the demo house on, as two people would over some weeks."""
    us = household()
    other = person_add(by=By(), name="Ben")
    house = House.objects.get(is_demo=True)
    _devices(us, other)
    _begun_rooms(By(other), house)
    _shape(By(us), house)
    _prices(By(us), house)
    _search()
    _plans(By(other), house)
    _orders(By(us), house)
    _cards(By(other), house)
    _days(By(us), By(other), house)
    _notes(By(other), house)
    _stock(By(us), house)
    _line(By(us), house)
    _coats(By(other), house)
    _changes(By(other, key="kept-1"), house)
    _papers(house)
    _other_houses(us)
    invitation_make(by=By(us), house=house)


def _room(house: House, key: str) -> Room:
    return Room.objects.select_related("house").get(house=house, key=key)


def _phase(house: House, room: str, key: str) -> Phase:
    return Phase.objects.select_related("room__house").get(
        room__house=house, room__key=room, key=key
    )


def _days_ago(days: int) -> Any:
    return timezone.localdate() - timedelta(days=days)


def _devices(us: Person, other: Person) -> None:
    device_pair(code=pairing_code_make(), label="Phone", person=us)
    device_pair(code=pairing_code_make(), label="Tablet at the saw", person=other)
    lost, _ = device_pair(code=pairing_code_make(), label="Old phone", person=other)
    device_withdraw(device=lost)
    pairing_code_make()  # nobody used this one


def _shape(by: By, house: House) -> None:
    """Rooms of each shape, things on their walls, a rule, and rooms bought together."""
    place = {
        "across_origin": "left",
        "across_to": "near",
        "across_distance": 3 * FOOT,
        "up_origin": "floor",
        "up_distance": 5 * FOOT,
    }
    bath = _room(house, "bath")
    hidden_add(
        by=by,
        room=bath,
        surface="B",
        kind="blocking",
        planned=True,
        width=24 * INCH,
        height=8 * INCH,
        **place,
    )
    cutout_add(
        by=by,
        room=bath,
        surface="B",
        name="Mirror outlet",
        kind="box",
        width=2 * INCH,
        height=4 * INCH,
        **place,
    )
    surface_choice_set(by=by, room=bath, surface="C", wet=True)
    line = room_add_line(by=by, house=house, name="Mud room", line="8' x 7' x 8'")
    partition = partition_add(
        by=by,
        room=line,
        surface="A",
        name="Bench wall",
        behind="Bench closet",
        at=5 * FOOT,
        side="right",
    )
    partition_remove(by=by, partition=partition)
    room_add_walls(
        by=by,
        house=house,
        name="Bay room",
        walls=[
            ("Long wall", 10 * FOOT, Decimal(90)),
            ("", 8 * FOOT, Decimal(90)),
            ("", 10 * FOOT, Decimal(90)),
            ("", 8 * FOOT, Decimal(90)),
        ],
    )
    room_add_surfaces(
        by=by,
        house=house,
        name="Attic hatch",
        surfaces=[("Lid", "ceiling", 3 * FOOT, 3 * FOOT), ("", "wall", 6 * FOOT, 4 * FOOT)],
    )
    house_set_rules(by=by, house=house, seam_price=Decimal("0.75"))
    pile_make(by=by, house=house, rooms=[_room(house, key) for key in ("mud-room", "bay-room")])


def _prices(by: By, house: House) -> None:
    """A second store, prices given by hand, a size taken off the list, a material of one's own,
    sheets at hand."""
    corner = store_add(by=by, house=house, name="Corner Hardware", note="Closed on Sundays")
    gone = store_add(by=by, house=house, name="Closed Store")
    store_remove(by=by, store=gone)
    sheets = list(SheetOnSale.objects.filter(house=house))
    sheet_change(by=by, sheet=sheets[0], price=1899, store=corner)
    sheet_remove(by=by, sheet=sheets[-1])
    pack = Pack.objects.filter(material__house=house, material__key__startswith="screw").first()
    pack_change(by=by, pack=pack, price=987, store=corner)
    material_add(
        by=by,
        house=house,
        name="Acoustic sealant",
        pack={
            "name": "Tube, 28 fl oz",
            "holds": Amount(Fraction(7, 32), "gal"),
            "price": 849,
            "store": corner,
        },
    )
    kind = BoardKind.objects.get(house=house, key="regular")
    owned_sheet_add(
        by=by,
        house=house,
        board=kind.key,
        thickness=INCH // 2,
        width=48 * INCH,
        length=8 * FOOT,
        count=2,
    )
    owned_sheet_add(
        by=by,
        house=house,
        board=kind.key,
        thickness=INCH // 2,
        width=30 * INCH,
        length=5 * FOOT,
        count=1,
        factory_edges=1,
    )


def _search() -> None:
    """Some searches of the worker, so that plans are offered and bounds kept."""
    for _ in range(SEARCHES):
        worker.run_once()


def _plans(by: By, house: House) -> None:
    """One plan accepted, one left, one still offered where the searches found enough."""
    offered = list(Plan.objects.filter(house=house, state=Plan.State.PROPOSED).order_by("made_at"))
    for plan in offered[:1]:
        plan_accept(by=by, plan=plan)
    for plan in offered[1:2]:
        plan_leave(by=by, plan=plan)
    for key in ("main-bedroom", "garage"):
        _keep(by, _room(house, key))


def _keep(by: By, room: Room) -> None:
    cards = cards_for(room)
    assert cards is not None
    for board, thickness in cards.plans.values():
        plan_keep(by=by, room=room, board=board, thickness=thickness)


def _orders(by: By, house: House) -> None:
    """An order received in part, with a receipt taken back and packs returned; a draft edited by
    hand."""
    bath = _room(house, "bath")
    order = order_make(
        by=by, house=house, phases=["hanging", "taping"], rooms=[bath], name="Bath", note="Deliver"
    )
    order = order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    first, second, third = [line for line in order.lines.all() if line.packs][:3]
    order_receive(
        by=by, line=first, packs=first.packs, paid=first.cost, day=_days_ago(3), note="First load"
    )
    wrong = order_receive(by=by, line=second, packs=1, paid=1234, day=_days_ago(3))
    receipt_take_back(by=by, receipt=wrong, note="Counted twice")
    order_receive_all(
        by=by, order=order, receipts=[(third, third.packs, third.cost)], day=_days_ago(2)
    )
    order_line_tick(by=by, line=second, ticked=True)
    _return(by, Order.objects.get(house=house, name="Kitchen and hall: board and taping"))
    draft = order_make(
        by=by,
        house=house,
        phases=["finishing"],
        rooms=[bath, _room(house, "small-bedroom")],
        name="Finishing",
    )
    edited = next(line for line in draft.lines.all() if line.packs)
    order_line_set(by=by, line=edited, packs=edited.worked_out + 1, reason="One spare")
    extra = Pack.objects.get(material__house=house, material__key="acoustic-sealant")
    order_line_add(by=by, order=draft, pack=extra, packs=2, reason="For the garage")


def _return(by: By, order: Order) -> None:
    """A full pack that came beyond what was ordered goes back to the store."""
    line: OrderLine = next(
        line for line in order.lines.all() if line.packs > 1 and line.receipts.exists()
    )
    order_receive(by=by, line=line, packs=1, keep_more=True, day=_days_ago(6))
    order_return(by=by, line=line, packs=1, refund=line.price, day=_days_ago(5), note="Not opened")


def _line(by: By, house: House) -> None:
    """An order taken back; stock kept for a room, set free again, and served first."""
    bedroom = _room(house, "small-bedroom")
    wrong = order_make(by=by, house=house, phases=["taping"], rooms=[bedroom], name="Too early")
    wrong = order_place(by=by, order=wrong, without_prices=True)
    order_take_back(by=by, order=wrong)
    taping = _phase(house, "small-bedroom", "taping")
    keep_for(by=by, house=house, wanted=[(taping.pk, "tape-paper")])
    set_free(by=by, job=taping, item="tape-paper")
    put_first(by=by, job=_phase(house, "bath", "taping"), item="compound-drying")


def _coats(by: By, house: House) -> None:
    """Coats of some surfaces ticked, one of them taken back; a phase done with work not ticked; an
    item counted after its ticks; one that ran out, and one of which there was more than anybody
    noted."""
    hall = _room(house, "hall")
    takes = takes_of_house(house.pk)[hall.pk].takes
    for kind in ("taped", "second"):
        surfaces = sorted({take.name for take in takes if take.kind == kind})
        tick_all(by=by, room=hall, ticks=[Ticked(kind, surface) for surface in surfaces])
        tick(by=by, room=hall, kind=kind, item=surfaces[0], done=False)
    tape = on_hand(house, "tape-paper", "ft")
    remaining = Amount(tape.value / 2, tape.unit)
    count_left(by=by, house=house, item="tape-paper", remaining=remaining)
    phase_set_state(by=by, phase=_phase(house, "hall", "taping"), state="done")
    run_out(by=by, house=house, item="nails-board")
    move(
        by=by,
        house=house,
        item="mortar",
        kind=Movement.Kind.USED,
        amount=Amount(Fraction(5), "lb"),
    )
    find_missing(by=by, house=house, item="mortar")


def _begun_rooms(by: By, house: House) -> None:
    """The boards of the hall are all cut and hung, a part of the kitchen's; one mark is taken
    back."""
    _mark(by, _room(house, "hall"), cut=None, hung=None, steps=None)
    kitchen = _room(house, "kitchen")
    _mark(by, kitchen, cut=12, hung=3, steps=2)
    cut = DoneMark.objects.filter(room=kitchen, kind="cut")
    hung = DoneMark.objects.filter(room=kitchen, kind="hung").values_list("item", flat=True)
    wrong = cut.exclude(item__in=hung).latest("at")
    tick(by=by, room=kitchen, kind="cut", item=wrong.item, done=False)


def _cards(by: By, house: House) -> None:
    """How pieces are marked in the house and in a room; the boards of the bath are all cut, and two
    hang."""
    marking_set(by=by, house=house, side_up=BACK_UP, allowance=INCH // 8)
    kitchen = _room(house, "kitchen")
    box, opening = kitchen.cutouts.first(), kitchen.openings.first()
    assert box is not None
    assert opening is not None
    marking_set(
        by=by,
        house=house,
        room=kitchen,
        side_up=FACE_UP,
        boxes="place",
        openings="cut",
        boxes_each={str(box.pk): "floor"},
        openings_each={str(opening.pk): "later"},
    )
    _mark(by, _room(house, "bath"), cut=None, hung=2, steps=1)


def _mark(by: By, room: Room, *, cut: int | None, hung: int | None, steps: int | None) -> None:
    """Tick the first pieces and steps of a room, all of them where the number is None."""
    cards = cards_for(room)
    assert cards is not None
    pieces = [piece for sheet in cards.sheets for piece in sheet.pieces]
    for kind, count in (("cut", cut), ("hung", hung)):
        for piece in pieces[:count]:
            tick(by=by, room=_room(room.house, piece.room_key), kind=kind, item=piece.key)
    plain_steps = [step for step in hanging_for(room) or () if not step.plan]
    for step in plain_steps[:steps]:
        tick(by=by, room=room, kind="step", item=step.key)


def _days(by: By, other: By, house: House) -> None:
    """Two photos of a logged day, photos of a room and a wall, and a day of somebody else."""
    hanging = _phase(house, "kitchen", "hanging")
    log = day_write(
        by=by,
        phase=hanging,
        day=_days_ago(1),
        minutes=95,
        note="Both of us",
        photo=_picture("end wall"),
        caption="End",
    )
    shared: dict[str, Any] = {"by": other, "room": hanging.room}
    photo_add(
        **shared, phase=hanging, log=log, picture=_picture("corner"), caption="The corner, “open”"
    )
    wall = Wall.objects.get(room=hanging.room, key="A")
    photo = photo_add(**shared, wall=wall, picture=_picture("before"), caption="Before")
    photo_change(by=other, photo=photo, caption="Before the boards: pipes at 3' 2\"")
    photo_remove(by=other, photo=photo_add(**shared, picture=_picture("blurred")))
    day_write(
        by=other,
        phase=_phase(house, "bath", "strip-out"),
        day=_days_ago(23),
        minutes=180,
        note="Tiles off",
    )
    own = phase_add(by=other, room=hanging.room, name="Trim")
    phase_move(by=other, phase=own, up=True)
    day_write(by=other, phase=own, day=_days_ago(0), minutes=30)


def _picture(word: str) -> Picture:
    """A small drawn picture, as it is stored."""
    picture = Image.new("RGB", (320, 240), (214, 208, 196))
    pen = ImageDraw.Draw(picture)
    pen.rectangle((30, 60, 290, 200), outline=(90, 60, 30), width=4)
    for across in range(60, 290, 40):
        pen.line((across, 60, across, 200), fill=(150, 120, 90), width=3)
    pen.text((40, 20), word, fill=(30, 30, 30))
    written = io.BytesIO()
    picture.save(written, "PNG")
    return reencoded(SimpleUploadedFile("picture.png", written.getvalue()))


def _notes(by: By, house: House) -> None:
    bath = _room(house, "bath")
    wall = Wall.objects.get(room=bath, key="B")
    note = note_add(
        by=by, house=house, room=bath, wall=wall, text="Left wall is 3/8 in out of plumb"
    )
    note_change(by=by, note=note, text="Left wall is 3/8 in out of plumb: shim it")
    note_add(
        by=by,
        house=house,
        room=bath,
        phase=_phase(house, "bath", "rough-in"),
        text="Vent → roof, not attic",
    )
    note_add(by=by, house=house, text="Dumpster comes on Tuesday")
    note_remove(by=by, note=note_add(by=by, house=house, text="Wrong house"))


def _stock(by: By, house: House) -> None:
    """Stock counted, spoiled, carried elsewhere, used stick by stick, and a movement taken back."""
    cut = set(Material.objects.filter(house=house, cut=True).values_list("key", flat=True))
    poured = [(item, amount) for item, amount, _ in balances(house) if item not in cut][:3]
    (first, here), (second, there), (third, amount) = poured
    kitchen = _room(house, "kitchen")
    spoiled = Amount(here.value / 10, here.unit)
    move(
        by=by,
        house=house,
        item=first,
        kind=Movement.Kind.SPOILED,
        amount=spoiled,
        room=kitchen,
        phase="hanging",
        note="Got wet",
    )
    carry(
        by=by,
        house=house,
        item=second,
        amount=Amount(there.value / 4, there.unit),
        to="Garage",
        note="Out of the way",
    )
    count_left(by=by, house=house, item=third, remaining=Amount(amount.value / 2, amount.unit))
    wrong = move(
        by=by,
        house=house,
        item=third,
        kind=Movement.Kind.RECEIVED,
        amount=Amount(Fraction(2), amount.unit),
    )
    movement_reverse(by=by, movement=wrong, note="Was counted already")
    bead = (
        Material.objects.filter(house=house, cut=True).exclude(packs=None).order_by("position")[0]
    )
    stick = bead.packs.all()[0].amount
    move(by=by, house=house, item=bead.key, kind=Movement.Kind.RECEIVED, amount=stick, pieces=5)
    move(
        by=by,
        house=house,
        item=bead.key,
        kind=Movement.Kind.USED,
        amount=stick,
        pieces=2,
        room=kitchen,
        phase="taping",
    )


def _changes(by: By, house: House) -> None:
    """A removed room, a change that was undone, one undone and put back, a write sent twice under
    one key."""
    plain = By(by.person)
    pantry = room_add_line(by=plain, house=house, name="Pantry", line="6' x 5' x 8'")
    room_remove(by=plain, room=pantry)
    room = _room(house, "small-bedroom")
    room_resize(by=plain, room=room, length=13 * FOOT, width=10 * FOOT)
    undo(by=plain, group=_last_group(room))
    room_change(by=plain, room=_room(house, "small-bedroom"), ceiling_height=97 * INCH)
    undo(by=plain, group=_last_group(room))
    undo(by=plain, group=_last_group(room))
    for _ in range(2):
        room_change(by=by, room=_room(house, "hall"), name="Long hall")
    window = opening_add(
        by=plain,
        room=_room(house, "mud-room"),
        surface="B",
        name="Window",
        kind="window",
        left=2 * FOOT,
        sill=3 * FOOT,
        width=2 * FOOT,
        height=3 * FOOT,
    )
    opening_remove(by=plain, opening=window)


def _last_group(room: Room) -> Any:
    return Change.objects.filter(room=room.pk).latest("id").group


def _papers(house: House) -> None:
    """The packs of a room and of the house, which the worker made and keeps as files."""
    client = Client(SERVER_NAME="localhost")
    room = _room(house, "main-closet")
    _asked(client.post(reverse("room-pack", args=[room.pk]), {"phase": "framing"}), 302)
    asked = {"phase": "hanging", "rooms": [room.key], "paper": "letter", "key": str(uuid4())}
    _asked(client.post(reverse("house-packs", args=[house.pk]), asked), 302)
    for _ in range(2):
        made = printing.run_once()
        assert made is not None
        made.refresh_from_db()
        assert made.state == "done", made.doing


def _asked(answer: Any, status: int) -> None:
    assert answer.status_code == status, answer.content[:2000]


def _other_houses(us: Person) -> None:
    """A house in millimeters, where a room was measured again after its first board was cut, and a
    removed one."""
    by = By(us)
    metric = house_add(by=by, name="Quay flat", units="mm", currency="EUR")
    study = room_add_line(by=by, house=metric, name="Study", line="3600 x 3000 x 2400")
    _mark(by, study, cut=1, hung=0, steps=0)
    room_change(by=by, room=_room(metric, "study"), ceiling_height=2500 * MM)
    house_set_rules(by=by, house=metric, shortest_piece=400 * MM)
    removed = house_add(by=by, name="Sold house")
    room_add_line(by=by, house=removed, name="Kitchen", line="10' x 9' x 8'")
    house_remove(by=by, house=removed)
