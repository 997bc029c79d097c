"""Holes of a board in each other's place: two cut-outs in one spot, or a cut-out in an opening.

Edges that only touch are no overlap: boxes ganged side by side are built so. A round hole is
compared as the circle it is, by the distance of its center, exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from takeoff.choices import CutoutKind, HiddenKind
from takeoff.geometry.polygon import holds_rectangle
from takeoff.geometry.shapes import RoomNote
from takeoff.geometry.surface import Placed, PlacedCutout, PlacedHidden, PlacedOpening
from takeoff.units import Nm, UnitSystem, tape_reading

__all__ = ["Overlap", "free_readings", "meet", "overlap_notes", "overlaps"]

Hole = PlacedOpening | PlacedCutout
Thing = Hole | PlacedHidden

# Each edge of a placed thing is rounded to a whole nanometre, along both axes: two that touch may
# seem to overlap by so much. No tape shows it.
_ROUNDING = Nm(2)


@dataclass(frozen=True, slots=True)
class Overlap:
    """A cut-out in the place of another, or wholly or partly in an opening, both on `placed`."""

    placed: Placed
    cutout: PlacedCutout
    other: Hole


def overlaps(placed: Placed) -> Iterator[Overlap]:
    """Every two holes of one surface that overlap, in the order the person gave them."""
    for index, cutout in enumerate(placed.cutouts):
        earlier: list[Hole] = [*placed.openings, *placed.cutouts[:index]]
        for other in earlier:
            if meet(cutout, other, slack=_ROUNDING):
                yield Overlap(placed, cutout, other)


def meet(one: Thing, other: Thing, *, slack: Nm = Nm(0)) -> bool:
    """Whether two things of one surface overlap by more than `slack`; those that touch do not.

    A round one is the circle in its square. Every comparison is of whole numbers: lengths are
    doubled, so that a center is a whole number too, and distances stay squared.
    """
    if not _bounds_meet(one, other, slack):
        return False
    if _is_round(one) and _is_round(other):
        across = (one.left + one.right) - (other.left + other.right)
        up = (one.bottom + one.top) - (other.bottom + other.top)
        reach = (one.right - one.left) + (other.right - other.left) - 2 * slack
        return across * across + up * up < reach * reach
    if _is_round(one):
        return _circle_meets(one, other, slack)
    if _is_round(other):
        return _circle_meets(other, one, slack)
    return True


def _bounds_meet(one: Thing, other: Thing, slack: Nm) -> bool:
    return (
        one.left + slack < other.right
        and other.left + slack < one.right
        and one.bottom + slack < other.top
        and other.bottom + slack < one.top
    )


def _is_round(thing: Thing) -> bool:
    return isinstance(thing, PlacedCutout) and thing.is_round


def _circle_meets(circle: Thing, rectangle: Thing, slack: Nm) -> bool:
    """Whether the point of the rectangle nearest to the circle's center lies inside the circle."""
    across, up = circle.left + circle.right, circle.bottom + circle.top
    beside = max(2 * rectangle.left - across, across - 2 * rectangle.right, 0)
    over = max(2 * rectangle.bottom - up, up - 2 * rectangle.top, 0)
    reach = max(circle.right - circle.left - 2 * slack, 0)
    return beside * beside + over * over < reach * reach


def free_readings(
    thing: Hole, placed: Placed, *, at: Nm, from_right: bool, mark: Nm
) -> tuple[Nm, ...]:
    """Return the readings next to `at` at which `thing` would be clear of all other holes.

    They are the nearest smaller and the nearest larger reading at the height of the thing, as far
    as its surface has room, on whole `mark`s of a tape. `at` is the reading that placed it, from
    the left end or `from_right`.
    """
    way = -1 if from_right else 1
    holes: list[Hole] = [*placed.openings, *placed.cutouts]
    others = [hole for hole in holes if hole.id != thing.id]
    free: set[Nm] = set()
    for other in others:
        for move in (other.right - thing.left, other.left - thing.right):
            exact = at + way * move
            # Away from where it is now, so that a rounded reading is clear of `other` too.
            reading = -(-exact // mark) * mark if exact > at else exact // mark * mark
            moved = _moved(thing, way * (reading - at))
            if reading >= 0 and _is_free(moved, others, placed):
                free.add(Nm(reading))
    smaller = [reading for reading in free if reading < at]
    larger = [reading for reading in free if reading > at]
    return (*([max(smaller)] if smaller else []), *([min(larger)] if larger else []))


def _moved(thing: Hole, along: int) -> Hole:
    return replace(thing, left=Nm(thing.left + along), right=Nm(thing.right + along))


def _is_free(thing: Hole, others: Sequence[Hole], placed: Placed) -> bool:
    edges = (thing.left, thing.bottom, thing.right, thing.top)
    on_surface = any(holds_rectangle(part, *edges) for part in placed.parts)
    return on_surface and not any(meet(thing, other, slack=_ROUNDING) for other in others)


def overlap_notes(placed: Placed, units: UnitSystem) -> Iterator[RoomNote]:
    """Notes on one surface: holes in each other's place, and what is hidden behind a hole."""
    for overlap in overlaps(placed):
        cutout, other = overlap.cutout, overlap.other
        where = "in the opening of" if isinstance(other, PlacedOpening) else "in the place of"
        text = f'{placed.name}: "{cutout.name}" lies {where} "{other.name}"'
        if placed.is_upright:
            first = tape_reading(Nm(cutout.left - placed.tape_from), units)
            last = tape_reading(Nm(cutout.right - placed.tape_from), units)
            text += f", {first} to {last} from the left end"
        yield RoomNote(cutout.id, f"{text}; move or remove one of them")
    for item in placed.hidden:
        in_the_way: list[Thing] = [*placed.openings]
        if item.kind in (HiddenKind.DUCT, HiddenKind.PIPE):
            # A pipe comes out of the wall in a hole of its own kind, and a duct in a vent.
            shallow = (CutoutKind.BOX, CutoutKind.ROUND)
            in_the_way += [cutout for cutout in placed.cutouts if cutout.kind in shallow]
        for thing in in_the_way:
            if meet(item, thing, slack=_ROUNDING):
                yield RoomNote(
                    item.id,
                    f'{placed.name}: "{item.name}" runs behind "{thing.name}"; one of them is '
                    "misplaced",
                )
