"""A planned partition framed before board and after it, worked out both ways."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from remodel.bridge.piles import joined, work_out_pile
from remodel.bridge.views import NeedLine
from takeoff.choices import FramedWhen
from takeoff.errors import BadValue
from takeoff.framing.edges import Support
from takeoff.house import House
from takeoff.quantities import Amount, add
from takeoff.seams import SeamKind

__all__ = ["Way", "WayLine", "both_ways"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayLine:
    """How much of one material of one phase a partition takes, framed one way. `cost` is in cents,
    at the cheapest price of a unit."""

    phase: str
    item: str
    name: str
    amount: Amount
    cost: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """What the rooms on both sides take, framed one way. `cost` is in cents, before whole packs;
    lengths are in nanometers."""

    framed: str
    cost: Fraction
    sheets: int
    pieces: int
    butt_seams: int
    butt_length: int
    corner_length: int
    nailers: int
    lines: tuple[WayLine, ...]
    warnings: tuple[str, ...]


def both_ways(house: House, partition: str) -> tuple[Way, Way]:
    """The pile of a partition framed before board, and framed after it. Other partitions stay as
    they are.

    Raises `BadValue` where one of the two ways cannot be built, and for one that carries load: it
    cannot wait for the board, so the other way is not priced.
    """
    planned = next(candidate for candidate in house.partitions if candidate.id == partition)
    if planned.bearing:
        raise BadValue(
            f"{planned.name} carries load from above. It cannot wait for the board, so framing it "
            "after board is not priced; an engineer sizes its studs, plates and headers"
        )
    before, after = (
        _way(house, planned.room, partition, when) for when in (FramedWhen.BEFORE, FramedWhen.AFTER)
    )
    return before, after


def _way(house: House, room: str, partition: str, when: FramedWhen) -> Way:
    other = replace(
        house,
        partitions=tuple(
            replace(candidate, framed=when) if candidate.id == partition else candidate
            for candidate in house.partitions
        ),
    )
    result = work_out_pile(joined(other, [room])).result
    lines = _lines(line for view in result.views for line in view.needs)
    seams = [seam for view in result.views for seam in view.seams]
    plans = result.views[0].plans
    return Way(
        framed=when.value,
        cost=sum((line.cost for line in lines if line.cost is not None), Fraction(0)),
        sheets=sum(plan.sheets_bought + plan.sheets_owned for plan in plans),
        pieces=sum(len(surface.pieces) for view in result.views for surface in view.surfaces),
        butt_seams=sum(plan.joints for plan in plans),
        butt_length=sum(plan.seam_length for plan in plans),
        corner_length=sum(seam.length for seam in seams if seam.kind is SeamKind.INSIDE_CORNER),
        nailers=sum(
            edge.support is not Support.CLIP for view in result.views for edge in view.loose_edges
        ),
        lines=lines,
        warnings=tuple(dict.fromkeys(text for view in result.views for text in view.warnings)),
    )


def _lines(needs: Iterable[NeedLine]) -> tuple[WayLine, ...]:
    lines: dict[tuple[str, str], WayLine] = {}
    for line in needs:
        key = (line.phase, line.item)
        seen = lines.get(key)
        before = seen.cost if seen else Fraction(0)
        cost = None if line.cost is None or before is None else before + line.cost
        lines[key] = WayLine(
            phase=line.phase,
            item=line.item,
            name=line.name,
            amount=add(seen.amount, line.amount) if seen else line.amount,
            cost=cost,
        )
    return tuple(lines.values())
