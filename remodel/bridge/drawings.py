"""Drawings of a room and its surfaces as plain values for pages.

A room is drawn from its stored plans. Its shapes are worked out again; nothing is planned again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, fields, replace
from typing import Any

from remodel.bridge.drawn import Drawn, RoomDrawn, SurfaceDrawn
from remodel.bridge.piles import joined
from remodel.bridge.plans import BoardPlan, PoolKey
from remodel.bridge.views import PileResult
from takeoff.boards.plan import SurfacePlan
from takeoff.cards.behind import BehindFace, behind_face
from takeoff.cards.hanging import hanging_order
from takeoff.cards.troubles import troubles
from takeoff.drawing.elevation import behind_drawing, surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.section import section_drawing
from takeoff.drawing.style import DRAWING_CSS, PAPER, PHONE_ROOM, WIDE
from takeoff.errors import BadValue
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.job import Takeoff

__all__ = [
    "BehindFace",
    "SurfaceCompared",
    "as_drawn",
    "draw_behind",
    "draw_room",
    "draw_small",
    "draw_surface",
    "lies_of",
    "screen_css",
    "shown_takeoff",
    "surfaces_compared",
    "takeoffs_compared",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCompared:
    """A surface whose boards lie otherwise in another plan, drawn by the plan of now and by the
    other; None where a plan cannot be drawn on it."""

    id: str
    name: str
    now: Drawn | None
    other: Drawn | None


def draw_room(house: House, room: str, result: PileResult, hung: Collection[str] = ()) -> RoomDrawn:
    """The plan, the section and the surfaces of a room, each about as wide as a phone and laid out
    for a wide screen too. Boards that are `hung`, by their marks, are filled in."""
    shown = shown_takeoff(house, room, result)
    geometry = next(shape for shape in shown.rooms if shape.room == room)
    by_id = {surface.id: surface for surface in geometry.surfaces}
    return RoomDrawn(
        plan=_both(lambda **on: plan_drawing(shown, room, **on), "plan")[0],
        section=_both(lambda **on: section_drawing(shown, room, **on), "section")[0],
        surfaces=tuple(
            _surface(shown, by_id[surface_id], index, hung)
            for index, surface_id in enumerate(geometry.hang_order)
        ),
        order=tuple((step.what, step.reason) for step in hanging_order(shown, room)),
    )


def draw_surface(
    house: House, room: str, surface: str, result: PileResult, hung: Collection[str] = ()
) -> Drawn:
    """One surface as large as a sheet of paper takes it; boards that are `hung`, by their marks,
    are filled in. Raises `BadValue` for a surface that is not there."""
    shown = shown_takeoff(house, room, result)
    id_ = f"{room}/{surface}"
    return as_drawn(surface_drawing(shown, id_, page=PAPER, prefix="surface", hung=hung))


def draw_behind(
    house: House, room: str, surface: str, result: PileResult
) -> tuple[Drawn | None, BehindFace]:
    """What one surface hides: drawn about as wide as a phone (None where it cannot be drawn), and
    in words. Raises `BadValue` for a surface that is not there."""
    shown = shown_takeoff(house, room, result)
    id_ = f"{room}/{surface}"
    words = behind_face(shown, id_)
    return _try(lambda: behind_drawing(shown, id_, page=PHONE_ROOM))[0], words


def draw_small(house: House, room: str, surface: str, result: PileResult, prefix: str) -> Drawn:
    """One surface about as wide as a phone. `prefix` tells its ids from those of another drawing on
    the same page. Raises `BadValue` where it cannot be drawn."""
    shown = shown_takeoff(house, room, result)
    return as_drawn(surface_drawing(shown, f"{room}/{surface}", page=PHONE_ROOM, prefix=prefix))


def surfaces_compared(
    house: House, result: PileResult, pool: PoolKey, other: BoardPlan
) -> tuple[SurfaceCompared, ...]:
    """The surfaces of a pile that another plan of one of its pools boards otherwise. What boards
    are marked with makes no difference."""
    changed = replace(
        result,
        pools=tuple(
            replace(state, plan=other) if (state.board, state.thickness) == pool else state
            for state in result.pools
        ),
    )
    now, then = (shown_takeoff(house, result.views[0].head, one) for one in (result, changed))
    return takeoffs_compared(now, then, only=[surface.surface for surface in other.surfaces])


def takeoffs_compared(
    now: Takeoff, then: Takeoff, *, only: Collection[str]
) -> tuple[SurfaceCompared, ...]:
    """Those surfaces, by their ids, whose boards lie otherwise in another takeoff of the house."""
    before, after = lies_of(now.surface_plans), lies_of(then.surface_plans)
    names = {surface.id: surface.name for room in now.rooms for surface in room.surfaces}

    def drawn(shown: Takeoff, surface: str, prefix: str) -> Drawn | None:
        return _try(lambda: surface_drawing(shown, surface, page=PHONE_ROOM, prefix=prefix))[0]

    return tuple(
        SurfaceCompared(
            id=surface,
            name=names[surface],
            now=drawn(now, surface, f"now-{at}"),
            other=drawn(then, surface, f"other-{at}"),
        )
        for at, surface in enumerate(one for one in names if one in only and one in after)
        if after[surface] != before.get(surface)
    )


def lies_of(plans: Iterable[SurfacePlan]) -> dict[str, list[tuple[int, ...]]]:
    """Where the boards of each surface lie."""
    return {
        surface.surface: sorted(
            tuple(value for point in piece.outline for value in point) for piece in surface.pieces
        )
        for surface in plans
    }


def screen_css() -> str:
    """The stylesheet of drawings on a screen: the one for paper, with the colors of the page's
    scheme."""
    css = (
        DRAWING_CSS.replace(".drawing", "svg.drawing")
        .replace("#eceef1", "var(--rest)")
        .replace("#f5f6f7", "var(--rest)")
        .replace("#c4c8ce", "var(--rest)")
    )
    _, _, rest = css.partition("\n")  # the first line gives the paper's colours
    return (
        "/* Made of the engine's stylesheet for drawings; a test holds them together. */\n"
        "svg.drawing { --soft: var(--line-quiet); --faint: var(--rule); --paper: var(--card); "
        "--accent: var(--wrong); --rest: var(--hair); }\n"
        f"{rest}"
    )


def shown_takeoff(house: House, room: str, result: PileResult) -> Takeoff:
    """A takeoff with only what drawings read: shapes, members and the plans that stand. Its other
    fields are empty."""
    pile_house = joined(house, [room]).house
    rooms, partitions = room_shapes(pile_house)
    nothing: dict[str, Any] = {field.name: () for field in fields(Takeoff)}
    return Takeoff(
        **nothing
        | {
            "house": pile_house,
            "rooms": rooms,
            "partitions": partitions,
            "framed": tuple(
                frame(surface, pile_house.rules) for shape in rooms for surface in shape.surfaces
            ),
            "plans": tuple(pool.plan for pool in result.pools),
            "unsupported_edges": tuple(edge for view in result.views for edge in view.loose_edges),
        }
    )


def _surface(shown: Takeoff, surface: Surface, index: int, hung: Collection[str]) -> SurfaceDrawn:
    drawn, why_not = _both(
        lambda **on: surface_drawing(shown, surface.id, hung=hung, **on), f"surface-{index}"
    )
    _, _, key = surface.id.partition("/")
    name = surface.name.partition(", ")[2] or surface.name
    return SurfaceDrawn(
        key=key,
        name=name[:1].upper() + name[1:],
        drawn=drawn,
        why_not=why_not,
        troubles=tuple(
            trouble.text.partition(": ")[2] or trouble.text
            for trouble in troubles(shown, surface.id)
        ),
    )


def _both(draw: Callable[..., Drawing], prefix: str) -> tuple[Drawn | None, str]:
    """A drawing for a phone, with the same for a wide screen; else why it cannot be drawn."""
    narrow, why_not = _try(lambda: draw(page=PHONE_ROOM, prefix=prefix))
    wide, _ = _try(lambda: draw(page=WIDE, prefix=f"wide-{prefix}"))
    return (replace(narrow, wide=wide.svg) if narrow and wide else narrow), why_not


def _try(draw: Callable[[], Drawing]) -> tuple[Drawn | None, str]:
    try:
        return as_drawn(draw()), ""
    except BadValue as error:
        return None, str(error)


def as_drawn(drawing: Drawing) -> Drawn:
    """The drawing as a page is given it."""
    return Drawn(
        title=drawing.title,
        svg=drawing.svg,
        facts=tuple(dict.fromkeys((fact.kind, fact.label, fact.says) for fact in drawing.facts)),
    )
