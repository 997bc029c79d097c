"""The board problem of a surface, stated once for every planner: layouts, rows, segments, allowed joints.

A planner chooses one layout a surface, a path over allowed joints in each segment, and cuts the pieces out of sheets.
`state` makes the problem from a framed surface; a planner needs nothing else of the house.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.plan import JointKind, PlanNote
from takeoff.catalogue import OwnedSheet, SheetOnSale
from takeoff.choices import Runs
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Point
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["JointPoint", "Layout", "Pool", "RowProblem", "Segment", "SurfaceProblem"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JointPoint:
    """A place along a row where a butt seam is allowed, and what it costs: seam, backers and shims, in cents."""

    at: Nm
    kind: JointKind
    seam: Nm
    seam_cost: Fraction
    backer_cost: Fraction

    @property
    def cost(self) -> Fraction:
        return self.seam_cost + self.backer_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of a row to board, and the allowed joints strictly inside it, in order.

    A run of pieces covers it where every piece is at least the shortest piece long (unless the whole segment is
    shorter) and at most the longest sheet.
    """

    start: Nm
    end: Nm
    points: tuple[JointPoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """One row of a layout. `full` rows take the whole sheet width; others are ripped and keep one factory edge.

    A ripped row's piece is bought at its bounding width, see `Layout.piece_width`.
    """

    index: int
    low: Nm
    high: Nm
    sheet_width: Nm
    full: bool
    factory_low: bool
    factory_high: bool
    segments: tuple[Segment, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One way to lay the rows of a surface. `area` is the region to board in row coordinates (x along the rows,
    y square to them), counter-clockwise; consecutive rows touch, so their joints must keep the stagger apart."""

    surface: str
    rows_run: Runs
    along_framing: bool
    area: tuple[Point, ...]
    rows: tuple[RowProblem, ...]
    notes: tuple[PlanNote, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceProblem:
    """All allowed layouts of one surface, at least one."""

    framed: FramedSurface
    layouts: tuple[Layout, ...]
    sheets: tuple[SheetOnSale, ...]
    longest: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """Surfaces cut from the same sheets: one board kind and thickness, in hanging order, with what is owned."""

    board: str
    thickness: Nm
    kerf: Nm
    surfaces: tuple[SurfaceProblem, ...]
    owned: tuple[OwnedSheet, ...]
    rules: Rules
