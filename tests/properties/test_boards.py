"""Whatever the surfaces and rules, a first plan passes the independent checker."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.catalogue import BoardEdges, BoardKind, Catalogue, Cutting, OwnedSheet
from takeoff.choices import CeilingRows, CutoutKind, JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.surface import PlacedCutout, PlacedOpening
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.takeoff.boards.hand import HALF, framed, inches, opening, outline, sheet, stated

KINDS = (
    BoardKind(
        id="regular", name="regular board", sag_resistant=True, weights=((HALF, Decimal("1.6")),)
    ),
    BoardKind(id="sawn", name="sawn board", cutting=Cutting.SAW, sag_resistant=True),
    BoardKind(id="square", name="square-edged board", edges=BoardEdges.SQUARE, sag_resistant=True),
)
CATALOGUE = Catalogue(boards=KINDS)

eighths = st.integers(0, 7).map(lambda part: part / 8)


@st.composite
def sizes(draw: st.DrawFn, low: int, high: int) -> float:
    return draw(st.integers(low, high)) + draw(eighths)


@st.composite
def openings_along(draw: st.DrawFn, width: float, height: float) -> tuple[PlacedOpening, ...]:
    openings, free = [], 6.0
    for _ in range(draw(st.integers(0, 2))):
        wide = draw(st.sampled_from((26, 32, 38, 62)))
        if width - 6 - wide < free:
            break
        start = draw(st.integers(int(free), int(width - 6 - wide)))
        door = draw(st.booleans())
        top = min(82.5, height - 8)
        openings.append(opening(start, 0 if door else 30, start + wide, top))
        free = start + wide + 10
    return tuple(openings)


@st.composite
def boxes(draw: st.DrawFn, width: float) -> tuple[PlacedCutout, ...]:
    starts = draw(st.lists(st.integers(4, int(width) - 8), max_size=3, unique=True))
    return tuple(
        PlacedCutout(
            f"b{start}",
            "box",
            CutoutKind.BOX,
            inches(start),
            inches(14),
            inches(start + 2.25),
            inches(17.75),
        )
        for start in starts
    )


@st.composite
def shapes(draw: st.DrawFn, width: float, height: float):
    """A rectangle, or one with a corner taken off, square or slanted, a peak put on, or a notch cut
    in."""
    form = draw(
        st.sampled_from(("rectangle", "rectangle", "slope", "gable", "step", "corner", "notch"))
    )
    if form == "slope":
        return outline((0, 0), (width, 0), (width, height + draw(st.integers(6, 40))), (0, height))
    if form == "gable":
        return outline((0, 0), (width, 0), (width, height), (width / 2, height + 40), (0, height))
    if form == "step":
        across, up = draw(st.integers(20, int(width) - 20)), draw(st.integers(20, int(height) - 20))
        return outline((0, 0), (width, 0), (width, up), (across, up), (across, height), (0, height))
    if form == "corner":
        off = draw(st.integers(10, int(min(width, height)) - 10))
        return outline(
            (0, 0), (width, 0), (width, height - off), (width - off, height), (0, height)
        )
    if form == "notch":
        start = draw(st.integers(8, int(width) - 24))
        end, down = (
            draw(st.integers(start + 8, int(width) - 8)),
            draw(st.integers(8, int(height) - 8)),
        )
        return outline(
            (0, 0),
            (width, 0),
            (width, height),
            (end, height),
            (end, down),
            (start, down),
            (start, height),
            (0, height),
        )
    return outline((0, 0), (width, 0), (width, height), (0, height))


@st.composite
def framed_surfaces(draw: st.DrawFn, number: int, *, kind: BoardKind, plain: bool) -> FramedSurface:
    ceiling = draw(st.booleans())
    width, height = draw(sizes(40, 260)), draw(sizes(60, 200) if ceiling else sizes(84, 120))
    shape = (
        outline((0, 0), (width, 0), (width, height), (0, height))
        if plain
        else draw(shapes(width, height))
    )
    rectangle = len(shape) == 4 and shape[2][1] == shape[3][1]
    surface = framed(
        width,
        height,
        spacing=draw(st.sampled_from((12, 16, 16, 24))),
        kind=SurfaceKind.CEILING if ceiling else SurfaceKind.WALL,
        runs=draw(st.sampled_from(Runs)) if ceiling else Runs.ACROSS,
        shape=shape,
        id=f"r{number // 2}/s{number}",
        joint_mode=draw(st.sampled_from(JointMode)),
        orientation=draw(
            st.sampled_from((Orientation.ACROSS, Orientation.ACROSS, Orientation.BEST))
        ),
        openings=draw(openings_along(width, height)) if rectangle and not ceiling else (),
        cutouts=draw(boxes(width)),
        wet=draw(st.booleans()),
    ).surface
    return frame(replace(surface, board=replace(surface.board, kind=kind.id)), Rules())


@st.composite
def rule_sets(draw: st.DrawFn, kind: BoardKind) -> Rules:
    board = kind.id
    on_sale = [
        sheet(8, 1200, board=board),
        sheet(10, 1530, board=board),
        sheet(12, 1790, board=board),
    ]
    if draw(st.booleans()):
        on_sale.append(sheet(12, 2100, width=54, board=board))
    owned = draw(
        st.lists(
            st.builds(
                OwnedSheet,
                id=st.just("x"),
                board=st.just(board),
                thickness=st.just(HALF),
                width=st.sampled_from((20, 48)).map(lambda w: Nm(w * INCH)),
                length=st.sampled_from((50, 96, 168)).map(lambda w: Nm(w * INCH)),
                count=st.integers(1, 3),
                factory_edges=st.integers(0, 2),
            ),
            max_size=2,
        )
    )
    return Rules(
        sheets=tuple(on_sale),
        owned=tuple(replace(sheet, id=f"own{index}") for index, sheet in enumerate(owned)),
        floor_gap=draw(st.sampled_from((Nm(0), Nm(INCH // 2)))),
        ceiling_rows=draw(st.sampled_from(CeilingRows)),
        shared_edge_rip=draw(st.booleans()),
        keep_offcuts=draw(st.booleans()),
        stagger=draw(st.sampled_from((Nm(0), Nm(16 * INCH)))),
        preferred_stagger_price=draw(st.sampled_from((Decimal(0), Decimal("0.75")))),
    )


@st.composite
def pools(draw: st.DrawFn, *, plain: bool = False):
    kind = draw(st.sampled_from(KINDS))
    rules = draw(rule_sets(kind))
    surfaces = [
        draw(framed_surfaces(number, kind=kind, plain=plain))
        for number in range(draw(st.integers(1, 3)))
    ]
    kerf = rules.kerf if kind.cutting is Cutting.SAW else Nm(0)
    try:
        pool = stated(*surfaces, rules=rules, catalogue=CATALOGUE, board=kind.id, kerf=kerf)
    except CannotBoard:
        assume(False)
    return surfaces, pool


@given(pools())
@settings(max_examples=60)
def test_first_plan_passes_the_checker(case):
    surfaces, pool = case
    assert check_plan(plan_pool(pool), surfaces, pool.rules, CATALOGUE) == ()


@given(pools(plain=True))
@settings(max_examples=15)
def test_first_plan_is_the_same_each_time(case):
    _, pool = case
    assert plan_pool(pool) == plan_pool(pool)


@given(pools(plain=True))
@settings(max_examples=20)
def test_either_is_never_dearer_than_on_framing(case):
    surfaces, pool = case

    def with_mode(mode: JointMode):
        changed = [
            replace(surface, surface=replace(surface.surface, joint_mode=mode))
            for surface in surfaces
        ]
        return stated(
            *changed, rules=pool.rules, catalogue=CATALOGUE, board=pool.board, kerf=pool.kerf
        )

    try:
        on_framing = with_mode(JointMode.FRAMING)
    except CannotBoard:
        assume(False)
    assert plan_pool(with_mode(JointMode.EITHER)).total <= plan_pool(on_framing).total


@given(pools(plain=True))
@settings(max_examples=20)
def test_pieces_of_a_rectangle_add_up_to_it(case):
    _, pool = case
    plan = plan_pool(pool)
    for surface in plan.surfaces:
        for row in surface.rows:
            pieces = [piece for piece in surface.pieces if piece.row == row.index]
            assert sum(piece.end - piece.start for piece in pieces) == sum(
                b - a for a, b in row.segments
            )
        for lower, upper in pairwise(sorted(surface.rows, key=lambda row: row.low)):
            assert lower.high == upper.low
