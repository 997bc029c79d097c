"""Other ways to board a room, worked out one at a time when somebody asks. Looking changes
nothing."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.cache import cache

from remodel.board.models import PlacedPiece
from remodel.board.queries import board_of, pile_result_of
from remodel.board.rounds import pile_at_hand
from remodel.bridge import codec
from remodel.bridge.drawn import Drawn
from remodel.bridge.lengths import TakeoffError
from remodel.bridge.other_ways import WAYS, OtherWay, narrow_text, other_way, shares_sheets
from remodel.bridge.piles import Pile, engine_version
from remodel.bridge.views import PileResult, RoomView
from remodel.house.models import Room
from remodel.pages.board.compare import SurfaceShown
from remodel.pages.drawings import drawing_of
from remodel.pages.figures_table import beside_table, figures_table
from remodel.web.parts import Drawing, Table

__all__ = ["WaysShown", "ways_shown"]

_DAY = 24 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class WayShown:
    """A way that can be asked for, and what it is. `setting` is the field of a surface's page by
    which it is chosen, or `rule` the rule of the house; both are empty where nothing sets it."""

    key: str
    name: str
    about: str
    setting: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysShown:
    """What the page of other ways shows. `why_none` says why there is nothing to compare.

    `chosen` is the way that was asked for, and `table` its figures beside the plan's; without one
    the plan's alone. `notes` are sentences about it, `why_not` why it cannot be planned.
    `to_choose` are the surfaces on whose pages it is chosen, by key and name.
    """

    ways: tuple[WayShown, ...]
    why_none: str = ""
    shared: bool = False
    begun: bool = False
    chosen: WayShown | None = None
    is_same: bool = False
    table: Table | None = None
    why_not: str = ""
    notes: tuple[str, ...] = ()
    surfaces: tuple[SurfaceShown, ...] = ()
    to_choose: tuple[tuple[str, str], ...] = ()


def ways_shown(room: Room, asked: str) -> WaysShown:
    """The ways of a room, the one that is `asked` for worked out."""
    ways = _ways(room.house.units)
    result = pile_result_of(room)
    view = next((one for one in result.views if one.key == room.key), None) if result else None
    if result is None or view is None or view.figures is None:
        return WaysShown(ways=ways, why_none=_why_none(room, view))
    shown = WaysShown(
        ways=ways,
        shared=shares_sheets(result),
        begun=PlacedPiece.objects.filter(room=room, state__in=PlacedPiece.HERE).exists(),
        table=figures_table(view.figures, room.house, caption_hidden=True),
    )
    chosen = next((way for way in ways if way.key == asked), None)
    return _with_chosen(shown, room, view, result, chosen) if chosen is not None else shown


def _why_none(room: Room, view: RoomView | None) -> str:
    if view is None:
        refusal = board_of(room).refusal
        return refusal or "This room is still being worked out. Load the page again in a moment."
    if any(surface.refused for surface in view.surfaces):
        return "No surface of this room can be boarded as it is. Its page says what to change."
    return "No board goes up in this room, so there is no plan to compare."


def _with_chosen(
    shown: WaysShown, room: Room, view: RoomView, result: PileResult, chosen: WayShown
) -> WaysShown:
    try:
        pile = pile_at_hand(room.house_id, view.head)
        found = _found(pile, room, chosen.key, result) if pile is not None else None
    except TakeoffError as error:
        return _with(shown, chosen=chosen, table=None, why_not=_sentence(str(error)))
    if found is None:
        return shown
    table = None
    if found.base is not None and found.figures is not None:
        table = beside_table(found.base, found.figures, room.house, called=chosen.name)
    return _with(
        shown,
        chosen=chosen,
        is_same=found.is_same,
        table=table,
        why_not=_sentence(found.why_not),
        notes=_notes(found),
        surfaces=tuple(
            SurfaceShown(
                id=f"way-{at}",
                name=(name := _own_name(surface.name, room)),
                now=_drawing(surface.now, f"way-{at}-now", f"The plan: {name}"),
                other=_drawing(surface.other, f"way-{at}-other", f"{chosen.name}: {name}"),
            )
            for at, surface in enumerate(found.surfaces)
        ),
        to_choose=tuple(
            (surface.id.partition("/")[2], _own_name(surface.name, room))
            for surface in found.surfaces
        )
        if chosen.setting
        else (),
    )


def _with(
    shown: WaysShown,
    *,
    chosen: WayShown,
    table: Table | None,
    why_not: str = "",
    is_same: bool = False,
    notes: tuple[str, ...] = (),
    surfaces: tuple[SurfaceShown, ...] = (),
    to_choose: tuple[tuple[str, str], ...] = (),
) -> WaysShown:
    return WaysShown(
        ways=shown.ways,
        shared=shown.shared,
        begun=shown.begun,
        chosen=chosen,
        is_same=is_same,
        table=table or (shown.table if why_not else None),
        why_not=why_not,
        notes=notes,
        surfaces=surfaces,
        to_choose=to_choose,
    )


def _found(pile: Pile, room: Room, way: str, result: PileResult) -> OtherWay:
    """A way worked out, kept by the digest of what it is worked out from."""
    key = "other-way:" + codec.digest(
        engine_version(), pile.digest(), room.key, way, [pool.plan for pool in result.pools]
    )
    found: OtherWay | None = cache.get(key)
    if found is None:
        found = other_way(pile, room.key, way, result)
        cache.set(key, found, _DAY)
    return found


def _notes(found: OtherWay) -> tuple[str, ...]:
    stays = [_sentence(f"{names}: planned as before, because {why}") for names, why in found.stays]
    return (*stays, *(_sentence(f"Not counted here. {text}") for text in found.refused))


def _sentence(text: str) -> str:
    return f"{text}." if text and text[-1] not in ".!?" else text


def _own_name(name: str, room: Room) -> str:
    own = name.removeprefix(f"{room.name}, ")
    return own[:1].upper() + own[1:]


def _drawing(drawn: Drawn | None, id_: str, caption: str) -> Drawing | None:
    return drawing_of(drawn, id_, caption) if drawn is not None else None


def _ways(units: str) -> tuple[WayShown, ...]:
    narrow = narrow_text(units)
    known = (
        WayShown(
            key="other-side",
            name="Ceiling rows from the other side",
            about="The first row of each ceiling starts at the opposite wall.",
            rule="ceiling_rows",
        ),
        WayShown(
            key="along",
            name="Boards along the framing",
            about="Standing on walls, and along the joists where the framing table allows it.",
            setting="Boards run",
        ),
        WayShown(
            key="floating",
            name="Floating butt seams",
            about="Butt seams midway between studs or joists, on a backer, wherever allowed.",
            setting="Butt seams",
        ),
        WayShown(
            key="narrow",
            name=f"{narrow} wide sheets only",
            about="No wider board is bought, also where it would save a row, nor a long one that "
            "is hard to lift.",
            rule="widths",
        ),
        WayShown(
            key="longest",
            name="Longest boards first",
            about="Each row in the longest boards that reach a stud or joist, whatever they cost.",
        ),
        WayShown(
            key="least",
            name="Least material",
            about="Only the money for board counts, as if your hours cost nothing.",
            rule="hour",
        ),
    )
    return tuple(way for key in WAYS for way in known if way.key == key)
