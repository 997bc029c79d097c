"""`make bench`: times, memory and ratios. Nothing here passes or fails; the numbers are for
reading.

`make bench PART=boards` measures one part. Each part has a process of its own, so that its memory
is its own.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import time
from collections.abc import Mapping

from tests.bench.parts import PARTS, Part, Sizes, UnknownPart, chosen


def main() -> None:
    usual = Sizes()
    listed = "".join(f"\n  {name:<9} {part.says}" for name, part in PARTS.items())
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench",
        description=f"{__doc__}\nThe parts:{listed}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("parts", nargs="*", metavar="PART", help="all of them unless named")
    parser.add_argument(
        "--rooms", type=int, help=f"seeded rooms ({usual.rooms}; by work {usual.work_rooms})"
    )
    parser.add_argument(
        "--seconds",
        type=float,
        default=usual.seconds,
        help=f"most for a room's search ({usual.seconds:g})",
    )
    parser.add_argument(
        "--minutes", type=float, default=10, help="most for several parts together (10)"
    )
    words = parser.parse_args()
    try:
        parts = chosen(words.parts)
    except UnknownPart as error:
        sys.exit(str(error))
    if len(parts) == 1:
        (part,) = parts.values()
        part.measure(
            Sizes(
                rooms=words.rooms or usual.rooms,
                work_rooms=words.rooms or usual.work_rooms,
                seconds=words.seconds,
            )
        )
        return
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}",
        flush=True,
    )
    asked = [f"--seconds={words.seconds}", *([f"--rooms={words.rooms}"] if words.rooms else [])]
    _in_turn(parts, asked, until=time.monotonic() + 60 * words.minutes)


def _in_turn(parts: Mapping[str, Part], asked: list[str], *, until: float) -> None:
    """Measure each part in a process of its own; what is not done by `until` is stopped, and said
    to be."""
    for name, part in parts.items():
        print(f"\n{name}: {part.says}", flush=True)
        begun = time.monotonic()
        command = [sys.executable, "-m", "tests.bench", name, *asked]
        try:
            subprocess.run(command, check=True, timeout=max(0.0, until - begun))
        except subprocess.TimeoutExpired:
            print(
                f"  NOT MEASURED to its end: time was up. make bench PART={name} takes as long as "
                "it needs"
            )
        else:
            print(f"  (measured in {time.monotonic() - begun:.0f} s)", flush=True)


if __name__ == "__main__":
    main()
