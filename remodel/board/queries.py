"""Stored results as values; nothing here works anything out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from remodel.board.models import Figures, Mark, PlacedPiece, Plan, Result, RoomResult, SearchJob
from remodel.bridge import codec
from remodel.bridge.piles import engine_version
from remodel.bridge.sheet_lists import PlannedFrom, planned_from
from remodel.bridge.takes import RoomTakes, read_takes
from remodel.bridge.views import PileResult, PlanSummary, RoomSummary, RoomView
from remodel.history.models import Change
from remodel.house.models import House, Room
from remodel.jobs.models import worker_is_here

T = TypeVar("T")

__all__ = [
    "AmountChange",
    "Board",
    "Changes",
    "OldFigures",
    "begun_plans",
    "board_of",
    "by_number",
    "changes_of",
    "earlier_plans",
    "edit_behind",
    "ever_cut",
    "figures_are_stale",
    "head_of",
    "old_cards",
    "old_figures",
    "pile_result_of",
    "planned_offcuts",
    "retired_cards",
    "stale_houses",
    "summaries_of",
    "takes_of_house",
    "takes_of_pile",
    "takes_of_rooms",
    "view_of",
]

_FIGURES_TAKE = timedelta(minutes=2)
_NOT_SHOWN = (Plan.State.LEFT, Plan.State.FALLEN)
# Writes to any other table change no result.
RESULT_TABLES = (
    "house.",
    "supply.boardkind",
    "supply.sheetonsale",
    "supply.material",
    "supply.pack",
    "supply.ownedsheet",
    "work.addedneed",
    # What is here changes plans that do not stand yet. These tables keep no history.
    "supply.movement",
    "supply.claim",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AmountChange:
    """One need that changed. An amount is None where the need did not exist before, or exists no
    longer."""

    phase: str
    item: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What the latest change did to a room: its cost in cents, its butt seams, and each need that
    changed."""

    cost: Fraction
    joints: int
    amounts: tuple[AmountChange, ...]

    def __bool__(self) -> bool:
        return bool(self.cost or self.joints or self.amounts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """All that a room's page shows of its boards. Without `view`, `refusal` says what to fix.

    `offers` are better plans that a search found for those that stand, and `found` those that are
    used, for none stands. `earlier` are the plans, at most one a board, that were used or turned
    down before, and `begun` the boards of whose plan a piece is cut. `bounds` are those of searches
    that are done, by board and thickness; see `gap`. `pile_waits` says that the plan which the room
    shares with its pile is still to be worked out. `stale` says that the last change is not in the
    figures yet.
    """

    view: RoomView | None
    summary: RoomSummary | None
    changes: Changes | None
    refusal: str
    digest: str
    offers: tuple[Plan, ...]
    found: tuple[Plan, ...]
    earlier: tuple[Plan, ...]
    begun: frozenset[tuple[str, int]]
    standing: tuple[Plan, ...]
    searching: tuple[SearchJob, ...]
    bounds: Mapping[tuple[str, int], tuple[Fraction, str]]
    pile_waits: bool = False
    stale: bool = False

    def gap(self, plan: PlanSummary) -> tuple[Fraction, str]:
        """How far a plan is at most from the best possible, as a share of its cost, and what that
        rests on.

        A search that is done may have proved a better bound than the plan was stored with.
        """
        proven = self.bounds.get((plan.board, plan.thickness))
        if proven is None or proven[0] <= plan.bound:
            return plan.gap, plan.basis
        return max(Fraction(0), (plan.value - proven[0]) / plan.value) if plan.value else Fraction(
            0
        ), proven[1]


def view_of(room: Room) -> RoomView | None:
    """The room as it was worked out and stored on write; None where it could not be worked out."""
    return _view(RoomResult.objects.filter(room=room).first(), room)


def board_of(room: Room) -> Board:
    """Everything stored of a room's boards, in a few queries; `head` rooms hold the plans of their
    pile."""
    stored = RoomResult.objects.filter(room=room).first()
    view = _view(stored, room)
    head = {"room__house": room.house_id, "room__key": view.head} if view else {"room": room}
    jobs = list(
        SearchJob.objects.filter(**head, state__in=("waiting", "running", "done")).order_by(
            "queued_at"
        )
    )
    pools = {(plan.board, plan.thickness, plan.digest) for plan in view.plans} if view else set()
    plans = list(Plan.objects.filter(**head).exclude(state__in=_NOT_SHOWN))
    standing = [plan for plan in plans if plan.state != Plan.State.PROPOSED]
    # A plan of other surfaces, prices or sheets would save nothing that is there to be saved.
    fits = [plan for plan in plans if (plan.board, plan.thickness, plan.pool) in pools]
    used = {(plan.board, plan.thickness): plan for plan in (view.plans if view else ())}
    fixed = {(plan.board, plan.thickness) for plan in standing}
    cut = begun_plans(room.house_id) if standing else frozenset()
    begun = {(plan.board, plan.thickness) for plan in standing if plan.pk in cut}
    better = [plan for plan in fits if plan.state == Plan.State.PROPOSED]
    return Board(
        view=view,
        summary=_summary(stored.summary) if stored else None,
        changes=changes_of(stored) if stored else None,
        refusal=stored.refusal if stored else "",
        digest=stored.digest if stored else "",
        offers=tuple(
            plan
            for plan in better
            for key in [(plan.board, plan.thickness)]
            if key in fixed - begun and Fraction(plan.total) < used[key].value
        ),
        found=tuple(plan for plan in better if (plan.board, plan.thickness) not in fixed),
        earlier=tuple(
            plan
            for plan in earlier_plans(head)
            if (plan.board, plan.thickness) in used.keys() - begun
        ),
        begun=frozenset(begun),
        standing=tuple(standing),
        searching=tuple(job for job in jobs if job.state != SearchJob.State.DONE),
        bounds={
            (job.board, job.thickness): (Fraction(job.bound), job.basis)
            for job in jobs
            if job.bound and (job.board, job.thickness, job.pool) in pools
        },
        pile_waits=bool(stored and stored.pile_waits),
        stale=figures_are_stale(room.house_id),
    )


def earlier_plans(head: Mapping[str, Any]) -> list[Plan]:
    """The last plan of each board that was given up or turned down, of the head room that the
    filter `head` names."""
    last: dict[tuple[str, int], Plan] = {}
    for plan in (
        Plan.objects.filter(**head, state=Plan.State.LEFT)
        .order_by("-state_at")
        .defer("data", "shapes")
    ):
        last.setdefault((plan.board, plan.thickness), plan)
    return list(last.values())


def edit_behind(plan: Plan) -> UUID | None:
    """The write that made a plan fall in whose place this one was made, so that it can be undone;
    None where that is not known or was undone already."""
    tables = Q()
    for table in RESULT_TABLES:
        tables |= Q(model__startswith=table)
    edits = Change.objects.filter(tables, house=plan.house_id, at__lte=plan.made_at)
    edit = edits.order_by("-id").values_list("group", "at").first()
    # Much earlier it was something that has no history: a sheet that broke, or one that was cut.
    if (
        plan.instead_of is None
        or plan.instead_of.anew
        or edit is None
        or edit[1] < plan.made_at - _FIGURES_TAKE
    ):
        return None
    return None if Change.objects.filter(undoes=edit[0]).exists() else edit[0]


def summaries_of(house: House) -> dict[str, RoomSummary]:
    """Every room's summary by the room's key, in one query. Rooms that could not be worked out are
    left out."""
    summaries = RoomResult.objects.filter(room__house=house, room__deleted_at=None).order_by(
        "room__position"
    )
    return {
        summary.key: summary
        for raw in summaries.values_list("summary", flat=True)
        if (summary := _summary(raw)) is not None
    }


def takes_of_house(house_id: UUID) -> dict[UUID, RoomTakes]:
    """What the ticks of each room of a house use up, by the room, in one query. Rooms that could
    not be worked out are left out."""
    stored = RoomResult.objects.filter(room__house=house_id, room__deleted_at=None).order_by(
        "room__position"
    )
    return {room: read_takes(raw) for room, raw in stored.values_list("room", "takes") if raw}


def takes_of_rooms(rooms: QuerySet[Room]) -> dict[UUID, RoomTakes]:
    """What the ticks of some rooms use up, by the room, in one query. Rooms that could not be
    worked out are left out."""
    stored = RoomResult.objects.filter(room__in=rooms)
    return {room: read_takes(raw) for room, raw in stored.values_list("room", "takes") if raw}


def takes_of_pile(room: Room) -> dict[UUID, RoomTakes]:
    """What the ticks of the rooms in a room's pile use up, by the room, in two queries; empty where
    the room could not be worked out."""
    digest = RoomResult.objects.filter(room=room).values_list("digest", flat=True).first()
    if not digest:
        return {}
    stored = RoomResult.objects.filter(
        room__house=room.house_id, room__deleted_at=None, digest=digest
    )
    return {key: read_takes(raw) for key, raw in stored.values_list("room", "takes") if raw}


def summary_of(room: Room) -> RoomSummary | None:
    """The summary of a room fetched with its result (see `house.queries.rooms_of`)."""
    stored = getattr(room, "result", None)
    return _summary(stored.summary) if stored else None


def changes_of(stored: RoomResult) -> Changes | None:
    """What the latest change did to the room; None where there is no earlier result to compare
    with."""
    before, after = _summary(stored.before), _summary(stored.summary)
    if before is None or after is None:
        return None
    then = {(phase, item): amount for phase, item, amount in before.amounts}
    now = {(phase, item): amount for phase, item, amount in after.amounts}
    return Changes(
        cost=after.cost - before.cost,
        joints=after.joints - before.joints,
        amounts=tuple(
            AmountChange(phase=key[0], item=key[1], before=then.get(key), after=now.get(key))
            for key in dict.fromkeys([*then, *now])
            if then.get(key) != now.get(key)
        ),
    )


def stale_houses() -> QuerySet[House]:
    """Houses whose stored results do not hold the last change, each with the time of that change as
    `changed_at`.

    A house is stale where a process ended between a write and its figures, or where the engine has
    another version now.
    """
    tables = Q()
    for table in RESULT_TABLES:
        tables |= Q(model__startswith=table)
    last = Change.objects.filter(tables, house=OuterRef("pk")).order_by("-id")
    behind = Q(figures__change__lt=F("changed")) | Q(figures__change__lt=0)
    other_engine = ~Q(figures__version=engine_version())
    houses: QuerySet[House] = House.objects.annotate(
        changed=Subquery(last.values("id")[:1]), changed_at=Subquery(last.values("at")[:1])
    ).filter(Q(figures=None) | behind | other_engine)
    return houses


def figures_are_stale(house: UUID) -> bool:
    """Whether the last change of a house is not in its figures yet."""
    return stale_houses().filter(pk=house).exists()


@dataclass(frozen=True, slots=True)
class OldFigures:
    """A house whose figures are of before its last change: `done` of `of` rooms have new ones
    already. Both are 0 where nobody has counted yet."""

    done: int
    of: int
    worker_here: bool


def old_figures(house: UUID) -> OldFigures | None:
    """How far the figures of a house are behind; None where they are of now."""
    if not figures_are_stale(house):
        return None
    counted = Figures.objects.filter(
        house=house, state__in=(Figures.State.WAITING, Figures.State.RUNNING)
    )
    done, of = counted.values_list("rooms_done", "rooms").first() or (0, 0)
    return OldFigures(done=done, of=of, worker_here=worker_is_here())


def head_of(room: Room) -> Room:
    """The room that holds the plans of this room's pile; the room itself where it could not be
    worked out."""
    key = RoomResult.objects.filter(room=room).values_list("summary__head", flat=True).first()
    return Room.objects.filter(house=room.house_id, key=key or room.key).first() or room


def retired_cards(room: Room) -> list[str]:
    """The sheets of a room whose cards are to be thrown away: no plan that stands has them, nothing
    of them is cut, and nobody said that they were thrown away."""
    return [mark.text for mark in old_cards(room.house_id) if mark.room_id == room.pk]


def old_cards(house: UUID, *, thrown: bool = False) -> list[Mark]:
    """The marks of all sheets of a house whose cards are to be thrown away, in three queries; with
    `thrown` also of those that somebody threw away."""
    marks = Mark.objects.filter(house=house, retired_at__isnull=False, plan__isnull=False)
    if not thrown:
        marks = marks.filter(thrown_at=None)
    cut = Room.objects.filter(house=house, cut_sheets__isnull=False)
    begun = set(cut.values_list("pk", "cut_sheets__code"))
    rows = [mark for mark in marks.select_related("room") if (mark.room_id, mark.text) not in begun]
    plans = Plan.objects.filter(pk__in={mark.plan_id for mark in rows})
    codes = {
        pk: {sheet["code"] for sheet in sheets or ()}
        for pk, sheets in plans.values_list("pk", "data__sheets")
    }
    old = [mark for mark in rows if mark.plan_id and mark.text in codes[mark.plan_id]]
    return sorted(old, key=lambda mark: (mark.room.position, mark.room.key, by_number(mark.text)))


def by_number(mark: str) -> list[tuple[int, int, str]]:
    """What marks are sorted by, so that K10 comes after K9."""
    parts = re.findall(r"\d+|\D+", mark)
    return [(0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts]


def planned_offcuts(house: UUID) -> dict[str, list[PlannedFrom]]:
    """What the plans of a house cut out of offcuts, by the mark of the offcut, in at most two
    queries. Sheets that are begun are left out: their offcut is cut up."""
    stored = RoomResult.objects.filter(
        room__house=house, room__deleted_at=None, sheets__isnull=False
    ).values_list("sheets", "summary__plans")
    found = [one for sheets, plans in stored for one in planned_from(sheets, plans)]
    planned: dict[str, list[PlannedFrom]] = {}
    if found:
        cut = Room.objects.filter(house=house, cut_sheets__isnull=False)
        begun = set(cut.values_list("key", "cut_sheets__code"))
        for one in found:
            if (one.room_key, one.sheet) not in begun:
                planned.setdefault(one.source, []).append(one)
    return planned


def begun_plans(house: UUID) -> frozenset[UUID]:
    """The plans of a house that a piece is cut of, or that go on with a sheet which is begun: of
    its pieces none may be in its place any more."""
    begun = set(PlacedPiece.objects.filter(house=house).values_list("room", "mark"))
    cut = Room.objects.filter(house=house, cut_sheets__isnull=False)
    begun |= set(cut.values_list("pk", "cut_sheets__code"))
    if not begun:
        return frozenset()
    marks = Mark.objects.filter(
        house=house, text__in={mark for _, mark in begun}, plan__isnull=False
    )
    return frozenset(
        mark.plan_id for mark in marks if mark.plan_id and (mark.room_id, mark.text) in begun
    )


def ever_cut(house: UUID) -> frozenset[str]:
    """The marks of all pieces of a house that were ever cut, whatever became of them."""
    return frozenset(PlacedPiece.objects.filter(house=house).values_list("mark", flat=True))


def pile_result_of(room: Room) -> PileResult | None:
    """The stored result of the room's whole pile; None where there is none, or one of an older
    shape, which is worked out again soon."""
    digest = RoomResult.objects.filter(room=room).values_list("digest", flat=True).first()
    data = Result.objects.filter(digest=digest or "").values_list("data", flat=True).first()
    return _read(PileResult, data)


def _view(stored: RoomResult | None, room: Room) -> RoomView | None:
    if stored is None or not stored.digest:
        return None
    data = Result.objects.filter(digest=stored.digest).values_list("data", flat=True).first()
    if data is None:
        return None
    raw = next((view for view in data["views"] if view["key"] == room.key), None)
    return _read(RoomView, raw)


def _summary(raw: Any) -> RoomSummary | None:
    return _read(RoomSummary, raw)


def _read(kind: type[T], raw: Any) -> T | None:
    """A stored value; None where there is none or where it has an older shape, since results are a
    cache that may be dropped."""
    if raw is None:
        return None
    try:
        value: T = codec.read(kind, raw)
    except (KeyError, TypeError, ValueError):
        return None
    return value
