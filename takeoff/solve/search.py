"""How hard to look for better board plans of a house, as the one function the house plan asks.

Nothing here loads HiGHS before a search begins, so that a plain takeoff does not pay for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool
from takeoff.solve.effort import Effort

if TYPE_CHECKING:
    from takeoff.solve.best import Progress

__all__ = ["SearchOptions"]

_ENDLESS = 1_000_000_000  # parts of a problem
# The bound of 800 places takes about a half second, that of 3100 seven; measured.
_QUICK_PLACES = 1500
# A wall of three sheets is proven in 60 looks of a half second together, where one leaves 9 % open.
_FEW_PLACES, _LOOKS_AT_FEW = 50, 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchOptions:
    """How hard to look for better plans than the first ones, and who is told of each.

    `effort` (None: the usual one) limits the work for each pool, so that the same effort gives the
    same plans. A `clock` with `seconds` shares the time among the pools by their surfaces instead;
    what comes out may then differ from run to run. A pool of few places gets `looks_at_few` looks,
    where they are given, for each costs next to nothing there. A pool with more than `largest`
    places for butt seams, of all its layouts together, is not searched, but told to `on_left`.
    """

    effort: Effort | None = None
    looks_at_few: int | None = None
    seconds: float | None = None
    clock: Callable[[], float] | None = None
    on_progress: Callable[[Pool, Progress], None] = lambda pool, progress: None
    largest: int | None = None
    on_left: Callable[[Pool], None] = lambda pool: None

    @classmethod
    def quick(cls, on_left: Callable[[Pool], None]) -> SearchOptions:
        """A search of a second or two of a house: of each pool that is no larger than a room or a
        few, its bound and one look for a better plan. The same each time."""
        return cls(
            effort=Effort(looks=1),
            looks_at_few=_LOOKS_AT_FEW,
            largest=_QUICK_PLACES,
            on_left=on_left,
        )

    def improve(self, pool: Pool, start: BoardPlan, share: Fraction) -> Iterator[BoardPlan]:
        """Plans of `pool`, each at least as good as the one before, from `start` on.

        `share` is the part of `seconds` that this pool gets. `on_progress` is called after the
        caller has taken each plan. Nothing comes of a pool that is too large.
        """
        if self.largest is not None and _places(pool) > self.largest:
            self.on_left(pool)
            return
        # HiGHS is loaded here and not before.
        from takeoff.solve.best import improve

        effort = self.effort or Effort()
        if self.looks_at_few is not None and _places(pool) <= _FEW_PLACES:
            effort = replace(effort, looks=self.looks_at_few)
        if self.seconds is not None:
            # A person who gives a time wants all of it used. So the parts looked at are no limit
            # then, unless an effort was given as well.
            parts = effort.parts if self.effort else _ENDLESS
            effort = replace(effort, parts=parts, seconds=self.seconds * float(share))

        for progress in improve(pool, start=start, effort=effort, clock=self.clock):
            yield progress.plan
            self.on_progress(pool, progress)


def _places(pool: Pool) -> int:
    """How many places for butt seams a pool has, which is what makes its search long."""
    return sum(
        len(segment.points)
        for problem in pool.surfaces
        for layout in problem.layouts
        for course in layout.courses
        for segment in course.segments
    )
