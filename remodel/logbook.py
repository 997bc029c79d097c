"""The end of a day: what may be logged for a phase of a room, writing it, and reading it again."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil
from typing import Any

from django.db.models import Count, Prefetch, QuerySet
from django.utils import timezone

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount, TakeoffError
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded
from remodel.house.models import House, Room
from remodel.supply.doneness import rest_used
from remodel.supply.estimates import rough_by_job
from remodel.supply.ledger import balances, count_left, move
from remodel.supply.models import CutSheet, Material, Movement, OrderLine
from remodel.supply.queries import names_of, needs_of
from remodel.supply.standing import standing_of
from remodel.work.kept_photos import remove_expired, remove_photo, take_photo
from remodel.work.models import DayLog, Phase, PhaseState
from remodel.work.photos import Picture, photo_add
from remodel.work.services import phase_set_state

__all__ = [
    "Closing",
    "Leftover",
    "Stuff",
    "Taken",
    "closing_of",
    "day_log_add",
    "day_write",
    "logs_of",
    "movement_words",
    "phase_step",
    "shown_minutes",
    "stuff_of",
]

Measures = list[tuple[str, str]]

_MOST_ASKED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Stuff:
    """Something that may be logged: an item, or for sticks one length of it.

    `token` names it in a form. `measures` are what it can be counted in, each as the value of a
    choice (an amount as text) and its words. `here` is what the ledger has, in words. `need` is
    what the phase takes of it in this room, if anything. `most` is the larger of the two as an
    amount, None where there is neither. `ticked` is what ticks used of it for this phase, in words.
    """

    item: str
    name: str
    stick: Amount | None
    cut: bool
    here: str
    need: str
    measures: tuple[tuple[str, str], ...]
    most: Amount | None = None
    ticked: str = ""

    @property
    def token(self) -> str:
        return (
            self.item if self.stick is None else f"{self.item}|{lengths.format_amount(self.stick)}"
        )

    @property
    def slug(self) -> str:
        """The token, short and safe as part of a field's name."""
        return hashlib.sha256(self.token.encode()).hexdigest()[:10]

    @property
    def full_name(self) -> str:
        return f"{self.name}, {self.measures[0][1]}" if self.stick is not None else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What was entered of one thing, counted in `measure`: the numbers used, spoiled and remaining,
    None where nothing was entered."""

    stuff: Stuff
    measure: Amount
    used: Fraction | None = None
    spoiled: Fraction | None = None
    remaining: Fraction | None = None

    def amount(self, number: Fraction) -> Amount:
        return Amount(self.measure.value * number, self.measure.unit)


def stuff_of(phase: Phase, *, also: Iterable[str] = ()) -> list[Stuff]:
    """What may be logged for a phase: first what the phase takes, then everything else on hand.

    `also` are tokens that a form was made with. They stay even where nothing is on hand any more,
    so that what was typed is not lost.
    """
    house, room = phase.room.house, phase.room
    names = names_of(house)
    needs: dict[str, Amount] = {}
    for line in needs_of(house, phases=[phase.key], rooms=[room.key]):
        needs[line.item] = (
            lengths.add(needs[line.item], line.amount) if line.item in needs else line.amount
        )
    materials = {
        material.key: material
        for material in Material.objects.filter(house=house).prefetch_related("packs")
    }
    ticked = _ticked(phase)
    bought = frozenset(
        OrderLine.objects.filter(order__house=house, receipts__isnull=False)
        .exclude(pack="")
        .values_list("item", "pack")
    )
    here: dict[str, list[tuple[Amount, int]]] = {}
    for item, amount, count in balances(house):
        here.setdefault(item, []).append((amount, count))
    wanted: dict[str, list[Amount | None]] = {item: [] for item in [*needs, *here]}
    for token in also:
        item, _, stick = token.partition("|")
        if item in names or item in here:
            wanted.setdefault(item, []).extend(_read(stick))
    stuff: list[Stuff] = []
    for item, sticks in wanted.items():
        material = materials.get(item)
        cut = bool(material and material.cut)
        need = _words(needs[item], house.units) if item in needs else ""
        shared: dict[str, Any] = {
            "item": item,
            "name": names.get(item, item),
            "cut": cut,
            "need": need,
            "ticked": ticked.get(item, ""),
        }
        if not cut:
            stood = here.get(item)
            unit = (
                needs.get(item) or (stood[0][0] if stood else None) or Amount(Fraction(1), "each")
            ).unit
            words = ", ".join(_words(amount, house.units) for amount, _ in stood or ())
            most = _most(
                [amount for amount, _ in stood or ()] + ([needs[item]] if item in needs else [])
            )
            stuff.append(
                Stuff(
                    **shared,
                    stick=None,
                    here=words,
                    measures=_measures(material, unit, bought),
                    most=most,
                )
            )
            continue
        counts = dict(here.get(item, ()))
        sizes: list[Amount | None] = list(dict.fromkeys([*counts, *sticks]))
        for size in sizes or [None]:
            stuff.append(
                _stick(shared, size, counts.get(size, 0) if size else 0, material, house.units)
            )
    return stuff


def _ticked(phase: Phase) -> dict[str, str]:
    """What ticks used of each item for a phase, in words: `about 4 gal`, `3 sheets`. A log of an
    item replaces it."""
    units = phase.room.house.units
    words = {
        item: f"about {_words(_whole(rough.amount, rough.unit), units)}"
        for (job, item), rough in rough_by_job(phase.room.house).items()
        if job == phase.pk and rough.amount
    }
    if phase.key == "hanging":
        cut = CutSheet.objects.filter(room=phase.room, movement__isnull=False)
        for item, sheets in cut.values_list("item").annotate(sheets=Count("pk")).order_by():
            words[item] = f"{sheets} sheet{'' if sheets == 1 else 's'} cut"
    return words


def _whole(value: Fraction, unit: str) -> Amount:
    """An estimate as people count it: whole pieces, rounded up."""
    return Amount(Fraction(ceil(value)) if unit == "each" else value, unit)


def _most(amounts: Sequence[Amount]) -> Amount | None:
    """The largest of several amounts of one thing; None where none is above zero."""
    alike = [
        lengths.convert(amount, amounts[0].unit)
        for amount in amounts
        if lengths.same_kind(amount, amounts[0])
    ]
    largest = max(alike, key=lambda amount: amount.value, default=None)
    return largest if largest and largest.value > 0 else None


def _stick(
    shared: dict[str, Any], size: Amount | None, count: int, material: Material | None, units: str
) -> Stuff:
    packs = list(material.packs.all()) if material else []
    sizes = [size] if size else list(dict.fromkeys(pack.amount for pack in packs))
    measures = tuple(
        (lengths.format_amount(size), f"sticks of {lengths.shown_amount(size, units)}")
        for size in sizes
    )
    return Stuff(**shared, stick=size, here=str(count) if count else "", measures=measures)


def _measures(
    material: Material | None, unit: str, bought: Collection[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """Each package and the unit itself, as amounts. Packages come first, because that is how people
    count what stands in a corner, and of those the ones that were `bought`: pairs of an item and
    the name of its package."""
    whole = Amount(Fraction(1), unit)
    measures: Measures = []
    key = material.key if material else ""
    packs = list(material.packs.all()) if material else []
    packs.sort(key=lambda pack: (key, pack.name) not in bought)
    for pack in packs:
        if pack.amount != whole and lengths.same_kind(pack.amount, whole):
            measures.append((lengths.format_amount(pack.amount), pack.name))
    return (
        *dict(measures).items(),
        (
            lengths.format_amount(whole),
            ("pieces" if material else "sheets") if unit == "each" else unit,
        ),
    )


def _words(amount: Amount, units: str) -> str:
    return lengths.shown_amount(amount, units).removesuffix(" each")


def _read(stick: str) -> list[Amount]:
    try:
        return [lengths.parse_amount(stick)] if stick else []
    except TakeoffError:
        return []


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftover:
    """An item of which somebody may say, when a phase is done, how much of a package is left in the
    house."""

    item: str
    name: str
    pack: str
    holds: Amount

    def amount(self, share: Fraction) -> Amount:
        return Amount(self.holds.value * share, self.holds.unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """What a phase that is set to done uses by estimate, each with its name, and of what somebody
    may say how much is left."""

    used: tuple[tuple[str, Amount], ...]
    leftovers: tuple[Leftover, ...]

    def __bool__(self) -> bool:
        return bool(self.used or self.leftovers)


def closing_of(phase: Phase) -> Closing:
    """What setting a phase to done would use by estimate, and what may be counted then.

    Only items in packages are asked for, the dearest package first and three at most, and only
    where less than two packages are here: whoever has a stack left counts it on the stock page.
    """
    house = phase.room.house
    standing = standing_of(house)
    rest = {used.item: used for used in rest_used(phase, standing)}
    takes = standing.takes.get(phase.room_id)
    items = (
        dict.fromkeys(take.item for take in takes.takes if take.phase == phase.key) if takes else {}
    )
    materials = Material.objects.filter(house=house, key__in=list(items), cut=False)
    asked: list[tuple[int, Leftover]] = []
    for material in materials.prefetch_related("packs"):
        here = standing.here.get(material.key)
        packs = sorted(material.packs.all(), key=lambda pack: (pack.price, pack.holds))
        if here is None or not packs:
            continue
        pack = packs[-1]
        if not lengths.same_kind(pack.amount, Amount(here.amount, here.unit)):
            continue
        stays = here.amount - (rest[material.key].amount if material.key in rest else 0)
        if stays < 2 * lengths.convert(pack.amount, here.unit).value:
            leftover = Leftover(
                item=material.key, name=material.name, pack=pack.name, holds=pack.amount
            )
            asked.append((pack.price, leftover))
    asked.sort(key=lambda one: (-one[0], one[1].name))
    return Closing(
        used=tuple(
            (standing.shop.name(used.item), _whole(used.amount, used.unit))
            for used in rest.values()
            if used.amount
        ),
        leftovers=tuple(leftover for _, leftover in asked[:_MOST_ASKED]),
    )


@recorded("moved a phase on")
def phase_step(
    *,
    by: By,
    phase: Phase,
    state: str,
    waits_for: str = "",
    remaining: Sequence[tuple[str, Amount]] = (),
) -> Phase:
    """Put a phase into another state. Where it is done, `remaining` says what is left in the house
    of some items: each is a count, after what the phase used by estimate."""
    was = phase.state
    row = phase_set_state(by=by, phase=phase, state=state, waits_for=waits_for)
    if row.state == PhaseState.DONE != was:
        for item, amount in remaining:
            count_left(
                by=by,
                house=phase.room.house,
                item=item,
                remaining=amount,
                room=phase.room,
                phase=phase.key,
            )
    return row


@recorded("logged a day")
def day_log_add(
    *,
    by: By,
    room: Room,
    phase: Phase | None,
    day: date | None = None,
    minutes: int = 0,
    note: str = "",
    used: list[tuple[str, Amount, int]] | None = None,
    spoiled: list[tuple[str, Amount, int]] | None = None,
    remaining: list[tuple[str, Amount]] | None = None,
) -> DayLog:
    """Log a day: hours as minutes, and what was used or spoiled (item, amount, pieces) or remains
    (item, amount).

    Where an amount remains, the ledger gets the difference as used. A phase that was not begun is
    in progress from that day. Undoing the log puts it back.
    """
    day = day or timezone.localdate()
    if day > timezone.localdate():
        raise Refused("The day must not be in the future, for example today's", field="day")
    log = create(
        DayLog(
            room=room,
            phase=phase,
            day=day,
            minutes=minutes,
            note=note,
            person=by.person,
            at=timezone.now(),
        )
    )
    if phase and phase.state in (PhaseState.NOT_STARTED, PhaseState.READY):
        change(phase, state=PhaseState.IN_PROGRESS, started_on=phase.started_on or day)
    key = phase.key if phase else ""
    for kind, some in ((Movement.Kind.USED, used or []), (Movement.Kind.SPOILED, spoiled or [])):
        for item, amount, pieces in some:
            move(
                by=by,
                house=room.house,
                item=item,
                kind=kind,
                amount=amount,
                pieces=pieces,
                room=room,
                phase=key,
                day=day,
                log=log,
            )
    for item, amount in remaining or []:
        count_left(
            by=by,
            house=room.house,
            item=item,
            remaining=amount,
            room=room,
            phase=key,
            day=day,
            log=log,
        )
    return log


@recorded("logged a day")
def day_write(
    *,
    by: By,
    phase: Phase,
    day: date,
    minutes: int = 0,
    note: str = "",
    taken: Sequence[Taken] = (),
    photo: Picture | None = None,
    kept_photo: str = "",
    caption: str = "",
) -> DayLog:
    """Log a day of one phase: hours, a note, a photo, and what was used, spoiled or remains. All or
    nothing.

    `kept_photo` is the token of a photo kept from a refused form. It counts where there is no
    `photo`.
    """
    room = phase.room
    remove_expired()
    if kept_photo and not photo:
        photo = take_photo(by.person, kept_photo)
    elif kept_photo:
        remove_photo(by.person, kept_photo)
    if not (minutes or note.strip() or photo or taken):
        raise Refused("There is nothing to log yet: enter hours, a note, a photo or a material")
    used: list[tuple[str, Amount, int]] = []
    spoiled: list[tuple[str, Amount, int]] = []
    remaining: list[tuple[str, Amount]] = []
    surplus: list[tuple[str, Amount, int]] = []
    stood = {(item, amount): count for item, amount, count in balances(room.house)}
    for line in taken:
        item = line.stuff.item
        if line.stuff.cut:
            gone = int(line.used or 0)
            if line.remaining is not None:
                gone = (
                    stood.get((item, line.measure), 0)
                    - int(line.spoiled or 0)
                    - int(line.remaining)
                )
            if gone > 0:
                used.append((item, line.measure, gone))
            elif gone < 0:
                surplus.append((item, line.measure, -gone))
            if line.spoiled:
                spoiled.append((item, line.measure, int(line.spoiled)))
            continue
        if line.used:
            used.append((item, line.amount(line.used), 1))
        if line.spoiled:
            spoiled.append((item, line.amount(line.spoiled), 1))
        if line.remaining is not None:
            remaining.append((item, line.amount(line.remaining)))
    log = day_log_add(
        by=by,
        room=room,
        phase=phase,
        day=day,
        minutes=minutes,
        note=note.strip(),
        used=used,
        spoiled=spoiled,
        remaining=remaining,
    )
    for item, amount, pieces in surplus:
        move(
            by=by,
            house=room.house,
            item=item,
            kind=Movement.Kind.FOUND,
            amount=amount,
            pieces=pieces,
            room=room,
            phase=phase.key,
            day=day,
            log=log,
        )
    if photo:
        photo_add(by=by, room=room, phase=phase, picture=photo, log=log, caption=caption)
    return log


def logs_of(house: House, *, room: Room | None = None) -> QuerySet[DayLog]:
    """The days of a house or a room, latest first, with the photos and the ledger movements of
    each."""
    moves = Movement.objects.order_by("serial").select_related("reversed_by")
    logs = DayLog.objects.filter(room__house=house, room__deleted_at=None)
    if room is not None:
        logs = logs.filter(room=room)
    return logs.select_related("room", "phase", "person").prefetch_related(
        Prefetch("movements", moves), "photos"
    )


def movement_words(moves: Iterable[Movement], units: str) -> str:
    """The movements of one item in one line: used 3 × 8 ft, spoiled 1."""
    return ", ".join(_moved(move, units) for move in moves)


def _moved(movement: Movement, units: str) -> str:
    size = _words(Amount(abs(movement.value), movement.unit), units)
    many = f"{movement.pieces} × {size}" if movement.pieces > 1 else size
    word = movement.get_kind_display().lower()
    if movement.count and not movement.value:
        return "counted, as the ledger had it"
    return f"{word} {many}{' by count' if movement.count else ''}"


def shown_minutes(minutes: int) -> str:
    """Minutes in words: 3 h 30 min."""
    hours, rest = divmod(minutes, 60)
    return (
        " ".join([*([f"{hours} h"] if hours else []), *([f"{rest} min"] if rest else [])]) or "0 h"
    )
