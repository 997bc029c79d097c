"""What the jobs of a house still take: what the plans say, less what ticks say is in place."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from uuid import UUID

from remodel.bridge.takes import PiecePlace, RoomTakes, Take
from remodel.cards.models import COATS, DoneMark
from remodel.house.models import House
from remodel.supply.models import CutSheet
from remodel.work.models import Phase, PhaseState

__all__ = ["InPlace", "Job", "JobNeed", "in_place_of", "jobs_of", "remaining_needs", "whole_needs"]

_PHASES = ("framing", "partitions", "hanging", "taping", "finishing")


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
        return f"{self.room_name}, {self.name.lower()}"


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
    """What is in place in a house: pieces that hang, as (room key, piece key) and by plan; coats,
    as (room id, coat, surface); sheets that are cut, as (room id, plan, code)."""

    hung: frozenset[tuple[str, str, str]]
    covered: frozenset[tuple[str, str]]
    coats: frozenset[tuple[UUID, str, str]]
    cut: frozenset[tuple[UUID, str, str]]

    def hangs(self, plan: str, room_key: str, piece: str) -> bool:
        """Whether a piece of a plan hangs, or a board hung by an earlier plan is in its place."""
        return (plan, room_key, piece) in self.hung or (room_key, piece) in self.covered


def jobs_of(house: House | UUID) -> dict[UUID, Job]:
    """The jobs of a house by id, in the order of its rooms and their phases."""
    rows = (
        Phase.objects.filter(room__house=house, room__deleted_at=None)
        .filter(key__in=_PHASES)
        .order_by("room__position", "room__key", "position", "key")
        .values_list(
            "id",
            "room",
            "room__key",
            "room__name",
            "key",
            "name",
            "room__position",
            "state",
            "left_out",
            "room__finished",
        )
    )
    jobs = {}
    for id_, room, room_key, room_name, key, name, place, state, left_out, finished in rows:
        jobs[id_] = Job(
            id=id_,
            room=room,
            room_key=room_key,
            room_name=room_name,
            phase=key,
            name=name,
            place=(place, _PHASES.index(key)),
            ended=left_out or finished or state == PhaseState.DONE,
        )
    return jobs


def in_place_of(house: House | UUID, takes: Mapping[UUID, RoomTakes]) -> InPlace:
    """What ticks say is in place, in two queries."""
    marks = DoneMark.objects.filter(house=house, done=True, room__deleted_at=None).exclude(
        kind=DoneMark.Kind.STEP
    )
    hung: set[tuple[str, str, str]] = set()
    coats: set[tuple[UUID, str, str]] = set()
    old: dict[str, list[tuple[str, Sequence[int]]]] = {}
    plans = {place.plan for room in takes.values() for place in room.places}
    for kind, room, room_key, plan, item, place in marks.values_list(
        "kind", "room", "room__key", "plan", "item", "place"
    ):
        if kind in COATS:
            coats.add((room, kind, item))
        elif kind == DoneMark.Kind.HUNG:
            hung.add((plan, room_key, item))
            if plan not in plans and place:
                old.setdefault(room_key, []).append((item.rpartition(".")[0], place))
    cut = CutSheet.objects.filter(house=house).values_list("room", "plan", "code")
    covered = {
        (room.key, place.key)
        for room in takes.values()
        if room.key in old
        for place in room.places
        if _covered(place, old[room.key])
    }
    return InPlace(
        hung=frozenset(hung),
        covered=frozenset(covered),
        coats=frozenset(coats),
        cut=frozenset(cut),
    )


def _covered(place: PiecePlace, old: Collection[tuple[str, Sequence[int]]]) -> bool:
    """Whether boards hung by an earlier plan take at least half of where a piece would hang."""
    surface = place.key.rpartition(".")[0]
    left, low, right, high = place.box
    area = (right - left) * (high - low)
    taken = 0
    for on, box in old:
        if on == surface:
            wide = min(right, box[2]) - max(left, box[0])
            tall = min(high, box[3]) - max(low, box[1])
            taken += max(0, wide) * max(0, tall)
    return bool(area) and 2 * taken >= area


def remaining_needs(
    jobs: Mapping[UUID, Job], takes: Mapping[UUID, RoomTakes], place: InPlace
) -> list[JobNeed]:
    """What each job that has not ended still takes, in the order of the jobs."""
    sheets = {
        (room, sheet.plan, sheet.code): sheet
        for room, mine in takes.items()
        for sheet in mine.sheets
    }

    def in_place(room: UUID, room_key: str, take: Take) -> bool:
        if take.kind == "hung":
            return place.hangs(take.plan, room_key, take.name)
        if take.kind == "cut":
            if (room, take.plan, take.name) in place.cut:
                return True
            sheet = sheets.get((room, take.plan, take.name))
            if sheet is None or not sheet.pieces:
                return False
            return all(place.hangs(take.plan, other, piece) for other, piece in sheet.pieces)
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
