"""Boards that hang already: how they are put down, where they lie on a surface that was measured
anew, and what is left of the sheets they came from."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import count, pairwise
from typing import Protocol

from takeoff.boards.plan import (
    AsBuilt,
    JointKind,
    Offcut,
    Piece,
    PlacedBoard,
    PlacedPiece,
    Sheet,
    SurfacePlan,
)
from takeoff.boards.region import in_course_axes
from takeoff.catalogue import OwnedSheet
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Point, Surface
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["Shape", "begun", "on_surface", "place", "recut", "rests_of"]


class Shape(Protocol):
    """What has to be known of a surface to say where its boards were measured from."""

    @property
    def kind(self) -> SurfaceKind: ...

    @property
    def outline(self) -> tuple[Point, ...]: ...


def place(
    plan: SurfacePlan,
    surface: Shape,
    codes: Collection[str],
    already: Sequence[PlacedBoard] = (),
) -> tuple[PlacedBoard, ...]:
    """The pieces of `plan` with these codes as placed boards, under their codes as marks.

    `surface` is the one they were planned on. Each board is measured from what it was hung
    against. That is the left corner, or the right one where a run of boards begins there and no
    board leads to it from the left. Rows of a wall hang down from the ceiling, but for a lowest
    row with nothing above it; other rows begin at the side that the plan counts them from.
    `already` are the boards that hang on the surface: a run goes on from them.
    """
    rows = {row.index: row for row in plan.rows}
    kinds = {(joint.row, joint.at): joint.kind for joint in plan.joints}
    from_right = _measured_from_the_end(plan, codes, already)
    from_top = _measured_from_above(plan, surface, codes, already)
    level = plan.rows_run is Runs.ALONG

    boards = []
    for piece in plan.pieces:
        if piece.code not in codes:
            continue
        row = rows[piece.row]
        end, above = piece.code in from_right, row.index in from_top
        boards.append(
            PlacedBoard(
                mark=piece.code,
                surface=plan.surface,
                board=plan.board,
                thickness=plan.thickness,
                rows_run=plan.rows_run,
                start=piece.start,
                end=piece.end,
                low=piece.low,
                high=piece.high,
                outline=piece.outline,
                row_low=row.low,
                row_high=row.high,
                sheet_width=row.sheet_width,
                factory_low=row.factory_low,
                factory_high=row.factory_high,
                frame=bounds(surface.outline),
                start_joint=kinds.get((row.index, piece.start), JointKind.FRAMING),
                end_joint=kinds.get((row.index, piece.end), JointKind.FRAMING),
                from_right=end if level else above,
                from_top=above if level else end,
            )
        )
    return tuple(boards)


def _measured_from_the_end(
    plan: SurfacePlan, codes: Collection[str], already: Sequence[PlacedBoard]
) -> set[str]:
    """The pieces that hang in a run which reaches the end of its row, and not its start."""
    hung = {(board.start, board.row_low, board.row_high): board for board in already}
    found: set[str] = set()
    for row in plan.rows:
        stretch = max((end for _, end in row.segments), default=Nm(0))
        # Each run of boards side by side, as (piece, the board it is where that hangs already).
        runs: list[list[tuple[Piece, PlacedBoard | None]]] = []
        mine = [piece for piece in plan.pieces if piece.row == row.index]
        for piece in sorted(mine, key=lambda piece: piece.start):
            board = hung.get((piece.start, row.low, row.high))
            if piece.code not in codes and board is None:
                continue
            if runs and runs[-1][-1][0].end == piece.start:
                runs[-1].append((piece, board))
            else:
                runs.append([(piece, board)])
        begins = min((start for start, _ in row.segments), default=Nm(0))
        for run in runs:
            before = [board for _, board in run if board is not None]
            if before:
                far = before[0].from_right if plan.rows_run is Runs.ALONG else before[0].from_top
            else:
                far = run[-1][0].end == stretch and run[0][0].start != begins
            if far:
                found |= {piece.code for piece, _ in run}
    return found


def _measured_from_above(
    plan: SurfacePlan,
    surface: Shape,
    codes: Collection[str],
    already: Sequence[PlacedBoard],
) -> set[int]:
    """The rows whose boards are measured from the high side of the surface."""
    rows = sorted(plan.rows, key=lambda row: row.low)
    if not (surface.kind is SurfaceKind.WALL and plan.rows_run is Runs.ALONG):
        # The first row of a plan lies at the side that the rows are counted from.
        counted_down = len(rows) > 1 and rows[-1].index < rows[0].index
        return {row.index for row in rows} if counted_down else set()
    held = {piece.row for piece in plan.pieces if piece.code in codes}
    held |= {
        row.index
        for row in rows
        for board in already
        if (board.row_low, board.row_high) == (row.low, row.high)
    }
    lowest = rows[0].index
    alone = len(rows) > 1 and lowest in held and rows[1].index not in held
    return {row.index for row in rows if not (alone and row.index == lowest)}


def recut(board: PlacedBoard, *, start: Nm | None = None, end: Nm | None = None) -> PlacedBoard:
    """The board as it was really cut: its ends along the course at `start` and `end`, both on the
    surface as it was when the board was hung. The board must be a rectangle."""
    start = board.start if start is None else start
    end = board.end if end is None else end
    corners = ((start, board.low), (end, board.low), (end, board.high), (start, board.high))
    return replace(board, start=start, end=end, outline=in_course_axes(corners, board.rows_run))


def on_surface(boards: Sequence[PlacedBoard], surface: Surface) -> tuple[PlacedBoard, ...]:
    """The boards of `surface`, each where it lies on the surface as it is measured now."""
    now = bounds(surface.outline)
    return tuple(_moved(board, now) for board in boards if board.surface == surface.id)


def _moved(board: PlacedBoard, now: tuple[Nm, Nm, Nm, Nm]) -> PlacedBoard:
    if board.frame == now:
        return board
    left, bottom, right, top = board.frame
    across = now[2] - right if board.from_right else now[0] - left
    up = now[3] - top if board.from_top else now[1] - bottom
    along, square = (across, up) if board.rows_run is Runs.ALONG else (up, across)
    return replace(
        board,
        start=Nm(board.start + along),
        end=Nm(board.end + along),
        low=Nm(board.low + square),
        high=Nm(board.high + square),
        row_low=Nm(board.row_low + square),
        row_high=Nm(board.row_high + square),
        outline=tuple((Nm(u + across), Nm(v + up)) for u, v in board.outline),
        frame=now,
    )


def begun(
    sheet: Sheet,
    cut: Collection[str],
    kerf: Nm,
    rules: Rules,
    *,
    gone: Collection[str] = (),
    taken: Collection[str] = (),
) -> Sheet:
    """A sheet of a plan of which only the pieces `cut` are cut: it holds those alone, and what else
    can be had of it by straight cuts through is its offcuts.

    `gone` are those of its offcuts that were taken away or thrown out. Where there are such, only
    the places of pieces not cut are free beside the other offcuts, for nobody has said where the
    offcuts lay. An offcut keeps its mark where it stays as it was; others get new ones, none of
    them a mark that is `taken`.
    """
    bare = replace(
        sheet,
        crosscuts=tuple(piece for piece in sheet.crosscuts if piece.piece in cut),
        strips=tuple(
            replace(strip, pieces=tuple(piece for piece in strip.pieces if piece.piece in cut))
            for strip in sheet.strips
        ),
        offcuts=(),
    )
    if not any(strip.pieces for strip in bare.strips) and not gone:
        # Nothing is cut behind the rip, so nobody has ripped yet.
        bare = replace(bare, rip_at=None, strips=())
    places = _struck_places(sheet, cut) if gone else _free_places(bare, kerf)
    least = max(1, rules.shortest_piece), max(1, rules.narrow_strip)
    free = [place for place in places if place[0] >= least[0] and place[1] >= least[1]]

    offcuts = [offcut for offcut in sheet.offcuts if gone and offcut.id not in gone]
    known = {} if gone else {(o.length, o.width, o.factory_edges): o for o in sheet.offcuts}
    used = {offcut.id for offcut in sheet.offcuts}.union(taken)
    codes = (f"{sheet.code}.{number}" for number in count(len(sheet.offcuts) + 1))
    for length, width, edges in free:
        same = known.pop((length, width, edges), None)
        if same is None:
            code = next(code for code in codes if code not in used)
            same = Offcut(id=code, length=length, width=width, factory_edges=edges)
        offcuts.append(same)
    # A strip that nothing is cut of is told of by the offcut it is, but where an offcut that is
    # gone came from behind the rip: then the sheet is ripped.
    strips = tuple(strip for strip in bare.strips if strip.pieces) or bare.strips
    return replace(
        bare,
        rip_at=bare.rip_at if strips else None,
        strips=strips,
        offcuts=tuple(offcuts),
    )


def _struck_places(sheet: Sheet, cut: Collection[str]) -> Iterator[tuple[Nm, Nm, int]]:
    """Length, width and factory edges of the places of the pieces that are not cut."""
    for piece in sheet.crosscuts:
        if piece.piece not in cut:
            yield Nm(piece.end - piece.start), sheet.width, sheet.factory_edges
    for strip in sheet.strips:
        for piece in strip.pieces:
            if piece.piece not in cut:
                width = Nm(strip.high - strip.low)
                yield Nm(piece.end - piece.start), width, strip.factory_edges


def _free_places(sheet: Sheet, kerf: Nm) -> Iterator[tuple[Nm, Nm, int]]:
    """Length, width and factory edges of what no piece takes: first across the whole sheet, then of
    each strip, or of the part beside a single one."""
    whole_end = sheet.length if sheet.rip_at is None else Nm(sheet.rip_at - kerf)
    for length in _gaps(sheet.crosscuts, Nm(0), whole_end, kerf):
        yield length, sheet.width, sheet.factory_edges
    if sheet.rip_at is None:
        return
    for strip in sheet.strips:
        for length in _gaps(strip.pieces, sheet.rip_at, sheet.length, kerf):
            yield length, Nm(strip.high - strip.low), strip.factory_edges
    if len(sheet.strips) == 1:
        (strip,) = sheet.strips
        low, high = (strip.high + kerf, sheet.width) if strip.low == 0 else (0, strip.low - kerf)
        edges = min(1, max(0, sheet.factory_edges - strip.factory_edges))
        yield Nm(sheet.length - sheet.rip_at), Nm(high - low), edges


def _gaps(pieces: Sequence[PlacedPiece], low: Nm, high: Nm, kerf: Nm) -> Iterator[Nm]:
    """The free lengths from `low` to `high`, a kerf off beside each piece."""
    taken = sorted((Nm(piece.start - kerf), Nm(piece.end + kerf)) for piece in pieces)
    for (_, before), (after, _) in pairwise([(low, low), *taken, (high, high)]):
        if after > before:
            yield Nm(after - before)


def rests_of(built: AsBuilt) -> tuple[OwnedSheet, ...]:
    """What is left of the sheets already cut, as stock: each offcut once, but for those that
    another sheet was made of."""
    used = {sheet.source for sheet in built.sheets}
    return tuple(
        OwnedSheet(
            id=offcut.id,
            board=sheet.board,
            thickness=sheet.thickness,
            width=offcut.width,
            length=offcut.length,
            factory_edges=offcut.factory_edges,
        )
        for sheet in built.sheets
        for offcut in sheet.offcuts
        if offcut.id not in used
    )
