"""What is cut and what hangs in a house, as plans are made around it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from remodel.board.models import Mark, PlacedPiece
from remodel.bridge.placed import (
    Done,
    PlacedBoard,
    Sheet,
    as_planned,
    pieces_in,
    read_board,
    read_sheet,
    sheet_in,
)
from remodel.bridge.plans import BoardPlan
from remodel.house.models import House

__all__ = ["HouseFacts"]


class HouseFacts:
    """The pieces that are cut or hang, the sheets that are begun and the marks that were used,
    read for a whole house in three queries."""

    def __init__(self, house: House) -> None:
        self._pieces: dict[str, list[PlacedPiece]] = {}
        for piece in PlacedPiece.objects.filter(house=house).select_related("room"):
            self._pieces.setdefault(piece.room.key, []).append(piece)
        self._sheets: dict[str, list[dict[str, Any]]] = {}
        # The table of cut sheets belongs to the stock, which stands above the plans.
        columns = ("room__key", "code", "item", "data", "as_planned", "rests", "owned__key")
        for row in house.cut_sheets.order_by("at", "code").values(*columns):
            self._sheets.setdefault(row["room__key"], []).append(row)
        self._marks: dict[str, set[str]] = {}
        for room, text in Mark.objects.filter(house=house).values_list("room__key", "text"):
            self._marks.setdefault(room, set()).add(text)

    def any_in(self, rooms: Iterable[str]) -> bool:
        """Whether anything was cut or hangs in one of the rooms."""
        return any(self._pieces.get(room) or self._sheets.get(room) for room in rooms)

    def off_plan(self, rooms: Iterable[str]) -> list[Any]:
        """The pieces that lie otherwise than their plan had them, that a plan was made around, or
        that are no more. All others follow from the plan, and change nothing that was worked out
        from it."""
        return [
            [piece.mark, piece.state, piece.place, piece.sheet]
            for room in rooms
            for piece in self._pieces.get(room, ())
            if piece.changes_plans
        ]

    def cut_as_in(self, rooms: Iterable[str], plan: BoardPlan) -> bool:
        """Whether what is here of a plan came out of the sheets that the plan has it on."""
        planned = {mark: sheet for mark, (_, _, sheet) in pieces_in(plan).items()}
        return all(
            not piece.sheet or (planned.get(piece.mark) or piece.sheet) == piece.sheet
            for room in rooms
            for piece in self._pieces.get(room, ())
            if piece.state in PlacedPiece.HERE
        )

    def plan_around(
        self, rooms: Iterable[str], leaning: Collection[str], *, made: Collection[str] = ()
    ) -> list[PlacedPiece]:
        """Have plans change from now on with what they stand by: what hangs or is cut on surfaces
        that lean on it, and what hangs on those `made` around it, by their ids. Gives the pieces of
        which that is news."""

        def on(room: str, piece: PlacedPiece, surfaces: Collection[str]) -> bool:
            return f"{room}/{piece.surface}" in surfaces

        news = [
            piece
            for room in rooms
            for piece in self._pieces.get(room, ())
            if piece.as_planned
            and (
                (piece.state == PlacedPiece.State.HUNG and on(room, piece, {*leaning, *made}))
                or (
                    piece.state == PlacedPiece.State.CUT
                    and not piece.leant_on
                    and on(room, piece, leaning)
                )
            )
        ]
        for piece in news:
            if piece.state == PlacedPiece.State.HUNG:
                piece.as_planned = False
            else:
                # It was cut for its place in the plan, and has to fit there until it hangs.
                piece.leant_on = True
        return news

    def let_return(
        self, rooms: Iterable[str], marks: Collection[str], owned: Collection[str]
    ) -> list[tuple[PlacedPiece, str]]:
        """Have pieces that lost their place be cut for it again: those with one of the `marks`, of
        which nothing was used, so that what became an offcut is among the `owned`. Gives them, each
        with its state before."""
        back = [
            (piece, piece.state)
            for room in rooms
            for piece in self._pieces.get(room, ())
            if piece.lost_place
            and piece.mark in marks
            and (piece.state == PlacedPiece.State.WASTED or piece.mark in owned)
        ]
        for piece, _ in back:
            piece.state = PlacedPiece.State.CUT
        return back

    def lose_again(self, returned: Iterable[tuple[PlacedPiece, str]]) -> None:
        """Have pieces be what they were before `let_return`."""
        for piece, state in returned:
            piece.state = state

    def is_begun(self, room: str, code: str) -> bool:
        """Whether anything was cut of a sheet that is cut in a room."""
        return any(row["code"] == code for row in self._sheets.get(room, ()))

    def offcuts_cut(self, rooms: Iterable[str]) -> Counter[str]:
        """The offcuts that were cut up in some rooms."""
        return Counter(
            row["owned__key"]
            for room in rooms
            for row in self._sheets.get(room, ())
            if row["owned__key"]
        )

    def sheets_cut(self, rooms: Iterable[str]) -> Counter[str]:
        """The whole sheets that were cut in some rooms, by item."""
        return Counter(
            row["item"]
            for room in rooms
            for row in self._sheets.get(room, ())
            if not row["owned__key"]
        )

    def taken(self, rooms: Iterable[str]) -> list[str]:
        """The marks that were used in some rooms."""
        return sorted(mark for room in rooms for mark in self._marks.get(room, ()))

    def all_offcuts_cut(self) -> Counter[str]:
        return self.offcuts_cut(self._sheets)

    def done_in(
        self,
        rooms: Collection[str],
        plans: Sequence[tuple[BoardPlan, Mapping[str, Any]]],
        owned: Collection[str],
    ) -> Done:
        """What is done in the rooms of a pile. `plans` are its plans that stand, with their shapes,
        and `owned` are the offcuts at hand for it."""
        pieces = [piece for room in rooms for piece in self._pieces.get(room, ())]
        rows = [row for room in rooms for row in self._sheets.get(room, ())]
        here = [piece for piece in pieces if piece.state in PlacedPiece.HERE]
        planned = {sheet.code for plan, _ in plans for sheet in plan.sheets}
        decided = {(id_, key) for row in rows for id_, key in row["rests"].items()}
        return Done(
            boards=tuple(_boards(here, plans)),
            hung=frozenset(piece.mark for piece in here if piece.state == PlacedPiece.State.HUNG),
            off_plan=frozenset(piece.mark for piece in here if not piece.as_planned),
            sheets=tuple(_sheets(rows, [plan for plan, _ in plans])),
            cut=frozenset(piece.mark for piece in pieces),
            # A sheet that none of these plans has may hold a piece that one of them has elsewhere.
            told=frozenset(
                row["code"]
                for row in rows
                if row["data"] and not (row["as_planned"] and row["code"] in planned)
            ),
            # What was kept is at hand under its own key, unless another room was given it.
            gone=frozenset(id_ for id_, key in decided if key != id_ or key not in owned),
            taken=frozenset(self.taken(rooms)),
        )


def _boards(
    pieces: Sequence[PlacedPiece], plans: Sequence[tuple[BoardPlan, Mapping[str, Any]]]
) -> list[PlacedBoard]:
    known = {piece.mark: read_board(piece.place) for piece in pieces if piece.place is not None}
    # A piece that was ticked before places were kept lies as its plan has it.
    unknown = {piece.mark for piece in pieces if piece.place is None}
    if unknown:
        already = list(known.values())
        for plan, shapes in plans:
            known |= as_planned(plan, shapes, unknown, already)
    return [known[piece.mark] for piece in pieces if piece.mark in known]


def _sheets(rows: Sequence[Mapping[str, Any]], plans: Sequence[BoardPlan]) -> list[Sheet]:
    sheets = []
    for row in rows:
        in_plans = (sheet_in(plan, row["code"]) for plan in plans if row["as_planned"])
        planned = next((sheet for sheet in in_plans if sheet is not None), None)
        sheet = planned or (read_sheet(row["data"]) if row["data"] else None)
        if sheet is not None:
            sheets.append(sheet)
    return sheets
