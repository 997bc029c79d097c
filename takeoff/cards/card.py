"""The card of a sheet: how the sheet is cut, and each of its pieces as it is marked on the
floor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.boards.plan import BoardPlan, Piece, PlacedPiece, Sheet, SurfacePlan
from takeoff.cards.frames import OnSheet, SideUp, lay_of
from takeoff.cards.lookup import names_of
from takeoff.cards.marks import (
    DEFAULT_SETTINGS,
    BackerMark,
    CardSettings,
    CutWhen,
    HoleMark,
    NotchMark,
    ScrewLine,
    backers_on,
    holes_on,
    notches_on,
    screw_lines_on,
)
from takeoff.cards.sides import Finish, Meeting, PieceSide, Side, sides_of
from takeoff.cards.tape import tape
from takeoff.catalogue import BoardKind, Cutting
from takeoff.choices import Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Point, Surface
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.needs.fastening import FastenerLine, fastening, lines
from takeoff.reference import figures
from takeoff.units import Nm, UnitSystem

__all__ = [
    "PieceCard",
    "SawCut",
    "SheetCard",
    "SheetPose",
    "board_words",
    "cut_count",
    "offcut_words",
    "piece_cards",
    "pieces_on",
    "sheet_cards",
    "source_words",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SawCut:
    """One cut of a sheet. Cuts are numbered in the order they are made; `line` is the two ends of
    the cut on the sheet."""

    number: int
    text: str
    line: tuple[Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPose:
    """How a piece is laid down and put up, in words. `arrow` names the side of the lying piece that
    the arrow points out of."""

    text: str
    arrow: str
    arrow_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCard:
    """One piece as it is marked. Every mark is given on the piece as it lies (see `frames.Lay`),
    with x from its left end.

    `corners` is its outline as it lies; `sides[i]` runs from `corners[i]` to the next corner.
    `goes` says where it hangs. `notes` are warnings. `waits` says where the piece waits if it hangs
    in a later room than it is cut in, and is empty otherwise.
    """

    code: str
    surface: str
    room: str
    name: str
    goes: str
    on: OnSheet
    corners: tuple[Point, ...]
    sides: tuple[PieceSide, ...]
    holes: tuple[HoleMark, ...]
    notches: tuple[NotchMark, ...]
    screw_lines: tuple[ScrewLine, ...]
    backers: tuple[BackerMark, ...]
    lying: SheetPose
    notes: tuple[str, ...]
    waits: str = ""

    @property
    def screws(self) -> int:
        return sum(line.screws for line in self.screw_lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCard:
    """One sheet to cut. `pool` is the number of its plan among the house's plans; codes are unique
    within a plan.

    `waits` has a sentence for each piece that waits for a later room.
    """

    pool: int
    sheet: Sheet
    board: str
    room: str
    from_: str
    up: SideUp
    cuts: tuple[SawCut, ...]
    pieces: tuple[PieceCard, ...]
    offcuts: tuple[str, ...]
    waits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Where:
    """What one surface's pieces need."""

    plan: SurfacePlan
    framed: FramedSurface
    board: BoardKind
    lines: tuple[FastenerLine, ...]
    spacing: Nm


def sheet_cards(
    takeoff: Takeoff, settings: CardSettings = DEFAULT_SETTINGS
) -> tuple[SheetCard, ...]:
    """The card of every sheet, plan by plan, in the order the sheets are cut."""
    names = names_of(takeoff)
    rooms = {room.room: room.name for room in takeoff.rooms}
    framed = {framed_surface.surface.id: framed_surface for framed_surface in takeoff.framed}
    cards = []
    for pool, plan in enumerate(takeoff.plans):
        where = {
            surface.surface: _where(surface, framed[surface.surface], takeoff.house)
            for surface in plan.surfaces
        }
        hung = {
            piece.code: (piece, where[piece.surface])
            for surface in plan.surfaces
            for piece in surface.pieces
        }
        cards += [
            _card(pool, plan, sheet, hung, takeoff.house, names, rooms, settings)
            for sheet in plan.sheets
        ]
    return tuple(cards)


def piece_cards(
    takeoff: Takeoff, settings: CardSettings = DEFAULT_SETTINGS
) -> Mapping[tuple[str, str], PieceCard]:
    """Every piece's card by (surface id, piece code)."""
    return {
        (piece.surface, piece.code): piece
        for card in sheet_cards(takeoff, settings)
        for piece in card.pieces
    }


def _where(plan: SurfacePlan, framed: FramedSurface, house: House) -> _Where:
    board = house.catalogue.board(plan.board)
    spacing = fastening(framed, plan, board, house.rules).spacing
    return _Where(plan, framed, board, lines(framed, plan, spacing, house.rules), spacing)


def _card(
    pool: int,
    plan: BoardPlan,
    sheet: Sheet,
    hung: Mapping[str, tuple[Piece, _Where]],
    house: House,
    names: Mapping[str, str],
    rooms: Mapping[str, str],
    settings: CardSettings,
) -> SheetCard:
    kind = house.catalogue.board(sheet.board)
    sheet = sheet.only(hung)
    pieces = [
        _piece_card(
            placed,
            low,
            high,
            at_low,
            sheet,
            *hung[placed.piece],
            house.units,
            names,
            rooms,
            settings,
        )
        for placed, low, high, at_low in _on_sheet(sheet)
        # One that was cut wrong or taken down hangs nowhere, and is marked no more.
        if placed.piece in hung
    ]
    cuts = [
        replace(cut, number=number)
        for number, cut in enumerate(_cuts(sheet, pieces, kind, house.units, settings.up), start=1)
    ]
    return SheetCard(
        pool=pool,
        sheet=sheet,
        board=board_words(sheet, kind, house.units),
        room=rooms[sheet.room],
        from_=source_words(sheet.source, sheet.factory_edges, settings.up, whole=sheet.is_whole),
        up=settings.up,
        cuts=tuple(cuts),
        pieces=tuple(pieces),
        offcuts=tuple(
            f"{offcut.id}: {tape(offcut.length, house.units, up=False)} x "
            f"{tape(offcut.width, house.units, up=False)}{_comes_of(plan, offcut.id)}"
            for offcut in sheet.offcuts
        ),
        waits=tuple(
            f"{piece.code} waits in {rooms[sheet.room]} for {piece.room}"
            for piece in pieces
            if piece.waits
        ),
    )


def board_words(sheet: Sheet, kind: BoardKind, units: UnitSystem) -> str:
    """The board of a sheet with its thickness, like `Regular board, 1/2"`."""
    return f"{kind.name}, {tape(sheet.thickness, units)}"


def _comes_of(plan: BoardPlan, offcut: str) -> str:
    """Which pieces a plan cuts out of an offcut of its own, in words; empty for none."""
    pieces = [code for sheet in plan.sheets if sheet.source == offcut for code in pieces_on(sheet)]
    return f". {' and '.join(pieces)} will come of it" if pieces else ""


def offcut_words(source: str) -> str:
    """An offcut by its mark, or by the number of one that no sheet here left: `offcut K7.1`,
    `offcut 3`."""
    return f"offcut {source.removeprefix('offcut-')}"


def source_words(source: str | None, factory_edges: int, up: SideUp, *, whole: bool = False) -> str:
    """Where a sheet comes from: it is bought, a `whole` one that is here, or an offcut. `source`
    and `factory_edges` are the sheet's."""
    if source is None:
        return "a new sheet"
    if whole:
        return "a whole sheet that is here"
    words = f"from {offcut_words(source)}"
    if factory_edges == 1:
        words += f", its own long edge {'near' if up is SideUp.FACE else 'away from'} you"
    return words


def pieces_on(sheet: Sheet) -> tuple[str, ...]:
    """The codes of a sheet's pieces, in the order they are cut."""
    return tuple(placed.piece for placed, _, _, _ in _on_sheet(sheet))


def cut_count(sheet: Sheet, pieces: Iterable[Piece]) -> int:
    """How many cuts the sheet's card lists for its `pieces`, without making the card."""
    count = sum(placed.end < sheet.length for placed in sheet.crosscuts)
    count += sheet.rip_at is not None
    for strip in sheet.strips:
        count += sum(placed.end < sheet.length for placed in strip.pieces)
        count += sum(placed.width < strip.high - strip.low for placed in strip.pieces)
    for piece in pieces:
        xs, ys = {x for x, _ in piece.outline}, {y for _, y in piece.outline}
        outer = ({min(xs), max(xs)}, {min(ys), max(ys)})
        inner = False
        for start, end in zip(piece.outline, (*piece.outline[1:], piece.outline[0]), strict=True):
            if start[0] != end[0] and start[1] != end[1]:
                count += 1
            elif start[0] == end[0]:
                inner |= start[0] not in outer[0]
            else:
                inner |= start[1] not in outer[1]
        count += inner
    return count


def _on_sheet(sheet: Sheet) -> Iterator[tuple[PlacedPiece, Nm, Nm, bool]]:
    """Each piece with its low and high side across the sheet, face up, and whether it lies at the
    low side of its strip."""
    for placed in sheet.crosscuts:
        yield placed, Nm(0), sheet.width, True
    for strip in sheet.strips:
        at_low = strip.low == 0
        for placed in strip.pieces:
            if at_low:
                yield placed, strip.low, Nm(strip.low + placed.width), True
            else:
                yield placed, Nm(strip.high - placed.width), strip.high, False


def _piece_card(
    placed: PlacedPiece,
    low: Nm,
    high: Nm,
    at_low: bool,
    sheet: Sheet,
    piece: Piece,
    where: _Where,
    units: UnitSystem,
    names: Mapping[str, str],
    rooms: Mapping[str, str],
    settings: CardSettings,
) -> PieceCard:
    plan, surface = where.plan, where.framed.surface
    lay = lay_of(piece, plan.rows_run, settings.up)
    turned = _is_turned(piece, plan, at_low=at_low)
    on = OnSheet(
        lay=lay,
        start=placed.start,
        low=low if settings.up is SideUp.FACE else Nm(sheet.width - high),
        turned=turned,
    )
    sides = tuple(
        _with_end(side, piece, plan, placed, sheet, turned=turned)
        for side in sides_of(piece, plan, surface, where.board, names)
    )
    own = [line for line in where.lines if line.piece == piece.code]
    holes = holes_on(piece, lay, plan, where.framed, settings, units)
    notches = notches_on(piece, lay, surface, settings, units)
    name = names[surface.id]
    waits = _waits(piece, surface, sheet, rooms)
    return PieceCard(
        code=piece.code,
        surface=surface.id,
        room=rooms[surface.room],
        name=name,
        goes=f"{rooms[surface.room]}, {name}, {_row_said(piece, plan, surface)}",
        on=on,
        corners=tuple(lay.to_lying(corner) for corner in piece.outline),
        sides=sides,
        holes=holes,
        notches=notches,
        screw_lines=screw_lines_on(piece, lay, own, where.spacing),
        backers=backers_on(piece, lay, plan),
        lying=_lying(surface, lay.upright, settings.up, name, sides),
        notes=(*([waits] if waits else []), *_piece_notes(holes, notches, sides)),
        waits=waits,
    )


def _is_turned(piece: Piece, plan: SurfacePlan, *, at_low: bool) -> bool:
    """Whether the piece lies on its sheet turned end for end (face up), to have its factory edge at
    the sheet's.

    An upright piece lies with its left side away, so there the sides change places.
    """
    row = next(row for row in plan.rows if row.index == piece.row)
    # with both long edges from the factory, or neither, it fits its sheet either way
    if row.factory_low == row.factory_high:
        return False
    factory_near = row.factory_high if plan.rows_run is Runs.ACROSS else row.factory_low
    return factory_near != at_low


def _with_end(
    side: PieceSide,
    piece: Piece,
    plan: SurfacePlan,
    placed: PlacedPiece,
    sheet: Sheet,
    *,
    turned: bool,
) -> PieceSide:
    """The side as it is made, where it is an end: the sheet's own end, or a crosscut."""
    along = 0 if plan.rows_run is Runs.ALONG else 1
    at_start = side.start[along] == side.end[along] == piece.start
    at_end = side.start[along] == side.end[along] == piece.end
    if side.sloped or not (at_start or at_end) or not sheet.is_whole:
        return side
    on_left = at_start != turned
    own = placed.start == 0 if on_left else placed.end == sheet.length
    return replace(side, finish=Finish.END if own else Finish.CUT)


def _row_said(piece: Piece, plan: SurfacePlan, surface: Surface) -> str:
    count = len(plan.rows)
    if count == 1:
        return "the only row"
    if surface.kind is SurfaceKind.WALL and plan.rows_run is Runs.ALONG:
        order = sorted(plan.rows, key=lambda row: -row.low)
        place = next(k for k, row in enumerate(order) if row.index == piece.row)
        if place == 0:
            return "top row"
        return "bottom row" if place == count - 1 else f"row {place + 1} of {count} from the top"
    order = sorted(plan.rows, key=lambda row: row.low)
    place = next(k for k, row in enumerate(order) if row.index == piece.row)
    side = "the left" if plan.rows_run is Runs.ACROSS else "the bottom of its drawing"
    return f"row {place + 1} of {count} from {side}"


def _lying(
    surface: Surface, upright: bool, up: SideUp, name: str, sides: Sequence[PieceSide]
) -> SheetPose:
    """What is said of how the piece lies. The arrow points out of its top as it lies, on a ceiling
    to its right end."""
    if surface.kind is SurfaceKind.WALL:
        top = "right" if upright else "far" if up is SideUp.FACE else "near"
        edge = "end" if upright else "edge"
        if up is SideUp.FACE:
            text = (
                f"Lay it face up, as {name} is seen from inside: its top {edge} toward {name}. "
                "Tilt it up from there."
            )
        else:
            text = (
                f"Lay it back up, turned over about its long edge: its bottom {edge} toward "
                f"{name}. "
                "Lift the top and tilt it up; the face comes round to the room."
            )
        return SheetPose(text=text, arrow=top, arrow_text="top")
    end = Side.TOP if upright else Side.RIGHT
    to = next((side.text for side in sides if side.side is end), "")
    if up is SideUp.FACE:
        text = (
            "Face up, drawn as seen from below: on the floor it mirrors the plan. Turn it over "
            "about its long edge "
            "as it goes up, ends unchanged; a lift carries it face down."
        )
    else:
        text = (
            "Lay it back up under its place: it reads as the plan from above and rises without "
            "turning. "
            "Mark the back; the cuts go through."
        )
    return SheetPose(text=text, arrow="right", arrow_text=f"this end {to}")


def _waits(piece: Piece, surface: Surface, sheet: Sheet, rooms: Mapping[str, str]) -> str:
    """Where a piece for a later room waits; empty for one that hangs where it is cut."""
    if surface.room == sheet.room:
        return ""
    here, there = rooms[sheet.room], rooms[surface.room]
    return (
        f"For {there}: cut with this sheet, marked {piece.code} {there}. It waits in {here} "
        "until then"
    )


def _piece_notes(
    holes: Sequence[HoleMark], notches: Sequence[NotchMark], sides: Sequence[PieceSide]
) -> Iterator[str]:
    for hole in holes:
        yield from hole.notes
        if hole.when is CutWhen.IN_PLACE:
            yield (
                f"{hole.name} is cut in place: mark its center only. Power off and tested, wires "
                "pushed well back, no "
                "screws near it until it is cut, the bit set shallow"
            )
    for notch in notches:
        yield from notch.steps
    if any(side.meeting is Meeting.FLOATING for side in sides):
        yield "The floating end takes its screws in the backer, not in a member"


def _cuts(
    sheet: Sheet, pieces: Sequence[PieceCard], kind: BoardKind, units: UnitSystem, up: SideUp
) -> Iterator[SawCut]:
    """Every cut in the order it is made: crosscuts from the left end, the rip, then each strip's
    crosscuts and trims, and last the slopes.

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
                yield cut(
                    f"Trim {placed.piece} to {tape(placed.width, units, up=False)} on its cut side",
                    placed.start,
                    at,
                    placed.end,
                    at,
                )
    for piece in pieces:
        for side in piece.sides:
            if side.sloped:
                yield SawCut(
                    number=0,
                    text=f"Last, cut the slope of {piece.code} ({side.text})",
                    line=(piece.on.to_sheet(side.start), piece.on.to_sheet(side.end)),
                )
        inner = [side for side in piece.sides if not side.sloped and _is_inner(side, piece)]
        if inner:
            yield SawCut(
                number=0,
                text=f"Last, cut the corner out of {piece.code}: saw the shorter side, score and "
                "fold the longer",
                line=(piece.on.to_sheet(inner[0].start), piece.on.to_sheet(inner[0].end)),
            )


def _is_inner(side: PieceSide, piece: PieceCard) -> bool:
    """Whether a side lies inside the piece's rectangle, at a corner cut out of it."""
    lay = piece.on.lay
    if side.start[0] == side.end[0]:
        return side.start[0] not in (lay.left, lay.left + lay.width)
    return side.start[1] not in (lay.bottom, lay.bottom + lay.height)
