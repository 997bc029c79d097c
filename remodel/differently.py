"""A piece hangs differently than planned: it was cut wrong, a joint of it is elsewhere, it came out
of another sheet, or it was taken down. What is planned goes around it from then on.

Each entry keeps what it changed with the piece, so that it can be undone while nothing was cut or
hung since on what it changed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.placed import ended, split_key
from remodel.board.plans import plan_stands_again, plans_keep
from remodel.board.queries import head_of, pile_result_of, takes_of_pile
from remodel.board.rounds import STANDING
from remodel.board.services import bring_up_to_date, plans_changed
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
from remodel.bridge.supply import sheet_key, sheet_sizes, size_of_sheet
from remodel.bridge.told import (
    END,
    START,
    Board,
    Rest,
    as_offcut,
    board_in,
    ends_of,
    is_square,
    longest,
    next_mark,
    only_cut,
    sheet_longer,
    sheet_out_of,
)
from remodel.bridge.views import PileResult
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import By, is_news, recorded, remove, written_before
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.supply.ledger import here_of, match_logs, reversal
from remodel.supply.models import CutSheet, OwnedSheet, SheetOnSale
from remodel.supply.services import owned_sheet_add
from remodel.ticks import TOLD, plan_states_follow, tick_piece

__all__ = [
    "CUT_WRONG",
    "ELSEWHERE",
    "OTHER_SHEET",
    "TAKEN_DOWN",
    "Piece",
    "Source",
    "cut_wrong",
    "ends_to_choose",
    "joint_elsewhere",
    "other_sheet",
    "piece_of",
    "sources_of",
    "taken_down",
    "taken_down_for_edit",
    "undo_told",
    "why_not_undone",
]

CUT_WRONG, ELSEWHERE, OTHER_SHEET, TAKEN_DOWN = "wrong", "elsewhere", "sheet", "down"
_STAYS = "state place as_planned sheet instead_of note hung_at ended_at"
_AGAIN = "Load the page again"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece that one tells of. `board` is it in the plan that stands, None where no plan has it
    any more; `row` what is known of it, None before it is cut."""

    room: Room
    key: str
    mark: str
    board: Board | None
    row: PlacedPiece | None

    @property
    def is_here(self) -> bool:
        return self.row is None or self.row.state in PlacedPiece.HERE

    @property
    def is_hung(self) -> bool:
        return self.row is not None and self.row.state == PlacedPiece.State.HUNG

    @property
    def words(self) -> str:
        """What is known of it, in words: "Hung", "Cut wrong, kept as an offcut 3' 0\" long"."""
        if self.row is None:
            return "Not cut yet"
        state, note = self.row.get_state_display(), self.row.note
        if not note or note.startswith(state):
            return note or state
        return f"{state}. {note}"

    @property
    def stands(self) -> str:
        """What a page of it is made from: another entry meanwhile makes this another word."""
        if self.row is None:
            return "open"
        return f"{self.row.state}.{len(self.row.told)}.{int(self.row.as_planned)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What a piece may have come out of, to choose from: `name` in the form, and in words."""

    name: str
    words: str
    rest: Rest
    item: str = ""
    owned: OwnedSheet | None = None


def piece_of(room: Room, key: str) -> Piece | None:
    """The piece of a room with a key; None where neither the plan nor anybody knows of it."""
    surface, mark = split_key(key)
    row = PlacedPiece.objects.filter(room=room, surface=surface, mark=mark).first()
    result = pile_result_of(room)
    board = board_in(result, room.key, key) if result is not None else None
    if row is None and board is None:
        return None
    return Piece(room=room, key=key, mark=mark, board=board, row=row)


def ends_to_choose(piece: Piece) -> dict[str, str]:
    """The ends of a piece in words, by the name that `joint_elsewhere` takes."""
    result = pile_result_of(piece.room)
    if result is None or piece.board is None:
        return {}
    surface = f"{piece.room.key}/{piece.board.surface}"
    return ends_of(result, surface, piece.mark)


def sources_of(piece: Piece) -> list[Source]:
    """Everything a piece may have come out of: whole sheets of a size on sale or here, offcuts
    here, and rests of begun sheets. What is too small for it is left out."""
    board, room = piece.board, piece.room
    if board is None:
        return []
    units = room.house.units
    sources: list[Source] = []
    here = here_of(room.house)
    prices = {
        (row.width, row.length): row.price
        for row in SheetOnSale.objects.filter(
            house=room.house_id, board=board.board, thickness=board.thickness
        )
    }
    in_stock = {
        (size[2], size[3])
        for item, stands in here.items()
        if (size := size_of_sheet(item)) is not None
        and (size[0], size[1]) == (board.board, board.thickness)
        and stands.amount > 0
    }
    for width, length in sorted({*prices, *in_stock}):
        item = sheet_key(board.board, board.thickness, width, length)
        is_here = (width, length) in in_stock
        sources.append(
            Source(
                name=f"whole:{item}",
                words=f"A whole sheet, {sheet_sizes(board.thickness, width, length)[1]}"
                f"{', here' if is_here else ''}",
                rest=Rest(
                    source=item if is_here else None,
                    width=width,
                    length=length,
                    factory_edges=2,
                    price=0 if is_here else prices[width, length],
                ),
                item=item,
            )
        )
    for row in OwnedSheet.objects.filter(
        house=room.house_id,
        board=board.board,
        thickness=board.thickness,
        count__gt=F("cut_up") + F("spoiled"),
    ):
        shown = f"{show_length(row.length, units)} x {show_length(row.width, units)}"
        sources.append(
            Source(
                name=f"offcut:{row.key}",
                words=f"Offcut {row.key}, {shown}{f', at {row.place}' if row.place else ''}",
                rest=Rest(
                    source=row.key,
                    width=row.width,
                    length=row.length,
                    factory_edges=row.factory_edges,
                ),
                owned=row,
            )
        )
    sources += _rests(piece, board)
    return [
        one for one in sources if one.rest.width >= board.width and one.rest.length >= board.length
    ]


def _rests(piece: Piece, board: Board) -> Iterable[Source]:
    units = piece.room.house.units
    result = pile_result_of(piece.room)
    rows = {row.code: row for row in CutSheet.objects.filter(room__in=_pile(piece.room))}
    sheets = [sheet for pool in result.pools for sheet in pool.plan.sheets] if result else []
    used = {sheet.source for sheet in sheets if sheet.code in rows}
    for sheet in sheets:
        row = rows.get(sheet.code)
        if (
            row is None
            or (sheet.board, sheet.thickness) != (board.board, board.thickness)
            or (piece.board is not None and sheet.code == piece.board.sheet)
        ):
            continue
        for offcut in sheet.offcuts:
            if offcut.id in row.rests or offcut.id in used:
                continue
            size = f"{show_length(offcut.length, units)} x {show_length(offcut.width, units)}"
            yield Source(
                name=f"rest:{offcut.id}",
                words=f"What is left of sheet {sheet.code}, {size}",
                rest=Rest(
                    source=offcut.id,
                    width=offcut.width,
                    length=offcut.length,
                    factory_edges=offcut.factory_edges,
                ),
            )


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
    _follow(by, room)
    return row


def _follow(by: By, room: Room) -> None:
    """Let plans, figures and the states of plans follow a write."""
    bring_up_to_date(room.house_id, _pile(room))
    plan_states_follow(by, room)


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
        raise Refused(f"There is no such piece any more. {_AGAIN}")
    if is_news("piece", piece.stands):
        raise Overtaken(f"Somebody recorded something of {piece.mark} meanwhile. {_AGAIN}")
    if not piece.is_here:
        raise Refused(
            f"{piece.mark} was cut wrong or taken down already, and another piece is planned in "
            f"its place. {_AGAIN}"
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
        self._pile = _pile(piece.room)
        self._house = house_value(whole_house(piece.room.house_id))
        head = head_of(piece.room)
        self._entry: dict[str, Any] = {
            "way": way,
            "at": timezone.now().isoformat(),
            "before": _state_of(piece.row) if piece.row is not None else None,
            "ticked": [],
            "sheets": {},
            "offcut": "",
            "plans": [str(pk) for pk in _standing(head)],
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
        self._entry["plans"] = [str(pk) for pk in _standing(head_of(self._room))]
        surface, mark = split_key(self._piece.key)
        self.row = PlacedPiece.objects.get(room=self._room, surface=surface, mark=mark)
        if self._entry["before"] is None or new:
            self._entry["before"] = _state_of(self.row)

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
        return _cut_sheet(self._pile, code)

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
            self._house, sheet, self.mark, length, cut, _taken(self._room), row.rests
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
            _put_back(self._by, row)
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
        taken = _taken(self._room)
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


def _pile(room: Room) -> set[UUID]:
    """The rooms of a room's pile: within them a mark names one piece or sheet."""
    return set(takes_of_pile(room)) | {room.pk}


def _cut_sheet(pile: Collection[UUID], code: str) -> CutSheet | None:
    return (
        CutSheet.objects.filter(room__in=pile, code=code)
        .select_related("movement", "room__house")
        .first()
    )


def _standing(head: Room) -> list[UUID]:
    return list(Plan.objects.filter(room=head, state__in=STANDING).values_list("pk", flat=True))


def _state_of(row: PlacedPiece) -> dict[str, Any]:
    values = {name: getattr(row, name) for name in _STAYS.split()}
    return {
        name: value.isoformat() if isinstance(value, datetime) else value
        for name, value in values.items()
    }


def _taken(room: Room) -> set[str]:
    """Every mark that was ever given in a house."""
    house = room.house_id
    taken = set(Mark.objects.filter(house=house).values_list("text", flat=True))
    for mark, sheet in PlacedPiece.objects.filter(house=house).values_list("mark", "sheet"):
        taken |= {mark, sheet}
    taken |= set(CutSheet.objects.filter(house=house).values_list("code", flat=True))
    taken |= set(OwnedSheet.all_objects.filter(house=house).values_list("key", flat=True))
    for data in Plan.objects.filter(house=house).values_list("data", flat=True):
        sheets = data.get("sheets", ())
        taken |= {sheet["code"] for sheet in sheets}
        taken |= {offcut["id"] for sheet in sheets for offcut in sheet["offcuts"]}
    # Other rooms' plans that do not stand yet have marks too, which a card may bear.
    for other in Room.objects.filter(house=house):
        result = pile_result_of(other)
        for pool in result.pools if result is not None else ():
            taken |= {sheet.code for sheet in pool.plan.sheets}
            taken |= {offcut.id for sheet in pool.plan.sheets for offcut in sheet.offcuts}
    return taken


def _put_back(by: By, row: CutSheet) -> None:
    """Let a sheet be one that nothing is cut of."""
    if row.owned_id is not None:
        OwnedSheet.objects.filter(pk=row.owned_id).update(cut_up=F("cut_up") - 1)
    movement, room, item = row.movement, row.room, row.item
    is_counted = row.owned_id is None and not row.uncounted
    row.delete()
    if movement is not None:
        reversal(by=by, movement=movement, note="Another sheet was used")
    if is_counted:
        match_logs(by, room, item)


def why_not_undone(piece: Piece) -> str:
    """Why the last entry of a piece cannot be undone; empty where it can."""
    row = piece.row
    if row is None or not row.told:
        return "There is no entry to undo here"
    entry: Mapping[str, Any] = row.told[-1]
    since = parse_datetime(entry["at"])
    assert since is not None
    after = Q(cut_at__gt=since) | Q(hung_at__gt=since) | Q(ended_at__gt=since)
    pile = _pile(piece.room)
    others = PlacedPiece.objects.filter(after, room__in=pile).exclude(pk=row.pk)
    other = others.filter(room=row.room, surface=row.surface).first()
    if other is not None:
        return (
            f"{other.mark} was cut, hung or taken down since on the same surface. Undo that first"
        )
    other = others.filter(sheet__in=entry["sheets"]).first()
    if other is not None:
        return f"{other.mark} was cut since from sheet {other.sheet}. Undo that first"
    for sheet in CutSheet.objects.filter(room__in=pile, code__in=entry["sheets"]):
        was = entry["sheets"][sheet.code]
        if sheet.rests != (was["rests"] if was else {}):
            return (
                f"Somebody decided on what is left of sheet {sheet.code} since. Undo that on its "
                "card first"
            )
        rests = {offcut["id"] for offcut in (sheet.data or {}).get("offcuts", ())}
        for child in CutSheet.objects.filter(room__in=pile, at__gt=since):
            if child.data is not None and child.data.get("source") in rests:
                return (
                    f"Sheet {child.code} was cut since from what is left of {sheet.code}. Undo "
                    "that first"
                )
    kept = OwnedSheet.objects.filter(house=row.house_id, key=entry["offcut"] or None).first()
    if entry["offcut"] and (kept is None or not kept.here):
        return f"The offcut {entry['offcut']} that was kept was cut or thrown away since"
    for was in entry["sheets"].values():
        if was and was["owned"]:
            owned = OwnedSheet.objects.filter(pk=was["owned"]).first()
            if owned is None or not owned.here:
                return "The offcut that the piece was cut from before was used since"
    return ""


def undo_told(*, by: By, room: Room, key: str) -> PlacedPiece | None:
    """Undo the last entry of a piece. Raises `Refused` where something was cut or hung since on
    what it changed."""
    before = written_before(by)
    if before is not None:
        return before.row if isinstance(before.row, PlacedPiece) else None
    row = _undone(by=by, room=room, key=key)
    _follow(by, room)
    return row


@recorded(TOLD)
def _undone(*, by: By, room: Room, key: str) -> PlacedPiece | None:
    piece = piece_of(room, key)
    if piece is None or piece.row is None or not piece.row.told:
        raise Refused(f"There is no entry to undo here any more. {_AGAIN}")
    if is_news("piece", piece.stands):
        raise Overtaken(f"Somebody recorded something of {piece.mark} meanwhile. {_AGAIN}")
    why_not = why_not_undone(piece)
    if why_not:
        raise Refused(why_not)
    row = piece.row
    entry = row.told[-1]
    if entry["offcut"]:
        remove(OwnedSheet.objects.get(house=row.house_id, key=entry["offcut"]))
    _sheets_as_before(by, room, entry["sheets"])
    for name, value in entry["before"].items():
        is_time = name.endswith("_at") and value is not None
        setattr(row, name, parse_datetime(value) if is_time else value)
    row.told = row.told[:-1]
    row.save()
    stays: PlacedPiece | None = row
    if entry["ticked"]:
        tick_piece(by=by, room=room, kinds=list(reversed(entry["ticked"])), item=key, done=False)
        stays = PlacedPiece.objects.filter(pk=row.pk).first()
    since = parse_datetime(entry["at"])
    assert since is not None
    for name in entry["plans"]:
        plan_stands_again(name, since=since, but=row.pk)
    if Plan.objects.filter(pk__in=entry["plans"]).exclude(state__in=STANDING).exists():
        _plans_go_around(room, entry["sheets"])
    plans_changed(room.house_id)
    return stays


def _plans_go_around(room: Room, codes: Iterable[str]) -> None:
    """Have the plan of now, which was made since, take sheets as they are cut again."""
    house, taken, pile = house_value(whole_house(room.house_id)), _taken(room), _pile(room)
    for row in CutSheet.objects.filter(room__in=pile, code__in=codes).exclude(data=None):
        cut = PlacedPiece.objects.filter(room__in=pile, sheet=row.code)
        marks = set(cut.values_list("mark", flat=True))
        row.data = write_sheet(only_cut(house, read_sheet(row.data), marks, taken, row.rests))
        row.as_planned = False
        row.save(update_fields=["data", "as_planned"])


def _sheets_as_before(by: By, room: Room, sheets: Mapping[str, Any]) -> None:
    pile = _pile(room)
    for code, was in sheets.items():
        row = _cut_sheet(pile, code)
        if was is None:
            if row is not None:
                _put_back(by, row)
            continue
        values = {name: was[name] for name in ("data", "as_planned", "rests")}
        if row is not None:
            for name, value in values.items():
                setattr(row, name, value)
            row.save()
            continue
        of = Room.objects.select_related("house").get(pk=was["room"])
        if was["owned"]:
            OwnedSheet.objects.filter(pk=was["owned"]).update(cut_up=F("cut_up") + 1)
        CutSheet.objects.create(
            house_id=room.house_id,
            room=of,
            code=code,
            item=was["item"],
            owned_id=was["owned"] or None,
            uncounted=was["uncounted"],
            at=parse_datetime(was["at"]) or timezone.now(),
            person=by.person,
            **values,
        )
        if not was["owned"] and not was["uncounted"]:
            match_logs(by, of, was["item"])
