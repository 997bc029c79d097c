"""Control joints: board that runs on so far that it would crack is parted, and a joint let in."""

from __future__ import annotations

from takeoff.choices import SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Surface
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["control_joints", "joints_of"]


def joints_of(surface: Surface) -> tuple[Nm, ...]:
    """Return the length of each control joint of a surface that gets board: upright in a wall that
    is longer than HL-16 allows, and across a ceiling that is longer than HL-18 allows, either way.
    Parts no longer than that either way are no larger than HL-18-area allows."""
    if not surface.action.gets_board or surface.tiled:
        return ()
    left, bottom, right, top = bounds(surface.outline)
    wide, high = Nm(right - left), Nm(top - bottom)
    if surface.kind is SurfaceKind.WALL:
        return (high,) * control_joints("HL-16", wide)
    return (high,) * control_joints("HL-18", wide) + (wide,) * control_joints("HL-18", high)


def control_joints(figure: str, run: Nm) -> int:
    """Return the control joints of a surface `run` long, by a figure that says how far board goes
    without one: none up to that, one up to twice that, and so on."""
    return max(0, -(-run // figures.length(figure)) - 1)
