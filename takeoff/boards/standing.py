"""Surfaces whose plan stands: their joints stay where they are, and only how their boards are cut
is looked for.

Each board that does not hang yet is a segment of its own with nothing to choose in it, so that the
first plan and the search find its sheet as they do for any other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.boards.around import HeldRow, course_of_row
from takeoff.boards.joints import Segment, joint_at
from takeoff.boards.layouts import CourseProblem, Layout
from takeoff.boards.plan import Course, Piece, PlacedBoard, SurfacePlan
from takeoff.boards.region import in_course_axes
from takeoff.boards.words import shown
from takeoff.catalogue import OwnedSheet, SheetOnSale
from takeoff.errors import CannotBoard
from takeoff.geometry.surface import Surface
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["codes_of", "standing_layout"]


@dataclass(frozen=True, slots=True)
class _Standing:
    """A plan that stands, and what its boards may be cut from."""

    plan: SurfacePlan
    boards: Sequence[PlacedBoard]
    sheets: Sequence[SheetOnSale]
    owned: Sequence[OwnedSheet]
    rules: Rules

    def open_pieces(self, row: Course) -> list[Piece]:
        """The pieces of a row that do not hang, from its start."""
        hung = {board.mark for board in self.boards}
        mine = [
            piece for piece in self.plan.pieces if piece.row == row.index and piece.code not in hung
        ]
        return sorted(mine, key=lambda piece: (piece.start, piece.low))

    def hung_in(self, row: Course) -> tuple[PlacedBoard, ...]:
        """The boards of a row that hang, in the order the plan has them: two that overlap may begin
        at one place."""
        hung = {board.mark: board for board in self.boards}
        mine = (piece.code for piece in self.plan.pieces if piece.row == row.index)
        return tuple(hung[code] for code in mine if code in hung)


def standing_layout(
    surface: Surface,
    plan: SurfacePlan,
    boards: Sequence[PlacedBoard],
    sheets: Sequence[SheetOnSale],
    owned: Sequence[OwnedSheet],
    rules: Rules,
) -> Layout:
    """The one layout of a surface whose plan stands; `boards` of it hang already.

    Raises `CannotBoard` where a piece is larger than every sheet it could be cut from.
    """
    standing = _Standing(plan, boards, sheets, owned, rules)
    courses = tuple(_course(standing, row, surface) for row in plan.rows)
    return Layout(
        surface=surface.id,
        rows_run=plan.rows_run,
        along_framing=plan.along_framing,
        area=in_course_axes(surface.board_area, plan.rows_run),
        courses=courses,
        sheet_width=max(course.sheet_width for course in courses),
        longest=max(course.longest for course in courses),
    )


def codes_of(plan: SurfacePlan, boards: Sequence[PlacedBoard]) -> tuple[str, ...]:
    """The codes of the pieces that do not hang, in the order of the layout's segments."""
    standing = _Standing(plan, boards, (), (), Rules())
    return tuple(piece.code for row in plan.rows for piece in standing.open_pieces(row))


def _course(standing: _Standing, row: Course, surface: Surface) -> CourseProblem:
    pieces = standing.open_pieces(row)
    held = HeldRow(
        row.low, row.high, row.sheet_width, row.factory_low, row.factory_high, bool(pieces)
    )
    widths = sorted({sheet.width for sheet in standing.sheets})
    extent, width = course_of_row(held, row.sheet_width, widths)
    lengths = [sheet.length for sheet in standing.sheets if sheet.width == width]
    # Any owned sheet that is as wide may give a piece, of whatever width the row's sheets are.
    lengths += [sheet.length for sheet in standing.owned if sheet.width >= row.high - row.low]
    longest = max(lengths, default=Nm(0))
    for piece in pieces:
        if width not in widths or piece.end - piece.start > longest:
            raise CannotBoard(
                surface=surface.id,
                row=row.index,
                rule="sheets",
                message=f"{surface.name}, row {row.index + 1}: no sheet here or on sale is large "
                f"enough for piece {piece.code}, "
                f"{shown(Nm(piece.end - piece.start), surface)} long and "
                f"{shown(Nm(piece.high - piece.low), surface)} wide. "
                "Put one on sale, or plan this surface anew",
            )
    return CourseProblem(
        index=row.index,
        low=row.low,
        high=row.high,
        sheet_width=width,
        full=row.high - row.low == width,
        factory_low=extent.factory_low and row.factory_low,
        factory_high=extent.factory_high and row.factory_high,
        segments=tuple(_segment(piece, row, standing.plan) for piece in pieces),
        longest=longest,
        boards=standing.hung_in(row),
        stretches=row.segments,
        joints=tuple(
            joint_at(joint.at, joint.kind, joint.length, standing.rules)
            for joint in standing.plan.joints
            if joint.row == row.index
        ),
    )


def _segment(piece: Piece, row: Course, plan: SurfacePlan) -> Segment:
    outline = in_course_axes(piece.outline, plan.rows_run)
    corners = {(x, y) for x in (piece.start, piece.end) for y in (row.low, row.high)}
    area = () if set(outline) == corners else outline
    return Segment(start=piece.start, end=piece.end, points=(), area=area)
