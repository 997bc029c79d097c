"""Butt ends of boards laid along the framing: each needs blocking, put in before hanging."""

from __future__ import annotations

from collections.abc import Mapping

from takeoff.boards.plan import BoardPlan
from takeoff.boards.words import shown
from takeoff.framing.edges import LooseEdge, LooseEdgeKind, Support

__all__ = ["standing_butts"]


def standing_butts(plan: BoardPlan, names: Mapping[str, str]) -> tuple[LooseEdge, ...]:
    """One edge for each butt seam of boards along the framing, as long as the seam, in the order of the plan.

    `names` are the surfaces' by id, for the sentence of each.
    """
    return tuple(
        LooseEdge(
            kind=LooseEdgeKind.STANDING_BUTT,
            surface=surface.surface,
            length=joint.length,
            support=Support.NAILER,
            certain=True,
            text=f"{names[surface.surface]}: nothing to screw to behind the butt seam {shown(joint.at)} along "
            f"column {joint.row + 1}",
        )
        for surface in plan.surfaces
        if surface.along_framing
        for joint in surface.joints
    )
