"""The cuts of a sheet in the order they are made: crosscuts from its left end, the rip, each
strip's crosscuts and trims, and last what is slanted or cut out of a corner."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.boards.plan import Piece, Sheet
from takeoff.cards.frames import Lay, SideUp
from takeoff.cards.lying_words import spot_words
from takeoff.cards.sides import PieceSide
from takeoff.cards.tape import tape
from takeoff.catalogue import BoardKind, Cutting
from takeoff.geometry.polygon import length_of
from takeoff.geometry.surface import Point
from takeoff.reference import figures
from takeoff.units import Nm, UnitSystem

__all__ = ["LastCut", "SawCut", "cut_count", "last_cuts", "square_cuts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SawCut:
    """One cut of a sheet. Cuts are numbered in the order they are made; `line` is where the cut
    runs on the sheet, from one end to the other and by way of any corner between."""

    number: int
    text: str
    line: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LastCut:
    """A cut that makes a piece other than a rectangle: a slope, or a corner cut out of it.

    `spots` are its ends, and any corner between, on the lying piece. A slope is `length` long; of
    a corner that is 0. `text` says where it is marked.
    """

    sloped: bool
    spots: tuple[Point, ...]
    length: Nm
    text: str


def last_cuts(
    code: str, sides: Sequence[PieceSide], lay: Lay, units: UnitSystem
) -> tuple[LastCut, ...]:
    """The slopes of a piece with both their ends by name and their length, and the corners cut out
    of it. Every mark is on the piece as it lies."""
    cuts = []
    for run in _runs([_is_last(side.start, side.end, lay) for side in sides]):
        chain = [sides[index] for index in run]
        slopes = [side for side in chain if side.sloped]
        for side in slopes:
            cuts.append(_slope(code, side, lay, units))
        for corner in _corners(chain):
            cuts.append(_corner(code, corner, lay, units))
    return tuple(cuts)


def _corners(chain: Sequence[PieceSide]) -> Iterator[list[PieceSide]]:
    """The level and upright sides of a chain, those that follow one another together."""
    corner: list[PieceSide] = []
    for side in chain:
        if not side.sloped:
            corner.append(side)
        elif corner:
            yield corner
            corner = []
    if corner:
        yield corner


def _is_last(start: Point, end: Point, lay: Lay) -> bool:
    """Whether a side lies inside the rectangle of the piece, or is slanted."""
    if start[0] == end[0]:
        return start[0] not in (lay.left, lay.left + lay.width)
    return start[1] != end[1] or start[1] not in (lay.bottom, lay.bottom + lay.height)


def _runs(wanted: Sequence[bool]) -> list[list[int]]:
    """The indices that are wanted, those that follow one another around an outline together."""
    count = len(wanted)
    first = next((k for k in range(count) if not wanted[k]), 0)
    runs: list[list[int]] = []
    for step in range(count):
        index = (first + step) % count
        if not wanted[index]:
            continue
        if step and wanted[index - 1] and runs:
            runs[-1].append(index)
        else:
            runs.append([index])
    return runs


def _slope(code: str, side: PieceSide, lay: Lay, units: UnitSystem) -> LastCut:
    spots = tuple(sorted((lay.to_lying(side.start), lay.to_lying(side.end))))
    length = Nm(round(length_of(*spots)))
    (x0, y0), (x1, y1) = lay.to_lying(side.start), lay.to_lying(side.end)
    # the piece lies on the left hand of its outline, and turned over on the right
    away_x, away_y = y1 - y0, x0 - x1
    if lay.up is SideUp.BACK:
        away_x, away_y = -away_x, -away_y
    if abs(away_y) >= abs(away_x):
        off = "far" if away_y > 0 else "near"
    else:
        off = "right" if away_x > 0 else "left"
    ends = [spot_words(spot, lay, units) for spot in spots]
    return LastCut(
        sloped=True,
        spots=spots,
        length=length,
        text=(
            f"Last, cut the slope of {code} from {ends[0]}, to {ends[1]}: "
            f"{tape(length, units)} along the slope; the {off} part comes off ({side.text})"
        ),
    )


def _corner(code: str, corner: Sequence[PieceSide], lay: Lay, units: UnitSystem) -> LastCut:
    spots = tuple(lay.to_lying(point) for point in (corner[0].start, *(s.end for s in corner)))
    if spots[0] > spots[-1]:
        spots = spots[::-1]
    by_way = "; then ".join(f"to {spot_words(spot, lay, units)}" for spot in spots[1:])
    sizes = [abs(a[0] - b[0]) + abs(a[1] - b[1]) for a, b in pairwise(spots)]
    least = Nm(min(sizes))
    if least < figures.length("HL-rasp"):
        how = f"only {tape(least, units)} comes off, so rasp it down"
    elif least < figures.length("HL-core"):
        how = f"only {tape(least, units)} comes off: saw it, it does not snap"
    else:
        how = "saw the shorter side, score and fold the longer"
    off = " and the ".join(dict.fromkeys(_edge_of(spot, lay) for spot in (spots[0], spots[-1])))
    return LastCut(
        sloped=False,
        spots=spots,
        length=Nm(0),
        text=f"Last, cut the corner out of {code} from {spot_words(spots[0], lay, units)}, "
        f"{by_way}: {how}. The part at the {off} comes off",
    )


def _edge_of(spot: Point, lay: Lay) -> str:
    """The end or edge of the lying piece that a spot is on; of a spot on none, the nearest."""
    x, y = spot
    away = {"left end": x, "right end": lay.long - x, "near edge": y, "far edge": lay.across - y}
    return min(away, key=lambda side: away[side])


def cut_count(sheet: Sheet, pieces: Iterable[Piece]) -> int:
    """How many cuts the sheet's card lists for its `pieces`, without making the card."""
    count = sum(placed.end < sheet.length for placed in sheet.crosscuts)
    count += sheet.rip_at is not None
    for strip in sheet.strips:
        count += sum(placed.end < sheet.length for placed in strip.pieces)
        count += sum(placed.width < strip.high - strip.low for placed in strip.pieces)
    return count + sum(_last_count(piece.outline) for piece in pieces)


def _last_count(outline: Sequence[Point]) -> int:
    us, vs = [u for u, _ in outline], [v for _, v in outline]
    outer = ({min(us), max(us)}, {min(vs), max(vs)})
    sides = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    kinds = []
    for start, end in sides:
        if start[0] != end[0] and start[1] != end[1]:
            kinds.append("slope")
        else:
            axis = 0 if start[0] == end[0] else 1
            kinds.append("outer" if start[axis] in outer[axis] else "inner")
    # inner sides that follow one another are one corner
    corners = sum(
        kind == "inner" and kinds[index - 1] != "inner" for index, kind in enumerate(kinds)
    )
    return kinds.count("slope") + corners


def square_cuts(sheet: Sheet, kind: BoardKind, units: UnitSystem, up: SideUp) -> Iterator[SawCut]:
    """Every cut that is square to the sheet, in the order it is made.

    Sizes are rounded down to the tape, so that a piece fits into its place.
    """

    # plans count across a sheet that lies face up; back up, that edge is the far one
    def across(y: Nm) -> Nm:
        return y if up is SideUp.FACE else Nm(sheet.width - y)

    def cut(text: str, x0: Nm, y0: Nm, x1: Nm, y1: Nm) -> SawCut:
        return SawCut(number=0, text=text, line=((x0, across(y0)), (x1, across(y1))))

    way = "Saw" if kind.cutting is Cutting.SAW else "Crosscut"
    zero = Nm(0)
    for placed in sheet.crosscuts:
        if placed.end < sheet.length:
            size = tape(Nm(placed.end - placed.start), units, up=False)
            off = Nm(sheet.length - placed.end)
            hair = (
                f"; only {tape(off, units)} comes off, so rasp it down"
                if off < figures.length("HL-rasp")
                else ""
            )
            yield cut(
                f"{way} at {tape(placed.end, units, up=False)} from the left end: {placed.piece} "
                f"is {size} long{hair}",
                placed.end,
                zero,
                placed.end,
                sheet.width,
            )
    if sheet.rip_at is not None:
        held = sheet.strips[0]
        at = held.high if held.low == 0 else held.low
        strips = " and ".join(
            tape(Nm(strip.high - strip.low), units, up=False) for strip in sheet.strips
        )
        what = "what is left" if sheet.crosscuts else "the sheet"
        off = min(at, Nm(sheet.width - at))
        thin = (
            f". Only {tape(off, units)} comes off: score both faces, or saw it"
            if off < figures.length("HL-core")
            else ""
        )
        yield cut(
            f"Rip {what} lengthwise at {tape(across(at), units, up=False)} from the near edge"
            f" ({'strips of' if len(sheet.strips) > 1 else 'a strip of'} {strips}){thin}",
            sheet.rip_at,
            at,
            sheet.length,
            at,
        )
    for strip in sheet.strips:
        for placed in strip.pieces:
            if placed.end < sheet.length:
                size = tape(Nm(placed.end - placed.start), units, up=False)
                from_ = Nm(placed.end - (sheet.rip_at or zero))
                here = tape(from_, units, up=False)
                yield cut(
                    f"{way} the strip at {here} from its left end: {placed.piece} is {size} long",
                    placed.end,
                    strip.low,
                    placed.end,
                    strip.high,
                )
        for placed in strip.pieces:
            if placed.width < strip.high - strip.low:
                at = (
                    Nm(strip.low + placed.width)
                    if strip.low == 0
                    else Nm(strip.high - placed.width)
                )
                far_here = (strip.low == 0) == (up is SideUp.FACE)
                yield cut(
                    f"Trim {placed.piece} to {tape(placed.width, units, up=False)} on its cut "
                    f"side, the {'far' if far_here else 'near'} one here",
                    placed.start,
                    at,
                    placed.end,
                    at,
                )
