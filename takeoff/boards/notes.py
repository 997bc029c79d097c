"""What a person must know of the way the rows of a surface lie."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.boards.around import sliver
from takeoff.boards.courses import is_hair
from takeoff.boards.fillers import fillers
from takeoff.boards.layouts import Layout
from takeoff.boards.plan import PlanNote
from takeoff.boards.region import in_course_axes
from takeoff.boards.words import shown
from takeoff.catalogue import SheetOnSale
from takeoff.choices import Runs, SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import Surface
from takeoff.quantities import money
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["course_notes"]


def course_notes(
    surface: Surface, rules: Rules, layout: Layout, sheets: Sequence[SheetOnSale], currency: str
) -> tuple[PlanNote, ...]:
    """A rest left as gap, each course that is ripped by too little, or narrower than the narrow
    strip with what a wider sheet costs, strips to fill at openings, and what is asked for but not
    done. `sheets` are all on sale, with prices in `currency`."""
    notes = []
    width = layout.sheet_width
    whole = in_course_axes(surface.board_area, layout.rows_run)
    rest = min(course.low for course in layout.courses) - bounds(whole)[1]
    on_floor = surface.kind is SurfaceKind.WALL and layout.rows_run is Runs.ALONG
    if on_floor and rest > sliver():
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="largest_floor_gap",
                text=f"The rows end {shown(Nm(rest + rules.floor_gap), surface)} above the floor: "
                "the rest is gap, "
                "not a strip",
            )
        )
    for course in layout.courses:
        height = Nm(course.high - course.low)
        if is_hair(height, course.sheet_width):
            off = shown(Nm(course.sheet_width - height), surface)
            notes.append(
                PlanNote(
                    surface=surface.id,
                    rule="hair_rip",
                    text=f"Row {course.index + 1} is ripped by {off} only, and no other way to lay "
                    "the rows is left: score both faces, or saw it",
                )
            )
        if height >= min(rules.narrow_strip, course.sheet_width):
            continue
        text = (
            f"Row {course.index + 1} is a strip {shown(Nm(course.high - course.low), surface)} wide"
        )
        wider = [sheet for sheet in sheets if sheet.width > width]
        if wider and any(sheet.width == width for sheet in sheets):
            other = min(wider, key=lambda sheet: (sheet.width, sheet.price, sheet.length))
            same = min(
                (sheet for sheet in sheets if sheet.width == width),
                key=lambda sheet: (abs(sheet.length - other.length), sheet.price),
            )
            text += (
                f"; {shown(other.width, surface, feet=False)} sheets are on sale at "
                f"{money(other.price, currency)} for "
                f"{shown(other.length, surface)}, against {money(same.price, currency)} for "
                f"{shown(same.length, surface)} of this width"
            )
        notes.append(PlanNote(surface=surface.id, rule="narrow_strip", text=text))

    notes += _fillers(surface, layout)
    large = figures.length("HL-large-opening")
    if rules.split_at_large_openings and any(
        opening.right - opening.left >= large for opening in surface.openings
    ):
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="split_at_large_openings",
                text="Seams may fall beside a large opening, as the rules of this house let them: "
                "they are the "
                "first to crack, so bed them in setting compound",
            )
        )
    return tuple(notes)


def _fillers(surface: Surface, layout: Layout) -> Iterator[PlanNote]:
    """Strips beside openings that are too narrow to be board, and that no casing covers."""
    boards = [board for course in layout.courses for board in course.boards]
    for filler in fillers(surface, layout.rows_run, layout.courses, boards):
        yield PlanNote(
            surface=surface.id,
            rule="filler",
            text=f"{filler.opening.name}: a strip {shown(filler.width, surface, feet=False)} wide "
            f"and {shown(filler.run, surface)} long is left {filler.where}, too narrow for board. "
            "Fill it with setting-type compound, around an offcut where it is deep; no piece is "
            "cut for it",
        )
