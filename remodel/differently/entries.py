"""What entries are made of: the pile in which marks are one thing each, what a row holds before an
entry, and what follows a write.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F

from remodel.board.models import Mark, PlacedPiece, Plan
from remodel.board.queries import pile_result_of, takes_of_pile
from remodel.board.rounds import STANDING
from remodel.board.services import bring_up_to_date
from remodel.history.services import By
from remodel.house.models import Room
from remodel.supply.ledger import match_logs, reversal
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.ticks import plan_states_follow

__all__ = [
    "AGAIN",
    "cut_sheet_of",
    "follow",
    "pile_of",
    "put_back",
    "standing_plans",
    "state_of",
    "taken_marks",
]

_STAYS = "state place as_planned sheet instead_of note hung_at ended_at"
AGAIN = "Load the page again"


def follow(by: By, room: Room) -> None:
    """Let plans, figures and the states of plans follow a write."""
    bring_up_to_date(room.house_id, pile_of(room))
    plan_states_follow(by, room)


def pile_of(room: Room) -> set[UUID]:
    """The rooms of a room's pile: within them a mark names one piece or sheet."""
    return set(takes_of_pile(room)) | {room.pk}


def cut_sheet_of(pile: Collection[UUID], code: str) -> CutSheet | None:
    return (
        CutSheet.objects.filter(room__in=pile, code=code)
        .select_related("movement", "room__house")
        .first()
    )


def standing_plans(head: Room) -> list[UUID]:
    return list(Plan.objects.filter(room=head, state__in=STANDING).values_list("pk", flat=True))


def state_of(row: PlacedPiece) -> dict[str, Any]:
    values = {name: getattr(row, name) for name in _STAYS.split()}
    return {
        name: value.isoformat() if isinstance(value, datetime) else value
        for name, value in values.items()
    }


def taken_marks(room: Room) -> set[str]:
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


def put_back(by: By, row: CutSheet) -> None:
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
