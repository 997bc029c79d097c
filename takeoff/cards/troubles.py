"""Boxes and openings that stand where no board can be cut for them, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from takeoff.boards.plan import Piece, SurfacePlan
from takeoff.cards.clean_text import clean
from takeoff.cards.lookup import names_of
from takeoff.cards.tape import tape
from takeoff.choices import Runs
from takeoff.geometry.polygon import holds_rectangle
from takeoff.geometry.surface import PlacedCutout, PlacedOpening, Surface
from takeoff.job import Takeoff
from takeoff.units import Nm, UnitSystem

__all__ = ["Trouble", "TroubleKind", "troubles"]

_LONG_NAME = 60


class TroubleKind(StrEnum):
    OUTSIDE = "outside the board"
    OVER_SEAM = "over a seam"
    IN_OPENING = "in an opening"
    OVERLAPS = "overlaps another"
    LONG_NAME = "long name"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One box or opening that cannot be cut as it stands, or is easily misread. `thing` is its id,
    `text` a plain sentence."""

    kind: TroubleKind
    surface: str
    thing: str
    text: str


def troubles(takeoff: Takeoff, surface: str | None = None) -> tuple[Trouble, ...]:
    """The troubles of every surface in the order of the rooms, or of one surface.

    A box is in trouble where it reaches past the board (into the gap at the floor, say) or lies
    over a seam, in an opening, or in another box. So is a thing with a name too long to be drawn. A
    box wholly outside its wall does not come up here, because no such house can be made.
    """
    plans = {plan.surface: plan for plan in takeoff.surface_plans}
    names = names_of(takeoff)
    all_troubles: list[Trouble] = []
    for room in takeoff.rooms:
        for shape in room.surfaces:
            if surface is None or shape.id == surface:
                where = f"{room.name}, {names[shape.id]}"
                all_troubles += _on(shape, plans.get(shape.id), where, takeoff.house.units)
    return tuple(all_troubles)


def _on(
    surface: Surface, plan: SurfacePlan | None, where: str, units: UnitSystem
) -> Iterator[Trouble]:
    def tell(kind: TroubleKind, thing: PlacedCutout | PlacedOpening, text: str) -> Trouble:
        return Trouble(
            kind=kind, surface=surface.id, thing=thing.id, text=f"{clean(where)}: {clean(text)}"
        )

    for cutout in surface.cutouts:
        for opening in surface.openings:
            if _meet(cutout, opening):
                yield tell(
                    TroubleKind.IN_OPENING,
                    cutout,
                    f"{cutout.name} lies in {opening.name}, where there is no board; "
                    f"measure again where {cutout.name} is",
                )
        if plan is None:
            continue
        if not holds_rectangle(
            surface.board_area, cutout.left, cutout.bottom, cutout.right, cutout.top
        ):
            yield tell(
                TroubleKind.OUTSIDE,
                cutout,
                f"{cutout.name} reaches past the edge of the board; it is cut as a notch. Measure "
                "again, or move it by "
                f"{tape(_past(cutout, surface), units, up=True)}",
            )
        crossed = [piece.code for piece in plan.pieces if _lies_on(cutout, piece, plan)]
        if len(crossed) > 1:
            yield tell(
                TroubleKind.OVER_SEAM,
                cutout,
                f"{cutout.name} lies over the seam of {' and '.join(crossed)}: cut it in place, or "
                "move the seam",
            )
    for one, other in combinations(surface.cutouts, 2):
        if _meet(one, other):
            yield tell(
                TroubleKind.OVERLAPS,
                one,
                f"{one.name} overlaps {other.name}; one of them is measured wrong",
            )
    things: list[PlacedCutout | PlacedOpening] = [*surface.openings, *surface.cutouts]
    for thing in things:
        if len(thing.name) > _LONG_NAME:
            yield tell(
                TroubleKind.LONG_NAME,
                thing,
                f"the name “{thing.name[:24]}…” has {len(thing.name)} characters and is drawn "
                "short; a name of up to "
                f"{_LONG_NAME} is read whole, for example 'Switch by the door'",
            )


def _meet(one: PlacedCutout, other: PlacedCutout | PlacedOpening) -> bool:
    return (
        one.left < other.right
        and other.left < one.right
        and one.bottom < other.top
        and other.bottom < one.top
    )


def _lies_on(cutout: PlacedCutout, piece: Piece, plan: SurfacePlan) -> bool:
    left_edge, right_edge, bottom, top = piece.start, piece.end, piece.low, piece.high
    if plan.rows_run is Runs.ACROSS:
        left_edge, right_edge, bottom, top = bottom, top, left_edge, right_edge
    return (
        cutout.left < right_edge
        and cutout.right > left_edge
        and cutout.bottom < top
        and cutout.top > bottom
    )


def _past(cutout: PlacedCutout, surface: Surface) -> Nm:
    """How far a box reaches past the rectangle round the board, at least a sixteenth."""
    us, vs = [u for u, _ in surface.board_area], [v for _, v in surface.board_area]
    over = (
        min(us) - cutout.left,
        cutout.right - max(us),
        min(vs) - cutout.bottom,
        cutout.top - max(vs),
    )
    return Nm(max(*over, 1))
