"""The worth of hours, put to the joints and layouts of a problem, and added up of a plan.

Boards that are cut or hang count like all others: what was done once is the same in every plan and
in its bound, as the price of their sheets is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from takeoff.boards.hours import NO_WORK, SurfaceWork
from takeoff.boards.joints import JointPoint
from takeoff.boards.layouts import CourseProblem, Layout
from takeoff.boards.plan import SurfacePlan
from takeoff.quantities import Cents

__all__ = ["hours_of", "least_hours", "with_work"]


def with_work(layout: Layout, work: SurfaceWork) -> Layout:
    """The layout with what the hours of its joints are worth, and those that its courses and the
    boards that hang in them take whatever is chosen."""
    if work == NO_WORK:
        return layout
    courses = tuple(_course(course, work) for course in layout.courses)
    hours = work.courses([(course, course.extents) for course in courses])
    hours += sum(
        work.piece(course.sheet_width, board.start, board.end, board.low, board.high)
        for course in courses
        for board in course.boards
    )
    return replace(layout, courses=courses, work=work, hours=Cents(hours))


def _course(course: CourseProblem, work: SurfaceWork) -> CourseProblem:
    def priced(points: Iterable[JointPoint]) -> tuple[JointPoint, ...]:
        return tuple(
            replace(point, work=work.joint(course, point.at, point.seam, point.kind))
            for point in points
        )

    segments = tuple(replace(segment, points=priced(segment.points)) for segment in course.segments)
    return replace(course, segments=segments, joints=priced(course.joints))


def least_hours(layout: Layout) -> int:
    """What the hours of a layout are worth at least, in cents: of the fewest pieces that reach
    along it, with the seams between them where those take least."""
    least: int = layout.hours
    for course in layout.courses:
        for segment in course.segments:
            # An end that may give way leaves fewer pieces than the whole stretch would take.
            start, end = segment.least
            pieces = -(-(end - start) // course.longest) if course.longest else 1
            seam = min((point.work for point in segment.points), default=Cents(0))
            least += pieces * layout.work.least_piece(full=course.full) + (pieces - 1) * seam
    return least


def hours_of(plan: SurfacePlan, work: SurfaceWork) -> Cents:
    """What the hours of a surface's plan are worth."""
    rows = {row.index: row for row in plan.rows}
    hours = work.courses([(row, row.segments) for row in plan.rows])
    for piece in plan.pieces:
        hours += work.piece(
            rows[piece.row].sheet_width, piece.start, piece.end, piece.low, piece.high
        )
    for joint in plan.joints:
        hours += work.joint(rows[joint.row], joint.at, joint.length, joint.kind)
    return Cents(hours)
