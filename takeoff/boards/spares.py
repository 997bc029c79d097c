"""Pieces that are cut and do not hang yet: whether the place they were cut for is still theirs, and
what they are good for where it is not."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from takeoff.boards.around import sliver
from takeoff.boards.check.shape import box as rectangle_of
from takeoff.boards.check.shape import measure
from takeoff.boards.courses import takes_row
from takeoff.boards.hung import on_surface
from takeoff.boards.joints import box_of
from takeoff.boards.plan import Course, JointKind, Piece, PlacedBoard, SurfacePlan
from takeoff.boards.region import extent_within, in_course_axes, is_rectangle, parts
from takeoff.catalogue import OwnedSheet
from takeoff.choices import Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point, Surface
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["place_stands", "spare_of"]


def place_stands(
    board: PlacedBoard,
    framed: FramedSurface,
    plan: SurfacePlan | None,
    others: Sequence[PlacedBoard],
) -> bool:
    """Whether a piece still fits where it was cut for: on the surface, against no board of the
    `others`, as far as the edges it was cut to reach, its ends held as they were to be.

    `plan` is the one it was cut for.
    """
    surface = framed.surface
    if not (surface.action.gets_board and surface.board_area):
        return False
    if (board.board, board.thickness) != (surface.board.kind, surface.board.thickness):
        return False
    (lies,) = on_surface((board,), surface)
    if not _on_the_surface(lies, surface):
        return False
    if any(_overlap(lies, other) for other in on_surface(others, surface)):
        return False
    planned = _planned(board, plan)
    if plan is None or planned is None:
        return True
    piece, row = planned
    return (
        _is_counted_alike(board, surface)
        and _reaches_the_sides(lies, row, plan, surface)
        and _reaches_the_ends(piece, lies, row, surface)
        and _is_held(piece, lies, plan, framed)
    )


def _planned(board: PlacedBoard, plan: SurfacePlan | None) -> tuple[Piece, Course] | None:
    """A board as a plan has it, with its row: that plan's measures are of the surface as it was
    then, which may be another than when the board was cut."""
    if plan is None:
        return None
    rows = {row.index: row for row in plan.rows}
    return next(
        (
            (piece, rows[piece.row])
            for piece in plan.pieces
            if piece.code == board.mark and piece.row in rows
        ),
        None,
    )


def _on_the_surface(board: PlacedBoard, surface: Surface) -> bool:
    """Whether a board covers the surface's part in its rectangle, and reaches past no edge of it
    farther than edges may."""
    outline = in_course_axes(board.outline, board.rows_run)
    outer = in_course_axes(surface.outer, board.rows_run)
    inner = in_course_axes(surface.inner, board.rows_run)
    sloped = not (is_rectangle(outline) and is_rectangle(outer))
    # A slope makes corners that are no whole nanometres, and each was rounded once.
    slack = 4 * (board.end - board.start + board.high - board.low) if sloped else 0
    rectangle = rectangle_of(board.start, board.end, board.low, board.high)
    off = measure((outline, outer), lambda inside: inside == 1)
    off += measure((outline, inner, rectangle), lambda inside: inside == 6)
    return off <= slack


def _overlap(one: PlacedBoard, other: PlacedBoard) -> bool:
    if one.rows_run is not other.rows_run:
        return True
    return (
        one.start < other.end
        and other.start < one.end
        and one.low < other.high
        and other.low < one.high
    )


def _is_counted_alike(board: PlacedBoard, surface: Surface) -> bool:
    """Whether a board of a wall's lowest row, with none above it, has its row's height still: rows
    are counted from the ceiling."""
    level = surface.kind is SurfaceKind.WALL and board.rows_run is Runs.ALONG
    _, bottom, _, top = bounds(surface.outline)
    return not level or board.from_top or board.frame[3] - board.frame[1] == top - bottom


def _reaches_the_sides(lies: PlacedBoard, row: Course, plan: SurfacePlan, surface: Surface) -> bool:
    """Whether a board of the lowest or highest row reaches as far as that side of the surface."""
    area = in_course_axes(surface.outer, lies.rows_run)
    low, high = extent_within(area, lies.start, lies.end)
    least = in_course_axes(surface.inner, lies.rows_run)
    low_least, high_least = extent_within(least, lies.start, lies.end)
    # A sliver more is filled.
    lowest = max(low_least, low + sliver())
    highest = min(high_least, high - sliver())
    if row.low == min(other.low for other in plan.rows) and not low <= lies.low <= lowest:
        return False
    return row.high != max(other.high for other in plan.rows) or highest <= lies.high <= high


def _reaches_the_ends(piece: Piece, lies: PlacedBoard, row: Course, surface: Surface) -> bool:
    """Whether a board lies in one stretch, and one cut to the end of a stretch still ends with
    one."""
    outer, inner = (
        _stretches(in_course_axes(shape, lies.rows_run), lies, surface)
        for shape in (surface.outer, surface.inner)
    )
    least = inner if len(inner) == len(outer) else outer
    starts, ends = zip(*row.segments, strict=True) if row.segments else ((), ())
    at_start = piece.start not in starts or any(
        start <= lies.start <= max(latest, start + sliver())
        for (start, _), (latest, _) in zip(outer, least, strict=True)
    )
    at_end = piece.end not in ends or any(
        min(soonest, end - sliver()) <= lies.end <= end
        for (_, end), (_, soonest) in zip(outer, least, strict=True)
    )
    # A door that came since may take the middle out of it.
    within = any(
        start - sliver() <= lies.start and lies.end <= end + sliver() for start, end in outer
    )
    return within and at_start and at_end


def _stretches(area: Sequence[Point], lies: PlacedBoard, surface: Surface) -> list[tuple[Nm, Nm]]:
    """What a shape has in a board's row beside the openings that take the row's height."""
    stretches = [(part.start, part.end) for part in parts(area, lies.row_low, lies.row_high)]
    for opening in surface.openings:
        box = box_of(opening, lies.rows_run)
        if takes_row(box, lies.row_low, lies.row_high):
            stretches = [
                (Nm(start), Nm(end))
                for one in stretches
                for start, end in (
                    (one[0], min(one[1], box.left)),
                    (max(one[0], box.right), one[1]),
                )
                if start < end
            ]
    return stretches


def _is_held(piece: Piece, lies: PlacedBoard, plan: SurfacePlan, framed: FramedSurface) -> bool:
    """Whether the ends that are to be screwed to a member have one behind them."""
    if plan.along_framing:
        return True
    joints = {joint.at: joint.kind for joint in plan.joints if joint.row == piece.row}
    reach = figures.length("HL-01")
    return all(
        any(
            2 * (abs(member.centre - at) + reach) <= member.width
            for member in framed.members
            if member.runs is not lies.rows_run
        )
        for planned, at in ((piece.start, lies.start), (piece.end, lies.end))
        if joints.get(planned) is JointKind.FRAMING
    )


def spare_of(board: PlacedBoard) -> tuple[OwnedSheet, ...]:
    """A piece that is cut as an offcut under its mark; none where its outline is no simple shape.

    Of a sloped piece it is the largest rectangle between two of its corners. Holes for boxes are
    not known here.
    """
    outline = in_course_axes(board.outline, board.rows_run)
    found = _largest(outline)
    if found is None:
        return ()
    start, end, low, high = found
    return (
        OwnedSheet(
            id=board.mark,
            board=board.board,
            thickness=board.thickness,
            width=Nm(high - low),
            length=Nm(end - start),
            factory_edges=int(board.factory_low and low == board.row_low)
            + int(board.factory_high and high == board.row_high),
        ),
    )


def _largest(outline: Sequence[Point]) -> tuple[int, int, int, int] | None:
    """The largest rectangle of a convex outline that begins and ends at corners along it."""
    if is_rectangle(outline):
        left, down, right, up = bounds(outline)
        return left, right, down, up
    corners = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    turns = [
        (b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])
        for (a, b), (c, d) in zip(corners, (*corners[1:], corners[0]), strict=True)
    ]
    if any(turn < 0 for turn in turns):
        return None
    xs = sorted({x for x, _ in outline})
    best: tuple[int, int, int, int] | None = None
    for start, end in combinations(xs, 2):
        (low, high), (other_low, other_high) = _span(outline, start), _span(outline, end)
        bottom, top = max(low, other_low), min(high, other_high)
        size = (end - start) * (top - bottom)
        if bottom < top and (best is None or size > (best[1] - best[0]) * (best[3] - best[2])):
            best = (start, end, bottom, top)
    return best


def _span(outline: Sequence[Point], at: Nm) -> tuple[int, int]:
    """The lowest and highest place of a convex outline at an upright line, rounded inward."""
    ys: list[tuple[int, int]] = []
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if x0 == x1 == at:
            ys += [(y0, y0), (y1, y1)]
        elif min(x0, x1) <= at <= max(x0, x1):
            up, rest = divmod((y1 - y0) * (at - x0), x1 - x0)
            ys.append((y0 + up, y0 + up + (1 if rest else 0)))
    return min(up for _, up in ys), max(down for down, _ in ys)
