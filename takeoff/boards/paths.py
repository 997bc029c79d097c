"""Which joints of a row can be taken together: pieces neither too short nor too long, and rows that keep apart."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from takeoff.boards.joints import Segment
from takeoff.units import Nm

__all__ = ["can_cover", "keeps_apart", "sparse_paths"]


def can_cover(segment: Segment, shortest: Nm, longest: Nm) -> bool:
    """Whether some choice of allowed joints covers `segment` with pieces of allowed lengths."""
    shortest = Nm(min(shortest, segment.end - segment.start))
    reached = [segment.start]
    for at in (*(point.at for point in segment.points), segment.end):
        if any(shortest <= at - before <= longest for before in reached):
            reached.append(at)
    return reached[-1] == segment.end


def keeps_apart(first: Sequence[Nm], second: Sequence[Nm], stagger: Nm) -> bool:
    """Whether every joint of one row stands at least `stagger` from every joint of the row it touches."""
    return all(abs(a - b) >= stagger for a in first for b in second)


def sparse_paths(segment: Segment, shortest: Nm, longest: Nm, *, limit: int) -> list[tuple[Nm, ...]]:
    """Up to `limit` choices of joints from which none could be left out, the fewest joints first.

    Where rows can keep apart at all, they can with these: a joint left out never stands in another's way.
    """
    shortest = Nm(min(shortest, segment.end - segment.start))
    if segment.end - segment.start <= longest:
        return [()]
    ats = [point.at for point in segment.points]
    found: list[tuple[Nm, ...]] = []
    heads: list[tuple[Nm, ...]] = [()]
    while heads and len(found) < limit:
        longer: list[tuple[Nm, ...]] = []
        for head in heads:
            last = head[-1] if head else segment.start
            # A joint can be left out where the pieces on both its sides make one that is short enough.
            before = head[-2] if len(head) > 1 else segment.start
            for at in ats:
                if at - last < shortest:
                    continue
                if at - last > longest:
                    break
                if head and at - before <= longest:
                    continue
                if segment.end - at < shortest:
                    break
                if segment.end - at <= longest:
                    if segment.end - last > longest:
                        found.append((*head, at))
                else:
                    longer.append((*head, at))
        heads = longer[: 50 * limit]
    return found[:limit]


def apart_throughout(rows: Sequence[Sequence[tuple[Nm, ...]]], stagger: Nm) -> int | None:
    """The first row none of whose choices keeps apart from the row before it, None where every row can."""
    alive = list(rows[0]) if rows else []
    for index, (_, row) in enumerate(pairwise(rows), start=1):
        alive = [path for path in row if any(keeps_apart(path, before, stagger) for before in alive)]
        if not alive:
            return index
    return None
