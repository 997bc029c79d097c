"""A surface or a lying piece that is being drawn: the picture, and where on the page it stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from takeoff.cards.card import PieceCard
from takeoff.cards.lookup import Seen
from takeoff.cards.sides import sides_on_page
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
    """A surface as a person faces it; `frame` is the box around it on the page."""

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

    @property
    def first_side(self) -> str:
        """The side of anything on it that a tape comes to first, as it is on the page."""
        return sides_on_page(self.surface)[0]

    @property
    def first_edge(self) -> str:
        """The edge of an opening that a tape comes to first."""
        if self.is_wall:
            return "sill"
        return f"{sides_on_page(self.surface)[2]} edge"

    def spots(self, outline: Iterable[Point]) -> list[Spot]:
        return [self.view.spot(corner) for corner in outline]

    def cross_of(self, cutout: PlacedCutout) -> tuple[int, int, int]:
        """The middle of a hole, and how far from it the arms of its cross reach."""
        view = self.view
        box = view.box(cutout.left, cutout.bottom, cutout.right, cutout.top)
        wide, high = view.size(cutout.right - cutout.left), view.size(cutout.top - cutout.bottom)
        reach = hole_reach(wide, high) - 30
        return (box.left + box.right) // 2, (box.top + box.bottom) // 2, reach


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOnPage:
    """A piece as it lies. `shape` is its outline on the page, `frame` the box around it."""

    card: PieceCard
    units: UnitSystem
    picture: Picture
    view: View
    frame: Box
    shape: tuple[Spot, ...]


def hole_reach(wide: int, high: int) -> int:
    """How far the arms of a hole's cross reach from the middle, on the card of a piece."""
    return max(wide, high) // 2 + 120
