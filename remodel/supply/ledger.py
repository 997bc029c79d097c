"""The stock ledger: movements in, movements out, and what they leave here. No line of it is ever
changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any
from uuid import UUID

from django.db.models import F, Max, Min, Sum
from django.utils import timezone

from remodel.bridge import lengths
from remodel.bridge.lengths import FOOT, Amount, BadValue
from remodel.bridge.supply import size_of_sheet
from remodel.history.errors import Refused
from remodel.history.services import By, recorded, touch
from remodel.house.models import House
from remodel.supply.estimates import live, rough_by_item, settle
from remodel.supply.models import CutSheet, Material, Movement, Returned

if TYPE_CHECKING:
    from remodel.house.models import Room

__all__ = [
    "Balance",
    "Here",
    "balances",
    "carry",
    "count_left",
    "count_sticks",
    "find_missing",
    "here_of",
    "match_logs",
    "move",
    "movements_of",
    "on_hand",
    "reverse",
    "run_out",
    "stick_length",
]

Balance = tuple[str, Amount, int]
# What is cut was planned to be cut, and what is moved stays: neither changes what plans may take.
_WITHIN = (Movement.Kind.CUT, Movement.Kind.MOVED)
_OUT = (
    Movement.Kind.CUT,
    Movement.Kind.USED,
    Movement.Kind.SPOILED,
    Movement.Kind.RETURNED,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """What is here of an item: what the facts leave, less what ticks used by estimate. It is under
    zero where more was used than ever came. `estimated` is the part that rests on ticks; of what is
    cut, `sticks` counts each length in nanometers."""

    item: str
    amount: Fraction
    unit: str
    estimated: Fraction = Fraction(0)
    sticks: Mapping[int, int] = field(default_factory=dict)


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
    """Write one movement: a fact, which is never refused for want of stock.

    What was cut, used, spoiled or returned is given as a positive amount and stored as a negative
    one. Sticks are given one by one: `pieces` of `amount` each.
    """
    value = abs(amount.value)
    if not value:
        raise Refused("Enter an amount of more than zero, for example 3", field="amount")
    if kind in (Movement.Kind.RECEIVED, Movement.Kind.FOUND) and amount.value < 0:
        raise Refused("What came must be more than zero, for example 3", field="amount")
    _check_unit(house, item, amount)
    movement = _write(
        by=by,
        house=house,
        item=item,
        kind=kind,
        value=-value if kind in _OUT else amount.value,
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
    if movement.kind == Movement.Kind.USED:
        _match_sheets(by, movement)
    return movement


@recorded("carried stock")
def carry(
    *, by: By, house: House, item: str, amount: Amount, to: str, pieces: int = 1, note: str = ""
) -> Movement:
    """Write that something is stored elsewhere from now on: one movement away and one to `to`,
    which do not change the balance. Raises `Refused` where there is not that much."""
    if not to.strip():
        raise Refused("Say where to, for example Garage", field="to")
    if amount.value <= 0 or pieces < 1:
        raise Refused("Enter an amount of more than zero, for example 3", field="number")
    here = here_of(house, item).get(item)
    if item in _cut_items(house):
        enough = here is not None and pieces <= here.sticks.get(stick_length(amount), 0)
    else:
        enough = here is not None and _as(amount, here.unit) * pieces <= here.amount
    if not enough:
        raise Refused("There is not so much here; count what is left first", field="number")
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
) -> Movement | None:
    """Write the movement that makes the ledger say `remaining`. None where the facts say so
    already.

    What is gone was used, what is there beyond was found. All estimates of the item up to now are
    facts from then on. Sticks are counted length by length instead.
    """
    if item in _cut_items(house):
        raise Refused(
            "Sticks are counted length by length; enter how many of each length were used",
            field="item",
        )
    if remaining.value < 0:
        raise Refused("What is left must be zero or more, for example 3", field="left")
    _check_unit(house, item, remaining)
    facts = facts_of(house, item).get(item)
    ledger = Fraction(0) if facts is None else _as(Amount(facts.amount, facts.unit), remaining.unit)
    gone = ledger - remaining.value
    if not gone and not live(house).filter(item=item).exists():
        return None
    movement = _write(
        by=by,
        house=house,
        item=item,
        kind=Movement.Kind.USED if gone >= 0 else Movement.Kind.FOUND,
        value=-gone,
        unit=remaining.unit,
        pieces=1,
        count=True,
        room=room,
        phase=phase,
        day=day or timezone.localdate(),
        note=note,
        log=log,
    )
    settle(house, item, movement)
    return movement


@recorded("counted the sticks that are left")
def count_sticks(
    *, by: By, house: House, item: str, remaining: Mapping[int, int], note: str = ""
) -> Movement | None:
    """Write the movements that make the ledger say so many sticks of each length, in nanometers.
    Gives the last of them, and None where the facts say so already.

    A length that is not among `remaining` is counted as it stands. All estimates of the item up to
    now are facts from then on, as with `count_left`.
    """
    if item not in _cut_items(house):
        raise Refused("This does not come in sticks; enter an amount instead", field="item")
    if any(count < 0 for count in remaining.values()):
        raise Refused("What is left must be zero or more, for example 3", field="left")
    facts = facts_of(house, item).get(item)
    known = here_of(house, item).get(item)
    before: Mapping[int, int] = facts.sticks if facts else {}
    after = {**(known.sticks if known else {}), **remaining}
    shared: dict[str, Any] = {
        "by": by,
        "house": house,
        "item": item,
        "unit": "ft",
        "count": True,
        "day": timezone.localdate(),
        "note": note,
    }
    movement = None
    for length in sorted({*before, *after}):
        gone = before.get(length, 0) - after.get(length, 0)
        if gone:
            movement = _write(
                **shared,
                kind=Movement.Kind.USED if gone > 0 else Movement.Kind.FOUND,
                value=Fraction(-length if gone > 0 else length, FOOT),
                pieces=abs(gone),
            )
    if live(house).filter(item=item).exists():
        movement = movement or _write(
            **shared, kind=Movement.Kind.USED, value=Fraction(0), pieces=1
        )
        settle(house, item, movement)
    return movement


@recorded("noted that it ran out")
def run_out(*, by: By, house: House, item: str, day: date | None = None) -> Movement | None:
    """Write that nothing of an item is left: a count of zero. Raises `Refused` for sticks and for
    what nobody knows of."""
    here = here_of(house, item).get(item)
    if here is None:
        raise Refused("Nothing of this is written down yet, so it cannot run out")
    if item in _cut_items(house):
        raise Refused("Sticks are counted length by length; enter how many of each are left")
    return count_left(
        by=by, house=house, item=item, remaining=Amount(Fraction(0), here.unit), day=day
    )


@recorded("noted what was here all along")
def find_missing(
    *, by: By, house: House, item: str, amount: Amount | None = None, day: date | None = None
) -> Movement:
    """Write that more was here than anybody noted: as much as the stock is under zero, or
    `amount`."""
    here = here_of(house, item).get(item)
    if amount is None:
        if here is None or here.amount >= 0:
            raise Refused("The stock is not under zero; enter what you have instead")
        amount = Amount(-here.amount, here.unit)
    return move(by=by, house=house, item=item, kind=Movement.Kind.FOUND, amount=amount, day=day)


@recorded("took back a movement")
def reverse(*, by: By, movement: Movement, note: str = "") -> Movement:
    """Write the opposite of a movement, which counts as its negative. Raises `Refused` the second
    time, and for what has a step back of its own."""
    if Movement.objects.filter(reverses=movement).exists():
        raise Refused("This entry was already undone")
    if movement.reverses_id:
        raise Refused("This movement takes another back; enter a new one instead")
    if movement.kind == Movement.Kind.CUT:
        raise Refused("This sheet was cut by a tick; take the tick back on its sheet instead")
    if getattr(movement, "receipt", None) is not None:
        raise Refused("This came with an order; take the delivery back on the order's page")
    if movement.kind == Movement.Kind.RETURNED and movement.line_id is not None:
        # Money goes with stock: what did not go back was not refunded either.
        wrong = Returned.objects.filter(line=movement.line_id, packs=movement.pieces)
        alike = wrong.filter(note=movement.note).order_by("at", "id").last()
        if alike is not None:
            alike.delete()
    back = reversal(by=by, movement=movement, note=note)
    if movement.kind == Movement.Kind.USED:
        _match_sheets(by, movement)
    return back


def reversal(*, by: By, movement: Movement, note: str = "") -> Movement:
    """The opposite of a movement, as the services that have a step back of their own write it."""
    return _write(
        by=by,
        house=movement.house,
        item=movement.item,
        kind=movement.kind,
        value=-movement.value,
        unit=movement.unit,
        pieces=movement.pieces,
        count=movement.count,
        room=movement.room,
        phase=movement.phase,
        place=movement.place,
        day=movement.day,
        note=note,
        reverses=movement,
        line=movement.line,
        log=movement.log,
    )


def _match_sheets(by: By, movement: Movement) -> None:
    if movement.phase == "hanging" and movement.room and movement.item.startswith("sheet-"):
        match_logs(by, movement.room, movement.item)


def match_logs(by: By, room: Room, item: str) -> None:
    """Let each sheet that is cut in a room leave the stock once.

    A log of a job replaces what its ticks say: sheets of a size that a log of hanging tells as used
    are those that ticks say are cut, as far as there are so many. Those have no movement of their
    own; all others have.
    """
    told = (
        Movement.objects.filter(
            room=room,
            phase="hanging",
            item=item,
            kind=Movement.Kind.USED,
            count=False,
            reverses=None,
            reversed_by=None,
        ).aggregate(pieces=Sum(F("numerator") * F("pieces")))["pieces"]
        or 0
    )
    sheets = list(
        CutSheet.objects.filter(room=room, item=item, owned=None, uncounted=False)
        .select_related("movement")
        .order_by("at", "code")
    )
    by_log = min(-told, len(sheets))
    for place, sheet in enumerate(sheets):
        if place < by_log and sheet.movement is not None:
            movement = sheet.movement
            sheet.movement = None
            sheet.save(update_fields=["movement"])
            reversal(by=by, movement=movement, note="A log tells of this sheet")
        elif place >= by_log and sheet.movement is None:
            sheet.movement = move(
                by=by,
                house=room.house,
                item=item,
                kind=Movement.Kind.CUT,
                amount=Amount(Fraction(1), "each"),
                room=room,
                phase="hanging",
            )
            sheet.save(update_fields=["movement"])


def facts_of(house: House | UUID, *items: str) -> dict[str, Here]:
    """What the movements alone leave of each item, in the order in which items first came."""
    rows = Movement.objects.filter(house=house)
    if items:
        rows = rows.filter(item__in=items)
    totals = (
        rows.values("item", "unit", "numerator", "denominator")
        .annotate(times=Sum("pieces"), first=Min("serial"))
        .order_by()
    )
    first: dict[str, int] = {}
    amounts: dict[str, Fraction] = {}
    units: dict[str, str] = {}
    sticks: dict[str, Counter[int]] = {}
    cut = _cut_items(house)
    for row in totals:
        item = row["item"]
        value = Fraction(row["numerator"], row["denominator"])
        unit = units.setdefault(item, row["unit"])
        if not lengths.same_kind(Amount(value, row["unit"]), Amount(value, unit)):
            continue  # written before such an entry was refused; the list of movements shows it
        first[item] = min(first.get(item, row["first"]), row["first"])
        amounts[item] = amounts.get(item, Fraction(0)) + _as(
            Amount(value * row["times"], row["unit"]), unit
        )
        if item in cut and value:
            length = stick_length(Amount(abs(value), row["unit"]))
            counts = sticks.setdefault(item, Counter())
            counts[length] += row["times"] if value > 0 else -row["times"]
    return {
        item: Here(
            item=item,
            amount=amounts[item],
            unit=units[item],
            sticks={
                length: count for length, count in sorted(sticks.get(item, {}).items()) if count
            },
        )
        for item in sorted(amounts, key=lambda item: first[item])
    }


def here_of(house: House | UUID, *items: str) -> dict[str, Here]:
    """What is here of each item that anything is known of, or of some items alone: facts less
    estimates."""
    here = facts_of(house, *items)
    for item, rough in rough_by_item(house).items():
        if items and item not in items:
            continue
        facts = here.get(item) or Here(item=item, amount=Fraction(0), unit=rough.unit)
        used = _as(Amount(rough.amount, rough.unit), facts.unit)
        sticks = Counter(facts.sticks)
        sticks.subtract(rough.sticks)
        here[item] = Here(
            item=item,
            amount=facts.amount - used,
            unit=facts.unit,
            estimated=used,
            sticks={length: count for length, count in sorted(sticks.items()) if count},
        )
    return here


def on_hand(house: House, item: str, unit: str) -> Amount:
    """How much of one item is here, in `unit`. Raises `WrongUnit` where the item is measured
    otherwise."""
    here = here_of(house, item).get(item)
    if here is None:
        return Amount(Fraction(0), unit)
    return lengths.convert(Amount(here.amount, here.unit), unit)


def balances(house: House) -> list[Balance]:
    """What is here, in the order in which items first came: (item, amount, how many times). Sticks
    stand length by length."""
    cut = _cut_items(house)
    rows: list[Balance] = []
    for here in here_of(house).values():
        if here.item in cut:
            rows += [
                (here.item, Amount(Fraction(length, FOOT), "ft"), count)
                for length, count in here.sticks.items()
                if count > 0
            ]
        elif here.amount > 0:
            rows.append((here.item, Amount(here.amount, here.unit), 1))
    return rows


def stick_length(amount: Amount) -> int:
    """The length of a stick in nanometers."""
    feet = lengths.convert(amount, "ft").value * FOOT
    if feet.denominator != 1:
        raise BadValue(
            "A stick's length must be a whole number of 64ths or millimeters, for example 8 ft"
        )
    return feet.numerator


def _check_unit(house: House, item: str, amount: Amount) -> None:
    """Refuse an amount that cannot be added to what is written of the item already."""
    unit = Movement.objects.filter(house=house, item=item).values_list("unit", flat=True).first()
    if unit is not None and not lengths.same_kind(amount, Amount(Fraction(1), unit)):
        raise Refused(f"This is measured in {unit}; enter an amount in {unit}", field="amount")


def _as(amount: Amount, unit: str) -> Fraction:
    return amount.value if amount.unit == unit else lengths.convert(amount, unit).value


def _cut_items(house: House | UUID) -> set[str]:
    return set(Material.objects.filter(house=house, cut=True).values_list("key", flat=True))


def _write(*, by: By, house: House, value: Fraction, **columns: Any) -> Movement:
    if size_of_sheet(columns["item"]) is not None and columns["kind"] not in _WITHIN:
        touch(house.pk, "supply.movement")
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
