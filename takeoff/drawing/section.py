"""A cut through a room with a sloped ceiling, square to its low wall."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.plan import SurfacePlan
from takeoff.cards.frames import measured_room
from takeoff.cards.lookup import room_of
from takeoff.cards.tape import tape
from takeoff.choices import CeilingKind, Runs, SurfaceKind
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.layout import Box
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.style import PAPER, SMALL, Page
from takeoff.errors import BadValue
from takeoff.geometry.ceilings import CeilingPlane
from takeoff.geometry.pieces import measure
from takeoff.geometry.polygon import length_of
from takeoff.geometry.surface import Surface
from takeoff.house import SurfaceList
from takeoff.job import Takeoff
from takeoff.units import Nm, UnitSystem

__all__ = ["section_drawing"]


def section_drawing(
    takeoff: Takeoff, room: str, *, page: Page = PAPER, prefix: str = "section"
) -> Drawing:
    """The room cut square to the low wall of its ceiling: heights, depth, the true length of each
    slope, and where the long seams of the ceiling's boards lie on it.

    Raises `BadValue` for a room that is not there, and for a room whose ceiling has no slope.
    """
    geometry = room_of(takeoff, room)
    house = takeoff.house
    given = house.room(measured_room(house, room))
    ceiling = given.ceiling
    if isinstance(given.shape, SurfaceList) or ceiling.kind is CeilingKind.FLAT:
        raise BadValue(
            f"{geometry.name} has no sloped ceiling, so there is nothing to see in a section"
        )
    whole = measure(given, house).whole
    index = [part.id for part in whole.walls].index(ceiling.low_wall or "")
    start, end = whole.side(index)
    along = (end[0] - start[0], end[1] - start[1])
    run = Fraction(length_of(start, end))
    depths = [
        ((y - start[1]) * along[0] - (x - start[0]) * along[1]) / run for x, y in whole.corners
    ]
    depth = Nm(round(max(depths)))
    inwards = (-along[1] / run, along[0] / run)

    def height(plane: CeilingPlane, away: Fraction | int) -> Fraction:
        return plane.height((start[0] + inwards[0] * away, start[1] + inwards[1] * away))

    profile: list[tuple[Nm, Nm]] = [
        (Nm(0), Nm(round(min(height(plane, 0) for plane in whole.planes))))
    ]
    for one, two in pairwise(whole.planes):
        gap = height(two, 0) - height(one, 0)
        closing = (height(one, 1) - height(one, 0)) - (height(two, 1) - height(two, 0))
        ridge = gap / closing
        profile.append((Nm(round(ridge)), Nm(round(height(one, ridge)))))
    profile.append((depth, Nm(round(min(height(plane, max(depths)) for plane in whole.planes)))))
    far = _across(depths, depth)
    far_wall = "" if far is None else whole.walls[far].name
    walls = whole.walls[index].name, far_wall
    return _draw(takeoff, room, geometry.name, profile, walls, page, prefix)


def _chain(
    surface: Surface | None,
    plans: Mapping[str, SurfacePlan],
    true: Nm,
    pitch: Fraction,
    units: UnitSystem,
) -> str:
    """The long seams of a slope and its ridge, up the slope from its eave, in words."""
    plan = plans.get(surface.id) if surface else None
    rows = plan.rows[1:] if plan is not None and plan.rows_run is Runs.ALONG else ()
    seams = ", ".join(tape(row.low, units) for row in rows)
    name = surface.name.partition(", ")[2] if surface else ""
    of = f"{name[:1].upper()}{name[1:]}" if name else "Slope"
    told = f"{of}: seams at {seams}; upper end at" if seams else f"{of}: upper end at"
    return f"{told} {tape(true, units)}; rises {float(pitch):.3g} in 12."


def _across(depths: Sequence[Fraction], depth: Nm) -> int | None:
    """The index of the side that lies all along the far end of the room; None where none does."""
    for index, (one, two) in enumerate(zip(depths, (*depths[1:], depths[0]), strict=True)):
        if round(one) == round(two) == depth:
            return index
    return None


def _draw(
    takeoff: Takeoff,
    room: str,
    name: str,
    profile: list[tuple[Nm, Nm]],
    walls: tuple[str, str],
    page: Page,
    prefix: str,
) -> Drawing:
    units = takeoff.house.units
    low_wall, far_wall = walls
    depth, top = profile[-1][0], max(v for _, v in profile)
    lane = 420 + max(width_of(tape(v, units), SMALL) for _, v in profile)
    strip_and_gap = page.strip + 500 if page.strip else 0
    scale = scale_for(
        depth,
        top,
        across=page.width - strip_and_gap - lane - 1_200,
        up=min(page.height - (3_000 if page.strip else 7_000), 12_000),
    )
    under = (
        f"{name} · cut square to {low_wall}, looking along it · at the "
        f"framing{scale_words(scale, page)}"
    )
    picture = Picture(
        prefix, page.width, title="Section", under=under, units=units, strip=page.strip
    )
    picture.scale = scale
    sketch = picture.sketch
    head = 0 if page.strip else picture.y
    view = View(lane, head + 800 + View(0, 0, scale).size(top), scale)
    spots = [view.spot(point) for point in profile]
    floor = [view.spot((Nm(0), Nm(0))), view.spot((depth, Nm(0)))]
    shape = [floor[0], floor[1], *reversed(spots)]
    sketch.polygon(shape, "board")
    sketch.lines([[floor[0], *spots, floor[1]]], "wall")
    sketch.lines([floor], "edge")
    frame = Box(view.x(0), view.y(top), view.x(depth), view.y(0))
    for (x0, y0), (x1, y1) in zip(shape, (*shape[1:], shape[0]), strict=True):
        if x0 == x1 or y0 == y1:
            picture.places.lines.append(
                Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(90)
            )
    slopes = [
        surface
        for surface in room_of(takeoff, room).surfaces
        if surface.kind is SurfaceKind.CEILING
    ]
    plans = {surface_plan.surface: surface_plan for surface_plan in takeoff.surface_plans}
    chains: list[str] = []
    for k, ((d0, h0), (d1, h1)) in enumerate(pairwise(profile)):
        rising = h1 >= h0
        eave, ridge = ((d0, h0), (d1, h1)) if rising else ((d1, h1), (d0, h0))
        true = Fraction(length_of(eave, ridge))
        (x0, y0), (x1, y1) = view.spot(eave), view.spot(ridge)
        pitch = Fraction(abs(h1 - h0) * 12, d1 - d0) if d1 > d0 else Fraction(0)
        way = "flat" if h0 == h1 else "along the slope"
        text = f"{tape(Nm(round(true)), units)} {way}"
        spots_in = [
            (x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100 + off, "middle")
            for off in (1_500, 1_900, 2_400, 900)
            for part in (50, 60, 40, 70)
        ]
        picture.label(
            text,
            spots_in,
            frame,
            cls="name",
            kind="Slope",
            says=f"rises {float(pitch):.3g} in 12",
            shape=shape,
            shorten=False,
        )
        surface = slopes[k] if k < len(slopes) else None
        if h0 != h1:
            chains.append(_chain(surface, plans, Nm(round(true)), pitch, units))
        plan = plans.get(surface.id) if surface else None
        if surface is None or plan is None or plan.rows_run is not Runs.ALONG:
            continue
        ticks = []
        for row in plan.rows[1:]:
            part = Fraction(row.low) / true
            x, y = (round(a + (b - a) * part) for a, b in ((x0, x1), (y0, y1)))
            ticks.append([(x, y - 190), (x, y + 190)])
            # under the slope, from the tick away from it, so that no letter lies on the line
            spots_at = [
                (x + (60 if rising else -60), y + off, "start" if rising else "end")
                for off in (500, 880, 1_260)
            ]
            picture.label(
                tape(row.low, units),
                spots_at,
                frame,
                kind="Long seam",
                shape=shape,
                shorten=False,
                says=f"{surface.name}: between rows, up the slope from its eave",
            )
        sketch.lines(ticks, "butt")
        if ticks:
            picture.legend("butt", "long seam of the boards")
    picture.datum(frame.left, frame.bottom)
    picture.run_up(
        [Tick(view.y(v), v, "underside of the framing") for _, v in profile],
        edge=frame.left - 80,
        from_x=frame.left - 80,
        left=True,
        low=frame.top - 300,
        high=frame.bottom + 200,
        kind="Height",
    )
    level = (
        (view.y(profile[0][1]) + frame.bottom) // 2,
        (view.y(profile[-1][1]) + frame.bottom) // 2,
    )
    for wall, x, y, says in (
        (low_wall, frame.left + 130 + SMALL, level[0], "the low wall, cut through"),
        (far_wall, frame.right - 130, level[1], "the wall across from it, cut through"),
    ):
        if wall:
            picture.label(
                wall,
                [(x, y, "middle")],
                frame,
                cls="side",
                kind="Wall",
                says=says,
                turn=True,
                turn_only=True,
            )
    picture.foot = picture.run_across(
        [Tick(view.x(u), u, "corner of the ceiling") for u in (Nm(0), *(u for u, _ in profile))],
        edge=frame.bottom + 20,
        from_y=frame.bottom + 60,
        down=True,
        low=max(0, frame.left - 900),
        high=picture.across,
        kind="From the low wall",
    )
    if not page.strip:
        picture.y = picture.foot
    picture.scale_bar()
    for chain in chains:
        picture.note(chain)
    picture.note("Measures on the slope are up the slope from its eave, as the tape lies on it.")
    return picture.finish(
        says=f"Section of {name}, {tape(depth, units)} deep, {tape(top, units)} at its highest."
    )
