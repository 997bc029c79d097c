"""How supply is dealt out to jobs: in the order their claims began, each up to what it still takes,
first from what is here. Pure; amounts are exact fractions of an item's unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Generic, TypeVar

from remodel.bridge.lengths import FOOT

__all__ = ["Dealt", "Share", "Supply", "Want", "best_fit", "deal", "feet"]

Job = TypeVar("Job")
Sticks = Counter[int]  # how many there are of each length, in nanometers
_NONE = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What there is of an item: here (under zero where more was used than ever came) and on its
    way. Of what is cut there are sticks, whose lengths together are the amounts."""

    here: Fraction = _NONE
    coming: Fraction = _NONE
    sticks_here: Sticks = field(default_factory=Counter)
    sticks_coming: Sticks = field(default_factory=Counter)


@dataclass(frozen=True, slots=True, kw_only=True)
class Want(Generic[Job]):
    """What a job still takes of an item: an amount, or the lengths of its members in
    nanometers."""

    job: Job
    amount: Fraction
    members: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Share(Generic[Job]):
    """What a job gets: `here` and `coming`, and what it is `short` of. Of sticks it gets whole
    ones, and `lacking` are the members that come out of none."""

    job: Job
    need: Fraction
    here: Fraction
    coming: Fraction
    short: Fraction
    sticks_here: Sticks = field(default_factory=Counter)
    sticks_coming: Sticks = field(default_factory=Counter)
    lacking: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Dealt(Generic[Job]):
    """An item dealt out: the jobs' shares, and what no job takes. Shares and what is free add up to
    the supply, or to nothing where the supply is under zero; then `hole` says how far."""

    supply: Supply
    shares: tuple[Share[Job], ...]
    free_here: Fraction
    free_coming: Fraction
    hole: Fraction
    free_sticks: Sticks = field(default_factory=Counter)

    @property
    def short(self) -> Fraction:
        return sum((share.short for share in self.shares), _NONE)

    @property
    def missing(self) -> Fraction:
        """What has to be bought so that no job is short: what jobs are short of, and the hole."""
        return self.short + self.hole

    def of(self, job: Job) -> Share[Job] | None:
        return next((share for share in self.shares if share.job == job), None)


def deal(
    wants: Iterable[Want[Job]],
    supply: Supply,
    *,
    kerf: int = 0,
    usual: Callable[[tuple[int, ...]], Sticks] | None = None,
) -> Dealt[Job]:
    """Deal `supply` out to jobs, in the order given.

    Where `usual` is given the item is cut from sticks: it says which sticks one would buy for some
    members, and `kerf` is what the saw takes.
    """
    if usual is not None:
        return _deal_sticks(tuple(wants), supply, kerf, usual)
    # Where more was used than came, what is on its way fills that first.
    here, coming = supply.here, supply.coming
    if here < 0:
        here, coming = _NONE, coming + here
    hole = max(_NONE, -coming)
    coming = max(_NONE, coming)
    shares = []
    for want in wants:
        from_here = min(want.amount, here)
        from_coming = min(want.amount - from_here, coming)
        here -= from_here
        coming -= from_coming
        shares.append(
            Share(
                job=want.job,
                need=want.amount,
                here=from_here,
                coming=from_coming,
                short=want.amount - from_here - from_coming,
            )
        )
    return Dealt(supply=supply, shares=tuple(shares), free_here=here, free_coming=coming, hole=hole)


def _deal_sticks(
    wants: Sequence[Want[Job]],
    supply: Supply,
    kerf: int,
    usual: Callable[[tuple[int, ...]], Sticks],
) -> Dealt[Job]:
    """Deal sticks out whole.

    A job first takes the sticks one would buy for it, so that what was bought for each of several
    jobs reaches it. Where those are not all there, its members are fitted into what there is.
    """
    here, coming = +supply.sticks_here, +supply.sticks_coming
    shares = []
    for want in wants:
        there = here + coming
        taken = usual(want.members)
        lacking: tuple[int, ...] = ()
        if not taken <= there:
            # What arrives later makes no difference to who gets which stick.
            taken, lacking = best_fit(want.members, there, kerf)
        mine_here = taken & here
        mine_coming = taken - mine_here
        here -= mine_here
        coming -= mine_coming
        need = feet(Counter(want.members))
        shares.append(
            Share(
                job=want.job,
                need=need,
                here=feet(mine_here),
                coming=feet(mine_coming),
                short=feet(Counter(lacking)),
                sticks_here=mine_here,
                sticks_coming=mine_coming,
                lacking=lacking,
            )
        )
    return Dealt(
        supply=supply,
        shares=tuple(shares),
        free_here=feet(here),
        free_coming=feet(coming),
        # A length of which more was used than came is shown so; the sticks were there all the same.
        hole=_NONE,
        free_sticks=here,
    )


def best_fit(
    members: Iterable[int], sticks: Mapping[int, int], kerf: int
) -> tuple[Sticks, tuple[int, ...]]:
    """Fit members into sticks, the longest first, each where the least is left over. Gives the
    sticks it took and the members that fit into none.

    >>> best_fit([96, 48, 40], {96: 2, 120: 1}, 0)
    (Counter({96: 2}), ())
    """
    there = Counter({length: count for length, count in sticks.items() if count > 0})
    taken: Sticks = Counter()
    rests: list[int] = []
    lacking: list[int] = []
    for member in sorted(members, reverse=True):
        begun = min((rest for rest in rests if rest >= member), default=None)
        if begun is not None:
            rests.remove(begun)
            rests.append(begun - member - kerf)
            continue
        stick = min((length for length in there if length >= member), default=None)
        if stick is None:
            lacking.append(member)
            continue
        there[stick] -= 1
        if not there[stick]:
            del there[stick]
        taken[stick] += 1
        rests.append(stick - member - kerf)
    return taken, tuple(lacking)


def feet(sticks: Mapping[int, int]) -> Fraction:
    """The length of some sticks together, in feet, as amounts of what is cut are kept."""
    return Fraction(sum(length * count for length, count in sticks.items()), FOOT)
