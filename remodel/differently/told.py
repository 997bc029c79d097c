"""Entries as they are written: what becomes of the piece, its sheet and the plans."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.models import F, QuerySet
from django.utils import timezone

from remodel.board.models import PlacedPiece
from remodel.board.placed import ended, split_key
from remodel.board.plans import plans_keep
from remodel.board.queries import head_of, pile_result_of
from remodel.board.services import plans_changed
from remodel.bridge import house_value
from remodel.bridge.lengths import show_length
from remodel.bridge.placed import (
    PlacedBoard,
    Sheet,
    read_board,
    read_sheet,
    recut_board,
    sheet_in,
    write_board,
    write_sheet,
)
from remodel.bridge.supply import sheet_key
from remodel.bridge.told import (
    END,
    START,
    as_offcut,
    is_square,
    longest,
    next_mark,
    sheet_longer,
    sheet_out_of,
)
from remodel.bridge.views import PileResult
from remodel.differently.entries import (
    AGAIN,
    cut_sheet_of,
    follow,
    pile_of,
    put_back,
    standing_plans,
    state_of,
    taken_marks,
)
from remodel.differently.pieces import Piece, Source, piece_of, sources_of
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import By, is_news, recorded, written_before
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.supply.ledger import match_logs
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.services import owned_sheet_add
from remodel.ticks import TOLD, tick_piece

__all__ = [
    "CUT_WRONG",
    "ELSEWHERE",
    "OTHER_SHEET",
    "TAKEN_DOWN",
    "cut_wrong",
    "joint_elsewhere",
    "other_sheet",
    "taken_down",
    "taken_down_for_edit",
]

CUT_WRONG, ELSEWHERE, OTHER_SHEET, TAKEN_DOWN = "wrong", "elsewhere", "sheet", "down"


def cut_wrong(*, by: By, room: Room, key: str, keep: int | None = None) -> PlacedPiece:
    """A piece was cut wrong: it is waste, or an offcut that is `keep` long, and its place is
    open again."""

    def write(telling: _Telling) -> None:
        board = telling.place()
        if telling.row.state == PlacedPiece.State.HUNG:
            raise Refused(f"{telling.mark} hangs. Record that it was taken down instead")
        if keep is not None and keep > board.end - board.start:
            size = telling.shown(board.end - board.start)
            raise Refused(
                f"{telling.mark} was to be {size} long, so what is left is no longer. Enter its "
                f"length now, for example {telling.shown((board.end - board.start) // 2)}",
                field="keep",
            )
        note = "Cut wrong"
        if keep is not None:
            telling.keep_offcut(board, keep)
            note += f", kept as an offcut {telling.shown(keep)} long"
        ended(telling.row, PlacedPiece.State.WASTED, note)

    return _tell(by, room, key, CUT_WRONG, ("cut",), write)


def taken_down(*, by: By, room: Room, key: str, keep: bool) -> PlacedPiece:
    """A piece was taken down again: it is kept as an offcut of its size, or waste."""
    return _tell(by, room, key, TAKEN_DOWN, ("cut", "hung"), _taking_down(keep=keep))


def taken_down_for_edit(*, by: By, room: Room, key: str) -> PlacedPiece:
    """A piece that is cut or hangs is taken down and thrown away, for an edit that is being saved.
    It is undone as any entry of a piece. The caller brings results up to date afterward."""
    return _written(
        by=By(by.person),  # the key and what was seen are the edit's
        room=room,
        key=key,
        way=TAKEN_DOWN,
        kinds=("cut",),  # one that does not hang never did
        write=_taking_down(keep=False),
    )


def _taking_down(*, keep: bool) -> Callable[[_Telling], None]:
    def write(telling: _Telling) -> None:
        board = telling.place()
        if keep:
            telling.keep_offcut(board, None)
        ended(
            telling.row,
            PlacedPiece.State.DOWN,
            f"Taken down, {'kept as an offcut' if keep else 'thrown away'}",
        )

    return write


def joint_elsewhere(*, by: By, room: Room, key: str, end: str, length: int) -> PlacedPiece:
    """A piece hangs and is `length` long, because one `end` of it is elsewhere than planned. Open
    neighbors follow."""

    def write(telling: _Telling) -> None:
        board = telling.place()
        if end not in (START, END):
            raise Refused("Choose the end that is elsewhere", field="end")
        if not is_square(board):
            raise Refused(
                f"{telling.mark} is cut to a slope or a corner, so its length does not say how it "
                "is cut. Record that it was taken down or cut wrong instead",
                field="length",
            )
        planned = board.end - board.start
        if length == planned:
            raise Refused(
                f"{telling.mark} is {telling.shown(planned)} long as it is. Enter the length that "
                "you measure, or cancel",
                field="length",
            )
        assert telling.result is not None
        most = longest(telling.result, board, end)
        if length > most:
            raise Refused(
                f"From the other end of {telling.mark} to the end of the surface it is "
                f"{telling.shown(most)}. Measure again, and enter {telling.shown(most)} or less",
                field="length",
            )
        telling.resize_on_sheet(length)
        cut = (
            recut_board(board, start=None, end=board.start + length)
            if end == END
            else recut_board(board, start=board.end - length, end=None)
        )
        telling.row.place = write_board(cut)
        telling.row.as_planned = False
        telling.row.note = f"Hangs {telling.shown(length)} long, planned {telling.shown(planned)}"
        telling.row.save()

    return _tell(by, room, key, ELSEWHERE, ("cut", "hung"), write)


def other_sheet(*, by: By, room: Room, key: str, source: str) -> PlacedPiece:
    """A piece hangs and came out of another sheet than planned. `source` is the name of one of
    `sources_of`."""

    def write(telling: _Telling) -> None:
        board = telling.place()
        piece = piece_of(room, key)
        chosen = next(
            (one for one in (sources_of(piece) if piece else ()) if one.name == source), None
        )
        if chosen is None:
            raise Refused(
                "That sheet is not here any more, or is too small. Choose another one",
                field="source",
            )
        telling.leave_sheet()
        code = telling.cut_from(board, chosen)
        telling.row.sheet = code
        telling.row.as_planned = False
        telling.row.note = f"Cut from {chosen.words[:1].lower()}{chosen.words[1:]}: sheet {code}"
        telling.row.save()

    return _tell(by, room, key, OTHER_SHEET, ("cut", "hung"), write)


def _tell(
    by: By,
    room: Room,
    key: str,
    way: str,
    kinds: tuple[str, ...],
    write: Callable[[_Telling], None],
) -> PlacedPiece:
    before = written_before(by)
    if before is not None and isinstance(before.row, PlacedPiece):
        return before.row
    row = _written(by=by, room=room, key=key, way=way, kinds=kinds, write=write)
    follow(by, room)
    return row


@recorded(TOLD)
def _written(
    *,
    by: By,
    room: Room,
    key: str,
    way: str,
    kinds: tuple[str, ...],
    write: Callable[[_Telling], None],
) -> PlacedPiece:
    piece = piece_of(room, key)
    if piece is None:
        raise Refused(f"There is no such piece any more. {AGAIN}")
    if is_news("piece", piece.stands):
        raise Overtaken(f"Somebody recorded something of {piece.mark} meanwhile. {AGAIN}")
    if not piece.is_here:
        raise Refused(
            f"{piece.mark} was cut wrong or taken down already, and another piece is planned in "
            f"its place. {AGAIN}"
        )
    telling = _Telling(by, piece, way)
    telling.tick(kinds)
    write(telling)
    telling.note()
    plans_changed(room.house_id)
    return telling.row


class _Telling:
    """One entry while it is written: the piece, and what is changed beside it."""

    row: PlacedPiece

    def __init__(self, by: By, piece: Piece, way: str) -> None:
        self._by, self._piece, self._room = by, piece, piece.room
        self.mark = piece.mark
        self.result: PileResult | None = pile_result_of(piece.room)
        self._pile = pile_of(piece.room)
        self._house = house_value(whole_house(piece.room.house_id))
        head = head_of(piece.room)
        self._entry: dict[str, Any] = {
            "way": way,
            "at": timezone.now().isoformat(),
            "before": state_of(piece.row) if piece.row is not None else None,
            "ticked": [],
            "sheets": {},
            "offcut": "",
            "plans": [str(pk) for pk in standing_plans(head)],
        }

    def shown(self, length: int) -> str:
        return show_length(length, self._room.house.units)

    def tick(self, kinds: tuple[str, ...]) -> None:
        """Tick the piece as cut, or as hung too, where nobody has."""
        row = self._piece.row
        known = {
            None: (),
            PlacedPiece.State.CUT.value: ("cut",),
            PlacedPiece.State.HUNG.value: ("cut", "hung"),
        }[row.state if row is not None else None]
        new = [kind for kind in kinds if kind not in known]
        if new:
            plans_keep(by=By(self._by.person), room=self._room)
            # A piece of another sheet does not begin the one it was planned on.
            tick_piece(
                by=self._by,
                room=self._room,
                kinds=new,
                item=self._piece.key,
                done=True,
                begin=self._entry["way"] != OTHER_SHEET,
            )
        self._entry["ticked"] = new
        self._entry["plans"] = [str(pk) for pk in standing_plans(head_of(self._room))]
        surface, mark = split_key(self._piece.key)
        self.row = PlacedPiece.objects.get(room=self._room, surface=surface, mark=mark)
        if self._entry["before"] is None or new:
            self._entry["before"] = state_of(self.row)

    def place(self) -> PlacedBoard:
        if self.row.place is None:
            raise Refused(
                f"Nobody knows any more where {self.mark} was planned, so nothing can be worked "
                "out from it. Undo that it is cut, then tick what hangs"
            )
        return read_board(self.row.place)

    def keep_offcut(self, board: PlacedBoard, length: int | None) -> None:
        offcut = as_offcut(board, length)
        if offcut is None:
            raise Refused(
                f"{self.mark} has no rectangle to keep. Choose to throw it away", field="keep"
            )
        owned = owned_sheet_add(
            by=self._by,
            house=self._room.house,
            board=offcut.board,
            thickness=offcut.thickness,
            width=offcut.width,
            length=offcut.length,
            count=1,
            mark=self.mark,
            factory_edges=offcut.factory_edges,
            made_by=self.row.sheet,
        )
        self._entry["offcut"] = owned.key

    def _cut_sheet(self, code: str) -> CutSheet | None:
        return cut_sheet_of(self._pile, code)

    def _sheet_of(self, row: CutSheet) -> Sheet | None:
        for pool in self.result.pools if self.result is not None else ():
            sheet = sheet_in(pool.plan, row.code)
            if sheet is not None and row.as_planned:
                return sheet
        return read_sheet(row.data) if row.data is not None else None

    def resize_on_sheet(self, length: int) -> None:
        """Let the sheet of the piece be as it was cut, where the piece is longer than planned."""
        row = self._cut_sheet(self.row.sheet) if self.row.sheet else None
        sheet = self._sheet_of(row) if row is not None else None
        board = self.place()
        if row is None or sheet is None or length <= board.end - board.start:
            return  # a piece that is shorter leaves a strip of waste
        cut = set(PlacedPiece.objects.filter(room__in=self._pile).values_list("mark", flat=True))
        longer = sheet_longer(
            self._house, sheet, self.mark, length, cut, taken_marks(self._room), row.rests
        )
        if isinstance(longer, int):
            raise Refused(
                f"Sheet {row.code} is {self.shown(sheet.length)} long, and with what else is cut "
                f"of it {self.mark} can be {self.shown(longer)} at most. Enter that or less, or "
                "record first that another sheet was used",
                field="length",
            )
        self._keep_as_it_was(row)
        row.data, row.as_planned = write_sheet(longer), False
        row.save(update_fields=["data", "as_planned"])

    def leave_sheet(self) -> None:
        """Put back the sheet the piece was planned on, and what that is an offcut of, where nothing
        else is cut of it."""
        code = self.row.sheet
        while code:
            row = self._cut_sheet(code)
            if row is None:
                return
            if row.rests and not self._others_of(row).exists():
                raise Refused(
                    f"What is left of sheet {row.code} was kept or thrown away, so {self.mark} "
                    "came out of it. Undo that on its card first",
                    field="source",
                )
            if self._is_used(row):
                # A plan made since puts something else where the piece was to come from.
                self._keep_as_it_was(row)
                return
            sheet = self._sheet_of(row)
            self._keep_as_it_was(row)
            put_back(self._by, row)
            parent = (sheet.source or "").rpartition(".")[0] if sheet is not None else ""
            code = parent

    def _others_of(self, row: CutSheet) -> QuerySet[PlacedPiece]:
        """The other pieces that are cut of a sheet."""
        return PlacedPiece.objects.filter(room__in=self._pile, sheet=row.code).exclude(
            pk=self.row.pk
        )

    def _is_used(self, row: CutSheet) -> bool:
        if self._others_of(row).exists() or row.rests:
            return True
        sheet = self._sheet_of(row)
        rests = {offcut.id for offcut in sheet.offcuts} if sheet is not None else set()
        return any(
            one.data is not None and one.data.get("source") in rests
            for one in CutSheet.objects.filter(room__in=self._pile).exclude(pk=row.pk)
        )

    def cut_from(self, board: PlacedBoard, source: Source) -> str:
        """Begin the sheet that the piece came out of. Gives its code, a new mark."""
        taken = taken_marks(self._room)
        code = next_mark(self._sheet_like(), taken)
        sheet = sheet_out_of(self._house, board, code, self._room.key, source.rest, {*taken, code})
        if source.owned is not None:
            OwnedSheet.objects.filter(pk=source.owned.pk).update(cut_up=F("cut_up") + 1)
        CutSheet.objects.create(
            house_id=self._room.house_id,
            room=self._room,
            code=code,
            item=source.item or sheet_key(board.board, board.thickness, sheet.width, sheet.length),
            owned=source.owned,
            uncounted=not source.item and source.owned is None,
            data=write_sheet(sheet),
            as_planned=False,
            at=timezone.now(),
            person=self._by.person,
        )
        if source.item:
            match_logs(self._by, self._room, source.item)
        self._entry["sheets"][code] = None
        return code

    def _sheet_like(self) -> str:
        """The mark of a sheet of the room, whose form the new one has."""
        if self.row.sheet:
            return self.row.sheet
        codes = [
            sheet.code
            for pool in (self.result.pools if self.result is not None else ())
            for sheet in pool.plan.sheets
        ]
        return codes[-1] if codes else "R0"

    def _keep_as_it_was(self, row: CutSheet) -> None:
        self._entry["sheets"].setdefault(
            row.code,
            {
                "room": str(row.room_id),
                "item": row.item,
                "owned": str(row.owned_id) if row.owned_id is not None else "",
                "uncounted": row.uncounted,
                "data": row.data,
                "as_planned": row.as_planned,
                "rests": row.rests,
                "at": row.at.isoformat(),
            },
        )

    def note(self) -> None:
        self.row.told = [*self.row.told, self._entry]
        self.row.save(update_fields=["told"])
