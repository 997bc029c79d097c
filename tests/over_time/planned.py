"""Random histories of a small house that is planned for real: the product's services, its database
and the engine, with all that follows from each write.

`Story` is a house and what its people do to it, chosen from a seed. `Look` is the house as it is
stored after a step, and `HOLDS` are what must hold from one look to the next.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from random import Random
from typing import Any
from uuid import UUID

import pytest

from remodel.against_hung import Answer, Asked, save_against
from remodel.board import plans as plan_services
from remodel.board import services as board_services
from remodel.board.models import Mark, PlacedPiece, Plan, RoomResult
from remodel.board.placed import piece_key, split_key
from remodel.board.queries import (
    figures_are_stale,
    head_of,
    pile_result_of,
    takes_of_house,
)
from remodel.board.rounds import STANDING, Round
from remodel.bridge import codec, house_value
from remodel.bridge.lengths import FOOT, INCH, Amount
from remodel.bridge.piles import whole_sheets
from remodel.bridge.placed import read_board, read_sheet
from remodel.bridge.plans import BoardPlan, plan_from
from remodel.bridge.supply import sheet_key, size_of_sheet
from remodel.bridge.views import PileResult, RoomView
from remodel.cards.queries import cards_for
from remodel.cards.services import cards_printed
from remodel.differently import (
    cut_wrong,
    joint_elsewhere,
    other_sheet,
    piece_of,
    sources_of,
    taken_down,
    undo_told,
)
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By, undo
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.house.services import house_set_rules, room_add, room_change, room_resize
from remodel.house.things import cutout_add, hidden_add, opening_add, surface_choice_set
from remodel.house_files.new import house_add
from remodel.rests import rest_decide, rests_of
from remodel.supply import ledger, orders
from remodel.supply.models import CutSheet, Movement, Order, OwnedSheet, SheetOnSale
from remodel.supply.services import owned_sheet_add, owned_sheet_gone, sheet_change
from remodel.supply.standing import Standing, standing_of
from remodel.ticks import Ticked, tick_all
from takeoff.boards.check import examine_plan
from takeoff.boards.hung import rests_of as rests_of_built
from takeoff.boards.plan import AsBuilt, PlacedBoard, Sheet, SurfacePlan
from takeoff.boards.spares import spare_of
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import house_geometry
from takeoff.house import House as HouseValue
from tests.remodel.factories import ada

_HERE = ("cut", "hung")
_NAMES = ("Pantry", "Den", "Entry", "Bath")
# Odd sizes; small, so that a plan of one takes a moment.
_SIZES = (
    (63 * INCH, 57 * INCH),
    (71 * INCH, 50 * INCH),
    (85 * INCH, 43 * INCH),
    (54 * INCH, 54 * INCH),
    (61 * INCH + INCH // 2, 47 * INCH + INCH // 4),
)
_METRIC_BOARD = 12_500_000
PoolOf = tuple[str, str, int]
"""A pool in a house: the key of its head room, its board and its thickness."""


@dataclass(frozen=True)
class Step:
    """Something that was done. `room` is the key of the room that it changed the shape of, or
    whose boards it moved; what is `harmless` changes no plan that stands. `same_sheets` says that
    it leaves the sheets alone as well. `let_go` are the marks of pieces that may be in their place
    no more, and `told` of those that it says lie otherwise than before. `back_to` is the look that
    it must lead back to."""

    words: str
    room: str = ""
    harmless: bool = False
    same_sheets: bool = True
    let_go: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()
    back_to: Look | None = None
    refused: str = ""

    def __str__(self) -> str:
        return self.words + (f" (refused: {self.refused})" if self.refused else "")


class Fallen:
    """What fell since it was last asked, why, and how often anything was worked out. `back` are the
    head rooms of piles whose plan before stands again."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.why: dict[str, str] = {}
        self.back: set[str] = set()
        self.worked = 0
        outcome_of = Round.outcome_of

        def watched(this: Round, given: Any) -> Any:
            self.worked += 1
            outcome = outcome_of(this, given)
            if outcome.back:
                self.back.add(given.pile.head)
            if outcome.worked is not None and outcome.worked.renewed is not None:
                for one in outcome.worked.renewed.fallen:
                    self.why[one.surface] = f"{one.rule}: {one.message}"
            return outcome

        monkeypatch.setattr(Round, "outcome_of", watched)

    def take(self) -> tuple[frozenset[str], frozenset[str]]:
        """The surfaces that fell and the piles that went back, from now on forgotten."""
        taken = frozenset(self.why), frozenset(self.back)
        self.why, self.back = {}, set()
        return taken


class Look:
    """A house as it is stored, read once."""

    def __init__(
        self,
        house: House,
        fallen: tuple[frozenset[str], frozenset[str]] = (frozenset(), frozenset()),
    ) -> None:
        self.house = House.objects.get(pk=house.pk)
        self.fallen, self.back = fallen
        self.rooms: dict[str, Room] = {room.key: room for room in house.rooms.all()}
        self.refusals: dict[str, str] = {
            stored.room.key: stored.refusal
            for stored in RoomResult.objects.filter(room__house=house).select_related("room")
        }
        self.piles: dict[str, PileResult] = {}
        for key, room in self.rooms.items():
            if head_of(room).pk == room.pk and (result := pile_result_of(room)) is not None:
                self.piles[key] = result
        self.placed = {
            row.pk: row for row in PlacedPiece.objects.filter(house=house).select_related("room")
        }
        self.plans = {row.pk: row for row in Plan.objects.filter(house=house)}
        self.marks = list(Mark.objects.filter(house=house).select_related("room"))
        self.cut = list(CutSheet.objects.filter(house=house).select_related("room", "movement"))
        self.owned = {row.key: row for row in OwnedSheet.objects.filter(house=house)}

    @cached_property
    def supply(self) -> Standing:
        return standing_of(self.house)

    @cached_property
    def views(self) -> dict[str, RoomView]:
        return {view.key: view for result in self.piles.values() for view in result.views}

    @cached_property
    def shown(self) -> dict[PoolOf, BoardPlan]:
        """The plans that are shown."""
        return {
            (head, pool.board, pool.thickness): pool.plan
            for head, result in self.piles.items()
            for pool in result.pools
        }

    @cached_property
    def standing(self) -> dict[PoolOf, Plan]:
        keys = {room.pk: key for key, room in self.rooms.items()}
        return {
            (keys[row.room_id], row.board, row.thickness): row
            for row in self.plans.values()
            if row.state in STANDING
        }

    @cached_property
    def surfaces(self) -> dict[str, SurfacePlan]:
        return {one.surface: one for plan in self.shown.values() for one in plan.surfaces}

    @cached_property
    def begun(self) -> dict[tuple[str, str], CutSheet]:
        return {(row.room.key, row.code): row for row in self.cut}

    @cached_property
    def here(self) -> list[PlacedPiece]:
        return [row for row in self.placed.values() if row.state in _HERE]

    @cached_property
    def value(self) -> HouseValue:
        return house_value(whole_house(self.house.pk))

    @cached_property
    def framed(self) -> list[FramedSurface]:
        """The surfaces as they are measured now, worked out from nothing that is stored."""
        return [
            frame(surface, self.value.rules)
            for room in house_geometry(self.value).rooms
            for surface in room.surfaces
        ]

    def boards(self) -> dict[str, tuple[str, Any]]:
        """Where every board of every plan that is shown lies, by its mark."""
        return {
            piece.code: (surface.surface, piece.outline)
            for surface in self.surfaces.values()
            for piece in surface.pieces
        }

    def stored(self) -> dict[str, Any]:
        """All that plans and marks are stored in, to be held against another look."""
        return {
            "results": sorted(
                RoomResult.objects.filter(room__house=self.house).values_list(
                    "room__key", "digest", "last_digest", "refusal"
                )
            ),
            "plans": {
                str(row.pk): (row.state, row.note, codec.digest(row.data))
                for row in Plan.objects.filter(house=self.house)
            },
            "marks": sorted(
                (mark.room_id.hex, mark.text, mark.retired_at is None)
                for mark in Mark.objects.filter(house=self.house)
            ),
            "pieces": sorted(
                (row.mark, row.state) for row in PlacedPiece.objects.filter(house=self.house)
            ),
            "offcuts": sorted(
                (row.key, row.count, row.cut_up, row.spoiled)
                for row in OwnedSheet.objects.filter(house=self.house)
            ),
        }


@dataclass
class Known:
    """What a history showed so far: the one thing that each mark names."""

    names: dict[tuple[str, str], Any] = field(default_factory=dict)
    places: dict[UUID, str] = field(default_factory=dict)


# What must hold, each told by its name and its sentence.

Hold = Callable[[Look, Look, Step, Known], Iterator[str]]


def placed_pieces_stay(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """A board that is cut or hangs stays where it is: its stored place is as it was first written,
    and the plan has it there, measured from the sides it was hung against, or says what is
    amiss."""
    for pk, row in before.placed.items():
        after = now.placed.get(pk)
        if row.state not in _HERE or row.mark in step.let_go:
            continue
        if after is None:
            yield f"{row.mark} is not placed any more"
        elif row.state == "hung" and after.state != "hung":
            yield f"{row.mark} hung, and is {after.state} now"
        elif after.state not in (*_HERE, "wasted" if _is_no_offcut(after) else "spare"):
            yield f"{row.mark} is {after.state} now"
    for row in now.here:
        if row.place is None:
            yield f"{row.mark} is placed nowhere"
            continue
        place = json.dumps(row.place, sort_keys=True)
        if row.mark in step.told:
            known.places[row.pk] = place
        if known.places.setdefault(row.pk, place) != place:
            yield f"the stored place of {row.mark} changed"
        yield from _shown_there(now, row, read_board(row.place))


def _is_no_offcut(row: PlacedPiece) -> bool:
    """Whether no rectangle is left of a cut piece."""
    return row.place is not None and not spare_of(read_board(row.place))


def _shown_there(now: Look, row: PlacedPiece, board: PlacedBoard) -> Iterator[str]:
    if now.refusals.get(row.room.key):
        return
    view = now.views[row.room.key]
    surface = next((one for one in view.surfaces if one.framed.surface.id == board.surface), None)
    if surface is None:
        yield f"{row.mark}: {board.surface} is not shown any more"
        return
    wanted = _where_it_hangs(board, surface.framed.surface.outline)
    plan = now.surfaces.get(board.surface)
    shown = {piece.code: piece for piece in plan.pieces} if plan is not None else {}
    if row.mark in shown and tuple(shown[row.mark].outline) == wanted:
        return
    said = [one for one in view.amiss if one.surface == board.surface]
    if surface.refused is not None or any(row.mark in one.message for one in said):
        return
    where = shown[row.mark].outline if row.mark in shown else "nowhere"
    yield f"{row.mark} hangs at {wanted}, and the plan has it at {where}"


def _where_it_hangs(board: PlacedBoard, outline: Iterable[tuple[int, int]]) -> tuple[Any, ...]:
    """The corners of a board on its surface as measured now: each as far from the two sides that it
    was measured from as it was then."""
    us, vs = zip(*outline, strict=True)
    left, bottom, right, top = board.frame
    across = max(us) - right if board.from_right else min(us) - left
    up = max(vs) - top if board.from_top else min(vs) - bottom
    return tuple((u + across, v + up) for u, v in board.outline)


def nothing_placed_is_needed_again(
    before: Look, now: Look, step: Step, known: Known
) -> Iterator[str]:
    """What is in place is not needed again: what hanging still takes are the sheets that are not
    begun and what hangs the pieces that do not hang."""
    cut_marks = {(row.room.key, row.mark) for row in now.placed.values()}
    wanted: Counter[str] = Counter()
    for plan in now.shown.values():
        room_of = {
            piece.code: surface.room for surface in plan.surfaces for piece in surface.pieces
        }
        for sheet in plan.sheets:
            if (sheet.room, sheet.code) in now.begun:
                continue
            again = [mark for mark in _marks_on(sheet) if (room_of.get(mark), mark) in cut_marks]
            if again:
                yield f"{again} are cut, and planned on {sheet.code}, which is not begun"
            if sheet.is_whole:
                wanted[sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)] += 1
    hung = {
        (row.room.key, piece_key(row.surface, row.mark)) for row in now.here if row.state == "hung"
    }
    other: Counter[str] = Counter()
    for mine in takes_of_house(now.house.pk).values():
        for take in mine.takes:
            sheet_take = size_of_sheet(take.item) is not None
            if take.phase == "hanging" and not sheet_take and (mine.key, take.name) not in hung:
                other[take.item] += take.amount
    hanging = {job.id for job in now.supply.jobs.values() if job.phase == "hanging"}
    needed = {
        item: sum((need.amount for need in needs if need.job in hanging), Fraction(0))
        for item, needs in now.supply.needs.items()
    }
    for item, amount in needed.items():
        is_sheet = size_of_sheet(item) is not None
        expected = Fraction(wanted[item]) if is_sheet else Fraction(other[item], 1000)
        if amount != expected:
            yield f"{item}: {amount} are needed, and the plans say {expected}"
    for item in set(wanted) - set(needed):
        yield f"{item}: the plans cut {wanted[item]} more, and none is needed"


def what_is_no_more_is_in_no_plan(
    before: Look, now: Look, step: Step, known: Known
) -> Iterator[str]:
    """A piece that was cut wrong or taken down, or lost its place, is planned nowhere: its place
    is that of another piece, under another mark."""
    planned = {
        (surface.room, piece.code) for surface in now.surfaces.values() for piece in surface.pieces
    }
    for row in now.placed.values():
        if row.state not in _HERE and (row.room.key, row.mark) in planned:
            yield f"{row.mark} is {row.state}, and is planned again"


def plans_pass_the_checker(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """Every plan that is shown passes the checker, around what is placed and with the sheets that
    are begun as they are: no place is covered twice, and none is left out. Each surface to board
    is in one plan or is refused by name."""
    for key, plan in now.shown.items():
        yield from _broken(before, now, key, plan)
    planned = Counter(one.surface for plan in now.shown.values() for one in plan.surfaces)
    for framed in now.framed:
        surface = framed.surface
        if not surface.action.gets_board or not surface.board_area:
            if planned[surface.id]:
                yield f"{surface.id} is planned and gets no board"
            continue
        view = now.views.get(surface.room)
        if view is None:
            if not now.refusals.get(surface.room):
                yield f"{surface.room} has no result and says nothing"
            continue
        refused = any(
            one.refused is not None for one in view.surfaces if one.framed.surface.id == surface.id
        )
        if planned[surface.id] + refused != 1:
            yield f"{surface.id} is planned {planned[surface.id]} times, refused: {refused}"


def _broken(before: Look, now: Look, key: PoolOf, plan: BoardPlan) -> Iterator[str]:
    mine = {surface.surface for surface in plan.surfaces}
    stood = before.shown.get(key) if key in before.standing and key in now.standing else None
    if _stands_again(before, now, key):
        stood = plan
    # What stood already may be amiss by other rules of now; what was just made may not.
    stays = [one for one in (stood.surfaces if stood else ()) if now.surfaces.get(one.surface)]
    begun = {(row.room.key, row.code): read_sheet(row.data) for row in now.cut if row.data}
    boards = [read_board(row.place) for row in now.here if row.place is not None]
    built = AsBuilt(
        boards=tuple(board for board in boards if board.surface in mine),
        sheets=tuple(
            begun[sheet.room, sheet.code]
            for sheet in plan.sheets
            if (sheet.room, sheet.code) in begun
        ),
        standing=tuple(
            one for one in stays if one.surface not in now.fallen and one.surface in mine
        ),
    )
    whole = Counter(
        sheet.source
        for sheet in plan.sheets
        if sheet.source is not None and size_of_sheet(sheet.source) is not None
    )
    value = now.value
    found = examine_plan(
        plan,
        now.framed,
        value.rules,
        value.catalogue,
        owned=(
            *value.rules.owned,
            *rests_of_built(built),
            *whole_sheets({str(item): count for item, count in whole.items()}),
        ),
        built=built,
    )
    refused = {
        one.framed.surface.id
        for view in now.views.values()
        for one in view.surfaces
        if one.refused is not None
    }
    waits = {sheet.code for sheet in plan.sheets if (sheet.room, sheet.code) not in begun}
    for breach in found.broken:
        if breach.rule == "surfaces" and breach.where in refused and breach.where not in mine:
            continue  # it is in no plan, and says why
        # A sheet of a plan that stands may be amiss by a price or a limit of now.
        if (
            stood is not None
            and breach.where in waits
            and any(sheet.code == breach.where for sheet in stood.sheets)
        ):
            continue
        yield f"{key}: {breach.where}, {breach.rule}: {breach.message}"


def what_stands_stays(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """Boards and joints of surfaces that did not fall stay the same from step to step. No box, no
    pipe noted, no finish, no price and no rule of the house lets a plan fall that stands."""
    if step.back_to is not None:
        return
    for key in before.standing.keys() & now.standing.keys():
        then, after = before.shown.get(key), now.shown.get(key)
        if then is None or after is None or _stands_again(before, now, key):
            continue
        stands = {one.surface: one for one in after.surfaces}
        for surface in then.surfaces:
            if surface.surface in now.fallen and not step.harmless:
                continue
            same = stands.get(surface.surface)
            if same is None:
                if step.harmless or surface.room != step.room:
                    yield f"{surface.surface} is in no plan any more"
            elif (same.pieces, same.joints, same.rows) != (
                surface.pieces,
                surface.joints,
                surface.rows,
            ):
                yield f"the boards of {surface.surface} are other ones"
        if step.harmless and step.same_sheets and then.sheets != after.sheets:
            yield f"the sheets of {key} are other ones"
    if step.harmless and now.fallen:
        yield f"{sorted(now.fallen)} fell"
    for surface in now.fallen:
        if surface.partition("/")[0] != step.room:
            yield f"{surface} fell, and {step.room or 'no room'} was edited"


def _stands_again(before: Look, now: Look, key: PoolOf) -> bool:
    """Whether a plan of before stands again: what was in its way was taken back, or somebody chose
    it."""
    row = now.standing.get(key)
    then = before.plans.get(row.pk) if row is not None else None
    again = (Plan.State.FALLEN, Plan.State.LEFT)
    return key[0] in now.back or (then is not None and then.state in again)


def a_mark_names_one_thing(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """A mark names one piece, sheet or offcut of one size for good, and no two that stand in a
    house have the same."""
    for room, mark in list(known.names):
        if mark in step.told:
            del known.names[room, mark]  # it is of another length
    owners: dict[str, str] = {}
    for key in now.standing:
        plan = now.shown.get(key)
        for room, text, thing in _named(plan) if plan is not None else ():
            if owners.setdefault(text, str(thing)) != str(thing):
                yield f"{text} is {owners[text]} and {thing}"
            before_it = known.names.setdefault((room, text), thing)
            if before_it != thing:
                yield f"{text} was {before_it} and is {thing}"
    for row in now.placed.values():
        if (named := known.names.get((row.room.key, row.mark))) and row.place is not None:
            board = read_board(row.place)
            size = ("piece", board.surface, board.end - board.start, board.high - board.low)
            if named != size:
                yield f"{row.mark} was planned as {named} and is placed as {size}"
    twice = [text for text, number in Counter(m.text for m in now.marks).items() if number > 1]
    if twice:
        yield f"{twice} are marks of two rooms"
    live = {(mark.room.key, mark.text) for mark in now.marks if mark.retired_at is None}
    for key in now.standing:
        plan = now.shown.get(key)
        named_now = {(room, text) for room, text, _ in _named(plan)} if plan is not None else set()
        if named_now - live:
            yield f"{sorted(named_now - live)} stand in a plan and are not noted"


def _named(plan: BoardPlan) -> Iterator[tuple[str, str, Any]]:
    for surface in plan.surfaces:
        for piece in surface.pieces:
            size = (piece.end - piece.start, piece.high - piece.low)
            yield surface.room, piece.code, ("piece", surface.surface, *size)
    for sheet in plan.sheets:
        yield sheet.room, sheet.code, ("sheet", sheet.board, sheet.width, sheet.length)
        for offcut in sheet.offcuts:
            yield sheet.room, offcut.id, ("offcut", sheet.board, offcut.width, offcut.length)


def nothing_is_used_twice(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """An offcut is cut up once, and all plans together take no more whole sheets at no price than
    are here or on their way."""
    planned: Counter[str] = Counter()
    offered: Counter[str] = Counter()
    for key, plan in now.shown.items():
        for sheet in plan.sheets:
            if sheet.source is not None and (sheet.room, sheet.code) not in now.begun:
                planned[sheet.source] += 1
                offered[sheet.source] += key not in now.standing
    for source, count in planned.items():
        if size_of_sheet(source) is not None:
            supply = now.supply.supply.get(source)
            there = int(supply.here + supply.coming) if supply is not None else 0
            # A plan that stands buys the sheet where it was spoiled since; an offered one may not
            # count on it.
            if offered[source] > max(0, there):
                yield f"{offered[source]} of {source} are planned at no price of {there} there"
        elif source in now.owned:
            row = now.owned[source]
            if count + row.cut_up + row.spoiled > row.count:
                yield f"offcut {source} is planned {count} times, and {row.here} are here"
        elif count > 1:
            yield f"offcut {source} is planned {count} times"
    for source, row in now.owned.items():
        cut = sum(one.owned_id == row.pk for one in now.cut)
        if cut != row.cut_up:
            yield f"offcut {source} was cut up {row.cut_up} times, for {cut} sheets"


def an_undo_brings_plans_back(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """An edit that is undone, with nothing ticked, ordered or counted since, leaves plans and marks
    as they were before it."""
    then = step.back_to
    if then is None:
        return
    if then.boards() != now.boards():
        lost = sorted(set(then.boards().items()) ^ set(now.boards().items()))
        yield f"boards are other ones after the undo: {lost[:6]}"
    for key, plan in then.shown.items():
        if key in now.shown and now.shown[key].sheets != plan.sheets:
            yield f"the sheets of {key} are other ones after the undo"
    states = [{key: row.state for key, row in look.standing.items()} for look in (then, now)]
    if states[0] != states[1]:
        yield f"plans were {states[0]} and are {states[1]} after the undo"
    live = [
        {(mark.room_id, mark.text) for mark in look.marks if mark.retired_at is None}
        for look in (then, now)
    ]
    if live[0] != live[1]:
        yield f"marks that stand are other ones: {sorted(t for _, t in live[0] ^ live[1])[:8]}"


def stock_adds_up(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """Of every board, what was received and found is what was cut, used, spoiled and returned and
    what is here; and every sheet that is begun left it once, by one record."""
    exact: dict[str, Fraction] = {}
    cut: Counter[str] = Counter()
    for move in Movement.objects.filter(house=now.house):
        if size_of_sheet(move.item) is not None:
            exact[move.item] = exact.get(move.item, Fraction(0)) + move.value * move.pieces
            if move.kind == Movement.Kind.CUT:
                cut[move.item] -= int(move.value * move.pieces)
    for item in {*exact, *now.supply.supply}:
        if size_of_sheet(item) is None:
            continue
        supply = now.supply.supply.get(item)
        here = supply.here if supply is not None else Fraction(0)
        if here != exact.get(item, 0):
            yield f"{item}: {exact.get(item, 0)} are left by what moved, and {here} are here"
    begun = Counter(row.item for row in now.cut if row.owned_id is None and not row.uncounted)
    if +begun != +cut:
        yield f"{dict(begun)} sheets are begun, and {dict(cut)} were cut out of stock"
    codes = Counter(row.code for row in now.cut)
    if twice := [code for code, number in codes.items() if number > 1]:
        yield f"{twice} are begun twice"
    used = {row.sheet for row in now.placed.values()}
    for row in now.placed.values():
        if codes[row.sheet] != 1:
            times = codes[row.sheet]
            yield f"{row.mark} is cut of {row.sheet or 'no sheet'}, which is begun {times} times"
    sources = {read_sheet(row.data).source for row in now.cut if row.data}
    for row in now.cut:
        offcuts = {offcut.id for offcut in read_sheet(row.data).offcuts} if row.data else set()
        if row.code not in used and not any(
            source and (source in offcuts or source.rpartition(".")[0] == row.code)
            for source in sources
        ):
            yield f"{row.code} is begun, and nothing of it is cut"


def figures_are_of_now(before: Look, now: Look, step: Step, known: Known) -> Iterator[str]:
    """No figure is old after a step."""
    if figures_are_stale(now.house.pk):
        yield "figures are old"
    if board_services.piles_wait(now.house):
        yield "a pile waits"


HOLDS: tuple[Hold, ...] = (
    placed_pieces_stay,
    nothing_placed_is_needed_again,
    what_is_no_more_is_in_no_plan,
    plans_pass_the_checker,
    what_stands_stays,
    a_mark_names_one_thing,
    nothing_is_used_twice,
    an_undo_brings_plans_back,
    stock_adds_up,
    figures_are_of_now,
)


def _difference(rows: Any, others: Any) -> list[Any]:
    """What is in one of two collections alone."""
    if isinstance(rows, dict):
        rows, others = list(rows.items()), list(others.items())
    return [one for one in (*rows, *others) if (one in rows) != (one in others)]


def _marks_on(sheet: Sheet) -> list[str]:
    placed = (*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces))
    return [piece.piece for piece in placed]


@dataclass
class _Edit:
    group: UUID
    room: str
    harmless: bool
    before: Look
    exact: bool = True


class Story:
    """A house of a seed, and what its people do to it. Without `entries` nobody says that a piece
    was cut wrong, that a joint is elsewhere or that another sheet was used."""

    def __init__(self, seed: int, fallen: Fallen, *, entries: bool = True) -> None:
        self.seed, self.entries = seed, entries
        self.rng = Random(seed)
        self.fallen = fallen
        self.by = By(ada())
        self.metric = seed % 4 == 1
        self.house = house_add(
            by=self.by, name=f"House {seed}", units="mm" if self.metric else "in"
        )
        self._build()
        self.known = Known()
        self.look = Look(self.house, self.fallen.take())
        self.steps: list[Step] = []
        self.edits: list[_Edit] = []
        self.check(self.look, Step("built the house", harmless=True))

    def _build(self) -> None:
        rng = self.rng
        count = rng.choice((2, 2, 3))
        for name in rng.sample(_NAMES, count):
            length, width = rng.choice(_SIZES)
            values: dict[str, Any] = {"ceiling_height": rng.choice((7, 8)) * FOOT + 2 * INCH}
            if self.seed % 4 == 2 and not self.house.rooms.exists():
                values |= {
                    "ceiling_kind": "slope",
                    "ceiling_low_wall": "A",
                    "ceiling_high": values["ceiling_height"] + 11 * INCH,
                }
            if self.metric:
                for part in ("wall", "ceiling"):
                    values[f"{part}_board_kind"] = "regular"
                    values[f"{part}_board_thickness"] = _METRIC_BOARD
            room = room_add(
                by=self.by, house=self.house, name=name, length=length, width=width, **values
            )
            if rng.random() < 0.6:
                surface_choice_set(by=self.by, room=room, surface="ceiling", action="leave")
        if rng.random() < 0.6:
            self._found_offcut()
        if rng.random() < 0.6:
            self._found_sheet()

    # Telling

    def tell(self, steps: int) -> None:
        """Let so many things happen, and check what must hold after each."""
        for _ in range(steps):
            self.do(self.rng.choices(self._events(), self._weights())[0])

    def do(self, event: Callable[[], Step | None]) -> None:
        """Let one thing happen, and check what must hold."""
        before = self.look
        try:
            step = event()
        except Refused as refused:
            name = getattr(event, "__name__", "").strip("_")
            step = Step(name, harmless=True, refused=str(refused))
        if step is None:
            return
        self.steps.append(step)
        print(step, *self.fallen.why.values(), sep="\n    ")
        self.look = Look(self.house, self.fallen.take())
        self.check(before, step)

    def check(self, before: Look, step: Step) -> None:
        """Raise `AssertionError` where something does not hold after a step."""
        told = "\n".join(f"  {one}" for one in (*self.steps[-12:],))
        for hold in HOLDS:
            for wrong in hold(before, self.look, step, self.known):
                name = hold.__name__.replace("_", " ")
                raise AssertionError(f"house {self.seed}: {name}: {wrong}\n{told}")
        stored, worked = self.look.stored(), self.fallen.worked
        board_services.recompute(self.house)
        again = Look(self.house).stored()
        for name, rows in stored.items():
            other = _difference(rows, again[name])
            assert not other, f"house {self.seed}: {name} change by looking again: {other}\n{told}"
        assert self.fallen.worked == worked, f"house {self.seed}: worked out again\n{told}"

    def from_nothing(self) -> None:
        """Forget every result, and work the house out again: the same plans have to come."""
        before = self.look
        self.steps.append(Step("forgot every result"))
        RoomResult.objects.filter(room__house=self.house).update(digest="", last_digest="")
        board_services.Result.objects.all().delete()
        board_services.recompute(self.house)
        self.look = Look(self.house, self.fallen.take())
        self.check(before, Step("forgot every result", harmless=True))
        assert before.boards() == self.look.boards(), f"house {self.seed}: plans are other ones"

    def _events(self) -> list[Callable[[], Step | None]]:
        return [event for event, _ in self._choices()]

    def _weights(self) -> list[int]:
        return [weight for _, weight in self._choices()]

    def _choices(self) -> list[tuple[Callable[[], Step | None], int]]:
        return [
            (self._tick, 14),
            (self._tick_sheet, 5),
            (self._tick_room, 2),
            (self._tick_late, 4),
            (self._untick, 6),
            (self._resize, 12),
            (self._ceiling, 5),
            (self._box, 4),
            (self._pipe, 3),
            (self._door, 3),
            (self._finish, 3),
            (self._price, 4),
            (self._rule, 3),
            (self._action, 4),
            (self._order, 4),
            (self._receive, 4),
            (self._take_order_back, 2),
            (self._spoil, 3),
            (self._found_sheet, 3),
            (self._found_offcut, 3),
            (self._throw_offcut, 2),
            (self._rest, 6),
            (self._anew, 4),
            (self._undo, 10),
            (self._keep, 3),
            (self._leave, 3),
            (self._accept, 3),
            (self._print, 3),
            (self._take_down, 3),
            *(
                [
                    (self._cut_wrong, 4),
                    (self._joint_elsewhere, 5),
                    (self._other_sheet, 4),
                    (self._undo_entry, 4),
                ]
                if self.entries
                else []
            ),
        ]

    # Choosing

    def _room(self) -> Room:
        keys = sorted(self.house.rooms.values_list("key", flat=True))
        return Room.objects.select_related("house", "behind").get(
            house=self.house, key=self.rng.choice(keys)
        )

    def _fact(self) -> None:
        """What was just done is no edit: an undo after it need not lead all the way back."""
        for edit in self.edits:
            edit.exact = False

    def _edited(
        self, words: str, write: Callable[[], Any], *, room: str = "", harmless: bool = False
    ) -> Step:
        last = Change.objects.order_by("-id").values_list("id", flat=True).first() or 0
        before = self.look
        write()
        group = Change.objects.filter(house=self.house.pk, id__gt=last).values_list(
            "group", flat=True
        )
        if group:
            self.edits.append(_Edit(group[0], room, harmless, before))
        return Step(words, room=room, harmless=harmless)

    # Ticks

    def _open(self, room: Room, *, of: str = "hung") -> list[str]:
        """The keys of a room's pieces that are not cut, or do not hang, as they are hung."""
        done = {
            piece_key(row.surface, row.mark)
            for row in self.look.here
            if row.room_id == room.pk and (of == "cut" or row.state == "hung")
        }
        mine = takes_of_house(self.house.pk).get(room.pk)
        return [place.key for place in mine.places if place.key not in done] if mine else []

    def _press(self, room: Room, kind: str, keys: list[str], *, done: bool = True) -> None:
        ticks = [Ticked(kind, key) for key in keys]
        tick_all(by=self.by, room=room, ticks=ticks, done=done)
        self._fact()

    def _tick(self) -> Step | None:
        room, kind = self._room(), self.rng.choice(("cut", "hung", "hung"))
        keys = self._open(room, of=kind)
        if not keys:
            return None
        first = self.rng.choice((1, 2))
        some = keys[:first] if self.rng.random() < 0.6 else [self.rng.choice(keys)]
        self._press(room, kind, some)
        return Step(f"{kind}: {some}", room=room.key, harmless=True)

    def _tick_sheet(self) -> Step | None:
        room = self._room()
        mine = takes_of_house(self.house.pk).get(room.pk)
        if mine is None or not mine.sheets:
            return None
        sheet = self.rng.choice(mine.sheets)
        rooms = {place.key for place in mine.places}
        keys = [key for room_key, key in sheet.pieces if room_key == room.key and key in rooms]
        if not keys:
            return None
        self._press(room, "cut", keys)
        return Step(f"cut sheet {sheet.code}: {keys}", room=room.key, harmless=True)

    def _tick_room(self) -> Step | None:
        room = self._room()
        keys = self._open(room)
        if not keys:
            return None
        self._press(room, "hung", keys)
        return Step(f"{room.name} hangs as planned", room=room.key, harmless=True)

    def _tick_late(self) -> Step | None:
        """Somebody cut by a card of a plan that fell since."""
        late = [
            (mark.room, piece_key(surface.surface.partition("/")[2], piece.code))
            for mark in self.look.marks
            if mark.retired_at is not None and mark.plan_id in self.look.plans
            for surface in plan_from(self.look.plans[mark.plan_id].data).surfaces
            for piece in surface.pieces
            if piece.code == mark.text
        ]
        placed = {row.mark for row in self.look.placed.values()}
        late = [(room, key) for room, key in late if split_key(key)[1] not in placed]
        if not late:
            return None
        # By their names: what a seed says must not hang on ids, which are drawn anew each time.
        room, key = self.rng.choice(sorted(late, key=lambda one: one[1]))
        kind = self.rng.choice(("cut", "hung"))
        self._press(Room.objects.get(pk=room.pk), kind, [key])
        mark = split_key(key)[1]
        return Step(f"{kind} by an old card: {key}", room=room.key, let_go=frozenset({mark}))

    def _untick(self) -> Step | None:
        here = sorted(self.look.here, key=lambda row: row.mark)
        if not here:
            return None
        row = self.rng.choice(here)
        room = Room.objects.get(pk=row.room_id)
        key = piece_key(row.surface, row.mark)
        plans_follow = row.changes_plans
        if row.state == "hung":
            self._press(room, "hung", [key], done=False)
        if row.state == "cut" or self.rng.random() < 0.5:
            self._press(room, "cut", [key], done=False)
        return Step(
            f"took back the tick of {key}",
            room=room.key,
            harmless=not plans_follow,
            let_go=frozenset({row.mark}),
        )

    def _take_down(self) -> Step | None:
        here = sorted(self.look.here, key=lambda row: row.mark)
        if not here:
            return None
        row = self.rng.choice(here)
        room, keep = Room.objects.get(pk=row.room_id), self.rng.random() < 0.5
        taken_down(by=self.by, room=room, key=piece_key(row.surface, row.mark), keep=keep)
        self._fact()
        kept = ", kept as an offcut" if keep else ""
        return Step(f"took {row.mark} down{kept}", room=room.key, let_go=frozenset({row.mark}))

    def _told(self, *, hung: bool) -> tuple[Room, str, str] | None:
        """A piece to tell of: its room, key and mark. It is open, or cut; or it hangs, where `hung`
        pieces may be told of."""
        room = self._room()
        here = sorted(
            piece_key(row.surface, row.mark)
            for row in self.look.here
            if row.room_id == room.pk and (hung or row.state == "cut")
        )
        keys = self._open(room, of="cut")
        keys = here if here and self.rng.random() < 0.5 else keys
        if not keys:
            return None
        key = self.rng.choice(keys)
        return room, key, split_key(key)[1]

    def _cut_wrong(self) -> Step | None:
        chosen = self._told(hung=False)
        if chosen is None:
            return None
        room, key, mark = chosen
        keep = self.rng.choice((None, None, FOOT, 3 * FOOT))
        cut_wrong(by=self.by, room=room, key=key, keep=keep)
        self._fact()
        kept = f", {keep // INCH} in of it kept" if keep else ""
        return Step(f"{key} was cut wrong{kept}", room=room.key, let_go=frozenset({mark}))

    def _joint_elsewhere(self) -> Step | None:
        chosen = self._told(hung=True)
        piece = piece_of(chosen[0], chosen[1]) if chosen is not None else None
        if chosen is None or piece is None or piece.board is None:
            return None
        room, key, mark = chosen
        end, by = self.rng.choice(("start", "end")), self.rng.choice((-14, -7, -2, -1, 1, 2, 7))
        length = piece.board.length + by * INCH // 2
        joint_elsewhere(by=self.by, room=room, key=key, end=end, length=length)
        self._fact()
        return Step(
            f"{key} hangs {by / 2} in longer at its {end}", room=room.key, told=frozenset({mark})
        )

    def _other_sheet(self) -> Step | None:
        chosen = self._told(hung=True)
        piece = piece_of(chosen[0], chosen[1]) if chosen is not None else None
        names = sorted(one.name for one in sources_of(piece)) if piece is not None else []
        if chosen is None or not names:
            return None
        room, key, _ = chosen
        source = self.rng.choice(names)
        other_sheet(by=self.by, room=room, key=key, source=source)
        self._fact()
        return Step(f"{key} came out of {source}", room=room.key)

    def _undo_entry(self) -> Step | None:
        told = sorted((row for row in self.look.placed.values() if row.told), key=lambda r: r.mark)
        if not told:
            return None
        row = self.rng.choice(told)
        room, key = Room.objects.get(pk=row.room_id), piece_key(row.surface, row.mark)
        undo_told(by=self.by, room=room, key=key)
        self._fact()
        mark = frozenset({row.mark})
        return Step(f"undid what was told of {key}", room=room.key, let_go=mark, told=mark)

    # Edits

    def _against(self, words: str, room: Room, write: Callable[[], Any]) -> Step:
        """An edit as a page does it: where boards are in the way it asks, and is answered."""
        answer = self.rng.choice((Answer.KEEP, Answer.KEEP, Answer.DOWN))
        shown: list[str] = []
        if answer == Answer.DOWN:
            stored = self.look.stored()
            asked = save_against(room, write, by=self.by)
            if not isinstance(asked, Asked):
                return Step(words, room=room.key)
            self.fallen.take()  # tried out, and taken back
            assert Look(self.house).stored() == stored, f"{words}: asking changed something"
            shown = [str(one.piece.pk) for one in asked.pieces]
        else:
            shown = [str(row.pk) for row in self.look.here]
        save_against(room, write, by=self.by, answer=answer, shown=shown)
        down = (
            frozenset(row.mark for row in self.look.here if str(row.pk) in shown)
            if answer == Answer.DOWN
            else frozenset()
        )
        if down:
            self._fact()
            words += f", {sorted(down)} taken down"
        return Step(words, room=room.key, let_go=down)

    def _shape(self, words: str, room: Room, write: Callable[[], Any]) -> Step:
        steps: list[Step] = []
        self._edited(words, lambda: steps.append(self._against(words, room, write)), room=room.key)
        if steps[0].let_go:
            self.edits[-1].exact = False
        return steps[0]

    def _by(self) -> int:
        return self.rng.choice((-4, -2, -1, 1, 2, 3, 4)) * INCH // 2

    def _resize(self) -> Step:
        room = self._room()
        walls = {wall.key: wall.length for wall in room.walls.all()}
        side, by = self.rng.choice("AB"), self._by()
        walls[side] += by

        def write() -> Any:
            fresh = Room.objects.get(pk=room.pk)
            return room_resize(by=self.by, room=fresh, length=walls["A"], width=walls["B"])

        return self._shape(f"{room.name}: wall {side} by {by / INCH} in", room, write)

    def _ceiling(self) -> Step:
        room, by = self._room(), self._by()

        def write() -> Any:
            fresh = Room.objects.get(pk=room.pk)
            values = {"ceiling_height": fresh.ceiling_height + by}
            if fresh.ceiling_high:
                values["ceiling_high"] = fresh.ceiling_high + by
            return room_change(by=self.by, room=fresh, **values)

        return self._shape(f"{room.name}: ceiling by {by / INCH} in", room, write)

    def _door(self) -> Step:
        room, wall = self._room(), self.rng.choice("ABCD")
        left = self.rng.randint(3, 15) * INCH

        def write() -> Any:
            return opening_add(
                by=self.by,
                room=Room.objects.get(pk=room.pk),
                surface=wall,
                kind="door",
                left=left,
                sill=0,
                width=24 * INCH,
                height=78 * INCH,
            )

        return self._shape(f"{room.name}: a door in wall {wall}", room, write)

    def _action(self) -> Step:
        room, wall = self._room(), self.rng.choice(("A", "B", "C", "D", "ceiling"))
        action = self.rng.choice(("leave", "board"))

        def write() -> Any:
            fresh = Room.objects.get(pk=room.pk)
            return surface_choice_set(by=self.by, room=fresh, surface=wall, action=action)

        return self._shape(f"{room.name}: {action} {wall}", room, write)

    def _box(self) -> Step:
        room, wall = self._room(), self.rng.choice("ABCD")
        across, up = self.rng.randint(4, 36) * INCH, self.rng.randint(12, 60) * INCH

        def write() -> Any:
            return cutout_add(
                by=self.by,
                room=room,
                surface=wall,
                name="Switch",
                kind="box",
                width=2 * INCH,
                height=4 * INCH,
                across_origin="left",
                across_distance=across,
                up_origin="floor",
                up_distance=up,
            )

        return self._edited(
            f"{room.name}: a box in wall {wall}", write, room=room.key, harmless=True
        )

    def _pipe(self) -> Step:
        room, wall = self._room(), self.rng.choice("ABCD")
        across = self.rng.randint(4, 36) * INCH

        def write() -> Any:
            return hidden_add(
                by=self.by,
                room=room,
                surface=wall,
                name="Pipe",
                kind="pipe",
                width=INCH,
                height=20 * INCH,
                across_origin="left",
                across_distance=across,
                up_origin="floor",
                up_distance=30 * INCH,
            )

        return self._edited(
            f"{room.name}: a pipe behind wall {wall}", write, room=room.key, harmless=True
        )

    def _finish(self) -> Step:
        room, level = self._room(), self.rng.choice((3, 4, 5))
        return self._edited(
            f"{room.name}: finish level {level}",
            lambda: room_change(by=self.by, room=room, wall_level=level),
            room=room.key,
            harmless=True,
        )

    def _on_sale(self) -> SheetOnSale:
        """A sheet of the board that walls and ceilings of the house get."""
        thickness = _METRIC_BOARD if self.metric else INCH // 2
        rows = SheetOnSale.objects.filter(house=self.house, board="regular", thickness=thickness)
        return self.rng.choice(list(rows.order_by("width", "length")))

    def _price(self) -> Step:
        sheet = self._on_sale()
        price = max(1, sheet.price + self.rng.choice((-700, -150, 150, 700)))
        return self._edited(
            f"a sheet of {sheet.length / FOOT} ft costs {price}",
            lambda: sheet_change(by=self.by, sheet=sheet, price=price),
            harmless=True,
        )

    def _rule(self) -> Step:
        longest = self.rng.choice((9, 10, 12)) * FOOT
        house = House.objects.get(pk=self.house.pk)
        return self._edited(
            f"no board longer than {longest // FOOT} ft",
            lambda: house_set_rules(by=self.by, house=house, longest_board=longest),
            harmless=True,
        )

    def _undo(self) -> Step | None:
        if not self.edits:
            return None
        edit = self.edits.pop()
        undo(by=self.by, group=edit.group)
        if not edit.exact:
            return Step("undid the last edit", room=edit.room, harmless=edit.harmless)
        return Step(
            "undid the last edit", room=edit.room, harmless=edit.harmless, back_to=edit.before
        )

    # Plans

    def _standing(self) -> Plan | None:
        rows = [row for row in self.look.plans.values() if row.state in STANDING]
        return self.rng.choice(sorted(rows, key=lambda row: row.made_at)) if rows else None

    def _anew(self) -> Step | None:
        row = self._standing()
        if row is None:
            return None
        surface = self.rng.choice([one.surface for one in plan_from(row.data).surfaces])
        room = Room.objects.get(house=self.house, key=surface.partition("/")[0])
        plan_services.surface_plan_anew(by=self.by, room=room, surface=surface)
        self._fact()
        return Step(f"planned {surface} anew", room=room.key)

    def _keep(self) -> Step | None:
        room = self._room()
        result = pile_result_of(room)
        if result is None or not result.pools:
            return None
        pool = self.rng.choice(result.pools)
        plan_services.plan_keep(by=self.by, room=room, board=pool.board, thickness=pool.thickness)
        self._fact()
        return Step(f"accepted the plan of {room.name}", harmless=True)

    def _leave(self) -> Step | None:
        rows = [row for row in self.look.plans.values() if row.state in ("proposed", "accepted")]
        if not rows:
            return None
        row = self.rng.choice(sorted(rows, key=lambda row: row.made_at))
        plan_services.plan_leave(by=self.by, plan=Plan.objects.get(pk=row.pk))
        self._fact()
        return Step(f"left {row}", harmless=True)

    def _accept(self) -> Step | None:
        rows = [row for row in self.look.plans.values() if row.state in ("proposed", "left")]
        if not rows:
            return None
        row = self.rng.choice(sorted(rows, key=lambda row: row.made_at))
        room = Room.objects.get(pk=row.room_id)
        plan_services.plan_accept(by=self.by, plan=Plan.objects.get(pk=row.pk))
        self._fact()
        return Step(f"accepted {row}", room=room.key)

    def _print(self) -> Step:
        room = self._room()
        cards_printed(by=self.by, rooms=[room], parts={"cards"})
        self._fact()
        return Step(f"printed {room.name}", harmless=True)

    # Stock

    def _order(self) -> Step:
        rooms = [self._room()] if self.rng.random() < 0.6 else list(self.house.rooms.all())
        order = orders.order_make(by=self.by, house=self.house, phases=["hanging"], rooms=rooms)
        orders.order_place(
            by=self.by,
            order=order,
            without_prices=True,
            without_unmet=True,
            unseen_framing=True,
        )
        self._fact()
        return Step(f"ordered for {[room.name for room in rooms]}", harmless=True)

    def _placed_order(self) -> Order | None:
        rows = Order.objects.filter(house=self.house, state="placed").order_by("placed_at")
        return self.rng.choice(list(rows)) if rows else None

    def _receive(self) -> Step | None:
        order = self._placed_order()
        if order is None:
            return None
        came = [
            (line, number, None) for line in order.lines.all() if (number := orders.to_come(line))
        ]
        orders.order_receive_all(by=self.by, order=order, receipts=came)
        self._fact()
        return Step(f"{order.name} came", harmless=True)

    def _take_order_back(self) -> Step | None:
        order = self._placed_order()
        if order is None:
            return None
        orders.order_take_back(by=self.by, order=order)
        self._fact()
        return Step(f"took {order.name} back", harmless=True, same_sheets=False)

    def _spoil(self) -> Step | None:
        here = {
            item: supply.here
            for item, supply in self.look.supply.supply.items()
            if size_of_sheet(item) is not None and supply.here > 0
        }
        if not here:
            return None
        item = self.rng.choice(sorted(here))
        ledger.move(
            by=self.by,
            house=self.house,
            item=item,
            kind=Movement.Kind.SPOILED,
            amount=Amount(Fraction(1), "each"),
        )
        self._fact()
        return Step(f"spoiled one of {item}", harmless=True, same_sheets=False)

    def _found_sheet(self) -> Step:
        sheet = self._on_sale()
        item = sheet_key(sheet.board, sheet.thickness, sheet.width, sheet.length)
        ledger.move(
            by=self.by,
            house=self.house,
            item=item,
            kind=Movement.Kind.FOUND,
            amount=Amount(Fraction(self.rng.choice((1, 2))), "each"),
        )
        if hasattr(self, "edits"):
            self._fact()
        return Step(f"found {item}", harmless=True)

    def _found_offcut(self) -> Step:
        sheet = self._on_sale()
        owned_sheet_add(
            by=self.by,
            house=self.house,
            board=sheet.board,
            thickness=sheet.thickness,
            width=sheet.width,
            length=self.rng.choice((34, 50, 66)) * INCH,
            count=self.rng.choice((1, 2)),
        )
        if hasattr(self, "edits"):
            self._fact()
        return Step("found an offcut", harmless=True)

    def _throw_offcut(self) -> Step | None:
        rows = list(OwnedSheet.objects.filter(house=self.house).order_by("key"))
        rows = [row for row in rows if row.here]
        if not rows:
            return None
        row = self.rng.choice(rows)
        knowing = [mark.text for mark in self.look.marks]
        owned_sheet_gone(by=self.by, sheet=row, knowing=knowing)
        self._fact()
        return Step(f"threw {row.key} away", harmless=True, same_sheets=False)

    def _rest(self) -> Step | None:
        choices = []
        for room in self.house.rooms.select_related("house").order_by("position"):
            cards = cards_for(room)
            for sheet in cards.sheets if cards is not None else ():
                if sheet.room_key == room.key:
                    choices += [(room, sheet, one) for one in rests_of(room, sheet)]
        if not choices:
            return None
        room, sheet, one = self.rng.choice(choices)
        keep: bool | None = self.rng.random() < 0.6
        if one.keep is not None and self.rng.random() < 0.5:
            keep = None
        rest_decide(
            by=self.by,
            room=room,
            sheet=sheet,
            place=one.rest.place,
            keep=keep,
            knowing=[mark.text for mark in self.look.marks],
        )
        self._fact()
        words = {True: "kept", False: "binned", None: "took back the decision on"}[keep]
        return Step(f"{words} the rest {one.rest.code}", harmless=True, same_sheets=False)


def by_name(holds: Iterable[Hold]) -> Mapping[str, Hold]:
    """What must hold, by what it is called."""
    return {hold.__name__.replace("_", " "): hold for hold in holds}
