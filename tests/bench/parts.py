"""The parts of the bench, each by what it measures, in the order they run where none is named."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tests.bench.aim import aims
from tests.bench.leftovers import leftovers
from tests.bench.load import load
from tests.bench.odd import odd_rooms
from tests.bench.packs import packs
from tests.bench.pages import pages
from tests.bench.renewal import half_hung_rooms
from tests.bench.run import boards, house_of_twelve, modes_by_work, plain_ways, sticks
from tests.bench.sequence import order_of_work
from tests.bench.takeoff import first_plans, whole_process
from tests.bench.tracker import tracker

__all__ = ["PARTS", "Part", "Sizes", "UnknownPart", "chosen"]


@dataclass(frozen=True, slots=True)
class Sizes:
    """How much is measured: seeded rooms, those of them that are searched by work however long it
    takes, and seconds for a search."""

    rooms: int = 12
    work_rooms: int = 2
    seconds: float = 5
    pool_seconds: float = 20
    plain_seconds: float = 2


@dataclass(frozen=True, slots=True)
class Part:
    """What a part measures, in a line, and how."""

    says: str
    measure: Callable[[Sizes], None]


class UnknownPart(ValueError):
    """A name that no part has; the message lists those there are."""

    def __init__(self, name: str) -> None:
        lines = [f'There is no part "{name}". Choose of:']
        lines += [f"  {known:<9} {part.says}" for known, part in PARTS.items()]
        super().__init__("\n".join(lines))


def _takeoff(sizes: Sizes) -> None:
    for name in ("hollow-lane", "quay-flat"):
        whole_process(name)


PARTS: Mapping[str, Part] = {
    "takeoff": Part("the whole takeoff of a demo house as one process: seconds, memory", _takeoff),
    "first": Part(
        "first plans of seeded rooms: seconds, board bought", lambda sizes: first_plans(sizes.rooms)
    ),
    "renewal": Part(
        "rooms half hung: seconds to keep their plans, and to plan the rest",
        lambda sizes: half_hung_rooms(sizes.rooms),
    ),
    "pages": Part("pages, swapped parts and edits of a house: milliseconds", lambda sizes: pages()),
    "tracker": Part(
        "keeping track of a house of sixty rooms: pages, saves that touch all: milliseconds",
        lambda sizes: tracker(),
    ),
    "order": Part(
        "the order of work of sixty rooms: graph, what is next: milliseconds",
        lambda sizes: order_of_work(),
    ),
    "load": Part(
        "twenty people who edit at once, and pages beside print sets and searches: milliseconds",
        lambda sizes: load(),
    ),
    "packs": Part("packs as PDF: seconds, memory", lambda sizes: packs()),
    "pool": Part(
        "twelve rooms bought together, and room by room: cost, gap, memory",
        lambda sizes: house_of_twelve(1, sizes.pool_seconds),
    ),
    "leftovers": Part(
        "eight rooms one after another, with what the rooms before left and without: board, money",
        lambda sizes: leftovers(),
    ),
    "boards": Part(
        "searches of seeded rooms, on framing and with floating seams: gap, when, how often proven",
        lambda sizes: boards(sizes.rooms, sizes.seconds),
    ),
    "aim": Part(
        "rooms under the aim of money and hours and under others: pieces, butts, money, hours, gap",
        lambda sizes: aims(sizes.rooms, sizes.seconds),
    ),
    "odd": Part(
        "odd rooms with two seconds each: how late a search ends",
        lambda sizes: odd_rooms(sizes.rooms, 2),
    ),
    "plain": Part(
        "plain ways to buy, as ratios to the bound",
        lambda sizes: plain_ways(sizes.rooms, sizes.plain_seconds),
    ),
    "sticks": Part("lengths alone: published bin packing instances", lambda sizes: sticks()),
    "modes": Part(
        "whether floating seams ever end dearer than framing by the same work",
        lambda sizes: modes_by_work(sizes.work_rooms),
    ),
}


def chosen(names: list[str]) -> dict[str, Part]:
    """The parts of these names, all of them where none is named; raises `UnknownPart` before
    anything is measured."""
    for name in names:
        if name not in PARTS:
            raise UnknownPart(name)
    return {name: PARTS[name] for name in names or PARTS}
