"""What is left of a sheet once its pieces are cut: kept as an offcut that plans may use, or
binned."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from remodel.board.queries import planned_offcuts
from remodel.bridge.cards import RestShown, SheetShown
from remodel.bridge.sheet_lists import PlannedFrom, comes_words
from remodel.cards.queries import ticked_pieces
from remodel.history.errors import Refused
from remodel.history.services import By, recorded
from remodel.house.models import Room
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.services import (
    check_waits,
    owned_sheet_add,
    owned_sheet_change,
    waits_words,
)
from remodel.ticks import DECIDED, drop_rest

__all__ = ["RestStands", "is_all_cut", "rest_decide", "rests_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestStands:
    """A rest of a sheet that is cut: whether it was kept or binned, or None where nobody decided.
    `offcut` is what was kept, and `used` says that it was cut or thrown away since. `comes` says
    what plans cut out of it."""

    rest: RestShown
    keep: bool | None
    offcut: OwnedSheet | None = None
    comes: tuple[PlannedFrom, ...] = ()

    @property
    def comes_words(self) -> str:
        return comes_words(self.comes)

    @property
    def waits_words(self) -> str:
        """Which pieces of plans that stand wait for it; empty for none."""
        waiting = [one for one in self.comes if one.stands]
        return waits_words(waiting) if waiting else ""

    @property
    def waiting(self) -> tuple[str, ...]:
        """The marks of those pieces."""
        return tuple(code for one in self.comes if one.stands for code in one.codes)

    @property
    def used(self) -> bool:
        return self.offcut is not None and not self.offcut.here


def rests_of(room: Room, sheet: SheetShown) -> list[RestStands]:
    """The rests of a sheet whose planned pieces are all cut; none before. What the plan cuts itself
    is no rest."""
    row = _cut_sheet_of(room, sheet)
    if row is None or not sheet.rests or not is_all_cut(room, sheet):
        return []
    offcuts = {
        offcut.key: offcut
        for offcut in OwnedSheet.objects.filter(
            house=room.house_id, key__in=[key for key in row.rests.values() if key]
        )
    }
    planned = planned_offcuts(room.house_id) if offcuts else {}
    stands = []
    for rest in sheet.rests:
        decided = row.rests.get(rest.code)
        if not rest.planned:
            keep = None if decided is None else bool(decided)
            stands.append(
                RestStands(
                    rest=rest,
                    keep=keep,
                    offcut=offcuts.get(decided or ""),
                    comes=tuple(planned.get(decided or "", ())),
                )
            )
    return stands


def _cut_sheet_of(room: Room, sheet: SheetShown) -> CutSheet | None:
    """The record of a sheet of the room's pile that was begun; None where nothing of it is cut."""
    return CutSheet.objects.filter(
        house=room.house_id, room__key=sheet.room_key, code=sheet.code
    ).first()


def is_all_cut(room: Room, sheet: SheetShown) -> bool:
    """Whether every planned piece of a sheet is cut, so that what is left of it is a rest."""
    return {(piece.room_key, piece.key) for piece in sheet.pieces} <= ticked_pieces(
        room.house_id, "cut"
    )


@recorded(DECIDED)
def rest_decide(
    *,
    by: By,
    room: Room,
    sheet: SheetShown,
    place: int,
    keep: bool | None,
    where: str = "",
    knowing: Collection[str] = (),
) -> None:
    """Keep a rest as an offcut, which leans at `where`, or bin it. None takes the decision back.

    Raises `Refused` where pieces of the sheet are still to be cut, where a kept offcut was used
    since, and where pieces wait for it that are not in `knowing`.
    """
    rest = next((rest for rest in sheet.rests if rest.place == place), None)
    row = _cut_sheet_of(room, sheet)
    if rest is None or rest.planned:
        raise Refused("There is no such offcut to decide on. Load the page again")
    if row is None or not is_all_cut(room, sheet):
        raise Refused(f"Tick all pieces of sheet {sheet.code} as cut first, then keep what is left")
    before = row.rests.get(rest.code)
    if keep and before:
        for kept in OwnedSheet.objects.filter(house=room.house_id, key=before):
            owned_sheet_change(by=by, sheet=kept, place=where.strip()[:80] or kept.place)
        return
    if before:
        for kept in OwnedSheet.objects.filter(house=room.house_id, key=before):
            check_waits(kept, 0, knowing)
            drop_rest(kept)
    rests = {mark: key for mark, key in row.rests.items() if mark != rest.code}
    if keep is not None:
        rests[rest.code] = _kept(by, room, sheet, rest, where) if keep else ""
    row.rests = rests
    row.save(update_fields=["rests"])


def _kept(by: By, room: Room, sheet: SheetShown, rest: RestShown, where: str) -> str:
    """Write the offcut, and give its key."""
    whole = sheet.card.sheet
    if rest.length > whole.length or rest.width > whole.width:
        raise Refused("An offcut cannot be larger than the sheet it is left of")
    owned = owned_sheet_add(
        by=by,
        house=room.house,
        board=sheet.board,
        thickness=sheet.thickness,
        width=rest.width,
        length=rest.length,
        count=1,
        mark=rest.code,
        factory_edges=rest.factory_edges,
        made_by=sheet.code,
        place=where.strip()[:80],
    )
    return str(owned.key)
