"""Butt seams on both faces of one stud: what they cost the face that is hung later."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from takeoff.boards import other_face
from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.house_plan import pools_of
from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool
from takeoff.choices import Action, FramedWhen, Side
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import (
    BehindPartition,
    Ceiling,
    House,
    Opening,
    Partition,
    QuickRoom,
    Room,
    SurfaceChoice,
)
from takeoff.quantities import Cents
from takeoff.rules import Minutes, Rules
from takeoff.solve.best import improve
from takeoff.solve.effort import Effort
from takeoff.units import INCH, Nm
from tests.takeoff.needs_room import CATALOGUE

FREE = Rules(minutes=Minutes(other_face_butt=Decimal(0)))
PRICED = Rules()
DEAR = Rules(minutes=Minutes(other_face_butt=Decimal(60)))
ONE = Cents(250)  # ten minutes at 15.00 an hour


def two_rooms(
    rules: Rules,
    *,
    side: Side = Side.RIGHT,
    framed: FramedWhen = FramedWhen.BEFORE,
    openings: tuple[Opening, ...] = (),
) -> House:
    """A room parted across, boarded on the two faces of the partition alone: each is 19' 8" long,
    so that every row of it has a seam."""
    left = [SurfaceChoice(of=of, action=Action.LEAVE) for of in ("A", "B", "C", "D", "ceiling")]
    behind = "D" if side is Side.RIGHT else "B"
    return House(
        id="h",
        name="House",
        rooms=(
            Room(
                id="den",
                name="Den",
                shape=QuickRoom(length=Nm(200 * INCH), width=Nm(236 * INCH)),
                ceiling=Ceiling(height=Nm(97 * INCH)),
                surfaces=tuple(left),
            ),
            Room(
                id="study",
                name="Study",
                shape=BehindPartition(partition="p"),
                surfaces=tuple(one for one in left if one.of != behind),
            ),
        ),
        partitions=(
            Partition(
                id="p",
                name="Partition",
                room="den",
                wall="A",
                at=Nm(90 * INCH),
                side=side,
                framed=framed,
                openings=openings,
            ),
        ),
        rules=rules,
        catalogue=CATALOGUE,
    )


def pool_for(house: House) -> Pool:
    rooms, _ = room_shapes(house)
    members = {one.id: frame(one, house.rules) for room in rooms for one in room.surfaces}
    (pool,), refused = pools_of(house, rooms, members)
    assert not refused
    return pool


@cache
def pool_of(rules: Rules) -> Pool:
    return pool_for(two_rooms(rules))


def faces_of(pool: Pool) -> tuple[Surface, Surface]:
    first, second = (problem.framed.surface for problem in pool.surfaces)
    return first, second


def shared(pool: Pool, plan: BoardPlan) -> int:
    """How many studs carry a seam of each face."""
    first, second = (
        {surface.on_frame(joint.at) for joint in laid.joints}
        for surface, laid in zip(faces_of(pool), plan.surfaces, strict=True)
    )
    return len(first & second)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("when", FramedWhen)
def test_studs_of_both_faces_are_the_same_places_of_the_frame(side, when):
    pool = pool_for(two_rooms(PRICED, side=side, framed=when))
    first, second = (
        {problem.framed.surface.on_frame(member.centre) for member in problem.framed.members}
        for problem in pool.surfaces
    )
    # At the two ends each side has the studs that hold its own edges.
    assert len(first & second) >= len(first) - 4


def test_seams_keep_off_studs_that_carry_one_of_the_other_face():
    # All boards of 12 ft and 8 ft take the same studs; each stud left costs a longer cut.
    assert [shared(pool_of(of), plan_pool(pool_of(of))) for of in (FREE, PRICED, DEAR)] == [2, 1, 0]


def test_plan_pays_for_each_seam_of_the_later_face_on_such_a_stud():
    free, pool = pool_of(FREE), pool_of(PRICED)
    plan = plan_pool(free)
    framed = [problem.framed for problem in pool.surfaces]
    (breach,) = check_plan(plan, framed, PRICED, CATALOGUE)
    assert breach.rule == "work_cost"
    dearer = replace(plan, work_cost=Cents(plan.work_cost + shared(free, plan) * ONE))
    assert not check_plan(dearer, framed, PRICED, CATALOGUE)


def test_checker_finds_seams_that_the_planner_does_not_pay_for(monkeypatch):
    pool = pool_of(PRICED)
    monkeypatch.setattr(other_face, "_shares", lambda *_: False)
    plan = plan_pool(pool)
    framed = [problem.framed for problem in pool.surfaces]
    assert {breach.rule for breach in check_plan(plan, framed, PRICED, CATALOGUE)} == {"work_cost"}


def test_search_goes_off_them_and_its_bound_is_no_higher_than_what_is_best():
    free, pool = pool_of(FREE), pool_of(DEAR)
    begun = plan_pool(free)
    dear = replace(begun, work_cost=Cents(begun.work_cost + shared(free, begun) * 6 * ONE))
    *_, found = improve(pool, start=dear, effort=Effort(looks=1))
    *_, best = improve(free, start=begun, effort=Effort(looks=1))
    assert not shared(pool, found.plan)
    # The programme knows nothing of the other face: its bound is that of the problem without.
    assert found.bound <= best.plan.total <= found.plan.total
