"""What is amiss of boards that hang and of sheets, in sentences for people."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from remodel.bridge.views import Amiss, PileResult, RoomView, SheetAmiss
from takeoff.boards.plan import Sheet

__all__ = ["SurfaceAmiss", "amiss_of_sheet", "amiss_shown", "sheets_amiss_shown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceAmiss:
    """What is amiss on one surface: its key and name in its room, and a sentence for each thing.

    What is no surface of the room has no key. `others` are the keys and names of surfaces that it
    would be other for, were they planned anew.
    """

    key: str
    name: str
    texts: tuple[str, ...]
    others: tuple[tuple[str, str], ...] = ()


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


# Of sheets that no piece is cut from yet: planned anew, their surfaces take other ones.
_OTHER_SHEETS = {
    "longest_board": "longer than the longest board that gets into the room",
    "heaviest_lift": "heavier than the heaviest sheet you lift here",
    "keep_offcuts": "planned with offcuts, which are no longer kept",
}

# Nothing to do about: what a sheet costs now is in the figures anyway, one that is not on sale is
# here (or its pieces were planned on another one), and one that is cut is there for every room.
_NOT_SAID = frozenset({"on_sale", "price", "rooms"})

_CUT_EDGE = re.compile(r"^Piece (\S+) needs \d+ factory edges; its place on (\S+) has \d+$")


def amiss_shown(view: RoomView, gone: Iterable[tuple[str, str]] = ()) -> list[SurfaceAmiss]:
    """What is amiss in a room, surface by surface. `gone` are marks of boards with the keys of
    surfaces that the room has no longer."""
    shown = []
    for surface in view.surfaces:
        mine = (plain(one) for one in view.amiss if one.surface == surface.id)
        texts = tuple(dict.fromkeys(text for text in mine if text))
        if texts:
            shown.append(SurfaceAmiss(key=surface.key, name=_name(surface.name), texts=texts))
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


def sheets_amiss_shown(view: RoomView, cut: Collection[str]) -> SurfaceAmiss | None:
    """What is amiss of the sheets that are cut in a room; None where nothing is. `cut` are the
    marks of the pieces that are cut or hang."""
    found = _that_matter(view.amiss_sheets, view.sheets, cut)
    texts = _sheet_texts(found)
    if not texts:
        return None
    to_change = {one.sheet for one in found if one.rule in _OTHER_SHEETS}
    marks = {mark for sheet in view.sheets if sheet.code in to_change for mark in _marks_on(sheet)}
    others = tuple(
        (surface.key, _name(surface.name))
        for surface in view.surfaces
        if marks.intersection(piece.code for piece in surface.pieces)
    )
    return SurfaceAmiss(key="", name="Sheets", texts=texts, others=others)


def amiss_of_sheet(result: PileResult, code: str, cut: Collection[str]) -> tuple[str, ...]:
    """What is amiss of one sheet, a sentence for each thing."""
    sheets = [sheet for view in result.views for sheet in view.sheets]
    found = [one for view in result.views for one in view.amiss_sheets if one.sheet == code]
    return _sheet_texts(_that_matter(found, sheets, cut))


def _that_matter(
    found: Iterable[SheetAmiss], sheets: Iterable[Sheet], cut: Collection[str]
) -> list[SheetAmiss]:
    """What is amiss of sheets, but for how those are laid out that nothing more is cut from."""
    done = {sheet.code for sheet in sheets if all(mark in cut for mark in _marks_on(sheet))}
    return [
        one
        for one in found
        if one.rule not in _NOT_SAID and (one.rule == "factory_edges" or one.sheet not in done)
    ]


def _sheet_texts(found: Sequence[SheetAmiss]) -> tuple[str, ...]:
    """A sentence for each thing, and one for all sheets that the same is said of."""
    texts: dict[str, None] = {}
    for one in found:
        if one.rule in _OTHER_SHEETS:
            alike = list(dict.fromkeys(two.sheet for two in found if two.rule == one.rule))
            names = " and ".join([", ".join(alike[:-1]), alike[-1]] if alike[1:] else alike)
            which = f"Sheets {names} are" if alike[1:] else f"Sheet {names} is"
            texts[f"{which} {_OTHER_SHEETS[one.rule]}."] = None
        else:
            texts[f"{_plain_of_sheet(one)}."] = None
    return tuple(texts)


def _plain_of_sheet(one: SheetAmiss) -> str:
    if edge := _CUT_EDGE.match(one.message):
        return (
            f"{edge[1]}, cut from sheet {edge[2]}, has a cut edge where a factory edge was planned"
        )
    return (
        f"What is still planned on sheet {one.sheet} may not fit it. Measure what is left of it "
        "before you cut more"
    )


def _marks_on(sheet: Sheet) -> list[str]:
    strips = (piece for strip in sheet.strips for piece in strip.pieces)
    return [placed.piece for placed in (*sheet.crosscuts, *strips)]


def _name(surface: str) -> str:
    """The name of a surface inside its room."""
    name = surface.partition(", ")[2] or surface
    return name[:1].upper() + name[1:]
