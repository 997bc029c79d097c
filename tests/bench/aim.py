"""What the aim in money and hours makes of rooms, beside the aim of money alone and plain ways to
hang: one table for rooms that the search was tuned on, one for others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from statistics import median

from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool
from takeoff.boards.work import hours_of
from takeoff.house import House
from takeoff.rules import Rules
from tests.bench.rooms import seeded_house, whole_inch_house
from tests.bench.run import broken, gap_at, pool_of, target, timed, when_within

__all__ = ["aims"]

OLD = {"hour": Decimal(0), "seam_price": Decimal("0.96")}
_SETS: tuple[tuple[str, Callable[..., House]], ...] = (
    ("seeded rooms, odd sixteenths", seeded_house),
    ("whole inches up to 24 x 18 ft, studs at 16 in from a corner", whole_inch_house),
)


@dataclass(frozen=True, slots=True)
class _Line:
    """One way to hang one room."""

    pieces: int
    butts: int
    sheets: int
    money: Fraction  # cents of sheets, backers and shims
    hours: Fraction  # that a plan decides
    gap: float
    soon: float


def aims(rooms: int, seconds: float) -> None:
    """Every set of rooms under each aim, on framing."""
    for name, make in _SETS:
        print(f"{name}: {rooms} rooms, {seconds:g} s each")
        print(f"  {'':28}{'pieces':>8}{'butts':>8}{'sheets':>8}{'money':>10}{'hours':>8}")
        seeds = range(1, rooms + 1)
        ours = [_searched(make(seed), seconds) for seed in seeds]
        old = [_searched(_with(make(seed), **OLD), seconds) for seed in seeds]
        least = [
            _searched(_with(make(seed), hour=Decimal(0), seam_price=Decimal(0)), seconds)
            for seed in seeds
        ]
        # An hour worth so much that money hardly counts gives about the fewest pieces there can be.
        fewest = [_searched(_with(make(seed), hour=Decimal(1500)), seconds) for seed in seeds]
        _tell("money and hours", ours)
        _tell("money and 0.96 a foot", old)
        _tell("least material", least)
        _tell("an hour worth a hundred times", fewest)
        count = len(ours)
        target("within 1 %, median s", median(line.soon for line in ours), 0.2)
        target("within 1 %, worst s", max(line.soon for line in ours), 0.6)
        proven = sum(line.gap == 0 for line in ours)
        target(f"proven, rooms of {count}", proven, count * 27 / 30, at_least=True)
        target(
            "pieces over the fewest, %",
            _over((line.pieces for line in ours), (line.pieces for line in fewest)),
            2,
        )
        target(
            "board over money alone, %",
            _over((line.money for line in ours), (line.money for line in old)),
            4,
        )
        half = [_searched(_times(make(seed), Decimal("0.5")), seconds) for seed in seeds]
        double = [_searched(_times(make(seed), Decimal(2)), seconds) for seed in seeds]
        for name_of, lines in (("halved", half), ("doubled", double)):
            change = abs(_over((one.money for one in lines), (one.money for one in ours)))
            target(f"minutes {name_of}: the sheet bill changes by, %", change, 3)


def _over(some: Iterable[Fraction | int], other: Iterable[Fraction | int]) -> float:
    return float(Fraction(sum(some)) / Fraction(sum(other)) - 1) * 100


def _with(house: House, **rules: Decimal) -> House:
    return replace(house, rules=replace(house.rules, **rules))


def _times(house: House, factor: Decimal) -> House:
    """The house with all minutes so many times as long."""
    minutes = house.rules.minutes
    values = {name: getattr(minutes, name) * factor for name in minutes.__dataclass_fields__}
    return replace(house, rules=replace(house.rules, minutes=replace(minutes, **values)))


def _searched(house: House, seconds: float) -> _Line:
    pool = pool_of(house)
    steps = timed(pool, seconds)
    plan = steps[-1][1].plan
    assert not broken(plan, pool, house)
    return _Line(
        pieces=sum(len(surface.pieces) for surface in plan.surfaces),
        butts=sum(len(surface.joints) for surface in plan.surfaces),
        sheets=len(plan.sheets),
        money=plan.sheet_cost + plan.backer_cost,
        hours=_hours(plan, house),
        gap=gap_at(steps, seconds),
        soon=when_within(steps, 0.01),
    )


def _hours(plan: BoardPlan, house: House) -> Fraction:
    """The hours that the plan decides by the minutes of the house, whatever an hour is worth in its
    aim."""
    rules = Rules(minutes=house.rules.minutes, sheets=house.rules.sheets)
    pool: Pool = pool_of(replace(house, rules=replace(house.rules, hour=rules.hour)))
    works = {
        problem.framed.surface.id: {layout.rows_run: layout.work for layout in problem.layouts}
        for problem in pool.surfaces
    }
    cents = sum(
        hours_of(surface, works[surface.surface][surface.rows_run]) for surface in plan.surfaces
    )
    return Fraction(cents) / 100 / Fraction(rules.hour)


def _tell(name: str, lines: Sequence[_Line]) -> None:
    gaps = sorted(line.gap for line in lines)
    money = float(sum(line.money for line in lines)) / 100
    hours = float(sum(line.hours for line in lines))
    soon = [line.soon for line in lines]
    print(
        f"  {name:28}{sum(line.pieces for line in lines):8}{sum(line.butts for line in lines):8}"
        f"{sum(line.sheets for line in lines):8}{money:10.2f}{hours:8.1f}"
        f"   gap median {median(gaps):.2f} %, worst {gaps[-1]:.2f} %; "
        f"proven {sum(gap == 0 for gap in gaps)}; "
        f"within 1 % median {median(soon):.2f} s, worst {max(soon):.2f} s",
        flush=True,
    )
