"""What the pages of a room show: what is in hand, its boards, its needs. Each is gathered once, for
the full page and for each part that is swapped."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any
from uuid import UUID

from remodel.board import queue
from remodel.board.models import Plan
from remodel.board.queries import (
    Board,
    Changes,
    board_of,
    edit_behind,
    old_figures,
    retired_cards,
)
from remodel.bridge import codec
from remodel.bridge.heavy import heavy_sheets
from remodel.bridge.lengths import Amount, add, shown_amount
from remodel.bridge.reasons import FigureShown, Reason, figure_shown, percent
from remodel.bridge.records import rules_of
from remodel.bridge.views import NeedLine, PlanSummary, RoomView, SurfaceView
from remodel.choices import choices_of_room
from remodel.house.models import House, Partition, Room
from remodel.order_of_work import OrderOfWork, order_of
from remodel.pages.drawings import drawing_of, room_drawn
from remodel.pages.figures_table import figures_table
from remodel.pages.house.amiss import amiss_in, surfaces_with_open_pieces
from remodel.pages.house.glance import glance_at
from remodel.pages.house.stands import stands_of
from remodel.pages.money_and_hours import Cost, hours_text
from remodel.pages.next_steps import Links, StepShown, next_phase, next_shown
from remodel.pages.open_choices import ChoiceShown, choices_shown
from remodel.web.parts import Column, Table
from remodel.work.models import Note

__all__ = [
    "NeedGroup",
    "NeedShown",
    "PlanShown",
    "ReasonShown",
    "amount_text",
    "boards_context",
    "needs_context",
    "needs_shown",
    "next_steps_of",
    "now_context",
]

# how the engine tells those who write a house file by hand to record blocking
_IN_THE_FILE = "then set blocking_recorded in the house file."
_MOST_NEXT = 3
_ACCEPTED_BY = {
    "printed": "Printing accepted this plan",
    "ticked": "Marking a board as cut accepted this plan",
    "ordered": "Ordering accepted this plan",
}
_STATES = {
    "proposed": ("Proposed: it may still change. Order when you are ready; ordering accepts it."),
    "accepted": "Accepted: nothing replaces it unasked. Order its sheets when you are ready.",
    "ordered": "Ordered: nothing replaces it unasked. Cut by its cards once the sheets are here.",
    "cut": "Cut: all its pieces are cut. Hang them in the hanging order.",
    "hung": "Hung: all its pieces hang.",
}
_LEAST_GAP = Fraction(1, 1000)  # said of all that is closer
BASIS = {
    "proven": "proven",
    "to solver tolerance": "to the solver's tolerance",
}
# A bound by area alone says so little that nobody is told of it.
UNKNOWN = "area"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonShown:
    """One line of a need's reasons. `figures` names the trade figures it rests on, which stand with
    the need."""

    text: str
    amount: str
    figures: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedShown:
    """A need with its reasons surface by surface, the sum of each surface, and every trade figure
    once. `stands` says how far it is met, where anything of it is bought or in place."""

    line: NeedLine
    amount: str
    stands: str
    by_surface: tuple[tuple[str, str, tuple[ReasonShown, ...]], ...]
    figures: tuple[FigureShown, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedGroup:
    """The needs of one phase. `cost` is in cents, at the cheapest price of a unit and before whole
    packs."""

    key: str
    name: str
    needs: tuple[NeedShown, ...]
    cost: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanShown:
    """The plan of one kind of board: its cost, its distance from the best possible, its state, and
    a better plan on offer.

    `share` is the most it can be from the best, as a share of its cost. `cost` is what it takes,
    `saves` what the offer saves, and `was` what the plan took in whose place a better one was
    found; None where this is the first. `earlier` was used or turned down
    before, and `earlier_fits` says that it was made of the room as it is now. `undo` is the edit
    that made the plan before fall, and `before` that plan where a surface was planned anew.
    `is_begun` says that a piece is cut.
    `heavy` tells the weight of sheets of this room that are hard to lift.
    """

    plan: PlanSummary
    share: Fraction
    basis: str
    standing: Plan | None
    offer: Plan | None
    cost: Cost
    saves: Cost | None
    was: Cost | None
    earlier: Plan | None
    earlier_fits: bool
    undo: UUID | None
    before: Plan | None
    is_begun: bool
    searching: bool
    heavy: tuple[str, ...] = ()

    @property
    def is_bounded(self) -> bool:
        """Whether it is known how good the plan is."""
        return self.basis != UNKNOWN

    @property
    def how_good(self) -> str:
        """How far the plan is at most from the best possible, in a sentence."""
        if not self.is_bounded:
            return "Checking how good this is ..." if self.searching else "Not checked yet"
        if not self.share:
            proven = ", proven" if self.basis == "proven" else f" {self.basis}"
            return f"The best possible{proven}."
        return f"Within {percent(max(self.share, _LEAST_GAP))} of the best possible."

    @property
    def hours(self) -> str:
        """The hours that the plan decides."""
        return hours_text(self.cost.hours or Fraction(0))

    @property
    def took_place(self) -> Cost | None:
        """What a better plan saves which took the place of the first by itself."""
        return self.was - self.cost if self.was is not None else None

    @property
    def sentence(self) -> str:
        """How far the plan is and what comes next; then what accepted it, where that was no press
        on it."""
        because = _ACCEPTED_BY.get(self.standing.why, "") if self.standing else ""
        return f"{_STATES[self.state]} {because}." if because else _STATES[self.state]

    @property
    def earlier_saves(self) -> Cost | None:
        """What the earlier plan takes less, which may be below nothing."""
        return self.cost - self._of(self.earlier) if self.earlier else None

    def _of(self, plan: Plan) -> Cost:
        return Cost.of(Fraction(plan.total), plan.work, self.cost.hour, self.cost.currency)

    @property
    def state(self) -> str:
        return self.standing.state if self.standing else "proposed"

    @property
    def next_state(self) -> tuple[str, str] | None:
        """The state that follows, as it is stored and as a button says it."""
        steps = {
            "accepted": ("ordered", "Mark as ordered"),
            "ordered": ("cut", "Mark as cut"),
            "cut": ("hung", "Mark as hung"),
        }
        return steps.get(self.state)


def now_context(room: Room) -> dict[str, Any]:
    """The context of the page that a room opens at: the step in hand, what is next, and how far its
    plans are."""
    order = order_of(room)
    phases = sorted(room.phases.all(), key=lambda phase: phase.position)
    board = board_of(room)
    context = _of_every_part(room, board) | {
        "glance": glance_at(room, board.summary, next_phase(order, room, phases)),
        "notes": list(Note.objects.filter(room=room, phase=None).select_related("person")),
        "partitions": list(Partition.objects.filter(room=room)),
        "next_steps": next_steps_of(room, order),
        "choices": _choices(room, order),
    }
    if board.view is None:
        return context
    drawn = room_drawn(room)
    return (
        context
        | _to_know(room, board.view)
        | {
            "plans": plans_shown(board, room.house),
            "plan_drawing": drawing_of(drawn.plan, "room-plan", f"{room.name} from above")
            if drawn and drawn.plan
            else None,
        }
    )


def boards_context(room: Room) -> dict[str, Any]:
    """The context of a room's boards: plans with what people do with them, and every surface
    drawn."""
    board = board_of(room)
    context = _of_every_part(room, board)
    if board.view is None:
        return context
    drawn = room_drawn(room)
    closed = order_of(room).closed
    surfaces = {surface.key: surface for surface in board.view.surfaces}
    return (
        context
        | _changes(board, room)
        | _to_know(room, board.view)
        | {
            "plans": plans_shown(board, room.house),
            "figures": figures_table(board.view.figures, room.house)
            if board.view.figures
            else None,
            "old_cards": retired_cards(room),
            "section_drawing": drawing_of(
                drawn.section, "room-section", f"{room.name}, a section across the slope"
            )
            if drawn and drawn.section
            else None,
            "surfaces": [
                {
                    "surface": surfaces.get(surface.key),
                    "key": surface.key,
                    "name": surface.name,
                    "closed": closed.get((room.pk, surface.key)),
                    "drawing": drawing_of(
                        surface.drawn,
                        f"drawing-{surface.key}",
                        _caption(surface.name, surfaces.get(surface.key)),
                    )
                    if surface.drawn
                    else None,
                    "why_not": surface.why_not,
                    "troubles": [*surface.troubles, *_strips(surfaces.get(surface.key))],
                }
                for surface in (drawn.surfaces if drawn else ())
            ],
            "order": drawn.order if drawn else (),
            "seen": seen_mark(board),
        }
    )


def needs_context(room: Room) -> dict[str, Any]:
    """The context of what a room's phases take."""
    board = board_of(room)
    context = _of_every_part(room, board)
    if board.view is None:
        return context
    groups = needs_shown(
        board.view.needs, board.view, room.house.units, stands_of(room), _phase_names(room)
    )
    return context | {"groups": groups}


def _of_every_part(room: Room, board: Board) -> dict[str, Any]:
    return {
        "house": room.house,
        "room": room,
        "board": board,
        "view": board.view,
        "old_figures": old_figures(room.house_id) if board.stale else None,
        "worker_here": queue.worker_is_here(),
        "pile": _pile_of(room),
        "planned_with": _planned_with(room),
    }


def _changes(board: Board, room: Room) -> dict[str, Any]:
    if board.view is None:
        return {}
    shown = changes_shown(board.changes, board.view, room.house.units, _phase_names(room))
    return {"changes": shown}


def _to_know(room: Room, view: RoomView) -> dict[str, Any]:
    amiss = amiss_in(room, view)
    return {
        "warnings": [
            warning.replace(_IN_THE_FILE, "then say so on the partition's page.")
            for warning in view.warnings
        ],
        "amiss": amiss,
        "can_be_anew": surfaces_with_open_pieces(room, view) if amiss else set(),
    }


def _phase_names(room: Room) -> dict[str, str]:
    return {phase.key: phase.name for phase in room.phases.all()}


def next_steps_of(room: Room, order: OrderOfWork) -> tuple[StepShown, ...]:
    """The first steps that can start in the room, what frees most work before the others."""
    if room.finished:
        return ()
    shown = next_shown(
        order.outlook.of_room(room.key), Links(room.house, [room], room.phases.all())
    )
    return tuple(sorted(shown.now, key=lambda step: step != shown.most))[:_MOST_NEXT]


def _choices(room: Room, order: OrderOfWork) -> list[ChoiceShown]:
    """The choices about the room that are still to be made."""
    if room.finished:
        return []
    still = [one for one in choices_of_room(room, order) if not one.overtaken]
    return choices_shown(room.house, still)


def _pile_of(room: Room) -> list[Room]:
    """The rooms of this room's pile, itself included; empty where it is bought by itself."""
    head = room.behind.room if room.behind else room
    rooms = list(Room.objects.filter(house=room.house_id, pile=head.pile)) if head.pile else []
    return rooms if len(rooms) > 1 else []


def _planned_with(room: Room) -> list[Room]:
    """The rooms on the other side of this room's partitions, which are planned and cut with it
    whether or not they share sheets with others."""
    head = room.behind.room if room.behind else room
    behind = Room.objects.filter(behind__room=head).order_by("position")
    return [other for other in (head, *behind) if other.pk != room.pk]


def _strips(surface: SurfaceView | None) -> list[str]:
    """The narrow strips of the plans, told beside the drawing: a wider board may make them
    unnecessary, which is worth knowing before buying."""
    return [note.text for note in surface.notes if note.rule == "narrow_strip"] if surface else []


def seen_mark(board: Board) -> str:
    """A short mark of the plans and searches that a page shows, so that a poll swaps the page only
    where something is new."""
    return codec.digest(
        board.digest,
        board.pile_waits,
        board.stale,
        [str(plan.pk) for plan in (*board.offers, *board.found, *board.earlier)],
        [f"{plan.pk}{plan.state}{plan.note}" for plan in board.standing],
        [f"{search.pk}{search.state}" for search in board.searching],
        [f"{value} {basis}" for value, basis in board.bounds.values()],
    )[:16]


def plans_shown(board: Board, house: House) -> list[PlanShown]:
    if board.view is None:
        return []
    hour, currency = rules_of(house).hour, house.currency
    plans = []
    for plan in board.view.plans:
        key = (plan.board, plan.thickness)
        gap, basis = board.gap(plan)
        offer, found, earlier, standing = (
            _of_pool(some, key)
            for some in (board.offers, board.found, board.earlier, board.standing)
        )
        cost = Cost.of(plan.value, plan.work, hour, currency)
        was = None
        if found and found.better_than:
            before = Fraction(found.better_than), found.better_than_work
            was = Cost.of(*before, hour, currency)
        plans.append(
            PlanShown(
                plan=plan,
                share=gap,
                basis=BASIS.get(basis, basis),
                standing=standing,
                offer=offer,
                cost=cost,
                saves=cost - Cost.of(Fraction(offer.total), offer.work, hour, currency)
                if offer
                else None,
                was=was if was is not None and was.total > plan.value else None,
                earlier=earlier,
                earlier_fits=earlier is not None and earlier.pool == plan.digest,
                undo=edit_behind(standing) if standing and standing.note else None,
                before=_planned_anew(standing) if standing and standing.note else None,
                is_begun=key in board.begun,
                heavy=heavy_sheets(board.view, key, house),
                searching=any(
                    (search.board, search.thickness) == key for search in board.searching
                ),
            )
        )
    return plans


def _planned_anew(plan: Plan) -> Plan | None:
    """The plan that a person had a surface planned anew of; None where this was not made so."""
    return plan.instead_of if plan.instead_of is not None and plan.instead_of.anew else None


def _of_pool(plans: Iterable[Plan], key: tuple[str, int]) -> Plan | None:
    return next((plan for plan in plans if (plan.board, plan.thickness) == key), None)


def needs_shown(
    lines: Iterable[NeedLine],
    view: RoomView,
    units: str,
    stands: Mapping[tuple[str, str], str],
    phases: Mapping[str, str],
) -> list[NeedGroup]:
    """The needs phase by phase, with every reason and its trade figures. `stands` is of
    `stands_of`, and `phases` has the names of the room's phases by key."""
    names = {surface.id: _surface_name(surface) for surface in view.surfaces}
    groups: dict[str, list[NeedShown]] = {}
    for line in lines:
        need = _need(line, names, units, stands.get((line.phase, line.item), ""))
        groups.setdefault(line.phase, []).append(need)
    return [
        NeedGroup(
            key=key,
            name=phases.get(key, key.capitalize()),
            needs=tuple(some),
            cost=sum((need.line.cost for need in some if need.line.cost is not None), Fraction(0)),
        )
        for key, some in groups.items()
    ]


def _need(line: NeedLine, names: Mapping[str, str], units: str, stands: str) -> NeedShown:
    by_surface: dict[str, list[Reason]] = {}
    for reason in line.need.reasons:
        by_surface.setdefault(names.get(reason.surface or "", ""), []).append(reason)
    ids = dict.fromkeys(figure for reason in line.need.reasons for figure in reason.figures)
    return NeedShown(
        line=line,
        amount=amount_text(line.amount, units),
        stands=stands,
        by_surface=tuple(
            (
                surface,
                amount_text(add(*(reason.amount for reason in some)), units)
                if len(some) > 1
                else "",
                tuple(
                    ReasonShown(
                        text=reason.text,
                        amount=amount_text(reason.amount, units),
                        figures=", ".join(reason.figures),
                    )
                    for reason in some
                ),
            )
            for surface, some in by_surface.items()
        ),
        figures=tuple(
            shown for figure in ids if (shown := figure_shown(figure, units)) is not None
        ),
    )


def changes_shown(
    changes: Changes | None, view: RoomView, units: str, phases: Mapping[str, str]
) -> dict[str, Any] | None:
    """What the latest change did, for people; None where it changed nothing."""
    if not changes:
        return None
    names = {line.item: line.name for line in view.needs}

    def shown(amount: Amount | None) -> str:
        return amount_text(amount, units) if amount is not None else "none"

    rows = [
        [
            names.get(amount.item, amount.item.replace("-", " ").capitalize()),
            phases.get(amount.phase, amount.phase),
            shown(amount.before),
            shown(amount.after),
        ]
        for amount in changes.amounts
    ]
    columns = [Column(title="Material"), Column(title="Phase"), Column(title="Before", number=True)]
    return {
        "cost": round(changes.cost),
        "joints": changes.joints,
        "table": Table(
            id="what-changed",
            caption="Needs that are not what they were",
            columns=[*columns, Column(title="Now", number=True)],
            rows=rows,
            caption_hidden=True,
        )
        if rows
        else None,
    }


def amount_text(amount: Amount, units: str) -> str:
    """An amount for people. Counted things have no unit."""
    return shown_amount(amount, units).removesuffix(" each")


def _surface_name(surface: SurfaceView) -> str:
    return surface.name.partition(", ")[2] or surface.name


def _caption(name: str, surface: SurfaceView | None) -> str:
    if surface is None or not surface.pieces:
        return name
    boards = len(surface.pieces)
    seams = len(surface.joints)
    count = f"{name}: {boards} board{'s' if boards != 1 else ''}"
    if not seams:
        return f"{count}, no butt seam"
    return f"{count}, {seams} butt seam{'s' if seams != 1 else ''}"
