"""The board plans as text: every surface row by row, then every sheet in the order it is cut."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from takeoff.boards.plan import BoardPlan, Course, Joint, PlacedPiece, Sheet, SurfacePlan
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.surface import Surface
from takeoff.job import Takeoff
from takeoff.report.before_text import cautions
from takeoff.report.text_table import paragraph
from takeoff.units import Nm, UnitSystem, format_length, round_to_tape

__all__ = ["plan_text"]


def plan_text(takeoff: Takeoff, rooms: Collection[str] = ()) -> str:
    """The plans of some rooms, all where none is named; ends in a newline.

    Positions are tape readings from the left end of a wall as one faces it, and up from the floor;
    on a ceiling along and away from the room's first wall, as seen from below.
    """
    return "\n".join(_lines(takeoff, rooms)) + "\n"


def _lines(takeoff: Takeoff, rooms: Collection[str]) -> Iterator[str]:
    units = takeoff.house.units
    surfaces = {surface.id: surface for room in takeoff.rooms for surface in room.surfaces}
    yield takeoff.house.name
    yield from paragraph(
        "Along a wall: from its left end as you face it; up: from the floor. On a ceiling, seen "
        "from below: along the "
        "room's first wall, and away from it. Lay each sheet face up; lengths are from its left "
        "end.",
        indent="",
    )
    for plan in takeoff.plans:
        wanted = [surface for surface in plan.surfaces if not rooms or surface.room in rooms]
        for laid in wanted:
            yield ""
            yield from _surface(laid, surfaces[laid.surface], units)
        pieces = {piece.code for laid in wanted for piece in laid.pieces}
        sheets = [
            sheet for sheet in plan.sheets if pieces & {placed.piece for placed in _placed(sheet)}
        ]
        if sheets:
            first = plan.surfaces[0]
            kind = takeoff.house.catalogue.board(first.board).name
            yield from (
                "",
                f"Sheets of {kind}, {format_length(first.thickness, units, feet=False)}",
            )
            for sheet in sheets:
                yield from paragraph(_sheet(sheet, plan, units), hang="      ")
    yield from cautions()


def _surface(laid: SurfacePlan, surface: Surface, units: UnitSystem) -> Iterator[str]:
    how = "along the framing" if laid.along_framing else "across the framing"
    stand = (
        "standing" if surface.kind is SurfaceKind.WALL and laid.rows_run is Runs.ACROSS else "lying"
    )
    yield f"{surface.name} ({surface.mark}): boards {stand}, {how}"
    square = "up" if surface.kind is SurfaceKind.WALL and laid.rows_run is Runs.ALONG else "across"
    for row in laid.rows:
        yield (
            f"  Row {row.index + 1}, {_mark(row.low, units)} to {_mark(row.high, units)} "
            f"{square}{_ripped(row)}"
        )
        joints = {joint.at: joint for joint in laid.joints if joint.row == row.index}
        for piece in sorted(
            (piece for piece in laid.pieces if piece.row == row.index),
            key=lambda piece: piece.start,
        ):
            size = (
                f"{_size(piece.end - piece.start, units)} x {_size(piece.high - piece.low, units)}"
            )
            yield from paragraph(
                f"{piece.code}: {_mark(piece.start, units)} to {_mark(piece.end, units)}, {size}"
                f"{_then(joints.get(piece.end), units)}",
                indent="    ",
                hang="  ",
            )


def _ripped(row: Course) -> str:
    if row.factory_low and row.factory_high:
        return ""
    return ", ripped: factory edge " + (
        "low" if row.factory_low else "high" if row.factory_high else "on neither side"
    )


def _then(joint: Joint | None, units: UnitSystem) -> str:
    if joint is None:
        return ""
    return (
        f"; butt seam {joint.kind} at {_mark(joint.at, units)}, {_size(joint.length, units)} long"
    )


def _sheet(sheet: Sheet, plan: BoardPlan, units: UnitSystem) -> str:
    size = f"{_size(sheet.width, units)} x {format_length(sheet.length, units)}"
    of = f" (from {sheet.source})" if sheet.source else ""
    if sheet.source and sheet.is_whole:
        of = " (a whole sheet that is here)"
    steps = [f"crosscut {_cuts(sheet.crosscuts, units)}"] if sheet.crosscuts else []
    for strip in sheet.strips:
        if strip.pieces:
            steps.append(
                f"strip {_size(strip.high - strip.low, units)} wide: {_cuts(strip.pieces, units)}"
            )
    kept = [
        f"{_size(offcut.length, units)} x {_size(offcut.width, units)}" for offcut in sheet.offcuts
    ]
    if kept:
        steps.append(f"keep {', '.join(kept)}")
    return f"{sheet.code}, {size}{of}: {'; '.join(steps)}"


def _cuts(placed: tuple[PlacedPiece, ...], units: UnitSystem) -> str:
    return ", ".join(
        f"{piece.piece} at {_size(piece.end - piece.start, units)}" for piece in placed
    )


def _placed(sheet: Sheet) -> Iterator[PlacedPiece]:
    yield from sheet.crosscuts
    for strip in sheet.strips:
        yield from strip.pieces


def _mark(position: Nm, units: UnitSystem) -> str:
    return format_length(round_to_tape(position, units, up=None), units)


def _size(length: int, units: UnitSystem) -> str:
    """A size to cut, in plain inches or millimetres: down to the nearest mark, so that no piece has
    to be forced."""
    return format_length(round_to_tape(Nm(length), units, up=False), units, feet=False)
