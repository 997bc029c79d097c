"""Edits that go against boards that are cut or hang: they ask before they are saved.

saved = save_against(room, write, by=by, answer=answer, shown=shown)
if isinstance(saved, Asked):
    ...  # nothing is saved yet: ask what to do with the boards
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from django.db import transaction
from django.db.models import Q

from remodel.board.models import PlacedPiece
from remodel.board.placed import boards_here, piece_key
from remodel.board.queries import figures_are_stale, head_of, pile_result_of
from remodel.board.services import bring_up_to_date
from remodel.board.trying import Trial, trial_of
from remodel.bridge.against import (
    Clash,
    Follows,
    Surfaces,
    clash_text,
    clashes_of,
    surfaces_of,
    together,
    what_follows,
)
from remodel.bridge.lengths import TakeoffError
from remodel.differently import taken_down_for_edit
from remodel.history.services import By, Telling, tell_later
from remodel.history.turns import write_turn
from remodel.house.models import House, Room
from remodel.house.queries import house_with_pile, whole_house

__all__ = ["Answer", "Asked", "PieceAsked", "save_against"]

Written = TypeVar("Written")


class Answer(StrEnum):
    """What a person says to an edit against boards: they stay (and are cut where they hang, where
    that is what the edit needs), or they are taken down."""

    KEEP = "keep"
    DOWN = "down"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceAsked:
    """A piece that an edit touches, the surface it is on, and what the edit has against it."""

    piece: PlacedPiece
    surface: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """An edit that was not saved, because it goes against boards that are cut or hang.

    `can_be_cut` says that all it needs is cut into the boards where they hang. `kept` and `down`
    are what follows where they stay and where they are taken down; None where that is worked out
    only later, or not at all. `refusal` says why not.
    """

    pieces: tuple[PieceAsked, ...]
    can_be_cut: bool
    kept: Follows | None
    down: Follows | None
    refusal: str = ""


def save_against(
    where: House | Room,
    write: Callable[[], Written],
    *,
    by: By,
    answer: str = "",
    shown: Collection[str] = (),
) -> Written | Asked:
    """Do a write that may go against boards of a room's pile, or of any room of a house.

    Where it does, nothing is saved before there is an `answer`. `shown` are the ids of the pieces
    that the answer was given for: where the write touches another one by now, it asks anew. A write
    in rooms where nothing is cut costs one query more. Raises what the write raises.
    """
    rooms = _rooms_with_boards(where)
    if not rooms:
        return write()
    with write_turn(), tell_later() as telling:
        saving = _Saving(where, rooms)
        written = write()
        clashes = saving.clashes()
        touched = {str(piece.pk) for piece in saving.touched(clashes)}
        if touched and (answer not in tuple(Answer) or not touched <= set(shown)):
            asked = saving.ask(by, clashes, telling)
            transaction.set_rollback(True)
            return asked
        # A piece that is taken down already is no longer here: the same press twice does it once.
        down = saving.named(shown) if answer == Answer.DOWN else []
        for piece in down:
            key = piece_key(piece.surface, piece.mark)
            taken_down_for_edit(by=by, room=piece.room, key=key)
    telling.tell()
    house = rooms[0].house_id
    if down and figures_are_stale(house):
        bring_up_to_date(house, {room.pk for room in rooms})
    return written


def _rooms_with_boards(where: House | Room) -> list[Room]:
    """The rooms of a house, or of the pile of a room, in which anything is cut or hangs."""
    rooms = Room.objects.filter(placed_pieces__state__in=PlacedPiece.HERE)
    if isinstance(where, House):
        rooms = rooms.filter(house=where)
    else:
        head = where.behind.room_id if where.behind else where.pk
        rooms = rooms.filter(Q(pk=head) | Q(behind__room=head))
    return list(rooms.select_related("behind").distinct())


class _Saving:
    """A write between its first row and its last: the boards and surfaces before it, and what it
    has against them."""

    def __init__(self, where: House | Room, rooms: Sequence[Room]) -> None:
        self._rooms = rooms
        self._head = where.behind.room if isinstance(where, Room) and where.behind else where
        self._here = boards_here(rooms)
        self._before = self._surfaces()
        self._after: Surfaces | None = None

    def _surfaces(self) -> Surfaces | None:
        # Of a room that the write removed nothing is left.
        house = (
            whole_house(self._head.pk)
            if isinstance(self._head, House)
            else house_with_pile(self._head)
        )
        try:
            return surfaces_of(house)
        except TakeoffError:
            return None

    def clashes(self) -> tuple[Clash, ...]:
        """What the write has against the boards, now that it is done; nothing where the rooms could
        not be built before or after it."""
        self._after = self._surfaces()
        if self._before is None or self._after is None:
            return ()
        return clashes_of([board for _, board in self._here], self._before, self._after)

    def touched(self, clashes: Collection[Clash]) -> list[PlacedPiece]:
        of = {(clash.surface, clash.mark) for clash in clashes}
        return [piece for piece, board in self._here if (board.surface, board.mark) in of]

    def named(self, shown: Collection[str]) -> list[PlacedPiece]:
        return [piece for piece, _ in self._here if str(piece.pk) in shown]

    def ask(self, by: By, clashes: Sequence[Clash], telling: Telling) -> Asked:
        """What is to be asked. Both answers are worked out inside the transaction that is rolled
        back after."""
        touched = self.touched(clashes)
        units = self._rooms[0].house.units
        kept, down, refusal = self._both_ways(by, touched, telling)
        return Asked(
            pieces=tuple(self._piece(piece, clashes, units) for piece in touched),
            can_be_cut=all(clash.kind.can_be_cut for clash in clashes),
            kept=kept,
            down=down,
            refusal=refusal,
        )

    def _piece(self, piece: PlacedPiece, clashes: Sequence[Clash], units: str) -> PieceAsked:
        surface = next(board.surface for mine, board in self._here if mine.pk == piece.pk)
        framed = ((self._after or {}) | (self._before or {}))[surface]
        why = (
            clash_text(clash, units)
            for clash in clashes
            if (clash.surface, clash.mark) == (surface, piece.mark)
        )
        return PieceAsked(piece=piece, surface=framed.surface.name, why=tuple(dict.fromkeys(why)))

    def _both_ways(
        self, by: By, touched: Sequence[PlacedPiece], telling: Telling
    ) -> tuple[Follows | None, Follows | None, str]:
        heads = {head.pk: head for piece in touched for head in [head_of(piece.room)]}
        before = {pk: pile_result_of(head) for pk, head in heads.items()}
        telling.tell()
        kept = {pk: trial_of(head, before[pk]) for pk, head in heads.items()}
        refusal = next((trial.refusal for trial in kept.values() if trial.refusal), "")
        follows = self._follows(kept.values())  # before the plans are another once more
        for piece in touched:
            piece.refresh_from_db(fields=["state"])
            # A cut piece that lost its place by the edit alone is an offcut by now.
            if piece.state not in PlacedPiece.HERE:
                continue
            key = piece_key(piece.surface, piece.mark)
            taken_down_for_edit(by=by, room=piece.room, key=key)
        house = self._rooms[0].house_id
        bring_up_to_date(house, {room.pk for room in self._rooms})
        down = self._follows([trial_of(head, before[pk]) for pk, head in heads.items()])
        return follows, down, refusal

    def _follows(self, trials: Iterable[Trial]) -> Follows | None:
        """What follows in all piles; None where one of them could not be worked out now."""
        if figures_are_stale(self._rooms[0].house_id):
            return None  # the worker works them out
        placed = {board.mark for _, board in self._here}
        each = []
        for trial in trials:
            if trial.before is None or trial.after is None or trial.refusal:
                return None
            each.append(what_follows(trial.before, trial.after, placed))
        return together(each)
