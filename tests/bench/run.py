"""Board plans against their bounds, and against plain ways to buy.

Everything is printed as it was measured; times depend on the machine and on what else it does.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path
from statistics import median

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool, formulate
from takeoff.choices import JointMode
from takeoff.cutting.sticks import StickStock, cut_sticks
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.quantities import Cents
from takeoff.solve.best import Effort, Progress, improve
from takeoff.units import INCH, Nm
from tests.bench.plain import area_times, longest_first, plain_model
from tests.bench.rooms import seeded_house

__all__ = ["boards", "house_of_twelve", "modes_by_work", "plain_ways", "pool_of", "sticks"]

Run = list[tuple[float, Progress]]  # each step of a search with when it came, in seconds

_MANY = 1_000_000  # parts: the clock alone ends a search here
BIN_PACKING = Path(__file__).parents[2] / "fixtures" / "binpacking"


def pool_of(house: House, rooms: Sequence[str] = ()) -> Pool:
    """Every surface of a seeded house (or of some of its rooms) in one pool, in hanging order."""
    problems = []
    for room in room_shapes(house)[0]:
        if rooms and room.room not in rooms:
            continue
        by_id = {surface.id: surface for surface in room.surfaces}
        problems += [
            formulate(frame(by_id[surface_id], house.rules), house.rules, house.catalogue)
            for surface_id in room.hang_order
            if by_id[surface_id].board_area
        ]
    return Pool(
        board="regular",
        thickness=Nm(INCH // 2),
        kerf=Nm(0),
        surfaces=tuple(problems),
        owned=house.rules.owned,
        rules=house.rules,
    )


def timed(pool: Pool, seconds: float) -> Run:
    """Each step of a search with when it came."""
    begun = time.perf_counter()
    return [
        (time.perf_counter() - begun, step)
        for step in improve(pool, effort=Effort(seconds=seconds, parts=_MANY), clock=time.monotonic)
    ]


def when_within(steps: Sequence[tuple[float, Progress]], part: float) -> float:
    """When the plan was known to be within `part` of the best possible; infinite where it never
    was."""
    return next((at for at, step in steps if step.gap <= part), float("inf"))


def gap_at(steps: Sequence[tuple[float, Progress]], seconds: float) -> float:
    """The gap known at that time, in percent."""
    return float(min(step.gap for at, step in steps if at <= seconds or step is steps[0][1])) * 100


def target(what: str, measured: float, aim: float, *, at_least: bool = False) -> None:
    """A line with what was measured beside what it should be."""
    met = measured >= aim if at_least else measured <= aim
    side = "at least" if at_least else "at most"
    print(f"  [{'met' if met else 'MISSED'}] {what}: {measured:.4g} ({side} {aim:g})", flush=True)


def broken(plan: BoardPlan, pool: Pool, house: House) -> int:
    return len(
        check_plan(
            plan, [surface.framed for surface in pool.surfaces], house.rules, house.catalogue
        )
    )


def boards(rooms: int, seconds: float) -> None:
    """Searches of seeded rooms, on framing and where seams may float: gaps, when, how often
    proven."""
    seeds = range(1, rooms + 1)
    framing = rooms_in(JointMode.FRAMING, seeds, seconds)
    either = rooms_in(JointMode.EITHER, seeds, seconds)
    dearer = sum(a[-1][1].value > b[-1][1].value for a, b in zip(either, framing, strict=True))
    print(
        f"  dearer than on framing in the same time, where the wider search got less far: {dearer}"
    )
    saved = [
        float(b[-1][1].value / a[-1][1].value - 1) * 100
        for a, b in zip(either, framing, strict=True)
    ]
    print(f"  either saves: median {median(saved):.2f} %")


def rooms_in(mode: JointMode, seeds: Sequence[int], seconds: float) -> list[Run]:
    """The seeded rooms in one mode: how near the best, how soon, how often proven."""
    runs, first_times, first_gaps, breaches = [], [], [], 0
    for seed in seeds:
        house = seeded_house(seed, joint_mode=mode)
        pool = pool_of(house)
        begun = time.perf_counter()
        plan_pool(pool)
        first_times.append(time.perf_counter() - begun)
        steps = timed(pool, seconds)
        runs.append(steps)
        breaches += sum(broken(step.plan, pool, house) for _, step in steps)
        bound = max(step.bound for _, step in steps)
        first_gaps.append(float(steps[0][1].value / bound - 1) * 100)
    count = len(runs)
    near = [when_within(steps, 0.01) for steps in runs]
    one = sorted(near)
    print(f"{mode} joints, {count} rooms, {seconds:g} s each at most; rules broken: {breaches}")
    print(
        f"  first plan: median {median(first_times) * 1000:.0f} ms, worst "
        f"{max(first_times) * 1000:.0f} ms;"
        f" median {median(first_gaps):.2f} % over the bound, worst {max(first_gaps):.2f} %"
    )
    at_five = sum(gap_at(steps, 5.0) <= 0.3 for steps in runs)
    proven = sum(gap_at(steps, seconds) == 0 for steps in runs)
    gaps = sorted(gap_at(steps, seconds) for steps in runs)
    print(f"  known within 1 %: {sum(at <= seconds for at in near)} of {count}")
    most = count * 25 / 30
    if mode is JointMode.FRAMING:
        target("within 1 %, median s", median(one), 0.3)
        target("within 1 %, worst s", one[-1], 1.0)
        target(f"within 0.3 % in 5 s, rooms of {count}", at_five, most, at_least=True)
        target(
            f"proven best in {seconds:g} s (aim: 30 s), rooms of {count}",
            proven,
            most,
            at_least=True,
        )
    else:
        target("within 1 %, median s", median(one), 2.0)
        target(f"worst gap in {seconds:g} s (aim: 30 s), %", gaps[-1], 1.5)
        print(f"  proven best: {proven} of {count}")
    target("rules broken", breaches, 0)
    print(
        f"  gap in {seconds:g} s: median {median(gaps):.3f} %, worst {gaps[-1]:.3f} %", flush=True
    )
    return runs


def plain_ways(rooms: int, seconds: float) -> None:
    """Plain ways to buy seeded rooms, as ratios to the best bound that a search on framing finds in
    as many seconds as the plain model has."""
    seeds = range(1, rooms + 1)
    bounds = [
        max(step.bound for _, step in timed(pool_of(seeded_house(seed)), seconds)) for seed in seeds
    ]
    ways: list[tuple[str, Callable[[Pool, House], Fraction | None]]] = [
        ("longest sheet first", lambda pool, house: longest_first(pool)),
        ("area x 1.10", lambda pool, house: area_times(pool, Fraction(11, 10))),
        ("area x 1.15", lambda pool, house: area_times(pool, Fraction(23, 20))),
        (f"plain model in {seconds:g} s", lambda pool, house: plain_model(pool, seconds)),
    ]
    print(
        "on framing, total over the bound (area: sheets alone, no seams; sheets of the cheapest "
        "price)"
    )
    for name, way in ways:
        ratios = []
        for seed, bound in zip(seeds, bounds, strict=True):
            house = seeded_house(seed)
            value = way(pool_of(house), house)
            if value is not None:
                ratios.append(float(value / bound))
        text = f"median {median(ratios):.3f}, worst {max(ratios):.3f}" if ratios else "none found"
        print(f"  {name}: {text} ({len(ratios)} of {len(seeds)} rooms)", flush=True)


def modes_by_work(rooms: int) -> None:
    """How often joints of either kind end dearer than on framing alone, both searched by work and
    not by the clock."""
    effort = Effort(parts=5, patterns=200, nodes=50)

    def ends(seed: int, mode: JointMode) -> Fraction:
        return list(improve(pool_of(seeded_house(seed, joint_mode=mode)), effort=effort))[-1].value

    dearer = sum(
        ends(seed, JointMode.EITHER) > ends(seed, JointMode.FRAMING) for seed in range(1, rooms + 1)
    )
    target(f"rooms of {rooms} dearer than on framing, both by the same work", dearer, 0)


def house_of_twelve(seed: int, seconds: float) -> None:
    house = seeded_house(seed, rooms=12)
    pool = pool_of(house)
    steps = timed(pool, seconds)
    last = steps[-1][1]
    alone = Fraction(0)
    for room in house.rooms:
        alone += timed(pool_of(house, [room.id]), seconds / 12)[-1][1].value
    print(
        f"twelve rooms in one pool, {seconds:g} s: {float(last.value) / 100:.2f},"
        f" gap {float(last.gap) * 100:.2f} %, bound {last.plan.bound.basis},"
        f" rules broken {broken(last.plan, pool, house)}"
    )
    target(f"gap in {seconds:g} s (aim: 20 s), %", float(last.gap) * 100, 0.5)
    print(
        f"  room by room, {seconds / 12:.1f} s each: {float(alone) / 100:.2f}; pooling saves"
        f" {float(alone / last.value - 1) * 100:.2f} %"
    )
    target("peak memory, MB", _peak(), 500)


def _peak() -> int:
    """The most memory this process has held, in MB: it can only grow, so each part has a process of
    its own."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def sticks() -> None:
    """Published bin packing instances, each cut to its known optimum or not, and how long that
    took."""
    print("lengths alone: published bin packing instances, one stick length")
    for path in sorted(BIN_PACKING.glob("*.txt")):
        rows = [row for row in path.read_text().splitlines() if not row.startswith("#")]
        capacity, _, optimum = map(int, rows[0].split())
        items = [Nm(int(word)) for row in rows[1:] for word in row.split()]
        begun = time.perf_counter()
        plan = cut_sticks(items, [StickStock(Nm(capacity), Cents(1))], kerf=Nm(0))
        took = time.perf_counter() - begun
        print(f"  {path.stem}: {plan.cost} sticks, bound {plan.bound}, known optimum {optimum}")
        target("sticks", plan.cost, optimum)
        target("seconds", took, 1.0)
    print(
        "  guillotine cutting (gcut): not run; its sheets are cut in more stages than a crosscut "
        "and one rip"
    )
