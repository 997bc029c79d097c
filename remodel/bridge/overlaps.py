"""Holes of a board in each other's place, in words: why an edit is refused, and which holes of a
house overlap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isqrt
from typing import TypeAlias

from takeoff.errors import BadValue
from takeoff.geometry.overlaps import Overlap, free_readings, overlap_notes, overlaps
from takeoff.geometry.rooms import house_geometry
from takeoff.geometry.surface import Placed, PlacedCutout, PlacedOpening
from takeoff.house import House
from takeoff.units import MM, SIXTEENTH, Nm, UnitSystem, tape_reading

__all__ = ["PlacedThings", "Reading", "overlap_refusal", "overlaps_of_house"]

PlacedThings: TypeAlias = Sequence[Placed]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The tape reading that a person changes to move a thing along its surface.

    `label` is the label of its field. `origin` is where the tape starts (`left`, `right`, or on a
    ceiling a wall). `distance` is in nanometers.
    """

    label: str
    origin: str
    distance: int


def overlap_refusal(
    things: PlacedThings, key: str, reading: Reading, *, room: str, units: str
) -> str | None:
    """Why the hole of id `key` may not be where it is: what lies there, where, and what to enter.

    None where it overlaps no other hole. `room` is the name of the room the hole is given in.
    """
    overlap = next(_of(things, key), None)
    if overlap is None:
        return None
    words = _Words(overlap, key, reading, room, UnitSystem(units))
    return " ".join([words.what, words.where, words.advice])


def _of(things: PlacedThings, key: str) -> Iterator[Overlap]:
    for placed in things:
        for overlap in overlaps(placed):
            if key in (overlap.cutout.id, overlap.other.id):
                yield overlap


class _Words:
    """The words of one overlap, for the person who moves the thing of id `key` into it."""

    def __init__(
        self, overlap: Overlap, key: str, reading: Reading, room: str, units: UnitSystem
    ) -> None:
        self.placed = overlap.placed
        moved_cutout = overlap.cutout.id == key
        self.thing = overlap.cutout if moved_cutout else overlap.other
        self.other = overlap.other if moved_cutout else overlap.cutout
        self.reading, self.units = reading, units
        # An opening of a partition may cover a box of the room behind, on the face where its own
        # readings do not start.
        self.own_face = self.placed.name.startswith(f"{room}, ")
        self.surface = self.placed.name.removeprefix(f"{room}, ")

    @property
    def what(self) -> str:
        if isinstance(self.thing, PlacedOpening):
            verb = "would cover"
        elif isinstance(self.other, PlacedOpening):
            verb = "would lie in the opening of"
        else:
            verb = "would lie in the place of"
        surface = "the ceiling" if self.surface == "ceiling" else self.surface
        return f'"{self.thing.name}" {verb} "{self.other.name}" on {surface}.'

    @property
    def where(self) -> str:
        placed, other = self.placed, self.other
        if not placed.is_upright:
            apart = self._shown(_center_distance(self.thing, other))
            return f"Their centers would be {apart} apart."
        if self.reading.origin == "right":
            ends = (placed.tape_to - other.right, placed.tape_to - other.left)
        else:
            ends = (other.left - placed.tape_from, other.right - placed.tape_from)
        end = "right" if self.reading.origin == "right" else "left"
        is_opening = isinstance(other, PlacedOpening)
        what = f'The opening of "{other.name}"' if is_opening else f'"{other.name}"'
        across = f"{self._shown(ends[0])} to {self._shown(ends[1])} from the {end} end"
        up = f"{self._shown(other.bottom)} to {self._shown(other.top)} above the floor"
        return f"{what} spans {across}, and {up}."

    @property
    def advice(self) -> str:
        field = f'"{self.reading.label}"'
        move_other = f'or move or remove "{self.other.name}" first'
        if not self.placed.is_upright or not self.own_face:
            return f"Measure both again and enter another length for {field}, {move_other}"
        free = free_readings(
            self.thing,
            self.placed,
            at=Nm(self.reading.distance),
            from_right=self.reading.origin == "right",
            mark=SIXTEENTH if self.units is UnitSystem.INCH else MM,
        )
        if not free:
            return f"Nothing else fits beside it at this height. Enter another height, {move_other}"
        nearest = " or ".join(tape_reading(reading, self.units) for reading in free)
        return f"Enter {nearest} for {field}, {move_other}"

    def _shown(self, nm: int) -> str:
        return tape_reading(Nm(nm), self.units)


def _center_distance(one: PlacedOpening | PlacedCutout, other: PlacedOpening | PlacedCutout) -> int:
    across = (one.left + one.right) - (other.left + other.right)
    up = (one.bottom + one.top) - (other.bottom + other.top)
    return isqrt(across * across + up * up) // 2


def overlaps_of_house(house: House) -> list[str]:
    """A sentence for every two holes in each other's place; empty for a house that cannot be
    drawn."""
    try:
        placed = house_geometry(house).placed
    except BadValue:
        return []
    return [
        note.text
        for surface in placed
        for note in overlap_notes(surface, house.units)
        if note.place in {cutout.id for cutout in surface.cutouts}
    ]
