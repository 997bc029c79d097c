"""Rooms half hung: how long it takes to keep their plans, and to plan what is left of them."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from random import Random
from statistics import median
from typing import TypeVar

from takeoff.boards.renewal import renew
from takeoff.job import take_off
from tests.bench.rooms import seeded_house
from tests.takeoff.boards.half_hung import chosen_at_random
from tests.takeoff.boards.renewed import done_of, measured

__all__ = ["half_hung_rooms"]

T = TypeVar("T")


def half_hung_rooms(rooms: int) -> None:
    """Each seeded room whole, half hung with nothing edited, and half hung and a sixteenth
    longer."""
    whole, kept, rest, struck, pieces = [], [], [], 0, 0
    for seed in range(rooms):
        house = seeded_house(seed)
        first, seconds = _timed(partial(take_off, house))
        whole.append(seconds)
        laid = [piece for plan in first.surface_plans for piece in plan.pieces]
        done = done_of(first, chosen_at_random(laid, Random(seed)))
        _, seconds = _timed(partial(renew, house, first.plans, done))
        kept.append(seconds)
        longer = measured(house, longer=1)
        renewal, seconds = _timed(partial(renew, longer, first.plans, done))
        rest.append(seconds)
        struck, pieces = struck + len(renewal.struck), pieces + len(laid)
    for what, took in (
        ("whole room planned", whole),
        ("half hung, all of it stands", kept),
        ("half hung, then a sixteenth longer", rest),
    ):
        print(
            f"  {what}: {rooms} rooms, median {median(took) * 1000:.0f} ms, worst "
            f"{max(took) * 1000:.0f} ms"
        )
    print(f"    pieces struck: {struck} of {pieces}")


def _timed(call: Callable[[], T]) -> tuple[T, float]:
    begun = time.perf_counter()
    made = call()
    return made, time.perf_counter() - begun
