"""The marks of plans that stand, which are never given again."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from remodel.board.models import Mark, Plan
from remodel.bridge.placed import marks_in
from remodel.bridge.plans import BoardPlan
from remodel.history.turns import write_turn
from remodel.house.models import Room

__all__ = ["drop_offers", "note_marks", "retire_marks", "throw_away"]


def note_marks(row: Plan, plan: BoardPlan) -> None:
    """Note every mark of a plan that stands: none is ever given again."""
    rooms = dict(Room.objects.filter(house=row.house_id).values_list("key", "pk"))
    texts = [(rooms[key], text) for key, text in marks_in(plan) if key in rooms]
    known = {
        (mark.room_id, mark.text): mark
        for mark in Mark.objects.filter(house=row.house_id, room__in={room for room, _ in texts})
    }
    again = [known[of].pk for of in texts if of in known]
    Mark.objects.filter(pk__in=again).update(plan=row, retired_at=None, thrown_at=None)
    Mark.objects.bulk_create(
        Mark(house_id=row.house_id, room_id=room, text=text, plan=row)
        for room, text in dict.fromkeys(texts)
        if (room, text) not in known
    )


def retire_marks(row: Plan, still: Iterable[tuple[str, str]]) -> None:
    """Note that the marks of a plan are on no plan any more, but for those that are `still`."""
    keep = set(still)
    gone = [
        mark.pk
        for mark in Mark.objects.filter(plan=row, retired_at=None).select_related("room")
        if (mark.room.key, mark.text) not in keep
    ]
    Mark.objects.filter(pk__in=gone).update(retired_at=timezone.now())


def throw_away(house: UUID, marks: Iterable[UUID]) -> None:
    """Note that the cards with these marks, by their ids, were thrown away. Those that a plan that
    stands has again meanwhile are left alone."""
    with write_turn():
        old = Mark.objects.filter(house=house, pk__in=list(marks), retired_at__isnull=False)
        old.filter(thrown_at=None).update(thrown_at=timezone.now())


def drop_offers(offers: QuerySet[Plan]) -> None:
    """Forget proposed plans. One that stood before keeps its marks for good, so it is kept too."""
    for row in offers.filter(marks__isnull=False).distinct():
        row.state = Plan.State.LEFT
        row.save(update_fields=["state", "state_at"])
        retire_marks(row, [])
    offers.filter(state=Plan.State.PROPOSED).delete()
