"""The sentences of a card that stand beside its drawing, on paper and on the phone."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from takeoff.cards.card import PieceCard
from takeoff.cards.marks import CutWhen, HoleMark, NotchMark
from takeoff.cards.tape import Span, span_on, tape
from takeoff.reference import figures
from takeoff.units import Nm, UnitSystem, format_length

__all__ = [
    "MarkRow",
    "hole_check",
    "mark_rows",
    "opening_check",
    "screw_lines",
    "screw_rule",
    "screw_words",
    "where_words",
]

_KILOGRAMS_A_POUND = Fraction(45_359_237, 100_000_000)  # the international pound, exact
_ENDS = ("left end", "right end", "along")
_EDGES = ("near edge", "far edge", "across")


def hole_check(hole: HoleMark, card: PieceCard, units: UnitSystem) -> str:
    """The measures of a hole from both ends and both edges of its piece.

    A person who adds them up sees, before cutting, that a hole is marked from the wrong end. What
    is marked by its center is measured to its center.
    """
    along, across = _spans(hole, card, units)
    if hole.by_center:
        parts = [_center(along, units, _ENDS), _center(across, units, _EDGES)]
        if hole.round:
            parts.append(f"{_diameter(hole, units)} in diameter")
    else:
        parts = [_check(along, units, _ENDS), _check(across, units, _EDGES)]
    if hole.when is CutWhen.IN_PLACE:
        parts.append(CutWhen.IN_PLACE.value)
    return f"{hole.name}: {'; '.join(parts)}"


def opening_check(notch: NotchMark, card: PieceCard, units: UnitSystem) -> str:
    """The measures of a door or window from both ends and both edges of its piece; at an edge that
    it runs out over it says so."""
    area, lay = notch.area, card.on.lay
    along = _check(span_on(area.left, area.right, lay.long, units), units, _ENDS)
    across = _check(span_on(area.near, area.far, lay.across, units), units, _EDGES)
    return f"{notch.name}: {along}; {across}"


def _spans(hole: HoleMark, card: PieceCard, units: UnitSystem) -> tuple[Span, Span]:
    lay, cut = card.on.lay, hole.cut
    x, y = cut.middle
    left, right, near, far = (
        (x, x, y, y) if hole.by_center else (cut.left, cut.right, cut.near, cut.far)
    )
    return span_on(left, right, lay.long, units), span_on(near, far, lay.across, units)


def _center(span: Span, units: UnitSystem, words: tuple[str, str, str]) -> str:
    first, _, last, whole = span.words(units)
    return f"center {first} from the {words[0]}, {last} from the {words[1]}, together {whole}"


def _diameter(hole: HoleMark, units: UnitSystem) -> str:
    return tape(Nm(hole.cut.right - hole.cut.left), units)


def _check(span: Span, units: UnitSystem, words: tuple[str, str, str]) -> str:
    """Both distances and the size of a hole in one direction, as the tape reads them."""
    first, size, last, whole = span.words(units)
    low = f"{first} from the {words[0]}" if span.first else f"out over the {words[0]}"
    high = f"{last} from the {words[1]}" if span.last else f"out over the {words[1]}"
    return f"{low}, {high}, {size} {words[2]}, together {whole}"


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One hole or opening in the table of a card: its name, what is cut, and where that is from
    the two ends and the two edges of the lying piece. `what` says whether these go to its sides or
    its center."""

    name: str
    size: str
    what: str
    left: str
    right: str
    near: str
    far: str


def mark_rows(card: PieceCard, units: UnitSystem) -> tuple[MarkRow, ...]:
    """The holes and openings of a piece, from its left end on. An opening that is left whole has
    no mark."""
    rows = []
    for hole in card.holes:
        along, across = _spans(hole, card, units)
        if hole.by_center:
            size = f"{_diameter(hole, units)} round" if hole.round else CutWhen.IN_PLACE.value
            what = "to its center"
        else:
            size, what = _size(along, across, units), "to its sides"
        rows.append((hole.cut.left, _row(hole.name, size, what, along, across, units)))
    for notch in card.notches:
        if not notch.later:
            area, lay = notch.area, card.on.lay
            along = span_on(area.left, area.right, lay.long, units)
            across = span_on(area.near, area.far, lay.across, units)
            size = _size(along, across, units)
            rows.append((area.left, _row(notch.name, size, "to its sides", along, across, units)))
    return tuple(row for _, row in sorted(rows, key=lambda placed: placed[0]))


def _size(along: Span, across: Span, units: UnitSystem) -> str:
    return f"{format_length(along.size, units)} x {format_length(across.size, units)}"


def _row(name: str, size: str, what: str, along: Span, across: Span, units: UnitSystem) -> MarkRow:
    left, _, right, _ = along.words(units)
    near, _, far, _ = across.words(units)
    return MarkRow(name, size, what, left, right, near, far)


def where_words(card: PieceCard, units: UnitSystem) -> str:
    """Where on its surface a piece hangs, and what it weighs; empty where neither is known."""
    weight = ""
    if card.pounds is not None:
        heavy = f"{card.pounds} lb"
        if units is UnitSystem.MILLIMETRE:
            heavy = f"{max(1, round(card.pounds * _KILOGRAMS_A_POUND))} kg"
        weight = f"About {heavy}"
        if card.holes or card.notches:
            weight += " before cutouts"
    return ". ".join(text for text in (card.place, weight) if text)


def screw_words(card: PieceCard, units: UnitSystem) -> str:
    """The screws of a piece, and in which order and how near to an edge any screw is driven."""
    lines = screw_lines(card, units)
    return f"{lines}, {screw_rule(units)}" if card.screw_lines else lines


def screw_rule(units: UnitSystem) -> str:
    """What holds for the screws of every piece."""
    edge = tape(figures.length("HL-01"), units)
    return f"from the middle outward, {edge} or more from every edge"


def screw_lines(card: PieceCard, units: UnitSystem) -> str:
    """The screws of a piece by their name on the shelf: how many lines of how many, and how far
    apart they are at most."""
    if not card.screw_lines:
        return "No stud, joist or rafter lies behind this piece"
    spacing = tape(max(line.spacing for line in card.screw_lines), units, feet=False)
    counted = Counter(line.screws for line in card.screw_lines)
    lines = " and ".join(
        f"{count} line{'s' if count > 1 else ''} of {screws}"
        for screws, count in sorted(counted.items(), key=lambda pair: (-pair[1], -pair[0]))
    )
    return f"{card.screws} screws, {card.screw}: {lines}, at most {spacing} apart"
