"""The board problem of a surface, stated once for every planner: layouts, courses, segments,
allowed joints.

A planner chooses one layout a surface, a path over allowed joints in each segment, and cuts the
pieces out of sheets. `formulate` makes the problem from a framed surface; a planner needs nothing
else of the house.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from takeoff.boards.allowed import notes_on
from takeoff.boards.hours import work_on
from takeoff.boards.hung import on_surface
from takeoff.boards.joints import JointPoint, Segment
from takeoff.boards.layouts import CourseProblem, Layout, lay_out
from takeoff.boards.notes import course_notes
from takeoff.boards.plan import PlacedBoard, Sheet, SurfacePlan
from takeoff.boards.relax import explain
from takeoff.boards.standing import codes_of, standing_layout
from takeoff.boards.stock import on_sale, owned_for, sheets_for
from takeoff.boards.work import with_work
from takeoff.catalogue import Catalogue, OwnedSheet, SheetOnSale
from takeoff.choices import Runs
from takeoff.errors import BadValue, CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = [
    "CourseProblem",
    "JointPoint",
    "Layout",
    "Pool",
    "Segment",
    "SurfaceProblem",
    "formulate",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceProblem:
    """All allowed layouts of one surface, at least one; each has a path through every course that
    keeps its stagger.

    `sheets` are those on sale that may come into the room, of every width laid out; `owned` those
    of the rules' owned sheets and offcuts that may. `longest` is the longest piece of any layout.
    `placed` are the boards that hang on it already, as they were put down. Where its plan stands,
    `codes` are what its other pieces are called, in order.
    """

    framed: FramedSurface
    layouts: tuple[Layout, ...]
    sheets: tuple[SheetOnSale, ...]
    longest: Nm
    owned: tuple[OwnedSheet, ...] = ()
    placed: tuple[PlacedBoard, ...] = ()
    codes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """Surfaces cut from the same sheets: one board kind and thickness, in hanging order, with what
    is owned.

    No new piece or sheet is given a mark of `taken`. `cut` are the sheets that are cut already, and
    `standing` the plans of surfaces whose joints stay.
    """

    board: str
    thickness: Nm
    kerf: Nm
    surfaces: tuple[SurfaceProblem, ...]
    owned: tuple[OwnedSheet, ...]
    rules: Rules
    cut: tuple[Sheet, ...] = ()
    taken: frozenset[str] = frozenset()
    standing: tuple[SurfacePlan, ...] = ()


def formulate(
    framed: FramedSurface,
    rules: Rules,
    catalogue: Catalogue,
    placed: Sequence[PlacedBoard] = (),
    standing: SurfacePlan | None = None,
) -> SurfaceProblem:
    """All allowed layouts of a surface that gets board, with the joints allowed in each course.

    Boards that are `placed` on it already are taken out: their rows stay, and what is left of each
    row is boarded like any other stretch, apart from their ends as from any joint. Where a plan of
    the surface is `standing`, its one layout has the joints of that plan.

    One layout a width on sale, a way to lie on the framing, and a side to count courses from; those
    no choice of joints can cover are left out. Raises `CannotBoard` where none is left, naming the
    course, the rule in the way and what to relax; `BadValue` for a surface without board to plan.
    """
    surface = framed.surface
    if not surface.board_area:
        raise BadValue(f"{surface.name} gets no board, so it has no plan")
    kind = catalogue.board(surface.board.kind)
    boards = on_surface(placed, surface)
    sheets: Sequence[SheetOnSale] = ()
    unsold: CannotBoard | None = None
    try:
        sheets = sheets_for(surface, kind, rules, catalogue)
    except CannotBoard as error:
        # Where all of it hangs there is nothing to buy.
        if not boards and standing is None:
            raise
        unsold = error
    notes = notes_on(framed, kind, rules)
    beside = on_sale(surface, rules, catalogue)
    if standing is not None:
        owned = owned_for(surface, kind, rules)
        layout = standing_layout(surface, standing, boards, sheets, owned, rules)
        said = course_notes(surface, rules, layout, [*sheets, *beside], catalogue.currency)
        work = work_on(surface, kind, rules, beside, layout.rows_run)
        return SurfaceProblem(
            framed=framed,
            layouts=(with_work(replace(layout, notes=notes + said), work),),
            sheets=tuple(sheets),
            longest=layout.longest,
            owned=owned,
            placed=tuple(board for board in placed if board.surface == surface.id),
            codes=codes_of(standing, boards),
        )
    attempts = lay_out(framed, kind, rules, sheets, boards=boards)
    if not attempts and unsold is not None:
        raise unsold
    works = {runs: work_on(surface, kind, rules, beside, runs) for runs in Runs}
    layouts = tuple(
        with_work(
            replace(
                layout,
                notes=notes
                + course_notes(surface, rules, layout, [*sheets, *beside], catalogue.currency),
            ),
            works[layout.rows_run],
        )
        for layout, blocked in attempts
        if blocked is None
    )
    if not layouts:
        # The reason takes many more layouts to find, so it is looked for only where nothing is
        # possible.
        raise explain(framed, kind, rules, sheets, attempts, boards)
    return SurfaceProblem(
        framed=framed,
        layouts=layouts,
        sheets=tuple(
            sheet
            for sheet in sheets
            if any(
                sheet.width == course.sheet_width for layout in layouts for course in layout.courses
            )
        ),
        longest=max(layout.longest for layout in layouts),
        owned=owned_for(surface, kind, rules),
        placed=tuple(board for board in placed if board.surface == surface.id),
    )
