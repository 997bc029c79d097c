"""The first layer of board of surfaces that take two, as a takeoff of its own: what draws boards
and makes cards reads it like any other."""

from __future__ import annotations

from dataclasses import replace

from takeoff.boards.first_layers import first_layers
from takeoff.job import Takeoff

__all__ = ["first_layer_takeoff"]


def first_layer_takeoff(takeoff: Takeoff) -> Takeoff | None:
    """The takeoff with the plans of first layers in place of those of the layers that are seen;
    None where no surface takes two. Its surfaces have one layer, so that screws go into the
    framing through that alone."""
    members = {framed.surface.id: framed for framed in takeoff.framed}
    first = first_layers(takeoff.house, takeoff.rooms, members, takeoff.surface_plans)
    if not first.plans:
        return None
    return replace(
        takeoff,
        plans=first.plans,
        first_layers=(),
        rooms=tuple(
            replace(room, surfaces=tuple(replace(surface, layers=1) for surface in room.surfaces))
            for room in takeoff.rooms
        ),
        framed=tuple(
            replace(framed, surface=replace(framed.surface, layers=1)) for framed in takeoff.framed
        ),
    )
