"""The running dimensions of a surface: every reading from its left end and from its bottom, with
what is there."""

from __future__ import annotations

from takeoff.cards.lookup import Seen
from takeoff.cards.sides import sides_on_page
from takeoff.choices import Runs, SurfaceKind
from takeoff.units import INCH, Nm

__all__ = ["behind_readings", "heights", "risers", "stations"]

_BESIDE = Nm(3 * INCH // 8)


def risers(seen: Seen) -> list[Nm]:
    """The heights of the members that run level, at their centres, from the bottom up."""
    return [m.centre for m in seen.framed.members if m.runs is Runs.ALONG]


def heights(seen: Seen) -> dict[Nm, list[str]]:
    """Every reading from the bottom of the surface, with what is there."""
    surface, plan = seen.surface, seen.plan
    low, high = sides_on_page(surface)[2:]
    sill, head = (
        ("sill", "head") if surface.kind is SurfaceKind.WALL else (f"{low} edge", f"{high} edge")
    )
    readings: dict[Nm, list[str]] = {}
    for _, v in surface.outline:
        readings.setdefault(v, []).append("corner")
    for opening in surface.openings:
        readings.setdefault(opening.bottom, []).append(f"{sill} of {opening.name}")
        readings.setdefault(opening.top, []).append(f"{head} of {opening.name}")
    for cutout in surface.cutouts:
        readings.setdefault(Nm((cutout.bottom + cutout.top) // 2), []).append(
            f"middle of {cutout.name}"
        )
    if plan is not None and plan.rows_run is Runs.ALONG:
        for row in plan.rows:
            readings.setdefault(row.low, []).append(f"{low} edge of row {row.index + 1}")
            readings.setdefault(row.high, []).append(f"{high} edge of row {row.index + 1}")
    elif plan is not None:
        for joint in plan.joints:
            readings.setdefault(joint.at, []).append(
                f"{joint.kind.value} butt seam, row {joint.row + 1}"
            )
    return _told(readings, min(v for _, v in surface.outline))


def stations(seen: Seen) -> dict[Nm, list[str]]:
    """Every reading from the left end of the surface, with what is there."""
    surface, plan = seen.surface, seen.plan
    first, last = sides_on_page(surface)[:2]
    readings: dict[Nm, list[str]] = {}
    left_edge = min(u for u, _ in surface.outline)
    for u, _ in surface.outline:
        readings.setdefault(u, []).append("where the tape starts" if u == left_edge else "corner")
    for opening in surface.openings:
        readings.setdefault(opening.left, []).append(f"{first} side of {opening.name}")
        readings.setdefault(opening.right, []).append(f"{last} side of {opening.name}")
    for cutout in surface.cutouts:
        readings.setdefault(Nm((cutout.left + cutout.right) // 2), []).append(
            f"middle of {cutout.name}"
        )
    if plan is not None and plan.rows_run is Runs.ACROSS:
        for row in plan.rows:
            readings.setdefault(row.low, []).append(f"{first} edge of row {row.index + 1}")
            readings.setdefault(row.high, []).append(f"{last} edge of row {row.index + 1}")
    elif plan is not None:
        for joint in plan.joints:
            readings.setdefault(joint.at, []).append(
                f"{joint.kind.value} butt seam, row {joint.row + 1}"
            )
    return _told(readings, None)


def behind_readings(seen: Seen) -> tuple[dict[Nm, list[str]], dict[Nm, list[str]]]:
    """The readings across and up that find again what is behind the board: both edges of each
    hidden thing, the middle of each hole, and the corners."""
    surface = seen.surface
    first, last, low, high = sides_on_page(surface)
    across: dict[Nm, list[str]] = {}
    up: dict[Nm, list[str]] = {}
    left_edge = min(u for u, _ in surface.outline)
    for u, v in surface.outline:
        across.setdefault(u, []).append("where the tape starts" if u == left_edge else "corner")
        up.setdefault(v, []).append("corner")
    for item in surface.hidden:
        across.setdefault(item.left, []).append(f"{first} edge of {item.name}")
        across.setdefault(item.right, []).append(f"{last} edge of {item.name}")
        up.setdefault(item.bottom, []).append(f"{low} edge of {item.name}")
        up.setdefault(item.top, []).append(f"{high} edge of {item.name}")
    for cutout in surface.cutouts:
        middle = f"middle of {cutout.name}"
        across.setdefault(Nm((cutout.left + cutout.right) // 2), []).append(middle)
        up.setdefault(Nm((cutout.bottom + cutout.top) // 2), []).append(middle)
    return _told(across, None), _told(up, min(v for _, v in surface.outline))


def _told(readings: dict[Nm, list[str]], but: Nm | None) -> dict[Nm, list[str]]:
    """Readings without doubled words, and without those hardly beside another that says more: a
    corner of the framing beside the edge of a board stays, the board's edge goes with it."""
    kept: dict[Nm, list[str]] = {}
    for at in sorted(readings):
        says = list(dict.fromkeys(readings[at]))
        beside = next((other for other in kept if abs(other - at) < _BESIDE), None)
        corner = "corner" in says or "where the tape starts" in says
        if beside is None:
            kept[at] = says
        elif corner and not {"corner", "where the tape starts"} & set(kept[beside]):
            kept[at] = says + kept.pop(beside)
        elif not corner:
            kept[beside] += says
        else:
            kept[at] = says
    return {at: says for at, says in kept.items() if at != but}
