"""Areas of surfaces: the gross area, by which handbooks count board, and the area net of openings,
on which paint goes."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from takeoff.geometry.surface import Point, Surface

__all__ = ["board_area", "face_area", "is_refused", "shape_area"]


def is_refused(surface: Surface, planned: Collection[str]) -> bool:
    """Return whether a surface is to get board and has no plan. `planned` are the ids of the
    surfaces that have one."""
    return bool(surface.board_area) and surface.id not in planned


def shape_area(outline: tuple[Point, ...]) -> Fraction:
    """Return the area of a closed shape in square nanometres, exact to the half. It is zero for an
    empty shape."""
    turned = zip(outline, outline[1:] + outline[:1], strict=True)
    return abs(Fraction(sum(a[0] * b[1] - b[0] * a[1] for a, b in turned), 2))


def board_area(surface: Surface) -> Fraction:
    """Return the area that new board covers, openings counted in, as handbooks count it."""
    return shape_area(surface.board_area) if surface.action.gets_board else Fraction(0)


def face_area(surface: Surface) -> Fraction:
    """Return the area of a surface without its openings: what is skimmed, primed and painted."""
    openings = sum((o.right - o.left) * (o.top - o.bottom) for o in surface.openings)
    return max(Fraction(0), shape_area(surface.outline) - openings)
