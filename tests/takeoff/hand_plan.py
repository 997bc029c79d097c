"""A wall boarded by hand, and the means to board it again with other joints: the checker's tests
start from it.

The wall is 14 ft long with a door near its right end; three rows, the lowest ripped to 16 in, on
studs 16 in o.c.:

    row 0   | A 0-96              | B 96-168            |   64 1/2 to 112 1/2, over the door
    row 1   | C 0-64      | D 64-104 | door | E 136-168 |   16 1/2 to 64 1/2
    row 2   | F 0-104                | door | G 136-168 |   1/2 to 16 1/2
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.plan import (
    BoardPlan,
    Bound,
    BoundBasis,
    Course,
    Joint,
    JointKind,
    Offcut,
    Piece,
    PlacedPiece,
    Sheet,
    Strip,
    SurfacePlan,
)
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue, SheetOnSale
from takeoff.choices import OpeningEdge, OpeningKind, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface, Member, MemberKind
from takeoff.geometry.surface import Edge, EdgeKind, PlacedOpening, Surface
from takeoff.house import Framing
from takeoff.quantities import Cents
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.aims import SHEETS_AND_SEAMS

HALF = Nm(INCH // 2)
PRICES = {8: 1300, 10: 1700, 12: 2100}
JOINTS: Mapping[int, Sequence[float]] = {0: (96,), 1: (64,), 2: ()}


def inches(value: float) -> Nm:
    return Nm(int(value * 64) * INCH // 64)


RULES = Rules(
    sheets=tuple(
        SheetOnSale(
            board="regular",
            thickness=HALF,
            width=inches(48),
            length=Nm(feet * FOOT),
            price=Cents(price),
        )
        for feet, price in PRICES.items()
    ),
    **SHEETS_AND_SEAMS,
)
CATALOGUE = Catalogue(
    boards=(
        BoardKind(id="regular", name="Regular"),
        BoardKind(id="square", name="Square", edges=BoardEdges.SQUARE),
    )
)
DOOR = PlacedOpening(
    id="door",
    name="Door",
    kind=OpeningKind.DOOR,
    left=inches(104),
    bottom=Nm(0),
    right=inches(136),
    top=inches(82.5),
    edge=OpeningEdge.CASED,
)


def stud(at: float, low: float = 0, high: float = 113) -> Member:
    return Member(
        kind=MemberKind.LAYOUT,
        runs=Runs.ACROSS,
        centre=inches(at),
        width=inches(1.5),
        low=inches(low),
        high=inches(high),
    )


STUDS = (
    stud(0.75),
    *(stud(at) for at in range(16, 104, 16)),
    stud(103.25),
    stud(112, low=82.5),
    stud(128, low=82.5),
    stud(136.75),
    stud(144),
    stud(160),
    stud(167.25),
)
WALL = Surface(
    id="den/a",
    room="den",
    name="Wall A",
    kind=SurfaceKind.WALL,
    outline=(
        (Nm(0), Nm(0)),
        (inches(168), Nm(0)),
        (inches(168), inches(113)),
        (Nm(0), inches(113)),
    ),
    edges=(
        Edge(EdgeKind.FLOOR),
        Edge(EdgeKind.INSIDE_CORNER, "den/b"),
        Edge(EdgeKind.CEILING, "den/ceiling"),
        Edge(EdgeKind.INSIDE_CORNER, "den/d"),
    ),
    board_area=(
        (Nm(0), HALF),
        (inches(168), HALF),
        (inches(168), inches(112.5)),
        (Nm(0), inches(112.5)),
    ),
    openings=(DOOR,),
    board=BoardChoice(kind="regular", thickness=HALF),
    framing=Framing(spacing=inches(16)),
)
FRAMED = FramedSurface(
    surface=WALL, members=STUDS, provisional=False, start_backed=True, end_backed=True
)
ROWS = (
    Course(
        index=0,
        low=inches(64.5),
        high=inches(112.5),
        sheet_width=inches(48),
        factory_low=True,
        factory_high=True,
        segments=((Nm(0), inches(168)),),
    ),
    Course(
        index=1,
        low=inches(16.5),
        high=inches(64.5),
        sheet_width=inches(48),
        factory_low=True,
        factory_high=True,
        segments=((Nm(0), inches(104)), (inches(136), inches(168))),
    ),
    Course(
        index=2,
        low=HALF,
        high=inches(16.5),
        sheet_width=inches(48),
        factory_low=False,
        factory_high=True,
        segments=((Nm(0), inches(104)), (inches(136), inches(168))),
    ),
)


def framed(*, members: Sequence[Member] = STUDS, **changes: object) -> FramedSurface:
    """The wall with something changed of it, on its studs or others."""
    return replace(FRAMED, surface=replace(WALL, **changes), members=tuple(members))  # type: ignore[arg-type]


def sheet(code: str, feet: int, **changes: object) -> Sheet:
    """A whole sheet bought, `feet` long, nothing cut from it yet."""
    bought = Sheet(
        code=code,
        room="den",
        board="regular",
        thickness=HALF,
        width=inches(48),
        length=Nm(feet * FOOT),
        factory_edges=2,
        price=Cents(PRICES[feet]),
        source=None,
        crosscuts=(),
        rip_at=None,
        strips=(),
        offcuts=(),
    )
    return replace(bought, **changes)  # type: ignore[arg-type]


def placed(piece: str, start: float, end: float, width: float = 48) -> PlacedPiece:
    return PlacedPiece(piece=piece, start=inches(start), end=inches(end), width=inches(width))


def strip(low: float, high: float, *pieces: PlacedPiece, factory_edges: int = 1) -> Strip:
    return Strip(low=inches(low), high=inches(high), factory_edges=factory_edges, pieces=pieces)


OFFCUT = Offcut(id="S4-1", length=inches(120), width=inches(32), factory_edges=1)
SHEETS = (
    sheet("S1", 8, crosscuts=(placed("A", 0, 96),)),
    sheet("S2", 12, crosscuts=(placed("B", 0, 72), placed("C", 72, 136))),
    sheet("S3", 8, crosscuts=(placed("D", 0, 40), placed("E", 40, 72))),
    sheet(
        "S4", 10, rip_at=Nm(0), strips=(strip(0, 16, placed("F", 0, 104, 16)),), offcuts=(OFFCUT,)
    ),
    sheet(
        "S5",
        10,
        width=inches(32),
        factory_edges=1,
        price=Cents(0),
        source="S4-1",
        rip_at=Nm(0),
        strips=(strip(0, 16, placed("G", 0, 32, 16)),),
    ),
)


def pieces(
    joints: Mapping[int, Sequence[float]], rows: Sequence[Course] = ROWS, surface: Surface = WALL
) -> tuple[Piece, ...]:
    """The pieces that joints leave, lettered along each row, rectangular."""
    made: list[Piece] = []
    for row in rows:
        for start, end in row.segments:
            cuts = [
                start,
                *(inches(at) for at in joints[row.index] if start < inches(at) < end),
                end,
            ]
            for first, last in pairwise(cuts):
                made.append(
                    Piece(
                        code=chr(ord("A") + len(made)),
                        surface=surface.id,
                        row=row.index,
                        start=first,
                        end=last,
                        low=row.low,
                        high=row.high,
                        outline=(
                            (first, row.low),
                            (last, row.low),
                            (last, row.high),
                            (first, row.high),
                        ),
                    )
                )
    return tuple(made)


def one_sheet_each(cut: Sequence[Piece]) -> tuple[Sheet, ...]:
    """Every piece from a sheet of its own, the shortest that is long enough."""
    made = []
    for piece in cut:
        length, width = piece.end - piece.start, piece.high - piece.low
        feet = next(feet for feet in PRICES if feet * FOOT >= length)
        one = PlacedPiece(piece=piece.code, start=Nm(0), end=Nm(length), width=Nm(width))
        if width == 48 * INCH:
            made.append(sheet(f"S-{piece.code}", feet, crosscuts=(one,)))
        else:
            ripped = Strip(low=Nm(0), high=Nm(width), factory_edges=1, pieces=(one,))
            made.append(sheet(f"S-{piece.code}", feet, rip_at=Nm(0), strips=(ripped,)))
    return tuple(made)


def plan(
    joints: Mapping[int, Sequence[float]] = JOINTS,
    *,
    kind: JointKind = JointKind.FRAMING,
    sheets: Sequence[Sheet] | None = None,
    rows: Sequence[Course] = ROWS,
    rules: Rules = RULES,
    lengths: Mapping[float, float] | None = None,
) -> BoardPlan:
    """The wall boarded with butt seams at `joints` (row to places), all its money worked out.

    A seam is its row's height, or what `lengths` says for its place. Where the joints are the usual
    ones the sheets are those cut by hand above.
    """
    cut = pieces(joints, rows)
    heights = {row.index: row.high - row.low for row in rows}
    seams = tuple(
        Joint(
            row=row,
            at=inches(at),
            kind=kind,
            length=inches(lengths[at]) if lengths and at in lengths else Nm(heights[row]),
        )
        for row, ats in joints.items()
        for at in ats
    )
    if sheets is None:
        sheets = SHEETS if joints is JOINTS else one_sheet_each(cut)
    surface = SurfacePlan(
        surface="den/a",
        room="den",
        board="regular",
        thickness=HALF,
        rows_run=Runs.ALONG,
        along_framing=False,
        rows=tuple(rows),
        joints=seams,
        pieces=cut,
    )
    backers = sum(-(-seam.length // (48 * INCH)) for seam in seams if kind is JointKind.FLOATING)
    return BoardPlan(
        surfaces=(surface,),
        sheets=tuple(sheets),
        sheet_cost=Cents(sum(sheet.price for sheet in sheets)),
        seam_cost=Fraction(rules.seam_price) * 100 * sum(seam.length for seam in seams) / FOOT,
        backer_cost=100 * backers * (Fraction(rules.backer_price) + 2 * Fraction(rules.shim_price)),
        bound=Bound(value=Fraction(1000), basis=BoundBasis.AREA),
    )
