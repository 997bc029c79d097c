"""The numbers of pieces on their surface and of sheets in their room, which make their marks unique
in the house."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count

from takeoff.boards.plan import BoardPlan, Sheet
from takeoff.geometry.surface import Surface

__all__ = ["SheetMarks", "numbered_apart", "piece_marks"]


def piece_marks(surface: Surface, taken: Collection[str] = ()) -> Iterator[str]:
    """The marks of pieces of a surface in order, past those that are taken: K-A1, K-A2, ..."""
    marks = (f"{surface.mark}{number}" for number in count(1))
    return (mark for mark in marks if mark not in taken)


class SheetMarks:
    """Gives sheets their marks, past those that are taken: K1, K2, ... in the room of code K."""

    def __init__(self, codes: Mapping[str, str], taken: Collection[str] = ()) -> None:
        self._codes, self._taken, self._last = codes, set(taken), dict.fromkeys(codes, 0)

    def next(self, room: str) -> str:
        """The mark of the next sheet that is first cut in `room`."""
        for number in count(self._last[room] + 1):
            mark = f"{self._codes[room]}{number}"
            if mark not in self._taken:
                self._last[room] = number
                return mark
        raise AssertionError  # numbers do not end


def numbered_apart(
    plans: Sequence[BoardPlan],
    codes: Mapping[str, str],
    *,
    taken: Collection[str] = (),
    cut: Collection[str] = (),
    first: Collection[int] = (),
) -> tuple[BoardPlan, ...]:
    """The plans of a house with no mark on two sheets: where a sheet of a plan has the mark of
    another plan's, all sheets of the later plan are numbered anew, past those of the others.

    `codes` are the codes of the rooms by their ids. Sheets that are `cut` keep their marks, and no
    sheet gets one that is `taken`. The plans at the places `first` have their say before the
    others: people may have them on paper.
    """
    numbered = list(plans)
    used: set[str] = set()
    for at in sorted(range(len(plans)), key=lambda at: (at not in first, at)):
        mine = {sheet.code for sheet in plans[at].sheets if sheet.code not in cut}
        if mine & used:
            numbered[at] = _numbered_anew(plans[at], SheetMarks(codes, used.union(taken, cut)), cut)
        used |= {sheet.code for sheet in numbered[at].sheets}
    return tuple(numbered)


def _numbered_anew(plan: BoardPlan, marks: SheetMarks, cut: Collection[str]) -> BoardPlan:
    """The plan with new marks on its sheets that are not cut, and on their offcuts."""
    offcuts: dict[str, str] = {}
    sheets: list[Sheet] = []
    for sheet in plan.sheets:
        if sheet.code not in cut:
            code = marks.next(sheet.room)
            of_sheet = {
                offcut.id: f"{code}.{number}"
                for number, offcut in enumerate(sheet.offcuts, start=1)
            }
            offcuts |= of_sheet
            sheet = replace(
                sheet,
                code=code,
                offcuts=tuple(replace(offcut, id=of_sheet[offcut.id]) for offcut in sheet.offcuts),
            )
        sheets.append(sheet)
    # A sheet that is an offcut of another one names it.
    return replace(
        plan,
        sheets=tuple(
            replace(sheet, source=offcuts.get(sheet.source or "", sheet.source)) for sheet in sheets
        ),
    )
