"""Choices that a house has open: found, worked out both ways, and taken.

    for one in open_choices(house):
        one.difference        None until somebody worked it out
    both_ways(house, one.choice)
    choice_take(by=by, house=house, choice=one.choice, side="after")

Working a choice out stores nothing; it is kept by all that it follows from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from time import monotonic
from typing import TypeAlias

from django.core.cache import cache

from remodel.board.models import RoomResult
from remodel.board.queries import figures_are_stale
from remodel.bridge import codec, house_value
from remodel.bridge.choices import (
    Choice,
    ChoiceKind,
    DrawnBothWays,
    PlanCache,
    choices_and_sides,
    drawn_both_ways,
    free_rooms,
    level_of,
    overtaken,
    surfaces_of_joints,
)
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.piles import engine_version
from remodel.bridge.records import House as HouseValue
from remodel.bridge.records import board_kinds_value
from remodel.history.errors import Refused
from remodel.history.services import By, recorded
from remodel.history.versioned import Versioned
from remodel.house.models import House, Partition, Room, SurfaceChoice
from remodel.house.partitions import partition_change
from remodel.house.queries import house_bought_with, keys_bought_with, whole_house
from remodel.house.services import room_change
from remodel.house.things import surface_choice_set
from remodel.order_of_work import OrderOfWork, order_of, order_of_house
from remodel.piles import heads_of, pile_end, pile_make, piles_of

__all__ = [
    "Difference",
    "OpenChoice",
    "both_ways",
    "choice_take",
    "choices_of_room",
    "open_choices",
    "overtaken_partition",
    "rows_of",
    "work_out_choices",
]

_DAY = 24 * 3600
CEILING = "ceiling"


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What the second side of a choice takes more than the first: cents before whole packs, and
    hours of one person. `leans_to` is the id of a side, empty where it leans to neither."""

    cents: int
    hours: Fraction
    leans_to: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenChoice:
    """A choice of a house. `now` is the id of the side that the house has; empty where it has
    neither, and where that is nowhere held. `overtaken` says why it can no longer be made by a
    press. `difference` is None until it was worked out, and `why_not` says why it cannot be."""

    choice: Choice
    now: str
    overtaken: str
    difference: Difference | None = None
    why_not: str = ""


# The choices of a house with the side that it has of each.
_Found: TypeAlias = tuple[tuple[Choice, str], ...]


def open_choices(
    house: House, order: OrderOfWork | None = None, rooms: Sequence[Room] | None = None
) -> list[OpenChoice]:
    """The choices of a house, each with its difference as far as it was worked out; none where the
    house cannot be built. `order` is the order of work of the whole house and `rooms` are all its
    rooms with their results, where they are read already."""
    order = order or order_of_house(house)
    digests = _digests(house) if rooms is None else _digests_of(rooms)
    free = free_rooms(order.graph)
    return _listed(_found(lambda: whole_house(house.pk), free, digests), order, digests)


def choices_of_room(room: Room, order: OrderOfWork) -> list[OpenChoice]:
    """The choices about a room, its partitions among them. `order` is that of the room at least."""
    # They follow from the rooms that are worked out with it. To look at all rooms of a large house
    # for them would take longer than all else on a page.
    near = keys_bought_with(room)
    digests = {key: digest for key, digest in _digests(room.house).items() if key in near}
    found = _found(lambda: house_bought_with(room), frozenset(), digests)
    listed = _listed(found, order, digests)
    return [one for one in listed if one.choice.of and room.key in one.choice.rooms]


def _listed(found: _Found, order: OrderOfWork, digests: Mapping[str, str]) -> list[OpenChoice]:
    keys = {choice.id: _key(choice, digests) for choice, _ in found}
    known = cache.get_many([f"{key}:difference" for key in keys.values()])
    return [
        _with(
            OpenChoice(choice=choice, now=now, overtaken=overtaken(choice, order.graph)),
            known.get(f"{keys[choice.id]}:difference"),
        )
        for choice, now in found
    ]


def work_out_choices(
    house: House, choices: Sequence[OpenChoice], *, seconds: float
) -> list[OpenChoice]:
    """The choices with their differences. After so many `seconds` no further one is begun."""
    begun = monotonic()
    digests = _digests(house)
    value, plans = None, PlanCache()
    done = []
    for one in choices:
        if one.difference is None and not one.why_not and monotonic() - begun < seconds:
            value = value or house_value(whole_house(house.pk))
            known, both = _worked_out(value, one.choice, plans)
            if _is_of_now(house, digests):
                key = _key(one.choice, digests)
                cache.set(f"{key}:difference", known, _DAY)
                cache.set(f"{key}:drawn", both, _DAY)
            done.append(_with(one, known))
        else:
            done.append(one)
    return done


def _with(one: OpenChoice, known: Difference | str | None) -> OpenChoice:
    """The choice with what is known of its difference: that, or why there is none."""
    return replace(
        one,
        difference=known if isinstance(known, Difference) else None,
        why_not=known if isinstance(known, str) else "",
    )


def both_ways(house: House, choice: Choice) -> DrawnBothWays:
    """A choice worked out and drawn. Raises `TakeoffError` where a side cannot be built."""
    digests = _digests(house)
    key = _key(choice, digests)
    both: DrawnBothWays | None = cache.get(f"{key}:drawn")
    if both is None:
        both = drawn_both_ways(house_value(whole_house(house.pk)), choice)
        if _is_of_now(house, digests):
            cache.set(f"{key}:drawn", both, _DAY)
            cache.set(f"{key}:difference", _difference(both), _DAY)
    return both


def rows_of(house: House, choice: Choice) -> list[Versioned | type[Versioned]]:
    """The rows that hold what is chosen, for what a page was made from."""
    if choice.kind is ChoiceKind.PARTITION:
        return list(Partition.objects.filter(house=house, key=choice.of))
    if choice.kind in (ChoiceKind.CEILING, ChoiceKind.JOINTS):
        rows = SurfaceChoice.objects.filter(room__house=house, room__key=choice.of)
        return [*rows, SurfaceChoice]
    return list(Room.objects.filter(house=house, key__in=choice.rooms))


def overtaken_partition(partition: Partition) -> str:
    """Why it is no longer open when a partition is framed, as a sentence; empty where it is."""
    room = partition.room
    choice = Choice(
        kind=ChoiceKind.PARTITION, name=partition.name, rooms=(room.key,), of=partition.key
    )
    return overtaken(choice, order_of(room).graph)


@recorded("made a choice")
def choice_take(*, by: By, house: House, choice: Choice, side: str) -> Versioned:
    """Take a side of a choice: the same field is written as by the form it stands in. Raises
    `Refused` where the work has overtaken the choice, and where the house holds no such thing."""
    now = next(
        (one for one in open_choices(house) if one.choice.id == choice.id),
        None,
    )
    if now is None or not choice.stored or side not in choice.sides:
        raise Refused("This choice is no longer there. Go back to the choices of the house")
    if now.overtaken:
        raise Refused(
            f"{now.overtaken}, so this is not changed by a press. Change it where it stands, where "
            "you are asked what becomes of the boards"
        )
    return _take(by, house, choice, side)


def _take(by: By, house: House, choice: Choice, side: str) -> Versioned:
    if choice.kind is ChoiceKind.PARTITION:
        partition = Partition.objects.get(house=house, key=choice.of)
        return partition_change(by=by, partition=partition, framed=side)
    if choice.kind is ChoiceKind.CEILING:
        room = Room.objects.get(house=house, key=choice.of)
        return surface_choice_set(by=by, room=room, surface=CEILING, orientation=side)
    if choice.kind is ChoiceKind.LEVEL:
        room = Room.objects.get(house=house, key=choice.of)
        level = level_of(side)
        return room_change(by=by, room=room, wall_level=level, ceiling_level=level)
    if choice.kind is ChoiceKind.JOINTS:
        return _take_joints(by, house, choice, side)
    heads = [room for room in heads_of(house) if room.key in choice.rooms]
    if side == choice.sides[1]:
        pile_make(by=by, house=house, rooms=heads)
    else:
        for pile in piles_of(house):
            if {room.pk for room in pile.rooms} & {room.pk for room in heads}:
                pile_end(by=by, house=house, key=pile.key)
    return heads[0]


def _take_joints(by: By, house: House, choice: Choice, side: str) -> Versioned:
    """Choose where butt seams fall for every surface of a room that is open to both: those for
    which no plan fits with floating ones stay on framing."""
    room = Room.objects.get(house=house, key=choice.of)
    value = house_value(whole_house(house.pk))
    stays = drawn_both_ways(value, choice).priced.other.stays
    row: Versioned = room
    for key in surfaces_of_joints(value, choice):
        mode = "framing" if f"{choice.of}/{key}" in stays else side
        row = surface_choice_set(by=by, room=room, surface=key, joint_mode=mode)
    return row


def _digests(house: House) -> dict[str, str]:
    """What the figures of each room were worked out from, in one query."""
    rows = RoomResult.objects.filter(room__house=house, room__deleted_at=None)
    return dict(rows.values_list("room__key", "digest"))


def _digests_of(rooms: Iterable[Room]) -> dict[str, str]:
    """The same, of rooms that were read with their results."""
    results = {room.key: getattr(room, "result", None) for room in rooms}
    return {key: result.digest for key, result in results.items() if result is not None}


def _found(read: Callable[[], House], free: frozenset[str], digests: Mapping[str, str]) -> _Found:
    key = f"choices:{codec.digest(engine_version(), sorted(free), sorted(digests.items()))}"
    found: _Found | None = cache.get(key)
    if found is None:
        row = read()
        try:
            found = choices_and_sides(house_value(row, catalogue=board_kinds_value(row)), free)
        except TakeoffError:
            found = ()
        cache.set(key, found, _DAY)
    return found


def _key(choice: Choice, digests: Mapping[str, str]) -> str:
    """A name for all that a choice is worked out from."""
    rooms = [[room, digests.get(room, "")] for room in choice.rooms]
    return f"choice:{codec.digest(engine_version(), choice.id, rooms)}"


def _is_of_now(house: House, digests: Mapping[str, str]) -> bool:
    """Whether the figures of a house are of now, and still what they were: else what was worked out
    may be of another house than its key says."""
    return not figures_are_stale(house.pk) and _digests(house) == digests


def _worked_out(
    house: HouseValue, choice: Choice, plans: PlanCache
) -> tuple[Difference | str, DrawnBothWays | None]:
    """The difference of a choice, or why it cannot be worked out."""
    try:
        both = drawn_both_ways(house, choice, plans)
    except TakeoffError as error:
        return str(error), None
    return _difference(both), both


def _difference(both: DrawnBothWays) -> Difference:
    leaning = both.priced.leaning
    return Difference(
        cents=round(both.priced.money),
        hours=both.priced.hours,
        leans_to=leaning.side,
        says=leaning.says,
    )
