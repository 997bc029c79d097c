"""`python -m tests.mutation PART [--mutants 60] [--seconds 1800]`: how many of some small faults
the tests notice. Which faults is drawn with a fixed seed; what is not noticed is listed by its
line."""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.mutants import mutants_of

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 300  # seconds; tests that never end have noticed


@dataclass(frozen=True, slots=True)
class Part:
    """The modules that faults are planted in, and the tests that are asked, quick ones first."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]


NEEDS = (
    *("areas", "backers", "coats", "fastening", "finishing", "framing", "hanging", "insulation"),
    *("partitions", "patches", "phases", "returns", "shares", "sticks", "tally", "taping"),
)
PARTS = {
    "layout": Part(
        (
            "takeoff/boards/rows.py",
            "takeoff/boards/allowed.py",
            "takeoff/boards/joints.py",
            "takeoff/boards/courses.py",
            "takeoff/boards/problem.py",
            "takeoff/boards/paths.py",
            "takeoff/boards/fillers.py",
            "takeoff/boards/first_plan.py",
        ),
        (
            "tests/takeoff/boards",
            "tests/takeoff/test_planner_rules.py",
            "tests/takeoff/test_landing.py",
        ),
    ),
    "cutting": Part(
        (
            "takeoff/cutting/sheets.py",
            "takeoff/cutting/sticks.py",
            "takeoff/cutting/fill.py",
            "takeoff/cutting/bounds.py",
            "takeoff/cutting/knapsack.py",
        ),
        (
            "tests/takeoff/test_sticks.py",
            "tests/takeoff/test_sheets.py",
            "tests/takeoff/test_whole_sheets.py",
            "tests/takeoff/test_cut_list.py",
            "tests/takeoff/solve/test_knapsack.py",
            "tests/takeoff/solve/test_sheets_of_plans.py",
            "tests/properties/test_sticks.py",
            "tests/takeoff/boards/test_first_plan.py",
            "tests/takeoff/solve/test_best.py",
        ),
    ),
    "needs": Part(
        tuple(f"takeoff/needs/{name}.py" for name in NEEDS),
        (
            *(f"tests/takeoff/test_needs_{name}.py" for name in ("framing", "hanging", "taping")),
            *(f"tests/takeoff/test_needs_{name}.py" for name in ("finishing", "partitions")),
            *(f"tests/takeoff/test_needs_{name}.py" for name in ("let_in", "added", "houses")),
            "tests/takeoff/test_shares.py",
            "tests/takeoff/test_paint.py",
            "tests/takeoff/test_as_found.py",
            "tests/takeoff/test_built.py",
            "tests/takeoff/counted",
            "tests/standards/test_worked_examples.py",
            "tests/standards/test_fasteners.py",
            "tests/standards/test_consumption.py",
        ),
    ),
    "ledger": Part(
        ("remodel/supply/ledger.py", "remodel/supply/dealing.py", "remodel/supply/remaining.py"),
        (
            "tests/remodel/supply/test_ledger.py",
            "tests/remodel/supply/test_dealing.py",
            "tests/remodel/supply/test_standing.py",
            "tests/remodel/supply/test_estimates.py",
            "tests/remodel/supply/test_views_stock.py",
            "tests/remodel/cards/test_rests.py",
            "tests/over_time/test_services_agree.py",
        ),
    ),
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("part", choices=PARTS)
    parser.add_argument("--mutants", type=int, default=60, help="how many are drawn (60)")
    parser.add_argument("--seconds", type=float, default=1800, help="no more is begun then (1800)")
    words = parser.parse_args()
    part = PARTS[words.part]
    until = time.monotonic() + words.seconds
    if _noticed(part, ""):
        sys.exit("The tests fail without any fault; nothing can be said")
    every = [
        (module, index, what)
        for module in part.modules
        for index, what in enumerate(mutants_of(ROOT / module))
    ]
    drawn = random.Random(7).sample(every, min(words.mutants, len(every)))
    tried = survived = 0
    for module, index, what in drawn:
        if time.monotonic() > until:
            break
        tried += 1
        name = module.removesuffix(".py").replace("/", ".")
        if not _noticed(part, f"{name}:{index}"):
            survived += 1
            print(f"  not noticed: {module}:{what}", flush=True)
    left = f", {len(drawn) - tried} not tried, for time was up" if tried < len(drawn) else ""
    noticed = f"{tried - survived} of {tried} faults noticed"
    print(f"{words.part}: {noticed}, drawn out of {len(every)}{left}")


def _noticed(part: Part, mutant: str) -> bool:
    """Whether a test fails with a fault planted. With none it says whether they fail anyway."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "--no-header", "--nomigrations"]
    command += ["-p", "no:xdist", "-p", "no:cacheprovider", "--no-summary"]
    if mutant:
        command += ["-p", "tests.mutation.plugin"]
    try:
        done = subprocess.run(
            [*command, *part.tests],
            cwd=ROOT,
            env={**os.environ, "MUTANT": mutant, "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=LONGEST,
        )
    except subprocess.TimeoutExpired:
        return bool(mutant)
    return done.returncode != 0


if __name__ == "__main__":
    main()
