"""`make bench`: times, memory and ratios, all in one run. Nothing here passes or fails; the numbers are for reading."""

from __future__ import annotations

import argparse
import os
import platform

from tests.bench import run
from tests.bench.packs import packs
from tests.bench.pages import pages
from tests.bench.takeoff import first_plans, whole_process


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, default=30, help="seeded rooms, 30 unless told")
    parser.add_argument("--first-only", action="store_true", help="leave the search for better plans out")
    words, rest = parser.parse_known_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print("The whole takeoff, as one process")
    for name in ("hollow-lane", "quay-flat"):
        whole_process(name)
    print("First plans")
    first_plans(words.rooms)
    print("Pages, in process")
    pages()
    print("Packs as PDF")
    packs()
    if not words.first_only:
        run.main(rest)


if __name__ == "__main__":
    main()
