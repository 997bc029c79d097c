"""What is amiss of boards that hang, in sentences for people."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from remodel.bridge.views import Amiss, RoomView

__all__ = ["SurfaceAmiss", "amiss_shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceAmiss:
    """What is amiss on one surface: its key and name in its room, and a sentence for each thing."""

    key: str
    name: str
    texts: tuple[str, ...]


# What the checker says in its own words, and what people are told. Left out is what says again, for
# the checker alone, that a board does not fit its surface.
_PLAIN: tuple[tuple[str, str], ...] = (
    (r"^The rectangle of piece .*", ""),
    (r"^Piece (\S+) has no outline$", ""),
    (r"^.* is ripped, so both edges cannot be the sheet's own$", ""),
    (
        r"^Two pieces meet at (.+) in row (\d+): .*",
        r"Nobody can tell how boards meet at \1 in row \2",
    ),
    (r"^Pieces (\S+) and (\S+) overlap$", r"\1 and \2 overlap"),
    (r"^Piece (\S+) is in row (\d+), which .* has not$", r"\1 hangs in a row that is gone"),
    (
        r"^Piece (\S+) lies outside the stretches (row|column) (\d+) .*",
        r"\1 hangs where \2 \3 needs no board any more",
    ),
    (r"^(\S+) has not the shape of .*", r"\1 no longer has the shape of the surface"),
    (
        r"^(\S+) reaches (.+) past the edge of .*",
        r"\1 reaches \2 past the edge of the surface as measured now",
    ),
    (r"^(\S+) hangs in .+, but .+ was chosen$", r"\1 is of another board than was chosen"),
    (r"^(\S+) hangs the other way than the rest$", r"\1 hangs the other way from the other boards"),
    (r"^.* has no plan, but (.+) hang there$", r"No board goes up here any more. Still there: \1"),
    (r" stands in no row of the code's table$", " is not in the building code's table"),
    (r" is not on the middle of a member$", " is not on the middle of a stud or joist"),
    (r" has no member behind all of it$", " has no stud or joist behind all of it"),
    (r"\bhas no member along all of it\b", "has no stud or joist along all of it"),
    (r"\bmeet on a member\b", "meet on a stud or joist"),
    (r"\bbetween two members\b", "between two studs or joists"),
    (r"\bits members\b", "its framing"),
    (r"\bjoint\b", "butt seam"),
    (r"\bPiece (?=\S)", ""),
)
_IN_ROW = re.compile(r"\b((?:row|column) \d+) \([^()]*\)")


def amiss_shown(view: RoomView, gone: Iterable[tuple[str, str]] = ()) -> list[SurfaceAmiss]:
    """What is amiss in a room, surface by surface. `gone` are marks of boards with the keys of
    surfaces that the room has no longer."""
    shown = []
    for surface in view.surfaces:
        mine = (plain(one) for one in view.amiss if one.surface == surface.id)
        texts = tuple(dict.fromkeys(text for text in mine if text))
        if texts:
            name = surface.name.partition(", ")[2] or surface.name
            shown.append(
                SurfaceAmiss(key=surface.key, name=name[:1].upper() + name[1:], texts=texts)
            )
    lost = tuple(f"{mark} hangs on a surface that is gone." for mark, _ in gone)
    if lost:
        shown.append(SurfaceAmiss(key="", name="Surfaces that are gone", texts=lost))
    return shown


def plain(amiss: Amiss) -> str:
    """One thing that is amiss as a sentence; empty where another one says it better."""
    text = _IN_ROW.sub(r"\1", amiss.message)
    for pattern, instead in _PLAIN:
        text = re.sub(pattern, instead, text)
    return f"{text[:1].upper()}{text[1:]}." if text else ""
