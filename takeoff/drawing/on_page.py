"""What is under way on a page: a surface or a lying piece, the picture it is drawn in, and where it
stands there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from takeoff.cards.card import PieceCard
from takeoff.cards.lookup import Seen
from takeoff.choices import SurfaceKind
from takeoff.drawing.canvas import Spot
from takeoff.drawing.facts import View
from takeoff.drawing.layout import Box
from takeoff.drawing.picture import Picture
from takeoff.geometry.surface import PlacedCutout, Point, Surface
from takeoff.units import UnitSystem

__all__ = ["CLEAR", "PieceOnPage", "SurfaceOnPage", "hole_reach"]

CLEAR = 60  # between a hole's cross and words


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceOnPage:
    """A surface as one faces it; `frame` is the box round it."""

    seen: Seen
    picture: Picture
    view: View
    frame: Box

    @property
    def surface(self) -> Surface:
        return self.seen.surface

    @property
    def units(self) -> UnitSystem:
        return self.seen.house.units

    @property
    def is_wall(self) -> bool:
        return self.surface.kind is SurfaceKind.WALL

    def spots(self, outline: Iterable[Point]) -> list[Spot]:
        return [self.view.spot(corner) for corner in outline]

    def cross_of(self, cutout: PlacedCutout) -> tuple[int, int, int]:
        """The middle of a hole, and how far the arms of the cross through it go."""
        view = self.view
        x, y = (
            (view.x(cutout.left) + view.x(cutout.right)) // 2,
            (view.y(cutout.top) + view.y(cutout.bottom)) // 2,
        )
        wide, high = view.size(cutout.right - cutout.left), view.size(cutout.top - cutout.bottom)
        return x, y, hole_reach(wide, high) - 30


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOnPage:
    """A piece as it lies; `shape` is its outline, `frame` the box round it, `risers` the lane of
    readings beside it."""

    card: PieceCard
    units: UnitSystem
    picture: Picture
    view: View
    frame: Box
    shape: tuple[Spot, ...]
    risers: int


def hole_reach(wide: int, high: int) -> int:
    """How far the arms of the cross through a hole on a card go from its middle."""
    return max(wide, high) // 2 + 120
