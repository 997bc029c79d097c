"""Areas of surfaces: gross as a handbook counts board, net of openings as paint goes on."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from takeoff.geometry.surface import Point, Surface

__all__ = ["board_area", "face_area", "is_refused", "shape_area"]


def is_refused(surface: Surface, planned: Collection[str]) -> bool:
    """Whether a surface is to get board and has no plan, `planned` being the ids of those that have
    one."""
    return bool(surface.board_area) and surface.id not in planned


def shape_area(outline: tuple[Point, ...]) -> Fraction:
    """The area of a closed shape in square nanometres; half a square nanometre is possible. Zero
    where it is empty."""
    turned = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(Fraction(sum(a[0] * b[1] - b[0] * a[1] for a, b in turned), 2))


def board_area(surface: Surface) -> Fraction:
    """The area new board covers, openings not taken off: what handbooks mean by so much of
    board."""
    return shape_area(surface.board_area) if surface.action.gets_board else Fraction(0)


def face_area(surface: Surface) -> Fraction:
    """The face of a surface without its openings: what is skimmed, primed, painted."""
    openings = sum((o.right - o.left) * (o.top - o.bottom) for o in surface.openings)
    return max(Fraction(0), shape_area(surface.outline) - openings)
