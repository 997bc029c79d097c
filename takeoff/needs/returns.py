"""Board turned into openings: its strips, the screws that hold them, and the edges that are beaded
and taped.

A return is counted where its depth is known. It has a strip of board at each side of the opening
that stands in the wall: both jambs, the head, and the sill of an opening that stands off the floor.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from takeoff.choices import OpeningEdge, OpeningKind, SurfaceKind
from takeoff.geometry.surface import PlacedOpening, Surface
from takeoff.needs.areas import face_area
from takeoff.units import Nm

__all__ = ["Return", "finished_area", "returns_of", "sides_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """The board turned into one opening: `sides` are the lengths of its strips, all `depth` wide.

    `through` says that it goes through the wall, so that its far edge is a corner like its near
    one. Elsewhere the far edge ends in a trim against the frame.
    """

    opening: str
    sides: tuple[Nm, ...]
    depth: Nm
    through: bool

    @property
    def run(self) -> Nm:
        """The length of its strips together."""
        return Nm(sum(self.sides))

    @property
    def area(self) -> Fraction:
        """The area of its face in square nanometres."""
        return Fraction(self.run * self.depth)

    @property
    def corners(self) -> Nm:
        """The inside corners where its strips meet, at both ends of the head and of the sill."""
        return Nm((2 if len(self.sides) == 3 else 4) * self.depth)


def returns_of(surface: Surface) -> Iterator[Return]:
    """Return what is turned into the openings of a surface that gets new board and is not tiled."""
    if not surface.action.gets_board or surface.tiled:
        return
    for opening in surface.openings:
        if opening.edge is OpeningEdge.RETURN and opening.return_depth is not None:
            yield Return(
                opening=opening.name,
                sides=sides_of(surface, opening),
                depth=opening.return_depth,
                through=opening.kind is OpeningKind.PASSAGE,
            )


def finished_area(surface: Surface) -> Fraction:
    """Return the area that is skimmed, primed and painted in square nanometres: the face without
    its openings, and the board turned into them."""
    return face_area(surface) + sum((turned.area for turned in returns_of(surface)), Fraction(0))


def sides_of(surface: Surface, opening: PlacedOpening) -> tuple[Nm, ...]:
    """Return the sides of an opening that board ends at: both jambs, the head, and the sill of one
    that stands off the floor."""
    high, wide = Nm(opening.top - opening.bottom), Nm(opening.right - opening.left)
    floor = min(v for _, v in surface.outline)
    sill = (wide,) if opening.bottom > floor and surface.kind is SurfaceKind.WALL else ()
    return (high, high, wide, *sill)
