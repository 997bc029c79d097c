"""The independent checker of board plans: everything is worked out again from the surface, its
members and the rules.

It shares no code with what makes plans, only the values they both read; its arithmetic (`shape`) is
its own and exact.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

from takeoff.boards.check.allowed import check_allowed
from takeoff.boards.check.courses import check_courses
from takeoff.boards.check.cover import check_cover, check_pieces
from takeoff.boards.check.cuts import Wanted, check_cuts
from takeoff.boards.check.facts import Breach, Facts, facts_of
from takeoff.boards.check.joints import check_joints
from takeoff.boards.check.marks import check_marks
from takeoff.boards.check.money import check_money
from takeoff.boards.check.sources import RoomLimits, check_sources
from takeoff.boards.plan import NOTHING_BUILT, AsBuilt, BoardPlan, Piece, Sheet, SurfacePlan
from takeoff.catalogue import Catalogue, OwnedSheet
from takeoff.errors import BadValue
from takeoff.framing.members import FramedSurface
from takeoff.rules import Rules

__all__ = ["Breach", "Findings", "check_plan", "examine_plan"]


@dataclass(frozen=True, slots=True)
class Findings:
    """What the checker finds: rules `broken` by what is still to be hung, and what is `amiss` with
    boards that hang already."""

    broken: tuple[Breach, ...]
    amiss: tuple[Breach, ...]


def check_plan(
    plan: BoardPlan,
    framed: Sequence[FramedSurface],
    rules: Rules,
    catalogue: Catalogue,
    *,
    owned: Sequence[OwnedSheet] | None = None,
    built: AsBuilt = NOTHING_BUILT,
) -> tuple[Breach, ...]:
    """Every rule that `plan` breaks in what is still to be hung, see `examine_plan`; empty for a
    good plan."""
    return examine_plan(plan, framed, rules, catalogue, owned=owned, built=built).broken


def examine_plan(
    plan: BoardPlan,
    framed: Sequence[FramedSurface],
    rules: Rules,
    catalogue: Catalogue,
    *,
    owned: Sequence[OwnedSheet] | None = None,
    built: AsBuilt = NOTHING_BUILT,
) -> Findings:
    """Every rule that `plan` breaks, surface by surface, then sheet by sheet, then money; nothing
    for a good plan.

    What is `built` must be in the plan as it is, and what is wrong between two boards that hang, or
    with a sheet that is cut, is amiss and breaks nothing.

    `framed` may hold more surfaces than the plan has, but a surface of one of its rooms that is to
    get the same board must be in it. `owned` are the sheets and offcuts at hand where that is not
    `rules.owned`. Nothing is raised for a wrong plan, however wrong.
    """
    # Nothing is taken for granted: a plan may name surfaces that are not there.
    by_id = {surface_framed.surface.id: surface_framed for surface_framed in framed}
    stands = {surface.surface: surface for surface in built.standing}
    breaches = list(_surfaces(plan, framed))
    surfaces: list[Facts] = []
    for surface in plan.surfaces:
        if surface.surface not in by_id or not by_id[surface.surface].surface.board_area:
            continue
        try:
            facts = facts_of(surface, by_id[surface.surface], rules, catalogue, built.boards)
        # A plan may name any board at all; that is a breach, not a fault.
        except BadValue as error:
            breaches.append(Breach(surface.surface, "board", str(error)))
            continue
        surfaces.append(facts)
        # Surface by surface first: what hangs where. Then the sheets, which pieces of all surfaces
        # share.
        found = [
            breach
            for check in (
                check_allowed,
                partial(check_courses, stands=surface.surface in stands),
                check_cover,
                check_pieces,
                check_joints,
            )
            for breach in check(facts)
        ]
        if surface.surface in stands:
            found = [_where_it_stands(breach) for breach in found]
            found += _moved(surface, stands[surface.surface])
        breaches += found
    breaches += _sheets(
        plan, surfaces, rules, catalogue, rules.owned if owned is None else owned, built
    )
    breaches += check_marks(plan, surfaces, built)
    breaches += check_money(plan, surfaces, rules, catalogue)
    return Findings(
        broken=tuple(breach for breach in breaches if not breach.amiss),
        amiss=tuple(breach for breach in breaches if breach.amiss),
    )


def _surfaces(plan: BoardPlan, framed: Sequence[FramedSurface]) -> Iterator[Breach]:
    """Each surface of the plan is one to board, planned once; none of its rooms and board is left
    out."""
    by_id = {surface_framed.surface.id: surface_framed.surface for surface_framed in framed}
    for name, count in Counter(surface.surface for surface in plan.surfaces).items():
        if count > 1:
            yield Breach(name, "surfaces", f"{name} is planned {count} times")
        if name not in by_id:
            yield Breach(name, "surfaces", f"{name} is planned, but there is no such surface")
        elif not by_id[name].action.gets_board or not by_id[name].board_area:
            yield Breach(name, "surfaces", f"{by_id[name].name} is planned, but gets no board")
    # A room's surfaces of one board are cut from one pool, so a surface left out would be bought by
    # nobody.
    planned = {surface.surface for surface in plan.surfaces}
    rooms = {(surface.room, surface.board, surface.thickness) for surface in plan.surfaces}
    for surface in by_id.values():
        if (
            surface.id not in planned
            and surface.action.gets_board
            and surface.board_area
            and (surface.room, surface.board.kind, surface.board.thickness) in rooms
        ):
            yield Breach(
                surface.id, "surfaces", f"{surface.name} is to be boarded but is in no plan"
            )
    for surface_plan in plan.surfaces:
        if surface_plan.surface in by_id and by_id[surface_plan.surface].room != surface_plan.room:
            yield Breach(
                surface_plan.surface,
                "surfaces",
                f"{surface_plan.surface} is not a surface of room {surface_plan.room}",
            )
        for piece in surface_plan.pieces:
            if piece.surface != surface_plan.surface:
                yield Breach(
                    surface_plan.surface,
                    "surfaces",
                    f"Piece {piece.code} says it is of {piece.surface}",
                )


def _sheets(
    plan: BoardPlan,
    surfaces: Sequence[Facts],
    rules: Rules,
    catalogue: Catalogue,
    owned: Sequence[OwnedSheet],
    built: AsBuilt,
) -> Iterator[Breach]:
    as_cut = {sheet.code: sheet for sheet in built.sheets}
    hung = {mark for facts in surfaces for mark in facts.hung}
    wanted: dict[str, Wanted] = {}
    for facts in surfaces:
        for piece in facts.plan.pieces:
            if piece.code in wanted:
                yield facts.breach("piece_cut", f"Two pieces are called {piece.code}")
            wanted[piece.code] = _wanted(facts, piece)
    rooms = _rooms(surfaces)
    yield from check_sources(plan.sheets, rooms, rules, catalogue, owned, as_cut)
    for sheet in plan.sheets:
        if sheet.code in as_cut:
            yield from _cut_already(sheet, as_cut[sheet.code], wanted, rooms, rules, catalogue)
        elif all(sheet.board != kind.id for kind in catalogue.boards):
            yield Breach(
                sheet.code,
                "board",
                f"{sheet.code} is of {sheet.board}, which the catalogue has not",
            )
        else:
            yield from check_cuts(sheet, wanted, rooms, rules, catalogue)
    # Counted over all sheets, whatever the checks of single sheets made of them.
    cut = Counter(
        placed.piece
        for sheet in plan.sheets
        for placed in (
            *sheet.crosscuts,
            *(piece for strip in sheet.strips for piece in strip.pieces),
        )
    )
    for code in wanted:
        # Nobody may have told what sheet a board that hangs was cut from.
        if cut[code] != 1 and not (code in hung and cut[code] == 0):
            yield Breach("plan", "piece_cut", f"Piece {code} is cut {cut[code]} times, not once")


# What no plan that stands may break. A plan that breaks any other rule stays until somebody asks
# for a new one.
_IMPOSSIBLE = frozenset(
    {
        "board",
        "cover",
        "floating_clear_bay",
        "framing_table",
        "joints",
        "largest_floor_gap",
        "least_floor_gap",
        "long_edges",
        "mid_bay_tolerance",
        "on_framing",
        "orientation",
        "outline",
        "overlap",
        "placed",
        "row_height",
        "rows",
        "seam_length",
        "segments",
        "tile_backer_framing",
    }
)


def _where_it_stands(breach: Breach) -> Breach:
    return replace(breach, amiss=breach.amiss or breach.rule not in _IMPOSSIBLE)


def _moved(surface: SurfacePlan, stands: SurfacePlan) -> Iterator[Breach]:
    """The pieces and joints of a plan that stands are where they were."""

    def joints(plan: SurfacePlan) -> set[tuple[int, int, str]]:
        return {(joint.row, joint.at, joint.kind.value) for joint in plan.joints}

    if joints(surface) != joints(stands) or set(surface.pieces) != set(stands.pieces):
        yield Breach(
            surface.surface,
            "placed",
            f"{surface.surface} is to stay as it was planned, but its boards lie elsewhere",
        )


def _cut_already(
    sheet: Sheet,
    as_cut: Sheet,
    wanted: Mapping[str, Wanted],
    rooms: Mapping[str, RoomLimits],
    rules: Rules,
    catalogue: Catalogue,
) -> Iterator[Breach]:
    """A sheet that is cut stays what it is. How it was cut can only be amiss, but what the plan
    says is left of it must be there."""
    if sheet != as_cut:
        yield Breach(
            sheet.code, "placed", f"{sheet.code} is cut already, and was not cut like this"
        )
    if any(sheet.board == kind.id for kind in catalogue.boards):
        for breach in check_cuts(sheet, wanted, rooms, rules, catalogue):
            # Boards of surfaces that this plan has not may be on it too, a board may have been
            # trimmed as it was hung, and its row may go on in sheets of another width.
            if breach.rule not in ("piece_cut", "piece_size", "sheet_width"):
                yield replace(breach, amiss=breach.rule != "offcut")


def _wanted(facts: Facts, piece: Piece) -> Wanted:
    """What a piece asks of its sheet: a factory edge wherever its course puts one against a
    neighbour course it reaches."""
    course = next((course for course in facts.plan.rows if course.index == piece.row), None)
    # Only an edge against a neighbor matters: at a corner or the floor a cut edge is as good.
    edges = 0
    if course is not None and facts.tapered:
        edges += (
            course.factory_low
            and piece.low == course.low
            and any(neighbor.high == course.low for neighbor in facts.courses)
        )
        edges += (
            course.factory_high
            and piece.high == course.high
            and any(neighbor.low == course.high for neighbor in facts.courses)
        )
    return Wanted(
        code=piece.code,
        room=facts.plan.room,
        board=facts.plan.board,
        thickness=facts.plan.thickness,
        length=piece.end - piece.start,
        width=piece.high - piece.low,
        factory_edges=edges,
        sheet_width=course.sheet_width if course is not None else piece.high - piece.low,
    )


def _rooms(surfaces: Sequence[Facts]) -> Mapping[str, RoomLimits]:
    """The rooms of the plan in the order they are hung, each with the tightest limit any of its
    surfaces gives."""
    rooms: dict[str, RoomLimits] = {}
    for facts in surfaces:
        before = rooms.get(facts.plan.room, RoomLimits(len(rooms), None, None))
        surface = facts.surface
        lift = None if surface.heaviest_lift is None else Fraction(surface.heaviest_lift)
        rooms[facts.plan.room] = RoomLimits(
            before.order,
            min(
                (limit for limit in (before.longest, surface.longest_board) if limit is not None),
                default=None,
            ),
            min((limit for limit in (before.heaviest, lift) if limit is not None), default=None),
        )
    return rooms
