"""The cut lists of lumber and other sticks as text."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from takeoff.cut_list import CutList, CutStick, cut_lists
from takeoff.job import Takeoff, chosen_needs
from takeoff.needs.need import phase_label
from takeoff.report.text_table import paragraph
from takeoff.units import UnitSystem, tape_reading

__all__ = ["cut_text"]


def cut_text(takeoff: Takeoff, *, phases: Collection[str] = (), rooms: Collection[str] = ()) -> str:
    """The cut lists of some phases and rooms, all where none is named; ends in a newline."""
    return "\n".join(_lines(takeoff, phases, rooms)) + "\n"


def _lines(takeoff: Takeoff, phases: Collection[str], rooms: Collection[str]) -> Iterator[str]:
    house = takeoff.house
    yield house.name
    lists = cut_lists(
        chosen_needs(takeoff, phases=phases, rooms=rooms),
        catalogue=house.catalogue,
        kerf=house.rules.kerf,
        stock=house.on_hand,
    )
    if not lists:
        yield from paragraph("Nothing here is cut from sticks.", indent="")
        return
    kerf = tape_reading(house.rules.kerf, house.units, feet=False)
    yield from paragraph(
        f"Cut the longest piece first. Each cut of the saw takes {kerf}. Measure the place before "
        "you cut a stud or a plate.",
        indent="",
    )
    for cut_list in lists:
        yield ""
        yield f"{phase_label(cut_list.phase, house.own_phases).upper()}: {cut_list.name}"
        if cut_list.unmet:
            yield from paragraph(cut_list.unmet, hang="  ")
        for sticks in cut_list.alike:
            yield from paragraph(_sticks(cut_list, sticks, house.units), hang="      ")


def _sticks(cut_list: CutList, sticks: Sequence[CutStick], units: UnitSystem) -> str:
    stick = sticks[0]
    which = f"{stick.number} to {sticks[-1].number}" if len(sticks) > 1 else f"{stick.number}"
    each = "each " if len(sticks) > 1 else ""
    on_hand = ", on hand" if stick.owned else ""
    cuts = "; ".join(f"{tape_reading(piece.length, units)} {piece.what}" for piece in stick.pieces)
    rest = tape_reading(stick.rest, units) if stick.rest else "nothing"
    return (
        f"{which} of {len(cut_list.sticks)}: {each}{tape_reading(stick.length, units)}{on_hand}. "
        f"Cut {cuts}. Left: {rest}"
    )
