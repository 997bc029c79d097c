"""Butt ends of boards laid along the framing: each needs blocking, put in before hanging."""

from __future__ import annotations

from collections.abc import Mapping

from takeoff.boards.plan import BoardPlan, Joint
from takeoff.boards.words import shown
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.geometry.surface import Surface

__all__ = ["unsupported_butt_ends"]


def unsupported_butt_ends(
    plan: BoardPlan, surfaces: Mapping[str, Surface]
) -> tuple[UnsupportedEdge, ...]:
    """One edge for each butt seam of boards along the framing, as long as the seam, in the order of
    the plan.

    `surfaces` are those of the plan by id, for the sentence of each.
    """
    # Along the framing no member runs behind a butt seam, so each seam is an edge to support.
    return tuple(
        UnsupportedEdge(
            kind=UnsupportedEdgeKind.STANDING_BUTT,
            surface=laid.surface,
            length=joint.length,
            support=Support.NAILER,
            certain=True,
            text=_sentence(surfaces[laid.surface], joint),
        )
        for laid in plan.surfaces
        if laid.along_framing
        for joint in laid.joints
    )


def _sentence(surface: Surface, joint: Joint) -> str:
    where = shown(joint.at, surface)
    return (
        f"{surface.name}: nothing to screw to behind the butt seam {where} along column "
        f"{joint.row + 1}"
    )
