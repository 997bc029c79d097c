"""Plans of some surfaces each, taken together as one plan of the pool that has all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from takeoff.boards.assemble import Chosen, assemble, cut_pieces
from takeoff.boards.plan import BoardPlan, Course, PlacedPiece, Sheet, SurfacePlan
from takeoff.boards.problem import CourseProblem, Layout, Pool
from takeoff.cutting.sheets import CutPiece, SheetCut

__all__ = ["layouts_of", "merge_plans"]


def layouts_of(pool: Pool, plan: BoardPlan) -> dict[int, int]:
    """Which layout each surface of the pool has in a plan, where it has one of the pool's."""
    plans = {surface.surface: surface for surface in plan.surfaces}
    layouts = {}
    for s, problem in enumerate(pool.surfaces):
        mine = plans.get(problem.layouts[0].surface)
        for index, layout in enumerate(problem.layouts):
            if mine is not None and s not in layouts and _same_courses(layout, mine):
                layouts[s] = index
    return layouts


def merge_plans(pool: Pool, plans: Sequence[BoardPlan]) -> BoardPlan | None:
    """The plans as one plan of `pool`, each sheet cut as it was, with the marks of the pool.

    None where together they are no plan of it: a surface has none or two, lies in a way the pool
    does not allow, or takes an owned sheet that the others took already.
    """
    laid = [surface for plan in plans for surface in plan.surfaces]
    by_surface = {surface.surface: surface for surface in laid}
    ids = [problem.framed.surface.id for problem in pool.surfaces]
    # Each surface of the pool once, no other, and no owned sheet twice.
    if len(by_surface) < len(laid) or set(by_surface) != set(ids) or not _owned_enough(pool, plans):
        return None
    layouts = {s: index for plan in plans for s, index in layouts_of(pool, plan).items()}
    chosen: list[Chosen] = []
    for s, problem in enumerate(pool.surfaces):
        choice = _chosen(problem.layouts[layouts[s]], by_surface[ids[s]]) if s in layouts else None
        if choice is None:
            return None
        chosen.append(choice)
    # the plans may give one code to boards of several of them, so a piece is known by its surface
    # too
    hung = {board.mark for problem in pool.surfaces for board in problem.placed}
    old = [
        (surface, piece.code)
        for surface in ids
        for piece in by_surface[surface].pieces
        if piece.code not in hung
    ]
    named = dict(zip(old, cut_pieces(pool, chosen), strict=True))
    sheets = []
    for plan in plans:
        surface_of = {
            piece.code: surface.surface for surface in plan.surfaces for piece in surface.pieces
        }
        mine = {
            code: named[surface, code] for code, surface in surface_of.items() if code not in hung
        }
        cut = {sheet.code for sheet in pool.cut}
        sheets += [_cut(pool, sheet, mine) for sheet in plan.sheets if sheet.code not in cut]
    return assemble(pool, chosen, sheets)


def _same_courses(layout: Layout, plan: SurfacePlan) -> bool:
    if layout.rows_run is not plan.rows_run or len(layout.courses) != len(plan.rows):
        return False
    return all(
        (one.index, one.low, one.high, one.sheet_width, one.factory_low, one.factory_high)
        == (
            other.index,
            other.low,
            other.high,
            other.sheet_width,
            other.factory_low,
            other.factory_high,
        )
        and _reaches(one, other)
        for one, other in zip(layout.courses, plan.rows, strict=True)
    )


def _reaches(course: CourseProblem, other: Course) -> bool:
    """Whether the stretches of a planned course are those of the layout's, as far as their ends
    reach."""
    if len(course.extents) != len(other.segments):
        return False
    starts = {segment.start: segment.starts for segment in course.segments}
    ends = {segment.end: segment.ends for segment in course.segments}
    for (start, end), (begins, finishes) in zip(course.extents, other.segments, strict=True):
        first = starts.get(start) or (start, start)
        last = ends.get(end) or (end, end)
        if not (first[0] <= begins <= first[1] and last[0] <= finishes <= last[1]):
            return False
    return True


def _owned_enough(pool: Pool, plans: Sequence[BoardPlan]) -> bool:
    cut = {sheet.code for sheet in pool.cut}
    used = Counter(
        sheet.source
        for plan in plans
        for sheet in plan.sheets
        if sheet.source is not None and sheet.code not in cut
    )
    have = {owned.id: owned.count for owned in pool.owned}
    return all(count <= have.get(source, 0) for source, count in used.items())


def _chosen(layout: Layout, plan: SurfacePlan) -> Chosen | None:
    """The layout with the plan's joints; None where one of them is no joint the layout allows."""
    joints = {(joint.row, joint.at): joint.kind for joint in plan.joints}
    courses = tuple(
        tuple(
            tuple(
                point
                for point in segment.points
                if joints.get((course.index, point.at)) is point.kind
            )
            for segment in course.segments
        )
        for course in layout.courses
    )
    matched = sum(len(path) for course in courses for path in course)
    matched += sum(len(course.joints) for course in layout.courses)
    return Chosen(layout, courses) if matched == len(plan.joints) else None


def _cut(pool: Pool, sheet: Sheet, named: Mapping[str, CutPiece]) -> SheetCut:
    owned = {one.id: one for one in pool.owned}

    def pieces(placed: Sequence[PlacedPiece]) -> tuple[CutPiece, ...]:
        return tuple(named[one.piece] for one in placed)

    strips = [pieces(strip.pieces) for strip in sheet.strips]
    return SheetCut(
        width=sheet.width,
        length=sheet.length,
        price=sheet.price,
        owned=owned[sheet.source] if sheet.source is not None else None,
        whole=pieces(sheet.crosscuts),
        first=strips[0] if strips else (),
        second=strips[1] if len(strips) > 1 else (),
    )
