"""How far a search goes."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Effort", "Stopped"]


class Stopped(Exception):
    """The search is to end, and something that takes long was under way. What was found and proven
    before stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How far to go, in work and not in time, so that the same effort gives the same plan.

    `parts` is how many parts of the problem are looked at, `patterns` the measure of how many
    patterns a part may be settled with (a fixed multiple of it where the programme is sharpened or
    they are only listed), `nodes` how many nodes one integer programme may take. `looks` is after
    how many looks for a better plan a search ends once its bound is known (None: not by their
    number). `seconds` is for a call that someone waits on: it ends the search early, and what it
    gives may then differ from one run to the next.
    """

    parts: int = 400
    patterns: int = 600
    nodes: int = 2000
    looks: int | None = None
    seconds: float | None = None
