"""Whether the board may lie on its framing as planned, by the residential code's table of gypsum
board on framing."""

from __future__ import annotations

from collections.abc import Iterator

from takeoff.boards.check.facts import Breach, Facts
from takeoff.choices import Orientation, SurfaceKind
from takeoff.reference import figures
from takeoff.reference.board_rows import Place, board_rows
from takeoff.units import INCH

__all__ = ["check_allowed"]


def check_allowed(facts: Facts) -> Iterator[Breach]:
    """Breaches of `board`, `orientation`, `braces_along`, `framing_table` and
    `tile_backer_framing`."""
    plan, surface = facts.plan, facts.surface
    if (plan.board, plan.thickness) != (surface.board.kind, surface.board.thickness):
        yield facts.breach(
            "board",
            f"{surface.name} is planned in {plan.board} {facts.say(plan.thickness)}, "
            f"but {surface.board.kind} {facts.say(surface.board.thickness)} was chosen",
        )
    # Which way the framing runs is read off the members, not off what the plan says.
    runs = [member.runs for member in facts.framed.members]
    if runs and plan.along_framing != (max(set(runs), key=runs.count) is plan.rows_run):
        yield facts.breach(
            "orientation",
            f"{surface.name} does not lie {_way(plan.along_framing)} its members as planned",
        )
    for board in facts.hung.values():
        if (board.board, board.thickness) != (surface.board.kind, surface.board.thickness):
            yield facts.breach(
                "board",
                f"{board.mark} hangs in {board.board} {facts.say(board.thickness)}, but "
                f"{surface.board.kind} {facts.say(surface.board.thickness)} was chosen",
                amiss=True,
            )
        if board.rows_run is not plan.rows_run:
            yield facts.breach(
                "orientation", f"{board.mark} hangs the other way than the rest", amiss=True
            )
    unwanted = Orientation.ACROSS if plan.along_framing else Orientation.ALONG
    if surface.orientation is unwanted:
        yield facts.breach(
            "orientation",
            f"{surface.name} is boarded {_way(plan.along_framing)} the framing against its choice",
            # The rest of a surface lies the way its boards hang.
            amiss=bool(facts.hung),
        )
    if surface.braces and surface.kind is SurfaceKind.CEILING and plan.along_framing:
        yield facts.breach(
            "braces_along",
            f"{surface.name} braces the structure, and its board lies along the joists",
            amiss=facts.done,
        )
    if facts.kind.tile_backer:
        yield from _tile_backer(facts)
    elif _is_garage_ceiling(facts):
        yield from _garage(facts)
    else:
        yield from _table(facts)


def _way(along: bool) -> str:
    return "along" if along else "across"


def _tile_backer(facts: Facts) -> Iterator[Breach]:
    """The table is of gypsum board; tile backer has a limit of its own, unless a tested assembly
    says otherwise."""
    spacing, widest = _spacing(facts), figures.length("GB-43")
    if facts.surface.rated is None and spacing > widest:
        yield facts.breach(
            "tile_backer_framing",
            f"Tile backer lies on framing at {facts.say(spacing)}; at most {facts.say(widest)} "
            "is allowed",
            amiss=facts.done,
        )


def _is_garage_ceiling(facts: Facts) -> bool:
    """Whether the surface is the ceiling of a garage under a room to live in, and follows no tested
    assembly."""
    return facts.surface.under_living and facts.surface.rated is None


def _garage(facts: Facts) -> Iterator[Breach]:
    """5/8 in fire-rated board across framing at most 24 in apart: the table's one row for it."""
    (row,) = (row for row in board_rows() if row.place is Place.GARAGE_CEILING)
    thickness, spacing = facts.surface.board.thickness, _spacing(facts)
    if not facts.kind.fire_rated or thickness < row.thickness - figures.length("GB-metric"):
        yield facts.breach(
            "framing_table",
            f"{facts.say(thickness)} {facts.kind.name} is on a garage's ceiling under a room to "
            f"live in, which takes {facts.say(row.thickness)} fire-rated board",
            amiss=facts.done,
        )
    if spacing > row.max_spacing or facts.plan.along_framing:
        yield facts.breach(
            "framing_table",
            f"Board {_way(facts.plan.along_framing)} framing at {facts.say(spacing)} is on a "
            f"garage's ceiling, which takes it across framing at most {facts.say(row.max_spacing)} "
            "apart",
            amiss=facts.done,
        )


def _table(facts: Facts) -> Iterator[Breach]:
    surface, thickness = facts.surface, facts.surface.board.thickness
    ceiling = surface.kind is SurfaceKind.CEILING
    spacing = _spacing(facts)
    # A metric board is a little thinner or thicker than the inch size the table names.
    near = figures.length("GB-metric")
    rows = [
        row
        for row in board_rows()
        if row.place is (Place.CEILING if ceiling else Place.WALL)
        and row.layers == 1
        and not row.adhesive
        and not row.type_x
        and abs(row.thickness - thickness) <= near
        and row.max_spacing >= spacing
        and (row.orientation is Orientation.BEST or not facts.plan.along_framing)
    ]
    if not rows:
        yield facts.breach(
            "framing_table",
            f"{facts.say(thickness)} board {_way(facts.plan.along_framing)} "
            f"{'a ceiling' if ceiling else 'a wall'}'s framing "
            f"at {facts.say(spacing)} stands in no row of the code's table",
            amiss=facts.done,
        )
    elif ceiling and (surface.water_texture or surface.insulated):
        yield from _note_d(facts, spacing)


def _note_d(facts: Facts, spacing: int) -> Iterator[Breach]:
    """Under water-based texture or insulation: GB-21 to GB-24."""
    thickness, near = facts.surface.board.thickness, figures.length("GB-metric")
    what = "water-based texture" if facts.surface.water_texture else "insulation"
    if thickness <= 3 * INCH // 8 + near:
        yield facts.breach("framing_table", f"3/8 in board may not carry {what}", amiss=facts.done)
    elif (
        spacing > 16 * INCH + near
        and thickness <= INCH // 2 + near
        and not facts.kind.sag_resistant
    ):
        yield facts.breach(
            "framing_table",
            f"Under {what} on framing at {facts.say(spacing)}, 1/2 in board must be "
            "sag-resistant, or "
            "5/8 in",
            amiss=facts.done,
        )
    if facts.surface.water_texture and facts.plan.along_framing:
        yield facts.breach(
            "framing_table",
            "Board under water-based texture must lie across the framing",
            amiss=facts.done,
        )


def _spacing(facts: Facts) -> int:
    """The spacing the members are said or assumed to have."""
    assumed = {
        SurfaceKind.WALL: facts.rules.assumed_wall_spacing,
        SurfaceKind.CEILING: facts.rules.assumed_ceiling_spacing,
    }
    return facts.surface.framing.spacing or assumed[facts.surface.kind]
