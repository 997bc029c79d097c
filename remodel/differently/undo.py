"""The last entry of a piece undone, while nothing was cut or hung since on what it changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import F, Q
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from remodel.board.models import PlacedPiece, Plan
from remodel.board.plans import plan_stands_again
from remodel.board.rounds import STANDING
from remodel.board.services import plans_changed
from remodel.bridge import house_value
from remodel.bridge.placed import (
    read_sheet,
    write_sheet,
)
from remodel.bridge.told import (
    only_cut,
)
from remodel.differently.entries import (
    AGAIN,
    cut_sheet_of,
    follow,
    pile_of,
    put_back,
    taken_marks,
)
from remodel.differently.pieces import Piece, piece_of
from remodel.history.errors import Overtaken, Refused
from remodel.history.services import By, is_news, recorded, remove, written_before
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.supply.ledger import match_logs
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.ticks import TOLD, tick_piece

__all__ = ["undo_told", "why_not_undone"]


def why_not_undone(piece: Piece) -> str:
    """Why the last entry of a piece cannot be undone; empty where it can."""
    row = piece.row
    if row is None or not row.told:
        return "There is no entry to undo here"
    entry: Mapping[str, Any] = row.told[-1]
    since = parse_datetime(entry["at"])
    assert since is not None
    after = Q(cut_at__gt=since) | Q(hung_at__gt=since) | Q(ended_at__gt=since)
    pile = pile_of(piece.room)
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
    follow(by, room)
    return row


@recorded(TOLD)
def _undone(*, by: By, room: Room, key: str) -> PlacedPiece | None:
    piece = piece_of(room, key)
    if piece is None or piece.row is None or not piece.row.told:
        raise Refused(f"There is no entry to undo here any more. {AGAIN}")
    if is_news("piece", piece.stands):
        raise Overtaken(f"Somebody recorded something of {piece.mark} meanwhile. {AGAIN}")
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
    house, taken, pile = house_value(whole_house(room.house_id)), taken_marks(room), pile_of(room)
    for row in CutSheet.objects.filter(room__in=pile, code__in=codes).exclude(data=None):
        cut = PlacedPiece.objects.filter(room__in=pile, sheet=row.code)
        marks = set(cut.values_list("mark", flat=True))
        row.data = write_sheet(only_cut(house, read_sheet(row.data), marks, taken, row.rests))
        row.as_planned = False
        row.save(update_fields=["data", "as_planned"])


def _sheets_as_before(by: By, room: Room, sheets: Mapping[str, Any]) -> None:
    pile = pile_of(room)
    for code, was in sheets.items():
        row = cut_sheet_of(pile, code)
        if was is None:
            if row is not None:
                put_back(by, row)
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
