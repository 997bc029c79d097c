"""The search for a better plan as a process of its own, so that it can be stopped at any moment.

    python -m remodel.bridge.search < request.json

Reads one request, and writes a line for each plan found and a last one that says how it ended.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Sequence
from typing import IO

from remodel.bridge.plans import better_plans
from takeoff import codec
from takeoff.boards.plan import BoardPlan
from takeoff.house import House
from takeoff.housefile import read_house, write_house

__all__ = ["main", "request_for"]


def request_for(
    house: House, board: str, thickness: int, start: BoardPlan, others: Sequence[BoardPlan] = ()
) -> str:
    """The request for the process: a pile's house, the pool, the plan to beat, and the marks of the
    sheets in the `others`, the pile's other plans."""
    asked = {
        "house": write_house(house),
        "board": board,
        "thickness": thickness,
        "start": codec.write(start),
        "taken": sorted(sheet.code for other in others for sheet in other.sheets),
    }
    return json.dumps(asked)


def main() -> None:
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    asked = json.load(sys.stdin)
    answers = _answers()
    house = read_house(asked["house"])
    start = codec.read(BoardPlan, asked["start"])
    end = "no solver"
    plans = better_plans(house, asked["board"], asked["thickness"], start, asked["taken"])
    for better_plan in plans:
        print(json.dumps({"plan": codec.write(better_plan.plan)}), file=answers, flush=True)
        end = "done" if better_plan.finished else "stopped"
    print(json.dumps({"end": end}), file=answers, flush=True)


def _end_with(worker: int) -> None:
    """End this process once the worker that started it is gone: nobody would listen any more, and a
    solver would work on."""
    while os.getppid() == worker:
        time.sleep(1)
    os._exit(1)


def _answers() -> IO[str]:
    """A stream for the answers alone. What a solver's own library prints goes to the error output
    instead."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    return answers


if __name__ == "__main__":
    main()
