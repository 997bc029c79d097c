"""What the jobs of a house still take: what the plans say, less what ticks say is in place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from uuid import UUID

from django.db.models import Q

from remodel.board.models import PlacedPiece
from remodel.board.placed import piece_key
from remodel.bridge.takes import RoomTakes, Take
from remodel.bridge.words import QUANTITY_PHASES, values
from remodel.cards.models import COATS, DoneMark
from remodel.house.models import House
from remodel.supply.models import CutSheet
from remodel.work.models import Phase, PhaseState

__all__ = ["InPlace", "Job", "JobNeed", "in_place_of", "jobs_of", "remaining_needs", "whole_needs"]

_PHASES = values(QUANTITY_PHASES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A phase of a room that may take something. `place` puts jobs in the order of the rooms and
    of their phases. An `ended` job takes nothing any more: it is done or left out."""

    id: UUID
    room: UUID
    room_key: str
    room_name: str
    phase: str
    name: str
    place: tuple[int, int]
    ended: bool

    @property
    def words(self) -> str:
        """The job as sentences name it: `Kitchen, hanging`."""
        name = self.name if self.phase not in _PHASES else self.name.lower()
        return f"{self.room_name}, {name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobNeed:
    """What one job takes of one item: an exact amount of `unit`; of what is cut, the lengths of its
    members in nanometers."""

    job: UUID
    item: str
    amount: Fraction
    unit: str
    members: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class InPlace:
    """What is in place in a house: pieces that hang, as (room key, piece key); coats, as (room id,
    coat, surface); sheets that are cut, as (room id, code)."""

    hung: frozenset[tuple[str, str]]
    coats: frozenset[tuple[UUID, str, str]]
    cut: frozenset[tuple[UUID, str]]


def jobs_of(house: House | UUID) -> dict[UUID, Job]:
    """The jobs of a house by id, in the order of its rooms and their phases."""
    rows = (
        Phase.objects.filter(room__house=house, room__deleted_at=None)
        .filter(Q(key__in=_PHASES) | Q(own=True))
        .order_by("room__position", "room__key", "position", "key")
        .values_list(
            "id",
            "room",
            "room__key",
            "room__name",
            "key",
            "name",
            "room__position",
            "position",
            "state",
            "left_out",
            "room__finished",
        )
    )
    jobs = {}
    for row in rows:
        id_, room, room_key, room_name, key, name, place, own_place, *rest = row
        state, left_out, finished = rest
        # Phases that people named come after the others, in the order they put them.
        in_room = _PHASES.index(key) if key in _PHASES else len(_PHASES) + own_place
        jobs[id_] = Job(
            id=id_,
            room=room,
            room_key=room_key,
            room_name=room_name,
            phase=key,
            name=name,
            place=(place, in_room),
            ended=bool(left_out or finished or state == PhaseState.DONE),
        )
    return jobs


def in_place_of(house: House | UUID) -> InPlace:
    """What ticks say is in place, in three queries."""
    coats = DoneMark.objects.filter(
        house=house, done=True, room__deleted_at=None, kind__in=COATS
    ).values_list("room", "kind", "item")
    hung = PlacedPiece.objects.filter(
        house=house, room__deleted_at=None, state=PlacedPiece.State.HUNG
    ).values_list("room__key", "surface", "mark")
    cut = CutSheet.objects.filter(house=house).values_list("room", "code")
    return InPlace(
        hung=frozenset((room, piece_key(surface, mark)) for room, surface, mark in hung),
        coats=frozenset(coats),
        cut=frozenset(cut),
    )


def remaining_needs(
    jobs: Mapping[UUID, Job], takes: Mapping[UUID, RoomTakes], place: InPlace
) -> list[JobNeed]:
    """What each job that has not ended still takes, in the order of the jobs."""
    sheets = {(room, sheet.code): sheet for room, mine in takes.items() for sheet in mine.sheets}

    def in_place(room: UUID, room_key: str, take: Take) -> bool:
        if take.kind == "hung":
            return (room_key, take.name) in place.hung
        if take.kind == "cut":
            if (room, take.name) in place.cut:
                return True
            # Of a board that hung before stock was kept nobody knows the sheet.
            sheet = sheets.get((room, take.name))
            return sheet is not None and bool(sheet.pieces) and set(sheet.pieces) <= place.hung
        # Sticks are needed until their job is done: the ledger keeps them whole till then.
        return not take.lengths and (room, take.kind, take.name) in place.coats

    return _needs(jobs, takes, in_place)


def whole_needs(jobs: Mapping[UUID, Job], takes: Mapping[UUID, RoomTakes]) -> list[JobNeed]:
    """What each job takes in all, ticked or not."""
    return _needs(jobs, takes, lambda room, room_key, take: False)


def _needs(
    jobs: Mapping[UUID, Job],
    takes: Mapping[UUID, RoomTakes],
    in_place: Callable[[UUID, str, Take], bool],
) -> list[JobNeed]:
    by_room: dict[UUID, list[Job]] = {}
    for job in jobs.values():
        if not job.ended:
            by_room.setdefault(job.room, []).append(job)
    needs = []
    for room, mine in by_room.items():
        room_takes = takes.get(room)
        if room_takes is None:
            continue
        ids = {job.phase: job.id for job in mine}
        amounts: dict[tuple[UUID, str], int] = {}
        units: dict[str, str] = {}
        members: dict[tuple[UUID, str], list[int]] = {}
        for take in room_takes.takes:
            id_ = ids.get(take.phase)
            if id_ is None or in_place(room, room_takes.key, take):
                continue
            key = (id_, take.item)
            amounts[key] = amounts.get(key, 0) + take.amount
            units[take.item] = take.unit
            if take.lengths:
                members.setdefault(key, []).extend(take.lengths)
        needs += [
            JobNeed(
                job=job,
                item=item,
                amount=Fraction(amount, 1000),
                unit=units[item],
                members=tuple(sorted(members.get((job, item), ()), reverse=True)),
            )
            for (job, item), amount in amounts.items()
            if amount
        ]
    return needs
