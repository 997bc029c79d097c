"""The cuts of a sheet in the order they are made: crosscuts from its left end, the rip, each
strip's crosscuts and trims, and last what is slanted or cut out of a corner."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from takeoff.boards.plan import Piece, PlacedPiece, Sheet, Strip
from takeoff.cards.frames import Lay, SideUp
from takeoff.cards.lying_words import spot_words
from takeoff.cards.sides import PieceSide
from takeoff.cards.tape import tape
from takeoff.catalogue import BoardKind, Cutting
from takeoff.geometry.polygon import length_of
from takeoff.geometry.surface import Point
from takeoff.reference import figures
from takeoff.units import MM, SIXTEENTH, Nm, UnitSystem

__all__ = ["LastCut", "SawCut", "cut_count", "last_cuts", "square_cuts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SawCut:
    """One cut of a sheet. Cuts are numbered in the order they are made; `line` is where the cut
    runs on the sheet, from one end to the other and by way of any corner between. Its place is read
    off the tape rounded down, or `up` where what is kept lies beyond it. One that is `marked` alone
    is not cut, because a slope takes off all that lies beyond it."""

    number: int
    text: str
    line: tuple[Point, ...]
    up: bool = False
    marked: bool = False


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


def cut_count(sheet: Sheet, pieces: Iterable[Piece], units: UnitSystem) -> int:
    """How many cuts the sheet's card lists for its `pieces`, those that are marked alone among
    them, without making the card."""
    count = sum(placed.end < sheet.length for placed in sheet.crosscuts)
    if sheet.rip_at is not None:
        count += 2 if _kept_before_rip(sheet) else 1
    for strip in sheet.strips:
        count += sum(placed.end < sheet.length for placed in strip.pieces)
        count += sum(_is_trimmed(placed, strip, units) for placed in strip.pieces)
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


def square_cuts(
    sheet: Sheet,
    kind: BoardKind,
    units: UnitSystem,
    up: SideUp,
    pointed: Collection[tuple[str, str]] = (),
) -> Iterator[SawCut]:
    """Every cut that is square to the sheet, in the order it is made.

    Sizes are rounded down to the tape, so that a piece fits into its place. `pointed` holds the
    pieces, by code, that come to the "end", "near" or "far" side of their rectangle in a point
    alone: a slope takes off what lies beyond, so the line there is marked and not cut.
    """
    way = "Saw" if kind.cutting is Cutting.SAW else "Crosscut"
    whole = Strip(
        low=Nm(0), high=sheet.width, factory_edges=sheet.factory_edges, pieces=sheet.crosscuts
    )
    for placed, last in _crosscut(whole, sheet):
        size = tape(Nm(placed.end - placed.start), units, up=False)
        off = Nm(sheet.length - placed.end)
        hair = (
            f"; only {tape(off, units)} comes off, so rasp it down"
            if off < figures.length("HL-rasp")
            else ""
        )
        here = tape(placed.end, units, up=False)
        if sheet.rip_at is None and _needs_no_cut(placed, whole, sheet, pointed):
            text = f"Mark at {here} from the left end, {_slope_takes(placed, size)}"
            yield replace(_across(text, placed, whole, sheet, up), marked=True)
            continue
        yield _across(
            f"{way} at {here} from the left end: {placed.piece} is {size} long{last}{hair}",
            placed,
            whole,
            sheet,
            up,
        )
    if sheet.rip_at is not None:
        if _kept_before_rip(sheet):
            yield _keep(sheet, sheet.rip_at, whole, way, units, up)
        yield _rip(sheet, sheet.rip_at, units, up)
    for strip in sheet.strips:
        name = f"the {_near_or_far(strip, up)} strip"
        for placed, last in _crosscut(strip, sheet):
            size = tape(Nm(placed.end - placed.start), units, up=False)
            here = tape(Nm(placed.end - (sheet.rip_at or 0)), units, up=False)
            if _needs_no_cut(placed, strip, sheet, pointed):
                text = f"Mark {name} at {here} from its left end, {_slope_takes(placed, size)}"
                yield replace(_across(text, placed, strip, sheet, up), marked=True)
                continue
            yield _across(
                f"{way} {name} at {here} from its left end: {placed.piece} is {size} long{last}",
                placed,
                strip,
                sheet,
                up,
            )
        for placed in strip.pieces:
            if _is_trimmed(placed, strip, units):
                yield _trim(placed, strip, sheet, units, up, pointed)


def _needs_no_cut(
    placed: PlacedPiece, strip: Strip, sheet: Sheet, pointed: Collection[tuple[str, str]]
) -> bool:
    """Whether the last piece of a strip ends in a point, and nobody keeps what lies beyond it."""
    if placed is not strip.pieces[-1] or (placed.piece, "end") not in pointed:
        return False
    return not any(
        offcut.width == strip.high - strip.low
        and abs(offcut.length - (sheet.length - placed.end)) < figures.length("HL-rasp")
        for offcut in sheet.offcuts
    )


def _slope_takes(placed: PlacedPiece, size: str) -> str:
    return f"do not cut: {placed.piece} is {size} long, and its slope takes the rest off"


def _crosscut(strip: Strip, sheet: Sheet) -> Iterator[tuple[PlacedPiece, str]]:
    """The pieces that a cut across ends, each with words for the piece that is what is left after
    it."""
    pieces = strip.pieces
    for placed, following in zip(pieces, (*pieces[1:], None), strict=False):
        if placed.end < sheet.length:
            # a piece that was cut wrong is on no plan, and leaves room between two others
            is_rest = (
                following is not None
                and following.end == sheet.length
                and following.start - placed.end < figures.length("HL-rasp")
            )
            yield placed, f"; what is left is {following.piece}" if following and is_rest else ""


def _kept_before_rip(sheet: Sheet) -> Nm:
    """How long a part of the sheet's whole width lies between the pieces that are cut across and
    the rip: it comes off before the rip, and stays whole. 0 where there is none."""
    if sheet.rip_at is None:
        return Nm(0)
    after = max((placed.end for placed in sheet.crosscuts), default=0)
    kept = Nm(sheet.rip_at - after)
    return kept if kept >= figures.length("HL-rasp") else Nm(0)


def _keep(sheet: Sheet, at: Nm, whole: Strip, way: str, units: UnitSystem, up: SideUp) -> SawCut:
    kept = _kept_before_rip(sheet)
    # what is ripped has to come out no longer than its piece, so this cut is rounded up
    ripped = tape(Nm(sheet.length - at), units, up=False)
    code = next(
        (
            f" (offcut {offcut.id})"
            for offcut in sheet.offcuts
            if offcut.width == sheet.width and abs(offcut.length - kept) < figures.length("HL-rasp")
        ),
        "",
    )
    return SawCut(
        number=0,
        text=f"{way} at {tape(at, units, up=True)} from the left end: the part at the left{code} "
        f"stays whole; the rest, {ripped} long, is ripped next",
        line=tuple((at, _across_sheet(y, sheet, up)) for y in (whole.low, whole.high)),
        up=True,
    )


def _near_or_far(strip: Strip, up: SideUp) -> str:
    """Where a strip lies before the one who kneels at the sheet: plans count across a sheet that
    lies face up, and back up that edge is the far one."""
    return "near" if (strip.low == 0) == (up is SideUp.FACE) else "far"


def _rip(sheet: Sheet, start: Nm, units: UnitSystem, up: SideUp) -> SawCut:
    """The cut lengthwise, with the strips that are used: how wide each is, and the piece that is
    one without another cut across."""
    held = sheet.strips[0]
    at = held.high if held.low == 0 else held.low
    strips = []
    for strip in sorted(sheet.strips, key=lambda strip: _near_or_far(strip, up), reverse=True):
        words = f"the {_near_or_far(strip, up)} strip is {_wide(strip, units)} wide"
        first = strip.pieces[0] if strip.pieces else None
        if first and (first.start, first.end) == (start, sheet.length):
            words += f" and is {first.piece}"
        strips.append(words)
    what = "what is left" if start else "the sheet"
    off = min(at, Nm(sheet.width - at))
    y = _across_sheet(at, sheet, up)
    # the strip that is as wide as its pieces comes out no wider, at whichever edge it lies
    rounded_up = _near_or_far(held, up) == "far"
    return SawCut(
        number=0,
        up=rounded_up,
        text=f"Rip {what} lengthwise at {tape(y, units, up=rounded_up)} from the near edge: "
        f"{', '.join(strips)}{_thin(off, units)}",
        line=((start, y), (sheet.length, y)),
    )


def _thin(off: Nm, units: UnitSystem) -> str:
    if off >= figures.length("HL-core"):
        return ""
    return f". Only {tape(off, units)} comes off: score both faces, or saw it"


def _wide(strip: Strip, units: UnitSystem) -> str:
    return tape(Nm(strip.high - strip.low), units, up=False)


def _is_trimmed(placed: PlacedPiece, strip: Strip, units: UnitSystem) -> bool:
    """Whether a piece is narrower than its strip by as much as a tape shows."""
    step = SIXTEENTH if units is UnitSystem.INCH else MM
    return strip.high - strip.low - placed.width >= step


def _trim(
    placed: PlacedPiece,
    strip: Strip,
    sheet: Sheet,
    units: UnitSystem,
    up: SideUp,
    pointed: Collection[tuple[str, str]],
) -> SawCut:
    at = Nm(strip.low + placed.width) if strip.low == 0 else Nm(strip.high - placed.width)
    side = "far" if _near_or_far(strip, up) == "near" else "near"
    y = _across_sheet(at, sheet, up)
    line = ((placed.start, y), (placed.end, y))
    wide = tape(placed.width, units, up=False)
    if (placed.piece, side) in pointed:
        text = (
            f"Mark {placed.piece} {wide} wide on its cut side, the {side} one here, do not cut: "
            "its slopes take the rest off"
        )
        return SawCut(number=0, text=text, line=line, marked=True)
    off = Nm(strip.high - strip.low - placed.width)
    hair = (
        f"; only {tape(off, units)} comes off, so rasp it down"
        if off < figures.length("HL-rasp")
        else _thin(off, units)
    )
    return SawCut(
        number=0,
        text=f"Trim {placed.piece} to {wide} on its cut side, the {side} one here{hair}",
        line=line,
    )


def _across(text: str, placed: PlacedPiece, strip: Strip, sheet: Sheet, up: SideUp) -> SawCut:
    ends = [
        (placed.end, _across_sheet(strip.low, sheet, up)),
        (placed.end, _across_sheet(strip.high, sheet, up)),
    ]
    return SawCut(number=0, text=text, line=tuple(ends))


def _across_sheet(y: Nm, sheet: Sheet, up: SideUp) -> Nm:
    """A place across the sheet as it lies, from its near edge."""
    return y if up is SideUp.FACE else Nm(sheet.width - y)
