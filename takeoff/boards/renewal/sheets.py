"""The sheets of plans that are renewed: which are begun, which are no more, and what is left on
those that are begun."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from takeoff.boards.hung import begun
from takeoff.boards.plan import PlacedBoard, Sheet
from takeoff.boards.renewal.now import Now
from takeoff.boards.renewal.values import marks_on
from takeoff.catalogue import Cutting
from takeoff.needs.materials import sheet_id
from takeoff.units import Nm

__all__ = ["Sheets"]


@dataclass
class Sheets:
    """The sheets of the plans there are, and those that are begun; `begun` are the latter, by their
    codes."""

    now: Now
    begun: dict[str, Sheet] = field(init=False)
    _told: dict[str, Sheet] = field(init=False)
    _told_on: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        done = self.now.done
        self._told = {one.code: one for one in done.sheets if one.code in done.told}
        self._told_on = {mark: one.code for one in self._told.values() for mark in marks_on(one)}
        self.begun = self._begun()

    def _begun(self) -> dict[str, Sheet]:
        """The sheets that are begun, by their codes: also one that a piece is cut of, or whose
        offcut is begun."""
        every = {sheet.code: sheet for sheet in self.now.done.sheets}
        every |= {sheet.code: sheet for plan in self.now.plans for sheet in plan.sheets}
        every |= self._told
        codes = {sheet.code for sheet in self.now.done.sheets}
        codes |= {
            sheet.code
            for sheet in every.values()
            if self.now.done.cut.intersection(self.marks_still_on(sheet))
        }
        parent = {offcut.id: sheet.code for sheet in every.values() for offcut in sheet.offcuts}
        for code in list(codes):
            source = every[code].source
            while source in parent and parent[source] not in codes:
                codes.add(parent[source])
                source = every[parent[source]].source
        return {code: sheet for code, sheet in every.items() if code in codes}

    def marks_still_on(self, sheet: Sheet) -> tuple[str, ...]:
        """The marks of the pieces of a sheet, but for those that were cut from another one."""
        return tuple(
            mark for mark in marks_on(sheet) if self._told_on.get(mark, sheet.code) == sheet.code
        )

    def is_told_otherwise(self, sheet: Sheet) -> bool:
        """Whether a sheet of a plan was cut otherwise, or a piece of it from another sheet."""
        return self._told.get(sheet.code, sheet) != sheet or len(self.marks_still_on(sheet)) < len(
            marks_on(sheet)
        )

    def dissolved(self, struck: Collection[str], uncuttable: Collection[str]) -> frozenset[str]:
        """The sheets not begun that are no more: a piece of theirs fell, or there is nothing to cut
        them of. `uncuttable` are the codes of those that cannot be cut as they were planned."""
        here = [one for one in self.now.house.rules.owned if one.id not in self.now.done.gone]
        owned = {one.id: one.count for one in here}
        measures = {one.id: (one.width, one.length, one.factory_edges) for one in here}
        rules, catalogue = self.now.house.rules, self.now.house.catalogue
        on_sale = {
            (one.board, one.thickness, one.width, one.length)
            for one in (catalogue.sheets if rules.sheets is None else rules.sheets)
        }
        offcuts = {
            offcut.id: sheet.code
            for sheet in (
                *self.begun.values(),
                *(s for plan in self.now.plans for s in plan.sheets),
            )
            for offcut in sheet.offcuts
            if offcut.id not in self.now.done.gone
        }
        dissolved: set[str] = set()
        lost = self.now.elsewhere.union(struck)
        spent = {sheet.source for sheet in self._told.values()}
        waiting = [
            sheet
            for plan in self.now.plans
            for sheet in plan.sheets
            if sheet.code not in self.begun
        ]
        # Whole sheets that were here when they were planned come first: what is to be bought is
        # there as long as it is on sale.
        for sheet in sorted(waiting, key=lambda sheet: not _is_from_stock(sheet)):
            size = (sheet.board, sheet.thickness, sheet.width, sheet.length)
            source = sheet.source if sheet.source is not None else sheet_id(*size)
            if sheet.source in offcuts:
                there = offcuts[sheet.source] not in dissolved and sheet.source not in spent
            else:
                there = owned.get(source, 0) > 0
                # One that was measured anew is not what the pieces were laid out on.
                there &= sheet.source is None or measures.get(source) == (
                    sheet.width,
                    sheet.length,
                    sheet.factory_edges,
                )
                there |= sheet.source is None and size in on_sale
            # Pieces of rooms that are not bought together any more are not cut together.
            pools = {
                self.now.pool_of(self.now.surface_of.get(mark, "")) for mark in marks_on(sheet)
            }
            if (
                not there
                or sheet.code in uncuttable
                or len(pools) > 1
                or len(self.marks_still_on(sheet)) < len(marks_on(sheet))
                or lost.intersection(marks_on(sheet))
            ):
                dissolved.add(sheet.code)
            elif source in owned:
                owned[source] -= 1
        return frozenset(dissolved)

    def begun_now(
        self, struck: Collection[str], kept: Sequence[Sheet], boards: Sequence[PlacedBoard]
    ) -> tuple[Sheet, ...]:
        """The sheets begun, with what is cut and what stays on them; the other places are free."""
        used = {sheet.source for sheet in (*self.begun.values(), *kept)}
        loose = {one.id for one in self.now.house.rules.owned}
        taken = self.now.taken()
        sheets = []
        for sheet in self.begun.values():
            pool = self._pool_of_sheet(sheet, boards)
            stays = {
                mark
                for mark in self.marks_still_on(sheet)
                if mark in self.now.done.cut
                or (
                    mark in self.now.surface_of
                    and mark not in struck
                    and mark not in self.now.elsewhere
                    and self.now.surface_of[mark] in pool
                )
            }
            gone = {offcut.id for offcut in sheet.offcuts}
            apart = gone.intersection(self.now.done.gone | used | loose)
            here = tuple(o for o in sheet.offcuts if o.id not in self.now.done.gone)
            if len(stays) == len(marks_on(sheet)):
                now = replace(sheet, offcuts=here)
            else:
                now = begun(
                    sheet, stays, self._kerf(sheet), self.now.house.rules, gone=apart, taken=taken
                )
                # What is cut off already, or meant for another sheet, is still what it was.
                lost = [o for o in here if o.id in apart]
                now = replace(now, offcuts=(*lost, *now.offcuts))
            sheets.append(replace(now, room=self._room_of(now)))
        return tuple(sheets)

    def as_offered(self, sheet: Sheet, open_now: Collection[str]) -> Sheet:
        """A sheet that is still to be cut, with its offcuts where they are kept, and left over
        before anything that is open is hung."""
        rooms = [room.room for room in self.now.rooms]
        first = min(
            (
                rooms.index(self.now.members[surface].surface.room)
                for surface in open_now
                if surface in self.now.members
            ),
            default=len(rooms),
        )
        late = sheet.room not in rooms or rooms.index(sheet.room) > first
        if late or not self.now.house.rules.keep_offcuts:
            return replace(sheet, offcuts=())
        return sheet

    def _pool_of_sheet(self, sheet: Sheet, boards: Sequence[PlacedBoard]) -> frozenset[str]:
        """The pool that a begun sheet counts in: the first that has a board of it, or the room it
        is cut in."""
        marks = set(marks_on(sheet))
        here = {board.surface for board in boards if board.mark in marks}
        room = self._room_of(sheet)
        for surface in self.now.pools:
            one = self.now.members[surface].surface
            if (one.board.kind, one.board.thickness) == (sheet.board, sheet.thickness) and (
                surface in here or one.room == room
            ):
                return self.now.pools[surface]
        return frozenset()

    def _kerf(self, sheet: Sheet) -> Nm:
        kinds = {kind.id: kind for kind in self.now.house.catalogue.boards}
        kind = kinds.get(sheet.board)
        return self.now.house.rules.kerf if kind and kind.cutting is Cutting.SAW else Nm(0)

    def _room_of(self, sheet: Sheet) -> str:
        """The room that a sheet is cut in: another where its own gets none of its board any
        more."""
        rooms = [
            one.surface.room
            for one in self.now.members.values()
            if one.surface.id in self.now.pools
            and (one.surface.board.kind, one.surface.board.thickness)
            == (sheet.board, sheet.thickness)
        ]
        if sheet.room in rooms or not rooms:
            return sheet.room
        marks = set(marks_on(sheet))
        mine = [
            plan.room for plan in self.now.given.values() for p in plan.pieces if p.code in marks
        ]
        return next((room for room in mine if room in rooms), rooms[0])


def _is_from_stock(sheet: Sheet) -> bool:
    """Whether a sheet is a whole one that was here when it was planned."""
    return sheet.source == sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length)
