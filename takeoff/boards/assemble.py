"""From choices to a board plan: the one place that names pieces, lays them on sheets, and adds up
the money.

A planner chooses a layout and joints for each surface of a pool (`Chosen`), asks `cut_pieces` for
what must be cut, finds sheets for it (`SheetCut`, by `takeoff.cutting.sheets.pack` or better), and
calls `assemble`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.numbers import SheetMarks, piece_marks
from takeoff.boards.other_face import shared_work
from takeoff.boards.plan import (
    BoardPlan,
    Bound,
    BoundBasis,
    Course,
    Joint,
    Offcut,
    Piece,
    PlacedBoard,
    PlacedPiece,
    PlanNote,
    Sheet,
    Strip,
    SurfacePlan,
)
from takeoff.boards.problem import CourseProblem, JointPoint, Layout, Pool, Segment, SurfaceProblem
from takeoff.boards.region import in_course_axes
from takeoff.boards.words import shown
from takeoff.boards.work import hours_of, least_hours
from takeoff.cutting.sheets import CutPiece, Sale, SheetCut
from takeoff.geometry.polygon import area2, clip_band
from takeoff.geometry.surface import Point, Surface
from takeoff.quantities import Cents
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = [
    "Chosen",
    "area_bound",
    "assemble",
    "close_pairs",
    "cut_pieces",
    "fixed_cost",
    "piece_edges",
    "sales_of",
]


@dataclass(frozen=True, slots=True)
class Chosen:
    """What a planner chose for one surface: a layout, and the joints of each segment of each
    course, in order."""

    layout: Layout
    joints: tuple[tuple[tuple[JointPoint, ...], ...], ...]


def assemble(
    pool: Pool, chosen: Sequence[Chosen], sheets: Sequence[SheetCut], bound: Bound | None = None
) -> BoardPlan:
    """The plan of a pool from what was chosen for each of its surfaces, in order, and the sheets it
    is cut from.

    `sheets` hold the pieces `cut_pieces(pool, chosen)` gives, each once. Sheets are put in the
    order they are first cut, and named so (`takeoff.boards.plan` says how). Boards that hang, their
    joints, and the sheets that are cut already are part of the plan, as they are. `bound` defaults
    to the area bound.
    """
    plans = tuple(
        _surface_plan(pool, problem, choice)
        for problem, choice in zip(pool.surfaces, chosen, strict=True)
    )
    rooms = [plan.room for plan in plans for _ in plan.pieces]

    order = {
        piece.code: index
        for index, piece in enumerate(piece for plan in plans for piece in plan.pieces)
    }
    # A person works in hanging order, so a sheet's number says when it is first wanted.
    ordered = sorted(sheets, key=lambda cut: min(order[piece.code] for piece in _all_pieces(cut)))
    marks = SheetMarks(
        {problem.framed.surface.room: problem.framed.surface.code for problem in pool.surfaces},
        pool.taken,
    )
    laid = pool.cut + tuple(_sheet(pool, marks, cut, order, rooms) for cut in ordered)

    points = [
        point for choice in chosen for course in choice.joints for path in course for point in path
    ]
    points += [
        point for choice in chosen for course in choice.layout.courses for point in course.joints
    ]
    pairs = sum(close_pairs(choice, pool.rules) for choice in chosen)
    hours: int = sum(
        hours_of(plan, choice.layout.work) for plan, choice in zip(plans, chosen, strict=True)
    )
    hours += shared_work(
        [(problem.framed, plan) for problem, plan in zip(pool.surfaces, plans, strict=True)],
        pool.rules,
    )

    return BoardPlan(
        surfaces=plans,
        sheets=laid,
        sheet_cost=Cents(sum(sheet.price for sheet in laid)),
        seam_cost=sum((point.seam_cost for point in points), Fraction(0))
        + pairs * 100 * Fraction(pool.rules.preferred_stagger_price),
        backer_cost=sum((point.backer_cost for point in points), Fraction(0)),
        bound=bound if bound is not None else area_bound(pool),
        work_cost=Cents(hours),
    )


def cut_pieces(pool: Pool, chosen: Sequence[Chosen]) -> tuple[CutPiece, ...]:
    """What must be cut for these choices, in hanging order, course by course, each with its code in
    the plan."""
    cut: list[CutPiece] = []
    rooms = room_order(pool)
    for problem, choice in zip(pool.surfaces, chosen, strict=True):
        sales = sales_of(pool, problem, choice.layout)
        room = rooms[problem.framed.surface.room]
        codes = _piece_codes(pool, problem)
        for course, segment, start, end in _stretches(choice):
            start, end, low, high = choice.layout.lies(course, segment, start, end)
            cut.append(
                CutPiece(
                    code=next(codes),
                    length=Nm(end - start),
                    width=Nm(high - low),
                    factory_edges=piece_edges(course, low, high),
                    room=room,
                    sale=sales[course.sheet_width],
                )
            )
    return tuple(cut)


def _piece_codes(pool: Pool, problem: SurfaceProblem) -> Iterator[str]:
    """What the pieces of a surface are called, in order: as given, else past marks that are
    taken."""
    if problem.codes:
        return iter(problem.codes)
    return piece_marks(problem.framed.surface, pool.taken)


def piece_edges(course: CourseProblem, low: Nm, high: Nm) -> int:
    """How many of the sheet's own long edges a piece of `row` from `low` to `high` must keep."""
    return int(course.factory_low and low == course.low) + int(
        course.factory_high and high == course.high
    )


def sales_of(pool: Pool, problem: SurfaceProblem, layout: Layout) -> dict[Nm, Sale]:
    """The sheets that what is to be boarded of a layout may be cut from, on sale and owned, by
    their width."""
    owned = [sheet for sheet in pool.owned if sheet in problem.owned]
    widths = dict.fromkeys(course.sheet_width for course in layout.courses if course.segments)
    return {
        width: Sale(
            width,
            [(sheet.length, sheet.price) for sheet in problem.sheets if sheet.width == width],
            pool.kerf,
            owned,
        )
        for width in widths
    }


def room_order(pool: Pool) -> Mapping[str, int]:
    """The place of each room in the hanging order."""
    rooms = dict.fromkeys(problem.framed.surface.room for problem in pool.surfaces)
    return {room: index for index, room in enumerate(rooms)}


def close_pairs(chosen: Chosen, rules: Rules) -> int:
    """How many pairs of joints in touching courses stand closer than the preferred stagger."""
    courses = [
        [point.at for path in (*paths, course.joints) for point in path]
        for course, paths in zip(chosen.layout.courses, chosen.joints, strict=True)
    ]
    return sum(
        abs(a - b) < rules.preferred_stagger
        for one, two in pairwise(courses)
        for a in one
        for b in two
    )


def area_bound(pool: Pool) -> Bound:
    """What the board to be hung costs at the cheapest price by area on sale, owned sheets taken
    off, and what is cut or joined already.

    True since no sheet gives more board than its area, and what opens in a course's whole height is
    the only board saved; of the hours those count that a layout takes at least.
    """
    total, dearest = Fraction(0), Fraction(0)
    for problem in pool.surfaces:
        costs = []
        for layout in problem.layouts:
            # Every sheet of a course has the course's width; which length is cheapest by area is
            # still open.
            rates = {
                width: min(
                    Fraction(sheet.price, sheet.width * sheet.length)
                    for sheet in problem.sheets
                    if sheet.width == width
                )
                for width in {course.sheet_width for course in layout.courses if course.segments}
            }
            dearest = max(dearest, *rates.values(), Fraction(0))
            boards = sum(
                (rates[course.sheet_width] * _board_area(course))
                for course in layout.courses
                if course.segments
            )
            costs.append(boards + least_hours(layout))
        # Any layout may be the one of the best plan, so the cheapest counts.
        total += min(costs)
    owned = sum(sheet.count * sheet.width * sheet.length for sheet in pool.owned)
    # Owned board may take the place of the dearest, which is the most it can save.
    least = max(Fraction(0), total - dearest * owned) + fixed_cost(pool)
    return Bound(value=least, basis=BoundBasis.AREA)


def fixed_cost(pool: Pool) -> Fraction:
    """Cents that every plan of the pool costs: the sheets cut already, and the butt joints that
    boards which hang leave no choice of."""
    joints = (
        min(
            sum((point.cost for course in layout.courses for point in course.joints), Fraction(0))
            for layout in problem.layouts
        )
        for problem in pool.surfaces
    )
    return sum((Fraction(sheet.price) for sheet in pool.cut), Fraction(0)) + sum(joints)


def _board_area(course: CourseProblem) -> Fraction:
    """What of a course is covered at least, where its ends may give way."""
    total = Fraction(0)
    for segment in course.segments:
        start, end = segment.least
        if segment.area:
            parts = clip_band(segment.area, 0, start, end)
            total += sum((Fraction(area2(part)) / 2 for part in parts), Fraction(0))
        else:
            total += (end - start) * (course.high - course.low)
    return total


def _stretches(chosen: Chosen) -> Iterator[tuple[CourseProblem, Segment, Nm, Nm]]:
    """Each piece in the order of the courses: its course, its segment, its start and end along the
    course."""
    for course, paths in zip(chosen.layout.courses, chosen.joints, strict=True):
        yield from _stretches_in(course, paths)


def _stretches_in(
    course: CourseProblem, paths: Sequence[Sequence[JointPoint]]
) -> Iterator[tuple[CourseProblem, Segment, Nm, Nm]]:
    for segment, path in zip(course.segments, paths, strict=True):
        cuts = (segment.start, *(point.at for point in path), segment.end)
        for start, end in pairwise(cuts):
            yield course, segment, start, end


def _surface_plan(pool: Pool, problem: SurfaceProblem, chosen: Chosen) -> SurfacePlan:
    surface, layout = problem.framed.surface, chosen.layout
    pieces: list[Piece] = []
    codes = _piece_codes(pool, problem)
    for course, paths in zip(layout.courses, chosen.joints, strict=True):
        mine = [_hung(board, course) for board in course.boards]
        for _, segment, start, end in _stretches_in(course, paths):
            start, end, low, high = layout.lies(course, segment, start, end)
            mine.append(
                Piece(
                    code=next(codes),
                    surface=surface.id,
                    row=course.index,
                    start=start,
                    end=end,
                    low=low,
                    high=high,
                    outline=in_course_axes(
                        _outline(segment, start, end, low, high), layout.rows_run
                    ),
                )
            )
        pieces += sorted(mine, key=lambda piece: piece.start) if course.boards else mine
    return SurfacePlan(
        surface=surface.id,
        room=surface.room,
        board=pool.board,
        thickness=pool.thickness,
        rows_run=layout.rows_run,
        along_framing=layout.along_framing,
        rows=tuple(
            Course(
                index=course.index,
                low=course.low,
                high=course.high,
                sheet_width=course.sheet_width,
                factory_low=course.factory_low,
                factory_high=course.factory_high,
                segments=_extents(layout, course, paths),
            )
            for course, paths in zip(layout.courses, chosen.joints, strict=True)
        ),
        joints=tuple(
            Joint(row=course.index, at=point.at, kind=point.kind, length=point.seam)
            for course, paths in zip(layout.courses, chosen.joints, strict=True)
            for point in _in_order(course, paths)
        ),
        pieces=tuple(pieces),
        notes=layout.notes + _blocking_note(surface, chosen),
    )


def _extents(
    layout: Layout, course: CourseProblem, paths: Sequence[Sequence[JointPoint]]
) -> tuple[tuple[Nm, Nm], ...]:
    """The stretches of a course as its boards have them, hung or not."""
    lies = {}
    for segment, path in zip(course.segments, paths, strict=True):
        cuts = (segment.start, *(point.at for point in path), segment.end)
        first = layout.lies(course, segment, cuts[0], cuts[1])
        last = layout.lies(course, segment, cuts[-2], cuts[-1])
        lies[segment.start, True], lies[segment.end, False] = first.start, last.end
    return tuple(
        (lies.get((start, True), start), lies.get((end, False), end))
        for start, end in course.extents
    )


def _in_order(course: CourseProblem, paths: Sequence[Sequence[JointPoint]]) -> Iterable[JointPoint]:
    """The joints of a course from its start, those at boards that hang among them."""
    chosen = [point for path in paths for point in path]
    if not course.joints:
        return chosen
    return sorted([*chosen, *course.joints], key=lambda point: point.at)


def _hung(board: PlacedBoard, course: CourseProblem) -> Piece:
    return Piece(
        code=board.mark,
        surface=board.surface,
        row=course.index,
        start=board.start,
        end=board.end,
        low=board.low,
        high=board.high,
        outline=board.outline,
    )


def _blocking_note(surface: Surface, chosen: Chosen) -> tuple[PlanNote, ...]:
    """Butt ends of boards along the framing land on no member, so each takes blocking put in before
    hanging."""
    seams = [point.seam for course in chosen.joints for path in course for point in path]
    seams += [point.seam for course in chosen.layout.courses for point in course.joints]
    if not chosen.layout.along_framing or not seams:
        return ()
    text = (
        f"{len(seams)} butt ends of boards along the framing need blocking behind them, "
        f"{shown(Nm(sum(seams)), surface)} in all: put it in before hanging"
    )
    return (PlanNote(surface=surface.id, rule="blocking", text=text),)


def _outline(segment: Segment, start: Nm, end: Nm, low: Nm, high: Nm) -> tuple[Point, ...]:
    if segment.area:
        parts = clip_band(segment.area, 0, start, end)
        return max(parts, key=area2)
    return ((start, low), (end, low), (end, high), (start, high))


def _all_pieces(cut: SheetCut) -> tuple[CutPiece, ...]:
    return cut.whole + cut.first + cut.second


def _sheet(
    pool: Pool, marks: SheetMarks, cut: SheetCut, order: Mapping[str, int], rooms: Sequence[str]
) -> Sheet:
    """One sheet with its pieces in place: whole-width ones from the left, the rip at the far end
    where what is left between is worth keeping whole."""
    room = rooms[min(order[piece.code] for piece in _all_pieces(cut))]
    code = marks.next(room)
    edges = 2 if cut.owned is None else cut.owned.factory_edges
    whole = _placed(cut.whole, Nm(0), pool.kerf, order)
    ripped = max((_run(strip, pool.kerf) for strip in (cut.first, cut.second) if strip), default=0)
    after = whole[-1].end if whole else 0
    offcuts: list[tuple[int, int, int]] = []
    rip_at: Nm | None = None
    strips: list[Strip] = []
    if ripped:
        begin = after + pool.kerf if whole else 0
        rest = cut.length - ripped - pool.kerf - begin
        # Where the whole-width rest is worth keeping, the rip moves to the far end and leaves it in
        # one piece.
        keep = _worth_keeping(rest, cut.width, pool.rules)
        rip_at = Nm(cut.length - ripped if keep else begin)
        if keep:
            offcuts.append((rest, cut.width, edges))
        low_width = max(piece.width for piece in cut.first)
        strips.append(
            Strip(
                low=Nm(0),
                high=low_width,
                factory_edges=min(edges, 1),
                pieces=_placed(cut.first, rip_at, pool.kerf, order),
            )
        )
        upper = Nm(low_width + pool.kerf)
        if cut.second:
            strips.append(
                Strip(
                    low=upper,
                    high=cut.width,
                    factory_edges=max(0, edges - 1),
                    pieces=_placed(cut.second, rip_at, pool.kerf, order),
                )
            )
        else:
            offcuts.append((cut.length - rip_at, cut.width - upper, max(0, edges - 1)))
        offcuts += [
            (
                cut.length - strip.pieces[-1].end - pool.kerf,
                strip.high - strip.low,
                strip.factory_edges,
            )
            for strip in strips
        ]
    else:
        offcuts.append((cut.length - after - pool.kerf, cut.width, edges))

    kept = [offcut for offcut in offcuts if _worth_keeping(offcut[0], offcut[1], pool.rules)]
    return Sheet(
        code=code,
        room=room,
        board=pool.board,
        thickness=pool.thickness,
        width=cut.width,
        length=cut.length,
        factory_edges=edges,
        price=cut.price,
        source=None if cut.owned is None else cut.owned.id,
        crosscuts=whole,
        rip_at=rip_at,
        strips=tuple(strips),
        offcuts=tuple(
            Offcut(
                id=f"{code}.{number}", length=Nm(length), width=Nm(width), factory_edges=edge_count
            )
            for number, (length, width, edge_count) in enumerate(kept, start=1)
        ),
    )


def _placed(
    pieces: Sequence[CutPiece], start: Nm, kerf: Nm, order: Mapping[str, int]
) -> tuple[PlacedPiece, ...]:
    placed = []
    at: int = start
    for piece in sorted(pieces, key=lambda piece: order[piece.code]):
        placed.append(
            PlacedPiece(
                piece=piece.code, start=Nm(at), end=Nm(at + piece.length), width=piece.width
            )
        )
        # The saw takes its kerf behind each piece.
        at += piece.length + kerf
    return tuple(placed)


def _run(pieces: Sequence[CutPiece], kerf: Nm) -> int:
    return sum(piece.length for piece in pieces) + kerf * (len(pieces) - 1)


def _worth_keeping(length: int, width: int, rules: Rules) -> bool:
    """Whether an offcut is kept: at least the shortest piece long and no narrow strip."""
    return length >= max(rules.shortest_piece, 1) and width >= max(rules.narrow_strip, 1)
