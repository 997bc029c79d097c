"""How a piece is laid down to be marked and how it goes up, in words that name the room."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.plan import Piece, SurfacePlan
from takeoff.cards.frames import Lay, SideUp
from takeoff.cards.sides import Side, ahead, beyond, sides_on_page
from takeoff.cards.tape import tape
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.surface import Point, Surface
from takeoff.units import Nm, UnitSystem

__all__ = ["SheetPose", "place_words", "pose_of", "row_words"]

_LINES = 8  # how many parts an end is looked along


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPose:
    """How a piece is laid down and put up, in words. `arrow` names the side of the lying piece that
    the arrow points out of; `arrow_text` stands beside it, outside the board. `bar` is the line
    above the drawing, which says the side that is up and where that side of the piece goes."""

    text: str
    arrow: str
    arrow_text: str
    bar: str


def pose_of(piece: Piece, surface: Surface, lay: Lay, names: Mapping[str, str]) -> SheetPose:
    """What is said of how `piece` lies. The arrow points out of the top of a wall's piece as it
    lies, and to the right end of a ceiling's. `names` are the names of surfaces, by id."""
    if surface.kind is SurfaceKind.WALL:
        return _on_wall(names[surface.id], lay)
    ways = (Side.BOTTOM, Side.LEFT) if lay.turned else (Side.TOP, Side.RIGHT)
    way = ways[0] if lay.upright else ways[1]
    to = _faced(piece, lay, way, surface, names)
    if lay.up is SideUp.FACE:
        text = (
            "Mark it face up. It is drawn as you will see it overhead. To hang: flip it over its "
            "long edge (ends stay put), or lay it face down on the drywall lift."
        )
    else:
        text = (
            "Lay it back up under its place, each edge toward what it says: it rises without "
            "turning. Mark the back; the cuts go through."
        )
    end = f"to {to}" if to else f"to the {'far side' if lay.upright else 'right'} as you look up"
    return SheetPose(
        text=text,
        arrow="right",
        arrow_text=f"THIS END {end.upper()}",
        bar=f"{lay.up.value.upper()} - right end {end}",
    )


def _on_wall(name: str, lay: Lay) -> SheetPose:
    top = "right" if lay.upright else "far" if lay.up is SideUp.FACE else "near"
    edge = "end" if lay.upright else "edge"
    if lay.up is SideUp.FACE:
        text = (
            f"Lay it face up, as {name} is seen from inside: its top {edge} toward {name}. "
            "Tilt it up from there."
        )
    else:
        text = (
            f"Lay it back up, turned over about its long edge: its bottom {edge} toward {name}. "
            "Lift the top and tilt it up; the face comes round to the room."
        )
    return SheetPose(
        text=text,
        arrow=top,
        arrow_text="TOP",
        bar=f"{lay.up.value.upper()} - {top} {edge} is the TOP",
    )


def _faced(piece: Piece, lay: Lay, way: Side, surface: Surface, names: Mapping[str, str]) -> str:
    """What most of an end of a ceiling's piece comes to, going straight on; in an L one end may
    face two walls."""
    u, v = _middle(piece)
    parts = range(1, _LINES)
    if way in (Side.RIGHT, Side.LEFT):
        spots = [(u, Nm(lay.bottom + lay.height * part // _LINES)) for part in parts]
    else:
        spots = [(Nm(lay.left + lay.width * part // _LINES), v) for part in parts]
    found = Counter(beyond(spot, way, surface, names) for spot in [(u, v), *spots])
    del found[""]
    return max(found, key=lambda name: found[name], default="")


def _middle(piece: Piece) -> Point:
    """The middle of the board itself: under a slope that of its rectangle may lie off the board."""
    outline = piece.outline
    area, u, v = 0, 0, 0
    for (u0, v0), (u1, v1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        part = u0 * v1 - u1 * v0
        area += part
        u += (u0 + u1) * part
        v += (v0 + v1) * part
    return Nm(round(Fraction(u, 3 * area))), Nm(round(Fraction(v, 3 * area)))


def row_words(piece: Piece, plan: SurfacePlan, surface: Surface, names: Mapping[str, str]) -> str:
    """The row of a piece among those of its surface, counted from the top of a wall, from the left
    where boards stand, and from a named wall on a ceiling."""
    count = len(plan.rows)
    if count == 1:
        return "the only row"
    on_wall = surface.kind is SurfaceKind.WALL
    from_top = on_wall and plan.rows_run is Runs.ALONG
    order = sorted(plan.rows, key=lambda row: -row.low if from_top else row.low)
    place = next(k for k, row in enumerate(order) if row.index == piece.row)
    if from_top:
        if place == 0:
            return "top row"
        return "bottom row" if place == count - 1 else f"row {place + 1} of {count} from the top"
    standing = plan.rows_run is Runs.ACROSS
    start = "the left"
    if not on_wall:
        way = Side.LEFT if standing else Side.BOTTOM
        first, _, low, _ = sides_on_page(surface)
        start = beyond(_middle(piece), way, surface, names) or (
            f"the {first} as you look up" if standing else f"the {low} side of its drawing"
        )
    return f"row {place + 1} of {count} from {start}"


def place_words(piece: Piece, surface: Surface, lay: Lay, names: Mapping[str, str]) -> str:
    """Where on its surface a piece hangs: its left side from the corner, and its lower side from
    the floor; on a ceiling from two walls, each to the side that is toward it."""
    units, middle = surface.units, _middle(piece)
    if surface.kind is SurfaceKind.WALL:
        left = Nm(lay.left - min(u for u, _ in surface.outline))
        # at an outside corner a board runs on over the edge of the board around it
        aside = _off(left, units, "from", "past")
        up = _off(lay.bottom, units, "above", "below")
        return f"Left side {aside} the framing corner on its left, lower edge {up} the subfloor"
    parts = []
    for way, edge in ((Side.LEFT, lay.left), (Side.BOTTOM, lay.bottom)):
        found, wall = ahead(middle, way, surface), beyond(middle, way, surface, names)
        if found is None or not wall:
            return ""
        off = Nm(found[0] - (middle[0 if way is Side.LEFT else 1] - edge))
        # beside an inner corner or a slanted wall a board runs on past the wall before its middle
        parts.append(f"{_off(off, units, 'from', 'past')} the framing at {wall}")
    return " and ".join(parts)


def _off(length: Nm, units: UnitSystem, this_side: str, beyond_it: str) -> str:
    """How far off something is, on this side of it or beyond it: a tape reads no minus."""
    return f"{tape(Nm(abs(length)), units)} {this_side if length >= 0 else beyond_it}"
