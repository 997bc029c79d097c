"""Writing down that a piece is cut, hangs, was cut wrong or was taken down."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.utils import timezone

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.bridge.placed import PlacedBoard, as_planned, pieces_in, read_board, write_board
from remodel.bridge.plans import BoardPlan, plan_from
from remodel.history.services import By
from remodel.house.models import Room

__all__ = ["Placing", "boards_here", "piece_key", "split_key"]


def piece_key(surface: str, mark: str) -> str:
    """The key of a piece in its room: that of its surface there, and its mark."""
    return f"{surface}.{mark}" if surface else mark


def split_key(key: str) -> tuple[str, str]:
    """The key of the surface and the mark that a piece's key says."""
    surface, _, mark = key.rpartition(".")
    return surface, mark


class Placing:
    """The pieces of some rooms that one press ticks as cut or hung, or takes back.

    A piece lies where the last plan that had its mark has it. Where that plan fell since, the board
    is there all the same: it is placed `off_plan`, and what is planned has to go around it. What is
    said of such a piece later, and of one that a plan was made around, changes plans as well.
    """

    def __init__(self, by: By, rooms: Iterable[Room], pieces: Collection[tuple[UUID, str]]) -> None:
        """`pieces` are those of the press, as (room id, piece key)."""
        self._by = by
        self._rooms = {room.pk: room for room in rooms}
        marks = {split_key(key)[1] for _, key in pieces}
        self._rows = {
            (row.room_id, piece_key(row.surface, row.mark)): row
            for row in PlacedPiece.objects.filter(room__in=self._rooms)
        }
        self._plans: dict[tuple[UUID, str], Plan] = {
            (mark.room_id, mark.text): mark.plan
            for mark in Mark.objects.filter(room__in=self._rooms, text__in=marks).select_related(
                "plan"
            )
            if mark.plan is not None
        }
        self._read: dict[UUID, BoardPlan] = {}
        self.off_plan = False

    def plan_of(self, room: UUID, key: str) -> BoardPlan | None:
        """The last plan that had a piece, read once; None where none is known."""
        row = self._plans.get((room, split_key(key)[1]))
        if row is None:
            return None
        if row.pk not in self._read:
            self._read[row.pk] = plan_from(row.data)
        return self._read[row.pk]

    def is_open(self, room: UUID, key: str) -> bool:
        """Whether a piece may be cut or hung: it was neither cut wrong nor taken down."""
        row = self._rows.get((room, key))
        return row is None or row.state in PlacedPiece.HERE

    def is_told(self, room: UUID, key: str) -> bool:
        """Whether somebody told that a piece hangs differently, or was cut wrong or taken down."""
        row = self._rows.get((room, key))
        return row is not None and bool(row.told)

    def place(self, pieces: Iterable[tuple[UUID, str]], *, hung: bool, now: datetime) -> None:
        """Write down that pieces are cut, or that they hang."""
        new = [piece for piece in dict.fromkeys(pieces) if piece not in self._rows]
        places = self.places_of(new)
        made = []
        for room, key in new:
            surface, mark = split_key(key)
            plan = self._plans.get((room, mark))
            lies = plan is None or plan.state not in (Plan.State.FALLEN, Plan.State.LEFT)
            self.off_plan |= not lies
            board = places.get((room, mark))
            row = PlacedPiece(
                house_id=self._rooms[room].house_id,
                room=self._rooms[room],
                mark=mark,
                surface=surface,
                sheet=self._sheet_of(room, key),
                place=write_board(board) if board is not None else None,
                as_planned=lies,
                instead_of=self._was_in_place_of(room, surface, board),
                cut_at=now,
                person=self._by.person,
            )
            self._rows[room, key] = row
            made.append(row)
        if hung:
            for piece in pieces:
                row = self._rows[piece]
                if row.state == PlacedPiece.State.CUT:
                    row.state, row.hung_at = PlacedPiece.State.HUNG, now
                    self.off_plan |= row.changes_plans
        PlacedPiece.objects.bulk_create(made)
        known = [self._rows[piece] for piece in pieces if self._rows[piece] not in made]
        PlacedPiece.objects.bulk_update(known, ["state", "hung_at"])

    def _was_in_place_of(self, room: UUID, surface: str, board: PlacedBoard | None) -> str:
        """The mark of the piece that was cut wrong or taken down where a board goes: the last one,
        where there were several."""
        there = [
            row
            for (of, _), row in self._rows.items()
            if (of, row.surface) == (room, surface)
            and row.state not in PlacedPiece.HERE
            and row.place is not None
            and board is not None
            and _overlap(read_board(row.place), board)
        ]
        last = max(there, key=lambda row: (row.ended_at or row.cut_at, row.mark), default=None)
        return last.mark if last is not None else ""

    def _sheet_of(self, room: UUID, key: str) -> str:
        plan = self.plan_of(room, key)
        return pieces_in(plan).get(split_key(key)[1], ("", "", ""))[2] if plan else ""

    def places_of(
        self, pieces: Collection[tuple[UUID, str]]
    ) -> Mapping[tuple[UUID, str], PlacedBoard]:
        """Where new pieces lie, by room and mark."""
        already = [
            read_board(row.place)
            for row in self._rows.values()
            if row.place is not None and row.state in PlacedPiece.HERE
        ]
        wanted: dict[UUID, set[str]] = {}
        rooms: dict[str, UUID] = {room.key: room.pk for room in self._rooms.values()}
        for room, key in pieces:
            plan = self._plans.get((room, split_key(key)[1]))
            if plan is not None:
                self.plan_of(room, key)
                wanted.setdefault(plan.pk, set()).add(split_key(key)[1])
        shapes = {plan.pk: plan.shapes for plan in self._plans.values()}
        places = {}
        for plan_id, marks in wanted.items():
            boards = as_planned(self._read[plan_id], shapes[plan_id], marks, already)
            for mark, board in boards.items():
                room_key = board.surface.partition("/")[0]
                if room_key in rooms:
                    places[rooms[room_key], mark] = board
        return places

    def take_down(self, room: UUID, key: str) -> None:
        """Take back that a piece hangs: it is cut, and nothing more."""
        row = self._rows.get((room, key))
        if row is not None and row.state == PlacedPiece.State.HUNG:
            row.state, row.hung_at = PlacedPiece.State.CUT, None
            self.off_plan |= row.changes_plans
            row.save(update_fields=["state", "hung_at"])

    def take_back(self, room: UUID, key: str) -> None:
        """Take back that a piece was cut."""
        row = self._rows.pop((room, key), None)
        if row is not None:
            self.off_plan |= row.changes_plans
            row.delete()


def boards_here(rooms: Collection[Room]) -> list[tuple[PlacedPiece, PlacedBoard]]:
    """The pieces that are cut or hang in some rooms, each with where it lies. One that was ticked
    before places were kept lies as the last plan that had it says."""
    pieces = [
        piece
        for piece in PlacedPiece.objects.filter(room__in=rooms, state__in=PlacedPiece.HERE)
        if piece.surface
    ]
    unknown = [(p.room_id, piece_key(p.surface, p.mark)) for p in pieces if p.place is None]
    known = Placing(By(), rooms, unknown).places_of(unknown) if unknown else {}
    found = []
    for piece in pieces:
        if piece.place is not None:
            found.append((piece, read_board(piece.place)))
        elif (piece.room_id, piece.mark) in known:
            found.append((piece, known[piece.room_id, piece.mark]))
    return found


def _overlap(one: PlacedBoard, other: PlacedBoard) -> bool:
    """Whether two boards of a surface share more of it than half of the smaller one."""
    if one.rows_run != other.rows_run:
        return False
    along = min(one.end, other.end) - max(one.start, other.start)
    square = min(one.high, other.high) - max(one.low, other.low)
    smaller = min((of.end - of.start) * (of.high - of.low) for of in (one, other))
    return along > 0 and square > 0 and 2 * along * square > smaller


def ended(row: PlacedPiece, state: str, note: str = "") -> PlacedPiece:
    """Write down that a piece is no longer in its place."""
    row.state, row.ended_at, row.note = state, timezone.now(), note
    row.save(update_fields=["state", "ended_at", "note"])
    return row
