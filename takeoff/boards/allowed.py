"""Whether a board may lie this way on this framing, by the framing table and the rules of what it
must carry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from takeoff.boards.plan import PlanNote
from takeoff.boards.planner_rules import FLOATING_RULES
from takeoff.boards.words import shown
from takeoff.catalogue import BoardEdges, BoardKind
from takeoff.choices import SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import Surface
from takeoff.reference import Place, allowed_rows, board_rows, figures, table_thickness
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["Refused", "floating_forbidden", "notes_on", "refused", "spacing_of"]


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a board may not lie so: the rule, and a sentence that says what to change."""

    rule: str
    message: str


def spacing_of(surface: Surface, rules: Rules) -> Nm:
    """The spacing of the members behind `surface`: as measured, or the one the rules assume."""
    assumed = (
        rules.assumed_wall_spacing
        if surface.kind is SurfaceKind.WALL
        else rules.assumed_ceiling_spacing
    )
    return surface.framing.spacing or assumed


def refused(surface: Surface, kind: BoardKind, rules: Rules, *, across: bool) -> Refused | None:
    """Why `surface` may not take its board across (or along) its framing; None where it may.

    The framing table holds for one layer on open framing; an old lining that stays behind the board
    lets a thinner one lie on it. A surface that names a rated assembly follows the assembly, so the
    table does not speak. A ceiling that braces the structure lies across its joists, rated or not.
    """
    if surface.braces and surface.kind is SurfaceKind.CEILING and not across:
        return Refused(
            "braces_along",
            f"{surface.name}: board that braces the structure lies across the joists "
            f"({figures.figure('GB-31-across').status.caution}). Choose across the framing, or "
            "say that it does not brace",
        )
    # A tested assembly says itself how its board lies.
    if surface.rated is not None:
        return None
    spacing, thickness = spacing_of(surface, rules), surface.board.thickness
    # The table is of gypsum board, so tile backer has a limit of its own.
    if kind.tile_backer:
        widest = figures.length("GB-43")
        if spacing <= widest:
            return None
        return Refused(
            "framing",
            f"{surface.name}: tile backer needs framing at most "
            f"{shown(widest, surface, feet=False)} on center; "
            f"this is {shown(spacing, surface, feet=False)}. Add studs or joists between, and "
            "enter the "
            "spacing, for example "
            f"{shown(widest, surface, feet=False)}",
        )
    # Thinner board than the table knows, on a lining that carries it.
    if table_thickness(thickness) is None and surface.action.keeps_lining:
        return None
    place = surface.place
    if place is Place.GARAGE_CEILING:
        return _garage(surface, kind, spacing, across=across)
    if not allowed_rows(thickness=thickness, place=place, across=across, spacing=spacing):
        return _off_the_table(surface, place, spacing, across=across)
    return (
        _carries_too_much(surface, kind, spacing, across=across) if place is Place.CEILING else None
    )


def _garage(surface: Surface, kind: BoardKind, spacing: Nm, *, across: bool) -> Refused | None:
    """GB-09 and FR-garage: fire-rated 5/8 in board across framing at most 24 in apart."""
    rows = [row for row in board_rows() if row.place is Place.GARAGE_CEILING]
    least = shown(min(row.thickness for row in rows), surface, feet=False)
    known = table_thickness(surface.board.thickness)
    if not kind.fire_rated or known not in {row.thickness for row in rows}:
        return Refused(
            "board",
            f"{surface.name}: a garage's ceiling under a room to live in takes {least} fire-rated "
            "(Type X) board. Choose it for this ceiling, or name the tested assembly it follows",
        )
    widest = max(row.max_spacing for row in rows)
    if spacing > widest:
        return Refused(
            "framing",
            f"{surface.name}: under a room to live in, a garage's ceiling needs framing at most "
            f"{shown(widest, surface, feet=False)} on center; this is "
            f"{shown(spacing, surface, feet=False)}. Add studs or joists between, and enter the "
            "spacing",
        )
    if not across:
        return Refused(
            "orientation",
            f"{surface.name}: under a room to live in, board lies across the framing of a garage's "
            "ceiling only. Lay the boards across",
        )
    return None


def _off_the_table(surface: Surface, place: Place, spacing: Nm, *, across: bool) -> Refused:
    thickness = surface.board.thickness
    way = "across" if across else "along"
    changes = []
    if not across and allowed_rows(thickness=thickness, place=place, across=True, spacing=spacing):
        changes.append("lay the boards across the framing")
    thicker = sorted(
        row.thickness
        for row in board_rows()
        if row.thickness > thickness
        and allowed_rows(thickness=row.thickness, place=place, across=across, spacing=spacing)
    )
    if thicker:
        changes.append(f"choose {shown(thicker[0], surface, feet=False)} board")
    closer = [
        row.max_spacing
        for row in board_rows()
        if allowed_rows(thickness=thickness, place=place, across=across, spacing=row.max_spacing)
    ]
    if closer:
        changes.append(f"bring the framing to {shown(max(closer), surface, feet=False)} on center")
    return Refused(
        "framing",
        f"{surface.name}: the framing table does not let {shown(thickness, surface, feet=False)} "
        f"board lie {way} the "
        f"framing of a {place} at {shown(spacing, surface, feet=False)} on center. "
        f"To change: {', or '.join(changes) or 'choose 1/2 in board'}",
    )


def _carries_too_much(
    surface: Surface, kind: BoardKind, spacing: Nm, *, across: bool
) -> Refused | None:
    """GB-21 to GB-24: what water-based texture and insulation ask of ceiling board."""
    loads = [
        name
        for name, there in (
            ("water-based texture", surface.water_texture),
            ("insulation", surface.insulated),
        )
        if there
    ]
    if not loads:
        return None
    load = " and ".join(loads)
    thickness = table_thickness(surface.board.thickness)
    thicknesses = sorted({row.thickness for row in board_rows()})
    if surface.water_texture and not across:
        return Refused(
            "orientation",
            f"{surface.name}: under water-based texture ceiling board lies across the framing "
            "only. "
            "Lay the boards across, or choose another texture",
        )
    if thickness == thicknesses[0]:
        return Refused(
            "board",
            f"{surface.name}: {shown(thicknesses[0], surface, feet=False)} board may not carry "
            f"{load} on a ceiling. "
            f"Choose {shown(thicknesses[1], surface, feet=False)} board",
        )
    # On wide framing all but the thickest board sags under such a load, unless it is made not to.
    closest = min(row.max_spacing for row in board_rows() if row.place is Place.CEILING)
    if spacing > closest and thickness != thicknesses[-1] and not kind.sag_resistant:
        return Refused(
            "board",
            f"{surface.name}: {shown(surface.board.thickness, surface, feet=False)} board sags "
            f"under {load} on framing "
            f"at {shown(spacing, surface, feet=False)} on center. Choose a sag-resistant ceiling "
            "board, or "
            f"{shown(thicknesses[-1], surface, feet=False)} board",
        )
    return None


def floating_forbidden(surface: Surface, kind: BoardKind) -> str | None:
    """The id of the rule that forbids a floating seam on `surface`; None where it may have one."""
    holds = {
        "rated": surface.rated is not None,
        "fire_rated": kind.fire_rated,
        "wet": surface.wet or surface.tiled,
        "braces": surface.braces,
        "tile_backer": kind.tile_backer,
        "square_edges": kind.edges is BoardEdges.SQUARE,
    }
    return next((rule for rule in FLOATING_RULES if holds[rule]), None)


def notes_on(framed: FramedSurface, kind: BoardKind, rules: Rules) -> tuple[PlanNote, ...]:
    """What a person must know of the surface's framing and rating whatever the layout."""
    surface, notes = framed.surface, []
    if framed.provisional:
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="framing",
                text=f"Provisional: nobody has looked at the framing; studs or joists are assumed "
                f"{shown(spacing_of(surface, rules), surface, feet=False)} on center. Find them "
                "before the first cut",
            )
        )
    # A member that is missing leaves a bay wider than the spacing says, and the table knows only
    # the spacing.
    wide = _widest_gap(framed, rules)
    if wide is not None:
        start, end, limit = wide
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="framing",
                text=f"No stud or joist between {shown(start, surface)} and {shown(end, surface)}, "
                f"{shown(Nm(end - start), surface, feet=False)} apart; this board spans at most "
                f"{shown(limit, surface, feet=False)}. Add one there",
            )
        )
    notes += _of_what_is_above(surface, kind, rules)
    if surface.rated is not None:
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="rated",
                text=f"Rated surface: hang and fasten it as the listing of {surface.rated} says; "
                "it comes before the framing table and this plan",
            )
        )
    elif kind.fire_rated:
        notes.append(
            PlanNote(
                surface=surface.id,
                rule="rated",
                text="No rated assembly is named, so this plan cannot confirm a fire or sound "
                "rating; "
                "name the assembly your local code asks for",
            )
        )
    return tuple(notes)


def _of_what_is_above(surface: Surface, kind: BoardKind, rules: Rules) -> list[PlanNote]:
    """What follows from what is over a ceiling, or from nobody having said it.

    A ceiling counts as insulated until somebody says otherwise: a board that would then be refused
    is pointed out, not refused, because it may well be that nothing lies on it.
    """
    if surface.under_living and surface.rated is None:
        return [
            PlanNote(
                surface=surface.id,
                rule="garage",
                text="A garage's ceiling under a room to live in: tape every joint, seal every "
                "hole round pipes, wires and ducts, and ask what your local code asks of the walls "
                "and of what holds this ceiling up",
            )
        ]
    if not surface.maybe_insulated or surface.rated is not None or kind.tile_backer:
        return []
    if table_thickness(surface.board.thickness) is None and surface.action.keeps_lining:
        return []
    carried = replace(surface, insulated=True)
    too_much = _carries_too_much(carried, kind, spacing_of(surface, rules), across=True)
    if too_much is None:
        return []
    return [
        PlanNote(
            surface=surface.id,
            rule="insulated",
            text="Nobody has said whether insulation lies on it, so it counts as insulated, and "
            f"{too_much.message.removeprefix(f'{surface.name}: ')}. If nothing lies on it, say so",
        )
    ]


def _widest_gap(framed: FramedSurface, rules: Rules) -> tuple[Nm, Nm, Nm] | None:
    """The widest stretch between members that is wider than the framing table lets this board span,
    and that limit."""
    surface = framed.surface
    rows = allowed_rows(
        thickness=surface.board.thickness,
        place=surface.place,
        across=True,
        spacing=spacing_of(surface, rules),
    )
    gaps = pairwise(sorted({member.centre for member in framed.members}))
    start, end = max(gaps, key=lambda gap: gap[1] - gap[0], default=(Nm(0), Nm(0)))
    limit = max((row.max_spacing for row in rows), default=Nm(end - start))
    return (start, end, limit) if end - start > limit else None
