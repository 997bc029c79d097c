"""The stock ledger: movements in, movements out, and what they leave on hand. Nothing in it is ever
changed."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount
from remodel.history.errors import Refused
from remodel.history.services import By, recorded
from remodel.house.models import House
from remodel.supply.models import Material, Movement

if TYPE_CHECKING:
    from remodel.house.models import Room

__all__ = ["Balance", "balances", "carry", "count_left", "move", "on_hand", "reverse"]

Balance = tuple[str, Amount, int]
_OUT = (Movement.Kind.USED, Movement.Kind.SPOILED, Movement.Kind.RETURNED)


@recorded("moved stock")
def move(
    *,
    by: By,
    house: House,
    item: str,
    kind: str,
    amount: Amount,
    pieces: int = 1,
    room: Room | None = None,
    phase: str = "",
    place: str = "",
    day: date | None = None,
    note: str = "",
    log: Any = None,
    line: Any = None,
) -> Movement:
    """Write one movement. What was used, spoiled or returned is given as a positive amount and kept
    as a negative one; sticks are given one by one, `pieces` of `amount` each."""
    value = abs(amount.value)
    if not value and kind != Movement.Kind.COUNTED:
        raise Refused("Enter an amount of more than zero, like 3", field="amount")
    if kind == Movement.Kind.RECEIVED and amount.value < 0:
        raise Refused("What was received must be more than zero, like 3", field="amount")
    signed = -value if kind in _OUT else amount.value
    return _write(
        by=by,
        house=house,
        item=item,
        kind=kind,
        value=signed,
        unit=amount.unit,
        pieces=pieces,
        room=room,
        phase=phase,
        place=place,
        day=day or timezone.localdate(),
        note=note,
        log=log,
        line=line,
    )


@recorded("carried stock")
def carry(
    *, by: By, house: House, item: str, amount: Amount, to: str, pieces: int = 1, note: str = ""
) -> Movement:
    """Write that something lies elsewhere from now on: a movement away and one to `to`, which leave
    the balance alone. Raises `Refused` where there is not so much."""
    if not to.strip():
        raise Refused("Say where to, like Garage", field="to")
    if amount.value <= 0:
        raise Refused("Enter an amount of more than zero, like 3", field="number")
    whole = [(size, count) for key, size, count in balances(house) if key == item]
    if item in _cut_items(house):
        here = sum(count for size, count in whole if size == amount)
        enough = pieces <= here
    else:
        have = on_hand(house, item, amount.unit)
        enough = amount.value * pieces <= have.value
    if not enough:
        raise Refused("There is not so much on hand; count what is left first", field="number")
    note = note.strip()
    shared: dict[str, Any] = {
        "by": by,
        "house": house,
        "item": item,
        "kind": Movement.Kind.MOVED,
        "pieces": pieces,
    }
    move(**shared, amount=Amount(-amount.value, amount.unit), note=note)
    return move(**shared, amount=amount, place=to.strip()[:80], note=note)


@recorded("counted what is left")
def count_left(
    *,
    by: By,
    house: House,
    item: str,
    remaining: Amount,
    room: Room | None = None,
    phase: str = "",
    day: date | None = None,
    note: str = "",
    log: Any = None,
    used: bool = True,
) -> Movement | None:
    """Write the movement that makes the ledger say `left`: what is gone was used (or, not `used`,
    the count itself is what moved). None where the ledger already says so. Not for sticks, which
    are counted length by length."""
    if item in _cut_items(house):
        raise Refused(
            "Sticks are counted length by length; enter how many of each length were used",
            field="item",
        )
    if remaining.value < 0:
        raise Refused("What is left must be zero or more, like 3", field="left")
    before = on_hand(house, item, remaining.unit)
    gone = before.value - remaining.value
    if not gone:
        return None
    kind = Movement.Kind.USED if used and gone > 0 else Movement.Kind.COUNTED
    amount = Amount(gone if kind == Movement.Kind.USED else -gone, remaining.unit)
    return move(
        by=by,
        house=house,
        item=item,
        kind=kind,
        amount=amount,
        room=room,
        phase=phase,
        day=day,
        note=note,
        log=log,
    )


@recorded("took back a movement")
def reverse(*, by: By, movement: Movement, note: str = "") -> Movement:
    """Write the opposite of a movement; raises `Refused` the second time."""
    if Movement.objects.filter(reverses=movement).exists():
        raise Refused("This movement was already taken back")
    if movement.reverses_id:
        raise Refused("This movement takes another back; enter a new one instead")
    return _write(
        by=by,
        house=movement.house,
        item=movement.item,
        kind=movement.kind,
        value=-movement.value,
        unit=movement.unit,
        pieces=movement.pieces,
        room=movement.room,
        phase=movement.phase,
        place=movement.place,
        day=movement.day,
        note=note,
        reverses=movement,
        line=movement.line,
        log=movement.log,
    )


def on_hand(house: House, item: str, unit: str) -> Amount:
    """What the ledger says is here of one item, in `unit`; raises `WrongUnit` where it is not
    measured so."""
    total = Amount(Fraction(0), unit)
    for movement in Movement.objects.filter(house=house, item=item):
        total = lengths.add(total, movement.amount)
    return total


def balances(house: House) -> list[Balance]:
    """What is on hand, in the order items first came: (item, amount, how often). Sticks stand
    length by length."""
    cut = _cut_items(house)
    poured: dict[str, Amount] = {}
    sticks: dict[tuple[str, Amount], int] = {}
    for movement in Movement.objects.filter(house=house):
        if movement.item in cut:
            stick = Amount(abs(movement.value), movement.unit)
            sign = 1 if movement.value > 0 else -1
            sticks[movement.item, stick] = (
                sticks.get((movement.item, stick), 0) + sign * movement.pieces
            )
            poured.setdefault(movement.item, stick)
        elif movement.item in poured:
            poured[movement.item] = lengths.add(poured[movement.item], movement.amount)
        else:
            poured[movement.item] = movement.amount
    rows: list[Balance] = []
    for item, amount in poured.items():
        if item in cut:
            rows += [
                (item, stick, count)
                for (of, stick), count in sticks.items()
                if of == item and count > 0
            ]
        elif amount.value > 0:
            rows.append((item, amount, 1))
    return rows


def _cut_items(house: House) -> set[str]:
    return set(Material.objects.filter(house=house, cut=True).values_list("key", flat=True))


def _write(*, by: By, house: House, value: Fraction, **columns: Any) -> Movement:
    last = Movement.objects.filter(house=house).aggregate(last=Max("serial"))["last"] or 0
    return Movement.objects.create(
        house=house,
        serial=last + 1,
        numerator=value.numerator,
        denominator=value.denominator,
        at=timezone.now(),
        person=by.person,
        **columns,
    )


def movements_of(house: House, *, room: UUID | None = None, item: str = "") -> Any:
    """The ledger, latest first."""
    movements = Movement.objects.filter(house=house).select_related("room", "person", "reversed_by")
    if room is not None:
        movements = movements.filter(room=room)
    if item:
        movements = movements.filter(item=item)
    return movements.order_by("-serial")
