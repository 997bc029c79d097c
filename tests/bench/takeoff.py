"""The takeoff of a demo house as a whole process, and first plans on seeded rooms: time, memory,
board bought."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path
from statistics import median

from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.problem import Pool
from takeoff.choices import JointMode
from takeoff.geometry.polygon import area2
from tests.bench.rooms import seeded_house
from tests.bench.run import pool_of

__all__ = ["first_plans", "whole_process"]

ROOT = Path(__file__).resolve().parents[2]


def whole_process(name: str) -> None:
    """Time and peak memory of `manage.py takeoff` on a demo house: start of Python, both ways and
    the quick search included."""
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "manage.py", "takeoff", f"fixtures/{name}.json"],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    took = time.perf_counter() - begun
    if status:
        raise RuntimeError(f"the takeoff of {name} failed")
    print(
        f"  {name}: {took:.2f} s, of it {usage.ru_utime + usage.ru_stime:.2f} s at work, "
        f"peak {usage.ru_maxrss / 1024:.0f} MB (aim: 6 s, 300 MB)"
    )


def first_plans(rooms: int) -> None:
    """First plan of each seeded room: time, and board bought against the net area and what a
    handbook would buy."""
    for mode in (JointMode.FRAMING, JointMode.EITHER):
        seconds, to_net, to_bound, breaches = [], [], [], 0
        for seed in range(rooms):
            house = seeded_house(seed, joint_mode=mode)
            pool = pool_of(house)
            begun = time.perf_counter()
            plan = plan_pool(pool)
            seconds.append(time.perf_counter() - begun)
            framed = [problem.framed for problem in pool.surfaces]
            breaches += len(check_plan(plan, framed, house.rules, house.catalogue))
            bought = sum(sheet.width * sheet.length for sheet in plan.sheets)
            to_net.append(Fraction(bought) / _net_area(pool))
            to_bound.append(plan.total / plan.bound.value)
        print(
            f"  {mode}: {rooms} rooms, median {median(seconds) * 1000:.0f} ms, worst "
            f"{max(seconds) * 1000:.0f} ms "
            f"(aim: median under 50 ms); rules broken: {breaches}"
        )
        print(
            f"    sheet area bought / net area to board: median {float(median(to_net)):.3f}, worst "
            f"{float(max(to_net)):.3f}; the handbook's x 1.10 and x 1.15 count gross area, "
            f"{float(_handbook_to_net(rooms, mode, Fraction(110, 100))):.3f} and "
            f"{float(_handbook_to_net(rooms, mode, Fraction(115, 100))):.3f} of net at the median"
        )
        print(
            f"    cost / area bound: median {float(median(to_bound)):.3f}, worst "
            f"{float(max(to_bound)):.3f}"
        )


def _net_area(pool: Pool) -> Fraction:
    """Area to board less every opening, in square nanometres."""
    total = Fraction(0)
    for problem in pool.surfaces:
        surface = problem.framed.surface
        total += Fraction(abs(area2(surface.board_area)), 2)
        total -= sum(
            (opening.right - opening.left) * (opening.top - opening.bottom)
            for opening in surface.openings
        )
    return total


def _handbook_to_net(rooms: int, mode: JointMode, factor: Fraction) -> Fraction:
    """Gross area (openings not taken off, as handbooks count) times `factor`, against the net area,
    at the median."""
    ratios = []
    for seed in range(rooms):
        pool = pool_of(seeded_house(seed, joint_mode=mode))
        gross = sum(
            (Fraction(abs(area2(surface.framed.surface.outline)), 2) for surface in pool.surfaces),
            Fraction(0),
        )
        ratios.append(gross * factor / _net_area(pool))
    return median(ratios)
