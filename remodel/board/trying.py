"""What a write would do to the boards of a room, before anybody says yes to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction

from remodel.board.models import Plan, RoomResult
from remodel.board.queries import head_of, pile_result_of
from remodel.board.rounds import STANDING
from remodel.bridge.views import Amiss, PileResult
from remodel.house.models import Room

__all__ = ["Trial", "trial_of", "try_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """The boards of a room's pile before a write and after it. `refusal` says why nothing could be
    worked out after it, and `notes` what became of plans that fell."""

    before: PileResult | None
    after: PileResult | None
    refusal: str
    notes: tuple[str, ...]

    @property
    def new_amiss(self) -> tuple[Amiss, ...]:
        """What would be amiss of boards that hang, and is not now."""
        known = set(_amiss_of(self.before))
        return tuple(one for one in _amiss_of(self.after) if one not in known)

    @property
    def no_longer_amiss(self) -> tuple[Amiss, ...]:
        """What is amiss of boards that hang, and would not be."""
        still = set(_amiss_of(self.after))
        return tuple(one for one in _amiss_of(self.before) if one not in still)


def try_out(room: Room, write: Callable[[], object]) -> Trial:
    """Do a write, look at what became of the room's boards, and take all of it back.

    The write is done with all that follows from it, so what is told is what will be. Nobody else
    can write meanwhile, which takes as long as the room's figures do. Raises what the write raises.
    """
    before = pile_result_of(room)
    with transaction.atomic():
        write()
        trial = trial_of(room, before)
        transaction.set_rollback(True)
    return trial


def trial_of(room: Room, before: PileResult | None) -> Trial:
    """What became of the boards of a room by a write that is done, and is taken back after."""
    stored = RoomResult.objects.filter(room=room).first()
    after = pile_result_of(room)
    known = {pool.plan for pool in before.pools} if before else set()
    notes = (
        Plan.objects.filter(room=head_of(room), state__in=STANDING)
        .exclude(note="")
        .exclude(instead_of=None)
    )
    return Trial(
        before=before,
        after=after,
        refusal=stored.refusal if stored is not None else "",
        notes=tuple(
            row.note
            for row in notes
            if after is not None
            and any(
                (pool.board, pool.thickness) == (row.board, row.thickness)
                and pool.plan not in known
                for pool in after.pools
            )
        ),
    )


def _amiss_of(result: PileResult | None) -> list[Amiss]:
    return [one for view in result.views for one in view.amiss] if result else []
