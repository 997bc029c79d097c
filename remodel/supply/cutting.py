"""Sheets that are cut, between the ticks that say so and the logs that tell of them too."""

from __future__ import annotations

from django.db.models import F, Sum

from remodel.bridge.lengths import amount
from remodel.history.services import By, recorded
from remodel.house.models import Room
from remodel.supply.ledger import move, reversal, reverse
from remodel.supply.models import CutSheet, Movement

__all__ = ["match_logs", "take_back_movement"]


@recorded("took back a movement")
def take_back_movement(*, by: By, movement: Movement, note: str = "") -> Movement:
    """Take back a movement. Where it told of sheets as used, those that ticks say are cut leave the
    stock by their ticks again."""
    taken_back = reverse(by=by, movement=movement, note=note)
    if movement.room is not None and movement.phase == "hanging":
        match_logs(by, movement.room, movement.item)
    return taken_back


def match_logs(by: By, room: Room, item: str) -> None:
    """Let each sheet that is cut in a room leave the stock once.

    A log of a job replaces what its ticks say: sheets of a size that a log of hanging tells as used
    are those that ticks say are cut, as far as there are so many. Those have no movement of their
    own; all others have.
    """
    told = (
        Movement.objects.filter(
            room=room,
            phase="hanging",
            item=item,
            kind=Movement.Kind.USED,
            count=False,
            reverses=None,
            reversed_by=None,
        ).aggregate(pieces=Sum(F("numerator") * F("pieces")))["pieces"]
        or 0
    )
    sheets = list(
        CutSheet.objects.filter(room=room, item=item, owned=None, uncounted=False)
        .select_related("movement")
        .order_by("at", "code")
    )
    by_log = min(-told, len(sheets))
    for place, sheet in enumerate(sheets):
        if place < by_log and sheet.movement is not None:
            movement = sheet.movement
            sheet.movement = None
            sheet.save(update_fields=["movement"])
            reversal(by=by, movement=movement, note="A log tells of this sheet")
        elif place >= by_log and sheet.movement is None:
            sheet.movement = move(
                by=by,
                house=room.house,
                item=item,
                kind=Movement.Kind.CUT,
                amount=amount(1, "each"),
                room=room,
                phase="hanging",
            )
            sheet.save(update_fields=["movement"])
