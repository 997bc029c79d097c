"""Butt seams that share a member with one on the other face of the same partition.

Both board ends of a seam are screwed close to the edges of their stud. Where the other face has a
seam on that stud too, it takes four rows of screws, and a wall that moves opens both. So the face
that is hung later pays for each such seam (`Minutes.other_face_butt`). Only faces in one plan are
looked at, and only seams on studs: boards along the framing end on blocking.

The first plan steers by this, and a plan's hours count it. The search's programme does not know of
it, so its bound stays true, and may be lower than it had to be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from takeoff.boards.hours import Worth, worth_of
from takeoff.boards.joints import JointPoint
from takeoff.boards.layouts import CourseProblem, Layout
from takeoff.boards.plan import BoardPlan, JointKind, SurfacePlan
from takeoff.boards.problem import Pool
from takeoff.choices import Runs
from takeoff.framing.members import FramedSurface
from takeoff.quantities import Cents
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = [
    "Butt",
    "butts_laid",
    "butts_of",
    "off_other_faces",
    "opposite",
    "shared_butt_cents",
    "shared_places",
    "shared_work",
]


class Butt(NamedTuple):
    """A butt seam on a stud of a partition: where the stud stands along its leg, and from where to
    where the row of the seam lies."""

    on_frame: Nm
    low: Nm
    high: Nm


def opposite(one: FramedSurface, other: FramedSurface) -> bool:
    """Whether two surfaces are on the two sides of one leg of a partition."""
    face, back = one.surface.partition_face, other.surface.partition_face
    if face is None or back is None:
        return False
    return face.leg == back.leg and face.is_behind != back.is_behind


def butts_of(framed: FramedSurface, plan: SurfacePlan) -> tuple[Butt, ...]:
    """Return the butt seams on studs of a planned face of a partition; none of another surface."""
    if framed.surface.partition_face is None or not _across_studs(
        plan.rows_run, along_framing=plan.along_framing
    ):
        return ()
    rows = {row.index: row for row in plan.rows}
    return tuple(
        Butt(framed.surface.on_frame(joint.at), rows[joint.row].low, rows[joint.row].high)
        for joint in plan.joints
        if joint.kind is JointKind.FRAMING
    )


def butts_laid(
    framed: FramedSurface, layout: Layout, joints: Sequence[Sequence[JointPoint]]
) -> tuple[Butt, ...]:
    """Return the butt seams on studs of a face of a partition in a layout, from the joints chosen
    in each course; those at boards that hang count too."""
    if not _across_studs(layout.rows_run, along_framing=layout.along_framing):
        return ()
    return tuple(
        Butt(framed.surface.on_frame(point.at), course.low, course.high)
        for course, points in zip(layout.courses, joints, strict=True)
        for point in (*points, *course.joints)
        if point.kind is JointKind.FRAMING
    )


def shared_places(
    framed: FramedSurface, layout: Layout, butts: Sequence[Butt]
) -> tuple[frozenset[Nm], ...]:
    """Return, course by course, the places for seams on studs that carry one of `butts`, which are
    of the other face."""
    if not butts or not _across_studs(layout.rows_run, along_framing=layout.along_framing):
        return tuple(frozenset() for _ in layout.courses)
    return tuple(
        frozenset(
            point.at
            for segment in course.segments
            for point in segment.points
            if point.kind is JointKind.FRAMING
            and _shares(framed, point.at, course.low, course.high, butts)
        )
        for course in layout.courses
    )


def shared_butt_cents(rules: Rules) -> Cents:
    """What it is worth, in cents, to keep one seam off such a stud."""
    worth: Worth = worth_of(rules, overhead=False)
    return worth.cents(worth.other_face_butt)


def shared_work(planned: Sequence[tuple[FramedSurface, SurfacePlan]], rules: Rules) -> Cents:
    """Return what the seams of planned surfaces on studs of the other face's seams are worth, in
    cents. `planned` are in hanging order: the later face pays."""
    faces = [one for one in planned if one[0].surface.partition_face is not None]
    if len(faces) < 2 or not rules.hour:
        return Cents(0)
    shared = 0
    for index, (framed, plan) in enumerate(faces):
        before = [
            butt
            for other, other_plan in faces[:index]
            if opposite(framed, other)
            for butt in butts_of(other, other_plan)
        ]
        if not before or not _across_studs(plan.rows_run, along_framing=plan.along_framing):
            continue
        rows = {row.index: row for row in plan.rows}
        shared += sum(
            joint.kind is JointKind.FRAMING
            and _shares(framed, joint.at, rows[joint.row].low, rows[joint.row].high, before)
            for joint in plan.joints
        )
    return Cents(shared * shared_butt_cents(rules))


def off_other_faces(pool: Pool, plan: BoardPlan) -> Pool | None:
    """Return the pool with dearer places for seams on studs that carry a seam of the face that
    `plan` hangs before; None where no place of the pool is on one.

    What a search finds for it is a plan of the pool itself, and what such a plan costs is counted
    anew. Its bound is none of the pool's, for the earlier face may lie otherwise there.
    """
    cents = shared_butt_cents(pool.rules)
    if not cents or not pool.rules.hour:
        return None
    plans = {surface.surface: surface for surface in plan.surfaces}
    problems, moved = list(pool.surfaces), False
    for index, problem in enumerate(pool.surfaces):
        butts = [
            butt
            for other in pool.surfaces[:index]
            if opposite(problem.framed, other.framed) and other.framed.surface.id in plans
            for butt in butts_of(other.framed, plans[other.framed.surface.id])
        ]
        if not butts:
            continue
        layouts = tuple(_dearer(problem.framed, layout, butts, cents) for layout in problem.layouts)
        moved = moved or layouts != problem.layouts
        problems[index] = replace(problem, layouts=layouts)
    return replace(pool, surfaces=tuple(problems)) if moved else None


def _dearer(framed: FramedSurface, layout: Layout, butts: Sequence[Butt], cents: Cents) -> Layout:
    shared = shared_places(framed, layout, butts)

    def courses() -> Iterator[CourseProblem]:
        for course, places in zip(layout.courses, shared, strict=True):
            segments = tuple(
                replace(
                    segment,
                    points=tuple(
                        replace(point, work=Cents(point.work + cents))
                        if point.at in places and point.kind is JointKind.FRAMING
                        else point
                        for point in segment.points
                    ),
                )
                for segment in course.segments
            )
            yield replace(course, segments=segments)

    return replace(layout, courses=tuple(courses()))


def _shares(framed: FramedSurface, at: Nm, low: Nm, high: Nm, butts: Sequence[Butt]) -> bool:
    """Whether a seam at a place of a row is on a stud that carries one of `butts`. Over and under
    an opening stand studs of their own."""
    half = framed.surface.framing.member_width // 2
    place = framed.surface.on_frame(at)
    near = [butt for butt in butts if abs(butt.on_frame - place) <= half]
    return any(
        abs(member.centre - at) <= half
        and member.low < high
        and member.high > low
        and member.low < butt.high
        and member.high > butt.low
        for butt in near
        for member in framed.members
    )


def _across_studs(rows_run: Runs, *, along_framing: bool) -> bool:
    return rows_run is Runs.ALONG and not along_framing
