"""A surface as a DXF file, for those who draw on in a drafting program: lines, circles and words on
named layers.

The oldest form of the format that every reader takes (R12, ASCII): no units of its own, so lengths
are written in the house's, inches or millimetres, to six decimals, and a line of words under the
drawing says which, with the room, the surface and the side it is seen from. Letters outside ASCII
are written as the format's own escapes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.cards.clean_text import clean
from takeoff.cards.lookup import Seen, see
from takeoff.choices import Runs, SurfaceKind
from takeoff.drawing.seam_lines import seam_lines
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point
from takeoff.job import Takeoff
from takeoff.units import INCH, MM, Nm, UnitSystem

__all__ = ["LAYERS", "surface_dxf"]

# Each layer with its colour number and line type; names tell them apart, as plotters may not.
LAYERS = {
    "FRAMING-FACE": (8, "CONTINUOUS"),
    "BOARD": (7, "CONTINUOUS"),
    "SEAM-TAPERED": (7, "CONTINUOUS"),
    "SEAM-CUT": (7, "DASHED"),
    "SEAM-BUTT": (7, "CONTINUOUS"),
    "SEAM-FLOATING": (7, "DASHED"),
    "MEMBERS": (8, "DASHED"),
    "OPENINGS": (7, "CONTINUOUS"),
    "HOLES": (1, "CONTINUOUS"),
    "BEHIND": (8, "DASHED"),
    "WORDS": (7, "CONTINUOUS"),
}
_SEAM_LAYERS = {
    "tapered": "SEAM-TAPERED",
    "cut": "SEAM-CUT",
    "butt": "SEAM-BUTT",
    "floating": "SEAM-FLOATING",
}
_WORDS_HIGH = Nm(3 * INCH)


@dataclass(frozen=True, slots=True)
class _Paper:
    """Where points of the surface come in the file: as they are, or half a turn about the middle of
    the surface, whose opposite corners add up to `turn`."""

    units: UnitSystem
    turn: Point | None

    def spot(self, point: Point) -> Point:
        if self.turn is None:
            return point
        return Nm(self.turn[0] - point[0]), Nm(self.turn[1] - point[1])


def surface_dxf(takeoff: Takeoff, surface: str) -> str:
    """The surface of that id as DXF text with CR LF line ends. u runs to the right and v up, from
    the surface's own corner; a level ceiling is turned, so that its first wall is at the top.

    Raises `BadValue` for an id that is no surface.
    """
    seen = see(takeoff, surface)
    pairs = [*_head(), *_entities(seen), (0, "EOF")]
    return "".join(f"{code:>3}\r\n{value}\r\n" for code, value in pairs)


def _head() -> Iterator[tuple[int, str]]:
    yield from ((0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC"))
    yield from ((0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, "2"))
    yield from (
        (0, "LTYPE"),
        (2, "CONTINUOUS"),
        (70, "0"),
        (3, "Solid"),
        (72, "65"),
        (73, "0"),
        (40, "0.0"),
    )
    yield from (
        (0, "LTYPE"),
        (2, "DASHED"),
        (70, "0"),
        (3, "Dashed"),
        (72, "65"),
        (73, "2"),
        (40, "0.75"),
    )
    yield from (
        (49, "0.5"),
        (49, "-0.25"),
        (0, "ENDTAB"),
        (0, "TABLE"),
        (2, "LAYER"),
        (70, str(len(LAYERS))),
    )
    for name, (colour, line) in LAYERS.items():
        yield from ((0, "LAYER"), (2, name), (70, "0"), (62, str(colour)), (6, line))
    yield from ((0, "ENDTAB"), (0, "ENDSEC"))


def _entities(seen: Seen) -> Iterator[tuple[int, str]]:
    surface, plan = seen.surface, seen.plan
    low_u, low_v, high_u, high_v = bounds(surface.outline)
    turn = (Nm(low_u + high_u), Nm(low_v + high_v)) if surface.read_turned else None
    paper = _Paper(seen.house.units, turn)
    yield from ((0, "SECTION"), (2, "ENTITIES"))
    yield from _outline(surface.outline, "FRAMING-FACE", paper)
    for member in seen.framed.members:
        half = member.width // 2
        for at in (Nm(member.centre - half), Nm(member.centre + half)):
            ends = [(at, member.low), (at, member.high)]
            if member.runs is Runs.ALONG:
                ends = [(v, u) for u, v in ends]
            yield from _line(ends[0], ends[1], "MEMBERS", paper)
    if plan is not None:
        yield from _outline(surface.board_area, "BOARD", paper)
        for seam in seam_lines(surface, plan, seen.house.catalogue.board(plan.board)):
            for start, end in seam.runs:
                yield from _line(start, end, _SEAM_LAYERS[seam.key], paper)
        for piece in plan.pieces:
            left_edge, bottom, right_edge, top = bounds(piece.outline)
            yield from _word(
                piece.code, Nm((left_edge + right_edge) // 2), Nm((bottom + top) // 2), paper
            )
    for opening in surface.openings:
        yield from _rectangle(
            opening.left, opening.bottom, opening.right, opening.top, "OPENINGS", paper
        )
        yield from _word(opening.name, opening.left, Nm((opening.bottom + opening.top) // 2), paper)
    for hole in surface.cutouts:
        middle = (Nm((hole.left + hole.right) // 2), Nm((hole.bottom + hole.top) // 2))
        if hole.is_round:
            yield from ((0, "CIRCLE"), (8, "HOLES"), *_point(middle, paper))
            yield 40, _number(Fraction(hole.right - hole.left, 2), paper.units)
        else:
            yield from _rectangle(hole.left, hole.bottom, hole.right, hole.top, "HOLES", paper)
        yield from _word(hole.name, hole.right, hole.top, paper)
    for item in surface.hidden:
        yield from _rectangle(item.left, item.bottom, item.right, item.top, "BEHIND", paper)
        yield from _word(item.name, item.left, item.bottom, paper)
    yield from _about(seen)
    yield 0, "ENDSEC"


def _about(seen: Seen) -> Iterator[tuple[int, str]]:
    """The room, the surface, how it is seen and the unit, under the lowest corner."""
    left_edge, bottom, _, _ = bounds(seen.surface.outline)
    unit = "inches" if seen.house.units is UnitSystem.INCH else "millimeters"
    way = (
        "seen from inside the room"
        if seen.surface.kind is SurfaceKind.WALL
        else "seen from below, looking up"
    )
    if seen.surface.read_turned and seen.room.plan_sides:
        way += f", {seen.room.plan_sides[0].name} at the top"
    paper = _Paper(seen.house.units, None)  # they stand under the drawing, whichever way it is
    lines = (f"{seen.room.name}, {seen.name}", f"{way}; all lengths in {unit}")
    for number, text in enumerate(lines, start=2):
        yield from _word(text, left_edge, Nm(bottom - number * 2 * _WORDS_HIGH), paper)


def _number(length: Nm | Fraction, units: UnitSystem) -> str:
    millionths = round(Fraction(length) * 1_000_000 / (INCH if units is UnitSystem.INCH else MM))
    sign = "-" if millionths < 0 else ""
    return f"{sign}{abs(millionths) // 1_000_000}.{abs(millionths) % 1_000_000:06d}"


def _point(point: Point, paper: _Paper, *, last: bool = False) -> Iterator[tuple[int, str]]:
    u, v = paper.spot(point)
    first = 11 if last else 10
    yield first, _number(u, paper.units)
    yield first + 10, _number(v, paper.units)
    yield first + 20, "0.0"


def _line(start: Point, end: Point, layer: str, paper: _Paper) -> Iterator[tuple[int, str]]:
    yield from ((0, "LINE"), (8, layer), *_point(start, paper), *_point(end, paper, last=True))


def _outline(corners: Sequence[Point], layer: str, paper: _Paper) -> Iterator[tuple[int, str]]:
    for start, end in zip(corners, (*corners[1:], *corners[:1]), strict=True):
        yield from _line(start, end, layer, paper)


def _rectangle(
    left_edge: Nm, bottom: Nm, right_edge: Nm, top: Nm, layer: str, paper: _Paper
) -> Iterator[tuple[int, str]]:
    yield from _outline(
        ((left_edge, bottom), (right_edge, bottom), (right_edge, top), (left_edge, top)),
        layer,
        paper,
    )


def _word(text: str, u: Nm, v: Nm, paper: _Paper) -> Iterable[tuple[int, str]]:
    # the size is the trade's usual for words on a sheet at 1:30 or so; what is long is for the
    # reader to move
    shown = "".join(
        letter if " " <= letter <= "~" else f"\\U+{ord(letter):04X}" for letter in clean(text)[:200]
    )
    return (
        (0, "TEXT"),
        (8, "WORDS"),
        *_point((u, v), paper),
        (40, _number(_WORDS_HIGH, paper.units)),
        (1, shown),
    )
