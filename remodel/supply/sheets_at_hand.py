"""What plans of boards may be made from: whole sheets that are here or on their way, and pieces
that were cut and whose place fell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from uuid import UUID

from django.db.models import F

from remodel.board.hooks import SheetsAtHand
from remodel.board.models import PlacedPiece
from remodel.bridge.placed import OwnedSheet as PlannedOffcut
from remodel.bridge.placed import Sheet, write_sheet
from remodel.bridge.supply import size_of_sheet
from remodel.house.models import House, Room
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.supply.standing import standing_of

__all__ = ["follow_renewed", "sheets_at_hand"]


def sheets_at_hand(house: House) -> SheetsAtHand:
    """The whole sheets of a house by size: those dealt to the jobs that have a claim on them, by
    the jobs' rooms, and those that are free. What is on its way counts as much as what is here."""
    standing = standing_of(house)
    held: dict[UUID, Counter[str]] = {}
    free: dict[str, int] = {}
    for item, supply in standing.supply.items():
        if size_of_sheet(item) is None or supply.here + supply.coming <= 0:
            continue
        dealt = standing.dealt(item)
        for share in dealt.shares:
            count = int(share.here + share.coming)
            if count:
                held.setdefault(standing.jobs[share.job].room, Counter())[item] += count
        rest = int(dealt.free_here + dealt.free_coming)
        if rest > 0:
            free[item] = rest
    return SheetsAtHand(held=held, free=free)


def follow_renewed(
    head: Room,
    spare: Sequence[PlannedOffcut],
    sheets: Sequence[Sheet],
    waste: Sequence[str] = (),
    returned: Sequence[str] = (),
) -> None:
    """Let the stock follow plans that were made anew: sheets that are begun are cut further as the
    new plans say, and a cut piece whose place fell is an offcut under its mark, or waste where no
    rectangle can be cut from it. One that has its place again is no offcut any more."""
    planned = {sheet.code: sheet for sheet in sheets}
    rooms = {sheet.room for sheet in sheets}
    begun = CutSheet.objects.filter(house=head.house_id, room__key__in=rooms, code__in=planned)
    for row in begun:
        row.data, row.as_planned = write_sheet(planned[row.code]), True
        row.save(update_fields=["data", "as_planned"])
    PlacedPiece.objects.filter(house=head.house_id, mark__in=waste).update(
        state=PlacedPiece.State.WASTED,
        ended_at=F("cut_at"),
        note="Its place is no more, and no rectangle is left of it",
    )
    PlacedPiece.objects.filter(house=head.house_id, mark__in=returned).update(
        state=PlacedPiece.State.CUT, ended_at=None, note=""
    )
    OwnedSheet.objects.filter(house=head.house_id, key__in=returned).delete()
    for offcut in spare:
        piece = PlacedPiece.objects.filter(house=head.house_id, mark=offcut.id).first()
        if piece is None:
            continue
        PlacedPiece.objects.filter(pk=piece.pk).update(
            state=PlacedPiece.State.SPARE, ended_at=piece.ended_at or piece.cut_at
        )
        _keep_offcut(head, offcut, made_by=piece.sheet)


def _keep_offcut(head: Room, offcut: PlannedOffcut, *, made_by: str) -> None:
    """Have an offcut be here under its mark. One that was told of and undone has a row already, and
    is here again."""
    known = OwnedSheet.all_objects.filter(house=head.house_id, key=offcut.id).first()
    if known is not None and known.deleted_at is None:
        return
    row = known or OwnedSheet(house_id=head.house_id, key=offcut.id)
    row.board, row.thickness = offcut.board, offcut.thickness
    row.width, row.length = offcut.width, offcut.length
    row.factory_edges, row.made_by = offcut.factory_edges, made_by
    row.cut_up = row.spoiled = 0
    row.deleted_at = None
    row.version += known is not None
    row.save()
