"""The card of a sheet: how the sheet is cut, and each of its pieces as it is marked on the
floor."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from takeoff.boards.plan import BoardPlan, Piece, PlacedPiece, Sheet, SurfacePlan
from takeoff.cards.cuts import LastCut, SawCut, last_cuts, square_cuts
from takeoff.cards.frames import Lay, OnSheet, SideUp, lay_of
from takeoff.cards.key_plan import KeyPlan, RoomInPlan
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
from takeoff.cards.poses import SheetPose, place_words, pose_of, row_words
from takeoff.cards.sides import Finish, Meeting, PieceSide, sides_of
from takeoff.cards.tape import tape
from takeoff.catalogue import BoardEdges, BoardKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Point, Surface
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.needs.areas import shape_area
from takeoff.needs.fastening import FastenerLine, fastening, lines
from takeoff.needs.hanging import screw_of
from takeoff.units import FOOT, Nm, UnitSystem

__all__ = [
    "PieceCard",
    "SheetCard",
    "board_words",
    "made_by_sheet",
    "offcut_words",
    "piece_cards",
    "pieces_on",
    "sheet_cards",
    "source_words",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCard:
    """One piece as it is marked. Every mark is given on the piece as it lies (see `frames.Lay`),
    with x from its left end.

    `corners` is its outline as it lies; `sides[i]` runs from `corners[i]` to the next corner.
    `last_cuts` make it other than a rectangle.
    `goes` says on which surface it hangs and in which row, and `place` where on it. `pounds` is
    what it weighs before anything is cut out of it, None where nobody knows. `screw` is the name of
    its screws on the shelf. `key_plan` is None in a room that has no plan. `notes` are warnings.
    `waits` says where the piece waits if it hangs in a later room than it is cut in, and is empty
    otherwise.
    """

    code: str
    surface: str
    room: str
    name: str
    goes: str
    on: OnSheet
    corners: tuple[Point, ...]
    sides: tuple[PieceSide, ...]
    last_cuts: tuple[LastCut, ...]
    holes: tuple[HoleMark, ...]
    notches: tuple[NotchMark, ...]
    screw_lines: tuple[ScrewLine, ...]
    backers: tuple[BackerMark, ...]
    lying: SheetPose
    place: str
    pounds: int | None
    screw: str
    key_plan: KeyPlan | None
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
    screw: str
    room: RoomInPlan


def sheet_cards(
    takeoff: Takeoff, settings: CardSettings = DEFAULT_SETTINGS
) -> tuple[SheetCard, ...]:
    """The card of every sheet, plan by plan, in the order the sheets are cut."""
    names = names_of(takeoff)
    rooms = {room.room: room.name for room in takeoff.rooms}
    framed = {framed_surface.surface.id: framed_surface for framed_surface in takeoff.framed}
    in_plan = {room.room: RoomInPlan.of(room, takeoff.house) for room in takeoff.rooms}
    cards = []
    for pool, plan in enumerate(takeoff.plans):
        where = {
            surface.surface: _where(surface, framed[surface.surface], takeoff.house, in_plan)
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


def _where(
    plan: SurfacePlan,
    framed: FramedSurface,
    house: House,
    rooms: Mapping[str, RoomInPlan],
) -> _Where:
    board = house.catalogue.board(plan.board)
    spacing = fastening(framed, plan, board, house.rules).spacing
    screw = screw_of(framed.surface, plan, board, house.units)
    return _Where(
        plan,
        framed,
        board,
        lines(framed, plan, spacing, house.rules),
        spacing,
        next((sold.name for sold in house.catalogue.materials if sold.id == screw.id), screw.name),
        rooms[framed.surface.room],
    )


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
        *square_cuts(sheet, kind, house.units, settings.up, _pointed(pieces)),
        *(_last_cut(last, piece.on) for piece in pieces for last in piece.last_cuts),
    ]
    return SheetCard(
        pool=pool,
        sheet=sheet,
        board=board_words(sheet, kind, house.units),
        room=rooms[sheet.room],
        from_=source_words(sheet.source, sheet.factory_edges, settings.up, whole=sheet.is_whole),
        up=settings.up,
        cuts=tuple(replace(cut, number=number) for number, cut in enumerate(cuts, start=1)),
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


def _pointed(pieces: Iterable[PieceCard]) -> set[tuple[str, str]]:
    """The pieces that come to the end, the near or the far side of their rectangle on the sheet in
    a point alone, each with that side."""
    found = set()
    for piece in pieces:
        on = piece.on
        spots = [(on.to_sheet(side.start), on.to_sheet(side.end)) for side in piece.sides]
        ends = {a[0] for a, b in spots if a[0] == b[0]}
        edges = {a[1] for a, b in spots if a[1] == b[1]}
        if on.start + on.lay.long not in ends:
            found.add((piece.code, "end"))
        if on.low not in edges:
            found.add((piece.code, "near"))
        if on.low + on.lay.across not in edges:
            found.add((piece.code, "far"))
    return found


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
        return f"{words}, its own long edge {'near' if up is SideUp.FACE else 'away from'} you"
    return f"{words}, {'both long edges its own' if factory_edges else 'both long edges cut'}"


def pieces_on(sheet: Sheet) -> tuple[str, ...]:
    """The codes of a sheet's pieces, in the order they are cut."""
    return tuple(placed.piece for placed, _, _, _ in _on_sheet(sheet))


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
    lay = lay_of(piece, plan.rows_run, settings.up, turned=surface.read_turned)
    turned = _is_turned(piece, plan, lay, at_low=at_low)
    on = OnSheet(
        lay=lay,
        start=placed.start,
        low=low if settings.up is SideUp.FACE else Nm(sheet.width - high),
        turned=turned,
    )
    sides = tuple(
        replace(side, finish=made_by_sheet(side, on, sheet, where.board))
        for side in sides_of(piece, plan, surface, names)
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
        goes=f"{rooms[surface.room]}, {name}, {row_words(piece, plan, surface, names)}",
        on=on,
        corners=tuple(lay.to_lying(corner) for corner in piece.outline),
        sides=sides,
        last_cuts=last_cuts(piece.code, sides, lay, units),
        holes=holes,
        notches=notches,
        screw_lines=screw_lines_on(piece, lay, own, where.spacing),
        backers=backers_on(piece, lay, plan),
        lying=pose_of(piece, surface, lay, names),
        place=place_words(piece, surface, lay, names),
        pounds=_pounds(piece, where),
        screw=where.screw,
        key_plan=where.room.key_plan(piece, surface),
        notes=(*([waits] if waits else []), *_piece_notes(holes, notches, sides)),
        waits=waits,
    )


def _pounds(piece: Piece, where: _Where) -> int | None:
    psf = where.board.weight(where.plan.thickness)
    if psf is None:
        return None
    return max(1, round(Fraction(psf) * shape_area(piece.outline) / FOOT**2))


def _is_turned(piece: Piece, plan: SurfacePlan, lay: Lay, *, at_low: bool) -> bool:
    """Whether the piece lies on its sheet turned end for end (face up), to have its factory edge at
    the sheet's.

    A piece need not be as wide as its row, under a slope or beside a corner: then it has a factory
    edge only where it reaches that edge of the row. An upright piece lies with its left side away,
    and one that lies half turned with its low side, so there the sides change places.
    """
    row = next(row for row in plan.rows if row.index == piece.row)
    low = row.factory_low and piece.low == row.low
    high = row.factory_high and piece.high == row.high
    # with both long edges from the factory, or neither, it fits its sheet either way
    if low == high:
        return False
    factory_near = high if lay.upright != lay.turned else low
    return factory_near != at_low


def made_by_sheet(side: PieceSide, on: OnSheet, sheet: Sheet, board: BoardKind) -> Finish:
    """How a side of a piece is made: what the sheet gives it where it lies on it."""
    (x0, y0), (x1, y1) = on.to_sheet(side.start), on.to_sheet(side.end)
    if x0 == x1:
        own_end = sheet.is_whole and x0 in (0, sheet.length)
        return Finish.END if own_end else Finish.CUT
    # a sheet with one factory edge has it at its low side face up, which is away back up
    low_first = on.lay.up is SideUp.FACE
    own = [Nm(0), sheet.width] if low_first else [sheet.width, Nm(0)]
    if y0 == y1 and y0 in own[: sheet.factory_edges]:
        return Finish.TAPERED if board.edges is BoardEdges.TAPERED else Finish.FACTORY
    return Finish.CUT


def _last_cut(cut: LastCut, on: OnSheet) -> SawCut:
    line = tuple(on.to_sheet(on.lay.from_lying(spot)) for spot in cut.spots)
    return SawCut(number=0, text=cut.text, line=line)


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
        yield from notch.notes
    if any(side.meeting is Meeting.FLOATING for side in sides):
        yield "The floating end takes its screws in the backer, not in the framing"
