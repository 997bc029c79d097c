"""What people added to the phases of a room: flooring, trim, doors, cabinets, counted anew whenever
the room changes."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import ceil

from takeoff.added import AddedNeed
from takeoff.catalogue import Catalogue
from takeoff.choices import CountedBy, OpeningKind, SurfaceKind
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.needs.areas import face_area
from takeoff.needs.materials import Material, any_material
from takeoff.needs.need import Need
from takeoff.needs.sticks import in_parts, longest_stick
from takeoff.needs.tally import Tally
from takeoff.quantities import (
    Amount,
    add,
    convert,
    display,
    format_amount,
    from_nm,
    from_nm2,
    ratio,
    same_kind,
    scale,
)
from takeoff.units import FOOT, Nm, UnitSystem

__all__ = ["Measured", "measured", "merged", "needs", "wrong_kinds"]

_AT_FLOOR = (OpeningKind.DOOR, OpeningKind.PASSAGE)
# What a cut list calls the pieces where nobody named them.
_PIECES = {
    CountedBy.PERIMETER: "along a wall",
    CountedBy.BASEBOARD: "along a wall",
    CountedBy.DOORS: "at a door",
    CountedBy.WINDOWS: "at a window",
}


@dataclass(frozen=True, slots=True)
class Measured:
    """What a room has of something that amounts go by: `size` in all, as one reads it in `text`.
    `runs` are its straight parts, of a length alone."""

    size: Amount
    text: str
    runs: tuple[Nm, ...] = ()


def needs(
    room: RoomGeometry, added: Sequence[AddedNeed], *, catalogue: Catalogue, units: UnitSystem
) -> tuple[Need, ...]:
    """Return what people added to the phases of `room`.

    What is counted is rounded up to whole pieces, once what it goes by and once its waste. What is
    cut from sticks goes by the runs of the room, each in as few parts as the sticks on sale allow.
    What is measured in another way than the item is sold by is left out (see `wrong_kinds`).
    """
    found: list[Need] = []
    for need in added:
        material = any_material(need.material, catalogue, unit=need.amount.unit)
        if not same_kind(need.amount, Amount(Fraction(1), material.unit)):
            continue
        tally = Tally(need.phase, room.room, units)
        size = measured(room, need.goes_by, units)
        text = _text(need, size, units)
        if _is_cut(need.material, catalogue):
            _cut(tally, material, need, size, text, catalogue)
        else:
            _take(tally, material, need, size, text)
        found = list(merged(found, tally.needs()))
    return tuple(found)


def wrong_kinds(
    room: RoomGeometry, added: Sequence[AddedNeed], *, catalogue: Catalogue
) -> Iterator[str]:
    """Return a sentence for each added need that is not counted, because its item is sold by
    another kind of unit."""
    for need in added:
        material = any_material(need.material, catalogue, unit=need.amount.unit)
        if not same_kind(need.amount, Amount(Fraction(1), material.unit)):
            yield (
                f"{room.name}: {material.name} is measured in {_unit_words(material.unit)}, so the "
                f"{format_amount(need.amount)} added here cannot be counted. Enter that amount anew"
            )


def measured(room: RoomGeometry, by: CountedBy, units: UnitSystem) -> Measured:
    """Return what `room` has of what amounts go by.

    Areas are without openings, lengths are at the framing as the room was measured. A door counts
    in each room whose wall it is in. A room that is a plain list of surfaces has no floor; its
    perimeter is that of its walls.
    """
    match by:
        case CountedBy.HAND:
            return Measured(Amount(Fraction(1), "each"), "entered by hand")
        case CountedBy.FLOOR:
            return _area(Fraction(room.floor_area), "of floor", units)
        case CountedBy.WALLS:
            return _area(_faces(room, SurfaceKind.WALL), "of wall, without its openings", units)
        case CountedBy.CEILING:
            return _area(_faces(room, SurfaceKind.CEILING), "of ceiling", units)
        case CountedBy.PERIMETER:
            return _length(_runs(room, less=()), "round the room", units)
        case CountedBy.BASEBOARD:
            words = "round the room, less doors and cased openings"
            return _length(_runs(room, less=_AT_FLOOR), words, units)
        case CountedBy.DOORS:
            return _openings(room, OpeningKind.DOOR)
        case CountedBy.WINDOWS:
            return _openings(room, OpeningKind.WINDOW)


def merged(needs_: Sequence[Need], more: Sequence[Need]) -> tuple[Need, ...]:
    """Return the needs with `more` of them: those of one item in one phase of one room are one
    need, wherever they stand. All must measure an item in the same kind of unit."""
    found: dict[tuple[str, str, str], Need] = {}
    for need in (*needs_, *more):
        key = (need.room, need.phase, need.material)
        there = found.get(key)
        found[key] = need if there is None else _joined(there, need)
    return tuple(found.values())


def _joined(need: Need, other: Need) -> Need:
    unit = need.amount.unit
    reasons = (replace(reason, amount=convert(reason.amount, unit)) for reason in other.reasons)
    return replace(
        need,
        amount=add(need.amount, other.amount),
        reasons=(*need.reasons, *reasons),
        lengths=tuple(sorted((*need.lengths, *other.lengths), reverse=True)),
    )


def _is_cut(item: str, catalogue: Catalogue) -> bool:
    return any(material.id == item and material.cut for material in catalogue.materials)


def _take(tally: Tally, material: Material, need: AddedNeed, size: Measured, text: str) -> None:
    total = convert(scale(need.amount, _times(need, size)), material.unit)
    with_waste = scale(total, 1 + _share(need.waste))
    if material.unit == "each":
        total = Amount(Fraction(ceil(total.value)), "each")
        with_waste = Amount(Fraction(ceil(with_waste.value)), "each")
    tally.take(material, total, text)
    waste = Amount(with_waste.value - total.value, material.unit)
    tally.take(material, waste, _waste_text(need))


def _cut(
    tally: Tally,
    material: Material,
    need: AddedNeed,
    size: Measured,
    text: str,
    catalogue: Catalogue,
) -> None:
    longest = longest_stick(catalogue, material)
    piece = need.note.strip() or _PIECES.get(need.goes_by, "")
    each = Nm(round(convert(need.amount, "ft").value * FOOT))
    if need.goes_by in (CountedBy.DOORS, CountedBy.WINDOWS):
        assert need.per is not None
        runs = [each] * ceil(ratio(size.size, need.per))
    elif size.runs:
        assert need.per is not None
        rate = ratio(need.amount, need.per)
        times = rate.numerator if rate.denominator == 1 else 1
        runs = [Nm(round(run * rate / times)) for run in size.runs for _ in range(times)]
    else:
        runs = [Nm(round(each * _times(need, size)))]
    lengths = [part for run in runs if run for part in in_parts(run, longest)]
    tally.cut(material, lengths, text, piece=piece)
    waste = Nm(round(sum(lengths) * _share(need.waste)))
    if waste:
        tally.cut(material, in_parts(waste, longest), _waste_text(need), piece="spare")


def _times(need: AddedNeed, size: Measured) -> Fraction:
    return Fraction(1) if need.per is None else ratio(size.size, need.per)


def _share(waste: Decimal) -> Fraction:
    return Fraction(waste) / 100


def _text(need: AddedNeed, size: Measured, units: UnitSystem) -> str:
    text = size.text
    if need.per is not None and need.amount != need.per:
        per = display(need.per, units).removesuffix(" each")
        some = display(need.amount, units)
        text = (
            f"{some} for each of {size.text}"
            if need.per == Amount(Fraction(1), "each")
            else f"{some} for every {per} of {size.text}"
        )
    return f"{need.note.strip()}: {text}" if need.note.strip() else text


def _waste_text(need: AddedNeed) -> str:
    text = f"{need.waste.normalize():f}% waste, as you entered it"
    return f"{need.note.strip()}: {text}" if need.note.strip() else text


def _unit_words(unit: str) -> str:
    return "pieces" if unit == "each" else unit


def _area(square_nanometres: Fraction, words: str, units: UnitSystem) -> Measured:
    size = from_nm2(round(square_nanometres), "sq ft")
    return Measured(size, f"{display(size, units)} {words}")


def _faces(room: RoomGeometry, kind: SurfaceKind) -> Fraction:
    areas = (face_area(surface) for surface in room.surfaces if surface.kind is kind)
    return sum(areas, Fraction(0))


def _length(runs: Sequence[Nm], words: str, units: UnitSystem) -> Measured:
    size = from_nm(Nm(sum(runs)), "ft")
    return Measured(size, f"{display(size, units)} {words}", tuple(runs))


def _openings(room: RoomGeometry, kind: OpeningKind) -> Measured:
    names = {
        opening.id: opening.name
        for surface in room.surfaces
        for opening in surface.openings
        if opening.kind is kind and surface.kind is SurfaceKind.WALL
    }
    words = f"{len(names)} {kind}{'' if len(names) == 1 else 's'}"
    if names:
        words += f" ({', '.join(names.values())})"
    return Measured(Amount(Fraction(len(names)), "each"), words)


def _runs(room: RoomGeometry, *, less: Collection[OpeningKind]) -> list[Nm]:
    """The straight parts along the floor, without the widths of openings of these kinds that go
    down to it."""
    surfaces = {surface.id.partition("/")[2]: surface for surface in room.surfaces}
    runs: list[Nm] = []
    if room.plan:
        ends = (*room.plan[1:], room.plan[0])
        for start, end, side in zip(room.plan, ends, room.plan_sides, strict=True):
            length = Nm(round(Fraction(length_of(start, end))))
            surface = surfaces.get(side.wall)
            shift = surface.origin[0] - side.shift if surface is not None else 0
            runs += _left_of(length, _at_floor(surface, less), shift)
        return runs
    for surface in surfaces.values():
        if surface.kind is SurfaceKind.WALL:
            length = Nm(max(u for u, _ in surface.outline) - min(u for u, _ in surface.outline))
            runs += _left_of(length, _at_floor(surface, less), 0)
    return runs


def _at_floor(surface: Surface | None, kinds: Collection[OpeningKind]) -> list[PlacedOpening]:
    if surface is None:
        return []
    return [opening for opening in surface.openings if opening.kind in kinds and not opening.bottom]


def _left_of(length: Nm, openings: Sequence[PlacedOpening], shift: int) -> Iterator[Nm]:
    """What openings leave of a run. They are placed along their surface, which begins `shift` after
    the run."""
    at = 0
    for opening in sorted(openings, key=lambda one: one.left):
        start, end = (min(max(0, side + shift), length) for side in (opening.left, opening.right))
        if start > at:
            yield Nm(start - at)
        at = max(at, end)
    if length > at:
        yield Nm(length - at)
