"""Odd rooms, each searched as a process of its own with a limit in seconds: how late it ends.

Shapes like an L, a U and a T, slanted walls, slopes and gables, and walls full of openings: what
makes the problem large or its lengths no whole numbers. All are invented.
"""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import isqrt
from random import Random
from statistics import median

from takeoff.boards.first_plan import plan_pool
from takeoff.choices import CeilingKind, JointMode, OpeningKind
from takeoff.errors import BadValue, CannotBoard
from takeoff.house import Ceiling, Framing, House, Opening, Outline, QuickRoom, Room, Wall
from takeoff.rules import Rules
from takeoff.solve.best import Effort, improve
from takeoff.units import INCH, Nm
from tests.bench.rooms import CATALOGUE, SHEETS_ON_SALE
from tests.bench.run import pool_of, target

__all__ = ["odd_house", "odd_rooms"]

_LETTERS = "ABCDEFGHJKLM"


def odd_house(seed: int) -> House:
    """A house of one odd room."""
    random = Random(30_000 + seed)
    framing = Framing(
        spacing=Nm(random.choice((16, 24)) * INCH), first=Nm(random.randrange(16 * 16) * INCH // 16)
    )
    kind = random.choice(("L", "U", "T", "slant", "slope", "gable", "openings"))
    length, width = (random.randrange(16 * 120, 16 * 300) / 16 for _ in range(2))
    ceiling = Ceiling(height=Nm(97 * INCH + INCH // 8))
    shape: QuickRoom | Outline = QuickRoom(length=_nm(length), width=_nm(width))
    openings: tuple[Opening, ...] = ()
    if kind in ("slope", "gable"):
        ceiling = Ceiling(
            kind=CeilingKind.SLOPE if kind == "slope" else CeilingKind.GABLE,
            height=Nm(random.randrange(70, 100) * INCH),
            low_wall=random.choice("ABCD"),
            high=Nm(random.randrange(110, 170) * INCH),
        )
    elif kind == "openings":
        shape = QuickRoom(length=Nm(600 * INCH), width=_nm(width))
        openings = _many(random)
    else:
        shape = Outline(walls=_walls(random, kind, length, width))
    room = Room(
        id="room",
        name="Room",
        shape=shape,
        ceiling=ceiling,
        openings=openings,
        wall_framing=framing,
        ceiling_framing=framing,
    )
    mode = JointMode.EITHER if seed % 2 else JointMode.FRAMING
    return House(
        id=f"odd-{seed}",
        name=f"Odd house {seed}",
        rooms=(room,),
        rules=Rules(joint_mode=mode, sheets=SHEETS_ON_SALE),
        catalogue=CATALOGUE,
        note="Invented rooms and prices.",
    )


def _nm(inches: float) -> Nm:
    return Nm(round(inches * 16) * INCH // 16)


def _walls(random: Random, kind: str, length: float, width: float) -> tuple[Wall, ...]:
    """Walls of a room of that shape, walked clockwise."""
    a, b = (random.randrange(24, 60) for _ in range(2))
    if kind == "slant":
        # One corner is cut off at 45 degrees.
        slant = Fraction(isqrt(2 * (a * INCH) ** 2), INCH)
        sides = [(length - a, 45), (float(slant), 45), (width - a, 90), (length, 90), (width, 90)]
    elif kind == "L":
        sides = [(length, 90), (width - a, 90), (b, -90), (a, 90), (length - b, 90), (width, 90)]
    elif kind == "U":
        arm = (length - b) / 2
        arm = round(arm * 16) / 16
        sides = [
            (length, 90),
            (width, 90),
            (arm, 90),
            (a, -90),
            (length - 2 * arm, -90),
            (a, 90),
            (arm, 90),
            (width, 90),
        ]
    else:
        sides = [
            (length, 90),
            (width - a, 90),
            (b, -90),
            (a, 90),
            (length - 2 * b, 90),
            (a, -90),
            (b, 90),
            (width - a, 90),
        ]
    return tuple(
        Wall(id=letter, name=letter, length=_nm(side), turn=Decimal(turn))
        for letter, (side, turn) in zip(_LETTERS, sides, strict=False)
    )


def _many(random: Random) -> tuple[Opening, ...]:
    """Ten openings on each long wall."""
    found = []
    for wall in "AC":
        for number in range(10):
            door = random.random() < 0.3
            found.append(
                Opening(
                    id=f"{wall}{number}",
                    name=f"Opening {number + 1}",
                    kind=OpeningKind.DOOR if door else OpeningKind.WINDOW,
                    wall=wall,
                    left=Nm((12 + 58 * number) * INCH + random.randrange(16 * 10) * INCH // 16),
                    sill=Nm(0 if door else random.randrange(20, 45) * INCH),
                    width=Nm(random.randrange(20, 40) * INCH),
                    height=Nm(82 * INCH if door else random.randrange(30, 48) * INCH),
                )
            )
    return tuple(found)


def odd_rooms(rooms: int, seconds: float) -> None:
    """How much later than told the search of each room ends, and what it then knows."""
    late, gaps, refused = [], [], 0
    for seed in range(1, rooms + 1):
        done = subprocess.run(
            [sys.executable, "-m", "tests.bench.odd", str(seed), str(seconds)],
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
        )
        if not done.stdout.strip():
            print(f"  room {seed}: {done.stderr.strip().splitlines()[-1:]}")
            refused += 1
            continue
        over, gap = map(float, done.stdout.split())
        late.append(over)
        gaps.append(gap)
    print(f"{len(late)} odd rooms, {seconds:g} s each as a process; {refused} that no plan fits")
    target("worst overrun, s", max(late), 1.0)
    print(
        f"  overrun median {median(late):.2f} s; gap then median {median(gaps):.2f} %, "
        f"worst {max(gaps):.2f} %",
        flush=True,
    )


def _one(seed: int, seconds: float) -> None:
    pool = pool_of(odd_house(seed))
    start = plan_pool(pool)
    begun, gap = time.monotonic(), 1.0
    steps = improve(
        pool,
        start=start,
        effort=replace(Effort(), seconds=seconds, parts=1_000_000),
        clock=time.monotonic,
    )
    for step in steps:
        gap = float(step.gap)
    print(max(0.0, time.monotonic() - begun - seconds), 100 * gap)


if __name__ == "__main__":
    try:
        _one(int(sys.argv[1]), float(sys.argv[2]))
    except (BadValue, CannotBoard) as error:
        sys.exit(str(error))
