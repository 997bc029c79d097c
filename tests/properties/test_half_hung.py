"""Whatever hangs, and however a surface is measured anew: no board moves, and the plan of the rest
passes the checker."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from takeoff.boards.first_plan import plan_pool
from takeoff.boards.hung import on_surface
from takeoff.choices import JointMode, Orientation, Runs, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface, frame
from takeoff.job import take_off
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.bench.rooms import seeded_house
from tests.properties.test_boards import CATALOGUE, pools
from tests.takeoff.boards.half_hung import (
    around,
    built_of,
    built_of_takeoff,
    chosen_at_random,
    examined,
)
from tests.takeoff.boards.hand import SHEETS, framed, opening, outline, replace, sheet, stated

FEW, MANY = range(24), range(24, 1200)


class Measured:
    """A surface drawn at random, that can be measured anew some sixteenths longer and higher."""

    def __init__(self, random: Random) -> None:
        self.kind = random.choice([SurfaceKind.WALL, SurfaceKind.WALL, SurfaceKind.CEILING])
        on_wall = self.kind is SurfaceKind.WALL
        self.width = random.randint(60, 260)
        self.height = random.randint(84, 120) if on_wall else random.randint(60, 200)
        self.openings = ()
        if on_wall and self.width > 100 and random.random() < 0.6:
            start = random.randint(16, self.width - 60)
            low, wide = random.choice([0, 30]), random.choice([30, 36])
            self.openings = (opening(start, low, start + wide, 80),)
        self.spacing = random.choice([16, 16, 24])
        self.mode = random.choice(list(JointMode))
        self.runs = Runs.ACROSS if on_wall else random.choice(list(Runs))
        self.orientation = random.choice([Orientation.ACROSS, Orientation.ACROSS, Orientation.BEST])
        self.form = "" if self.openings else random.choice(["", "", "slope", "gable", "step"])
        self.off = random.randint(6, 40)
        wide_sheets = (sheet(12, 2100, width=54),) if random.random() < 0.4 else ()
        self.rules = Rules(
            floor_gap=random.choice([Nm(0), Nm(INCH // 2)]),
            fitting=Nm(0),
            joint_mode=self.mode,
            sheets=SHEETS + wide_sheets,
        )

    def surface(self, longer: int = 0, higher: int = 0) -> FramedSurface:
        width, height = self.width + longer / 16, self.height + higher / 16
        corners = {
            "": [(0, 0), (width, 0), (width, height), (0, height)],
            "slope": [(0, 0), (width, 0), (width, height + self.off), (0, height)],
            "gable": [(0, 0), (width, 0), (width, height), (width / 2, height + 40), (0, height)],
            "step": [
                (0, 0),
                (width, 0),
                (width, height - self.off),
                (width - 20, height - self.off),
                (width - 20, height),
                (0, height),
            ],
        }[self.form]
        made = framed(
            width,
            height,
            spacing=self.spacing,
            kind=self.kind,
            runs=self.runs,
            shape=outline(*corners),
            joint_mode=self.mode,
            orientation=self.orientation,
            openings=self.openings,
        )
        return frame(made.surface, self.rules)


def swept(seed: int) -> None:
    """Hang some of a surface, and measure it anew a few times by up to 2 in either way."""
    random = Random(seed)
    measured = Measured(random)
    try:
        before = stated(measured.surface(), rules=measured.rules)
        first = plan_pool(before)
    except CannotBoard:
        return
    share = random.choice([0.3, 0.5, 0.8, 1.0])
    built = built_of(first, before, chosen_at_random(first.surfaces[0].pieces, random, share))
    offs = [(0, 0), *((random.randint(-32, 32), random.randint(-32, 32)) for _ in range(2))]
    offs += [(random.randint(-32, 32), 0), (0, random.randint(-32, 32))]
    for longer, higher in offs:
        surface = measured.surface(longer, higher)
        rest = around(built, surface, rules=measured.rules)
        plan = plan_pool(rest)
        found = examined(plan, rest, built)
        assert found.broken == (), (longer, higher)
        assert found.amiss == () or (longer, higher) != (0, 0)
        lies = {board.mark: board for board in on_surface(built.boards, surface.surface)}
        hung = [piece for piece in plan.surfaces[0].pieces if piece.code in lies]
        assert len(hung) == len(lies)
        assert all(
            (piece.start, piece.high, piece.outline)
            == (lies[piece.code].start, lies[piece.code].high, lies[piece.code].outline)
            for piece in hung
        )
        assert plan.bound.value <= plan.total


@pytest.mark.parametrize("seed", FEW)
def test_surface_measured_anew_is_planned_around_the_boards_that_hang(seed):
    swept(seed)


@pytest.mark.deep
@pytest.mark.parametrize("seed", MANY)
def test_many_surfaces_measured_anew_are_planned_around_the_boards_that_hang(seed):
    swept(seed)


@given(pools(), st.randoms(use_true_random=False))
@settings(max_examples=12)
def test_rest_of_any_pool_passes_the_checker(case, random):
    surfaces, before = case
    first = plan_pool(before)
    pieces = [piece for surface in first.surfaces for piece in surface.pieces]
    built = built_of(first, before, chosen_at_random(pieces, random))
    # What an owned sheet gave is hung, so there is one less of it.
    used = [one.source for one in built.sheets]
    owned = tuple(
        replace(one, count=one.count - used.count(one.id))
        for one in before.rules.owned
        if one.count > used.count(one.id)
    )
    rules = replace(before.rules, owned=owned)
    try:
        rest = around(
            built, *surfaces, rules=rules, catalogue=CATALOGUE, board=before.board, kerf=before.kerf
        )
        plan = plan_pool(rest)
    except CannotBoard:
        # A piece may have been as long as an owned sheet that is begun now; nothing else that was
        # possible is not any more.
        assume(owned == before.rules.owned)
        raise
    assert examined(plan, rest, built, CATALOGUE).broken == ()


def whole_house_half_hung(seed: int) -> None:
    house = seeded_house(seed, rooms=1 + seed % 3)
    first = take_off(house)
    pieces = [piece for surface in first.surface_plans for piece in surface.pieces]
    built = built_of_takeoff(first, chosen_at_random(pieces, Random(seed)))
    again = take_off(house, built=built)
    # A plan that the checker does not pass would be refused.
    assert again.refused == first.refused
    assert again.amiss == ()
    marks = [piece.code for surface in again.surface_plans for piece in surface.pieces]
    assert len(marks) == len(set(marks))
    assert {board.mark for board in built.boards} <= set(marks)
    assert {one for one in again.sheets if one in built.sheets} == set(built.sheets)


@pytest.mark.parametrize("seed", [2, 4, 6])
def test_rest_of_a_half_hung_house_is_planned(seed):
    whole_house_half_hung(seed)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(30))
def test_rest_of_thirty_half_hung_houses_is_planned(seed):
    whole_house_half_hung(seed)
