"""The wall or ceiling that a form is about, drawn beside it with what is typed, and where it is in
the room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from remodel.bridge.pictures import (
    TYPED,
    Corner,
    Face,
    FacePicture,
    PicturedThing,
    RoomPlan,
    face_picture,
)
from remodel.house.models import Room
from remodel.house.queries import house_with_pile, surface_of
from remodel.web.lengths import marked_length

__all__ = ["FaceShown", "face_shown"]

_WIDE, _TALL = 520, 340  # the most a face takes of its drawing, in the drawing's own units
_PLAN = 210  # and a room from above
_SIDE = 60  # around both, for letters and measures


@dataclass(frozen=True, slots=True)
class FaceShown:
    """The drawing of a face and of its room from above, and words on what is missing."""

    face: SafeString | None
    plan: SafeString | None
    words: str


def face_shown(room: Room, form: Any, table: type[Any], row: Any = None) -> FaceShown | None:
    """What a form says so far: the surface that is chosen, with the thing where it can be read.
    `row` is the one that is changed. None where there is nothing to draw."""
    key = form["surface"].value() or ""
    picture = face_picture(house_with_pile(room), room.key, key, _typed(room, form, table, row))
    if picture is None or not (picture.face or picture.plan):
        return None
    return FaceShown(
        face=_face(picture.face, room.house.units) if picture.face else None,
        plan=_plan(picture.plan) if picture.plan else None,
        words=_words(picture),
    )


def _typed(room: Room, form: Any, table: type[Any], row: Any) -> Any:
    """The row as it would be stored; the stored one before anything is typed, and None where what
    is typed is no whole thing yet. A door of a partition stands in no wall of the room."""
    if getattr(row, "partition", None) is not None:
        return None
    if not form.is_bound:
        return row
    if not form.is_valid() or getattr(form, "partition", None) is not None:
        return None
    values = form.columns()
    wall, plane = surface_of(room, values.pop("surface"))
    kinds = dict(form.fields["kind"].choices)
    named = values.pop("name") or (row.name if row is not None else str(kinds[values["kind"]]))
    key = row.key if row is not None else TYPED
    return table(room=room, wall=wall, plane=plane, key=key, name=named, **values)


def _words(picture: FacePicture) -> str:
    face = picture.face
    if picture.trouble:
        return picture.trouble
    if face is None:
        return "The room from above, with the letters of its walls."
    seen = f"{face.name}, " + ("as you face it" if face.is_wall else "as you look up")
    if any(thing.is_typed for thing in face.things):
        return f"{seen}. Check it against what you see."
    return f"{seen}. Enter the measures, and it appears here."


def _face(picture: Face, units: str) -> SafeString:
    left, bottom, right, top = picture.box
    per = max((right - left) / _WIDE, (top - bottom) / _TALL)

    def spot(corner: Corner) -> tuple[int, int]:
        return _SIDE + round((corner[0] - left) / per), _SIDE + round((top - corner[1]) / per)

    def shape(thing: PicturedThing) -> dict[str, Any]:
        x, y = spot((thing.left, thing.top))
        far, low = spot((thing.right, thing.bottom))
        wide = max(far - x, 3)
        return {
            "cls": "face-typed" if thing.is_typed else "hole",
            "fill": "#777" if thing.is_typed else "#ddd",
            "stroke": 4 if thing.is_typed else 2,
            "is_round": thing.is_round,
            "x": x,
            "y": y,
            "wide": wide,
            "high": max(low - y, 3),
            "radius": wide / 2,
            "middle": ((x + far) // 2, (y + low) // 2),
        }

    far, low = spot((right, bottom))
    typed = next((thing for thing in picture.things if thing.is_typed), None)
    return render_to_string(
        "edit/_face_drawing.svg",
        {
            "width": far + _SIDE,
            "height": low + _SIDE,
            "parts": [" ".join(f"{x},{y}" for x, y in map(spot, part)) for part in picture.parts],
            "letters": [(_beside(spot(at), (far, low)), letter) for at, letter in picture.sides],
            "things": [shape(thing) for thing in picture.things],
            "measures": _measures(typed, picture, spot, units) if typed is not None else [],
            "picture": picture,
            "desc": ", ".join(thing.name for thing in picture.things) or "Nothing is on it yet",
            "units": units,
            "per": round(per),
            "zero": (_SIDE - round(left / per), low),
        },
    )


def _beside(at: tuple[int, int], far: tuple[int, int]) -> tuple[int, int]:
    """Outside the face, on the side that is nearest."""
    x, y = at
    gaps = {(x - 32, y + 9): x - _SIDE, (x + 32, y + 9): far[0] - x}
    gaps |= {(x, y - 16): y - _SIDE, (x, y + 36): far[1] - y}
    return min(gaps, key=lambda spot: gaps[spot])


def _measures(typed: PicturedThing, picture: Face, spot: Any, units: str) -> list[dict[str, Any]]:
    """How far the thing is from both ends, and from the bottom or the top: a line and a length
    each."""
    left, bottom, right, top = picture.box
    level = (typed.bottom + typed.top) // 2
    upright = (typed.left + typed.right) // 2
    lines = [
        ((left, level), (typed.left, level)),
        ((typed.right, level), (right, level)),
        ((upright, typed.top), (upright, top))
        if picture.from_top
        else ((upright, bottom), (upright, typed.bottom)),
    ]
    shown = []
    for start, end in lines:
        if start == end:
            continue
        x, y = spot(((start[0] + end[0]) // 2, (start[1] + end[1]) // 2))
        upright = start[0] == end[0]
        shown.append(
            {
                "start": spot(start),
                "end": spot(end),
                "at": (x + 8, y + 7) if upright else (x, y - 8),
                "anchor": "start" if upright else "middle",
                "text": marked_length(abs(end[0] - start[0]) + abs(end[1] - start[1]), units),
            }
        )
    return shown


def _plan(plan: RoomPlan) -> SafeString:
    xs, ys = [x for x, _ in plan.corners], [y for _, y in plan.corners]
    per = max(max(xs) - min(xs), max(ys) - min(ys)) / _PLAN

    def spot(corner: Corner) -> tuple[int, int]:
        return _SIDE + round((corner[0] - min(xs)) / per), _SIDE + round(
            (corner[1] - min(ys)) / per
        )

    walls = []
    for start, end, letter, here in plan.walls:
        (x0, y0), (x1, y1) = spot(start), spot(end)
        long = max(abs(x1 - x0), abs(y1 - y0)) or 1
        # Walls are walked clockwise, so the outside is on the left hand.
        x = (x0 + x1) // 2 + (y1 - y0) * 30 // long
        y = (y0 + y1) // 2 - (x1 - x0) * 30 // long
        walls.append(
            {"start": (x0, y0), "end": (x1, y1), "at": (x, y + 12), "letter": letter, "here": here}
        )
    at_hand = next((letter for _, _, letter, here in plan.walls if here), "")
    return render_to_string(
        "edit/_face_plan.svg",
        {
            "width": max(spot(corner)[0] for corner in plan.corners) + _SIDE,
            "height": max(spot(corner)[1] for corner in plan.corners) + _SIDE,
            "path": " ".join(f"{x},{y}" for x, y in map(spot, plan.corners)),
            "walls": walls,
            "fill": "#fff" if at_hand else "#ddd",
            "title": "The room from above"
            + (f", wall {at_hand} is the one at hand" if at_hand else ""),
        },
    )
