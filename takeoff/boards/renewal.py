"""Plans that are kept, and what is planned anew where one cannot stand.

A plan stands until a piece of it that is still open is impossible: the wall is of another size, a
stud stands elsewhere, a joint was told elsewhere. Then only the surfaces that fell are planned
anew. Boards that hang stay, and so do the joints of the other surfaces. A sheet that nothing is cut
of keeps its card where none of its pieces fell; one that is begun always does.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.check import Breach, Findings, examine_plan
from takeoff.boards.hours import work_on
from takeoff.boards.house_plan import Improve, PlanCache, Refusal, plan_boards, pools_of
from takeoff.boards.hung import begun, on_surface, place
from takeoff.boards.joints import joint_at
from takeoff.boards.other_face import shared_work
from takeoff.boards.plan import (
    AsBuilt,
    BoardPlan,
    Bound,
    BoundBasis,
    Piece,
    PlacedBoard,
    Sheet,
    SurfacePlan,
)
from takeoff.boards.spares import place_stands, spare_of
from takeoff.boards.stock import on_sale
from takeoff.boards.work import hours_of
from takeoff.catalogue import Cutting, OwnedSheet
from takeoff.choices import FramedWhen
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry, room_shapes
from takeoff.house import House
from takeoff.job import Takeoff, takeoff_of_plans
from takeoff.needs.materials import sheet_id
from takeoff.piles import piles
from takeoff.quantities import Cents
from takeoff.rules import Rules
from takeoff.units import Nm

__all__ = ["NOTHING_DONE", "Done", "Fallen", "Renewal", "renew"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What is done already, whatever is planned.

    `boards` are the pieces that are cut, in the places they are cut for or hang in; `hung` are the
    marks of those that hang, and `off_plan` of those that no plan of then had there: what is
    planned goes around them. `sheets` are those begun, as they were planned; where a plan has one
    of them, it is as the plan has it. `cut` are the marks of all pieces that are cut of these: a
    piece that was cut wrong is among them and not among the boards, and a board that was cut from
    something else is not. `told` are the codes of those of the `sheets` that were cut otherwise
    than planned: they are as they are here, and what is on them is on no other sheet, whatever the
    plans say. `gone` are the marks of offcuts that are no more: thrown out, or cut up elsewhere.
    `taken` are marks that were used before.
    """

    boards: tuple[PlacedBoard, ...] = ()
    hung: frozenset[str] = frozenset()
    off_plan: frozenset[str] = frozenset()
    sheets: tuple[Sheet, ...] = ()
    cut: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()
    gone: frozenset[str] = frozenset()
    taken: frozenset[str] = frozenset()


NOTHING_DONE = Done()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallen:
    """Why a surface could not stand: the rule in the way, and a sentence."""

    surface: str
    rule: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Renewal:
    """The takeoff of a house as it is now, and what is other in it than in the plans there were.

    A plan with nothing to change is the same object as before. `takeoff.built` tells what is done,
    and also the sheets and surfaces that stay as they were planned. `struck` are pieces that are no
    more and were not cut, `dissolved` sheets that are no more and were not begun. `spare` are the
    pieces that are cut and whose place fell: offcuts under their marks; `waste` are those of which
    no offcut is left. `recut` pieces stay where
    they are, and come out of another sheet than before. `leaning` are the surfaces of the plans
    that stand only as long as what hangs or is cut there does: a seam off its stud is amiss between
    two boards that hang, and impossible once one of them is open.
    """

    takeoff: Takeoff
    fallen: tuple[Fallen, ...] = ()
    struck: tuple[str, ...] = ()
    dissolved: tuple[str, ...] = ()
    spare: tuple[OwnedSheet, ...] = ()
    waste: tuple[str, ...] = ()
    recut: tuple[str, ...] = ()
    leaning: tuple[str, ...] = ()


def renew(
    house: House,
    plans: Sequence[BoardPlan],
    done: Done = NOTHING_DONE,
    *,
    framed: Mapping[str, FramedWhen] | None = None,
    cache: PlanCache | None = None,
    improve: Improve | None = None,
    anew: Collection[str] = (),
    warm_start: Sequence[BoardPlan] = (),
    without_pooling: bool = False,
) -> Renewal:
    """Keep the `plans` of a house where they stand, and plan anew what fell of them.

    `house` is as measured now, and its rules own all that is at hand: offcuts, those that the plans
    use among them, and whole sheets. `plans` are of its pools; a pool that has none is planned from
    nothing, or from those of its rooms in `warm_start`. `improve` looks for better plans of the
    pools that change. The surfaces in `anew` are planned anew although they could stand.

    A surface of which something is impossible is planned anew around its boards that hang, and
    those cut for it whose own place still stands. Where that cannot be, what is not hung there is
    freed, then the joints of its pool, and only then it is refused by name.
    """
    rooms, partitions = room_shapes(house, framed=framed)
    members = {
        surface.id: frame(surface, house.rules) for room in rooms for surface in room.surfaces
    }
    now = _Now(house, tuple(rooms), partitions, members, tuple(plans), done, tuple(warm_start))
    cache = cache or PlanCache()
    fallen = {one.surface: one for plan in plans for one in now.fallen_of(plan)}
    for surface in set(anew).intersection(now.given) - set(fallen):
        fallen[surface] = Fallen(
            surface=surface,
            rule="anew",
            message=f"{members[surface].surface.name} is to be planned anew",
        )
    freed = {one.surface for one in fallen.values() if one.rule in _TURNED}
    attempt = now.attempt(fallen, freed, cache, improve, without_pooling=without_pooling)
    while attempt.refused:
        wider = _wider(now, attempt, fallen, freed, cache)
        if wider is None:
            break
        other, more = wider
        again = now.attempt(other, more, cache, improve, without_pooling=without_pooling)
        asked = {one.surface for one in attempt.refused if one.surface not in attempt.standing}
        opened = len(other) > len(fallen) and not any(
            one.surface in attempt.standing for one in attempt.refused
        )
        if opened and asked <= {one.surface for one in again.refused}:
            # That the others' joints may move does not help it, so they stay.
            break
        attempt, fallen, freed = again, other, more
    return now.renewal(attempt, fallen)


# Where one of these is in the way, no piece cut for the surface fits it any more.
_TURNED = frozenset({"board", "orientation", "framing_table", "tile_backer_framing", "surfaces"})


# A sheet that is not begun cannot be cut as planned where one of these is in the way.
_UNCUTTABLE = frozenset(
    {
        "board",
        "factory_edges",
        "kerf",
        "offcut",
        "owned",
        "piece_cut",
        "piece_size",
        "rip",
        "sheet_layout",
        "sheet_width",
    }
)


@dataclass(frozen=True)
class _Attempt:
    """What came of planning with some surfaces fallen: plans, those that stay as they are among
    them, and what was handed to the planner."""

    plans: tuple[BoardPlan, ...]
    refused: tuple[Refusal, ...]
    standing: Mapping[str, SurfacePlan]
    boards: tuple[PlacedBoard, ...]
    sheets: tuple[Sheet, ...]
    spare: tuple[OwnedSheet, ...]
    house: House
    stated: AsBuilt
    planned: frozenset[str]


def _wider(
    now: _Now,
    attempt: _Attempt,
    fallen: Mapping[str, Fallen],
    freed: Collection[str],
    cache: PlanCache,
) -> tuple[dict[str, Fallen], set[str]] | None:
    """What may fall or be freed beside, so that less is refused; None where nothing helps."""
    other, more = dict(fallen), set(freed)
    for one in attempt.refused:
        if one.surface in attempt.standing:
            other[one.surface] = Fallen(surface=one.surface, rule=one.rule, message=one.message)
    if len(other) > len(fallen):
        return other, more
    for one in attempt.refused:
        if any(now.is_loose(board) for board in attempt.boards if board.surface == one.surface):
            more.add(one.surface)
    if len(more) > len(freed):
        return other, more
    # No layout at all is possible on some, whatever the others do.
    _, hopeless = pools_of(
        attempt.house, now.rooms_of(attempt.planned), now.members, cache, built=attempt.stated
    )
    names = {one.surface for one in hopeless}
    for one in attempt.refused:
        for surface in now.pool_of(one.surface) if one.surface not in names else ():
            if surface in attempt.standing:
                other[surface] = Fallen(surface=surface, rule=one.rule, message=one.message)
                more.add(surface)
    return (other, more) if len(other) > len(fallen) else None


@dataclass
class _Now:
    """A house as it is measured now, the plans there are, and what is done."""

    house: House
    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    members: Mapping[str, FramedSurface]
    plans: tuple[BoardPlan, ...]
    done: Done
    warm_start: tuple[BoardPlan, ...]
    begun: dict[str, Sheet] = field(init=False)
    given: dict[str, SurfacePlan] = field(init=False)
    surface_of: dict[str, str] = field(init=False)
    findings: dict[int, Findings] = field(init=False, default_factory=dict)
    _told: dict[str, Sheet] = field(init=False)
    _told_on: dict[str, str] = field(init=False)
    _pools: dict[str, frozenset[str]] = field(init=False)

    def __post_init__(self) -> None:
        self._told = {one.code: one for one in self.done.sheets if one.code in self.done.told}
        self._told_on = {mark: one.code for one in self._told.values() for mark in marks_on(one)}
        self.given = {plan.surface: plan for one in self.plans for plan in one.surfaces}
        self.surface_of = {
            piece.code: plan.surface for plan in self.given.values() for piece in plan.pieces
        }
        self.begun = self._begun()
        self._pools = self._by_pool()

    def _begun(self) -> dict[str, Sheet]:
        """The sheets that are begun, by their codes: also one that a piece is cut of, or whose
        offcut is begun."""
        every = {sheet.code: sheet for sheet in self.done.sheets}
        every |= {sheet.code: sheet for plan in self.plans for sheet in plan.sheets}
        every |= self._told
        codes = {sheet.code for sheet in self.done.sheets}
        codes |= {
            sheet.code
            for sheet in every.values()
            if self.done.cut.intersection(self._marks_still_on(sheet))
        }
        parent = {offcut.id: sheet.code for sheet in every.values() for offcut in sheet.offcuts}
        for code in list(codes):
            source = every[code].source
            while source in parent and parent[source] not in codes:
                codes.add(parent[source])
                source = every[parent[source]].source
        return {code: sheet for code, sheet in every.items() if code in codes}

    def _marks_still_on(self, sheet: Sheet) -> tuple[str, ...]:
        """The marks of the pieces of a sheet, but for those that were cut from another one."""
        return tuple(
            mark for mark in marks_on(sheet) if self._told_on.get(mark, sheet.code) == sheet.code
        )

    def _is_told_otherwise(self, sheet: Sheet) -> bool:
        """Whether a sheet of a plan was cut otherwise, or a piece of it from another sheet."""
        return self._told.get(sheet.code, sheet) != sheet or len(self._marks_still_on(sheet)) < len(
            marks_on(sheet)
        )

    def _by_pool(self) -> dict[str, frozenset[str]]:
        pile_of = {
            room: number
            for number, pile in enumerate(piles(self.house))
            for connected in pile
            for room in connected
        }
        pools: dict[tuple[int, str, Nm], set[str]] = {}
        for one in self.members.values():
            surface = one.surface
            if surface.board_area and surface.action.gets_board:
                key = (pile_of[surface.room], surface.board.kind, surface.board.thickness)
                pools.setdefault(key, set()).add(surface.id)
        return {surface: frozenset(pool) for pool in pools.values() for surface in pool}

    def pool_of(self, surface: str) -> frozenset[str]:
        """The surfaces that share sheets with one, itself among them; none where it gets no
        board."""
        return self._pools.get(surface, frozenset())

    def rooms_of(self, surfaces: Collection[str]) -> list[RoomGeometry]:
        """The rooms with those surfaces alone to hang."""
        return [
            replace(room, hang_order=tuple(s for s in room.hang_order if s in surfaces))
            for room in self.rooms
        ]

    def is_loose(self, board: PlacedBoard) -> bool:
        """Whether a board is cut and does not hang."""
        return board.mark not in self.done.hung

    @property
    def elsewhere(self) -> frozenset[str]:
        """The boards that were cut from something else than they were planned on."""
        return frozenset({board.mark for board in self.done.boards} - self.done.cut)

    def fallen_of(self, plan: BoardPlan) -> Iterator[Fallen]:
        """The surfaces of a plan that cannot stay as they are planned, each with the first
        reason."""
        found = self._examine(plan)
        self.findings[id(plan)] = found
        reasons: dict[str, Fallen] = {}
        named = {surface.surface for surface in plan.surfaces}
        for breach in found.broken:
            if breach.where in named and breach.where not in reasons:
                reasons[breach.where] = Fallen(
                    surface=breach.where, rule=breach.rule, message=breach.message
                )
        for surface in plan.surfaces:
            if surface.surface not in reasons:
                reasons |= {one.surface: one for one in self._told_otherwise(surface)}
        for surface in plan.surfaces:
            if surface.surface in reasons:
                yield reasons[surface.surface]

    def _examine(self, plan: BoardPlan) -> Findings:
        """What the checker says with everything standing, and fixed what hangs or is cut for a
        place that is still its own."""
        hung = [board for board in self.done.boards if not self.is_loose(board)]
        found = self._examined(plan, hung)
        if not found.broken:
            return found
        pieces = {piece.code: piece for surface in plan.surfaces for piece in surface.pieces}
        lie = [board for board in self.done.boards if self.is_loose(board)]
        lie = [board for board in lie if self._lies(board, pieces)]
        if lie:
            known = {(b.where, b.rule) for b in self._examined(plan, (*hung, *lie)).broken}
            broken = [b for b in found.broken if b.rule in _TURNED or (b.where, b.rule) in known]
            found = replace(found, broken=tuple(broken))
        if all(breach.rule != "rows" for breach in found.broken):
            return found
        # Rows may have been planned from a board that is cut for its place and lies there.
        lie = [
            board
            for one in self.members.values()
            for board in on_surface(self.done.boards, one.surface)
            if not self.is_loose(board)
            or (board.mark in pieces and _is_at(pieces[board.mark], board))
        ]
        still = {b.where for b in self._examined(plan, lie).broken if b.rule == "rows"}
        return replace(
            found,
            broken=tuple(b for b in found.broken if b.rule != "rows" or b.where in still),
        )

    def _lies(self, board: PlacedBoard, pieces: Mapping[str, Piece]) -> bool:
        """Whether a board that is cut and does not hang is where a plan has it, and still can be
        there: what is planned beside it was planned around it."""
        now = self.members.get(board.surface)
        if now is None or board.mark not in pieces:
            return False
        (lies,) = on_surface((board,), now.surface)
        others = [other for other in self.done.boards if other.surface == board.surface]
        others = [other for other in others if not self.is_loose(other)]
        return _is_at(pieces[board.mark], lies) and self._place_stands(board, now, others)

    def _place_stands(
        self, board: PlacedBoard, now: FramedSurface, others: Sequence[PlacedBoard]
    ) -> bool:
        # One that no plan of then had there was not cut to the sides and members of its place.
        off_plan = board.mark in self.done.off_plan
        plan = None if off_plan else self.given.get(board.surface)
        return place_stands(board, now, plan, others)

    def _examined(self, plan: BoardPlan, boards: Iterable[PlacedBoard]) -> Findings:
        surfaces = {surface.surface for surface in plan.surfaces}
        rooms = {surface.room for surface in plan.surfaces}
        built = AsBuilt(
            boards=tuple(board for board in boards if board.surface in surfaces),
            sheets=tuple(sheet for sheet in plan.sheets if sheet.code in self.begun),
            standing=plan.surfaces,
        )
        members = [one for one in self.members.values() if one.surface.room in rooms]
        return examine_plan(plan, members, self.house.rules, self.house.catalogue, built=built)

    def _told_otherwise(self, plan: SurfacePlan) -> Iterator[Fallen]:
        """The first piece of a surface that was cut otherwise than its plan says."""
        pieces = {piece.code: piece for piece in plan.pieces}
        marks = {board.mark for board in self.done.boards}
        wrong = next((code for code in pieces if code in self.done.cut - marks), None)
        surface = self.members[plan.surface].surface
        if wrong is not None:
            message = f"{surface.name}: {wrong} was cut wrong, so its place is open again"
            yield Fallen(surface=plan.surface, rule="cut_wrong", message=message)
            return
        for board in on_surface(self.done.boards, surface):
            piece = pieces.get(board.mark)
            if piece is None or not _is_at(piece, board):
                message = f"{surface.name}: {board.mark} is cut otherwise than the plan has it"
                yield Fallen(surface=plan.surface, rule="placed", message=message)
                return

    def _stands(self, plan: BoardPlan, fallen: Collection[str], dissolved: frozenset[str]) -> bool:
        """Whether nothing of a plan changes."""
        surfaces = frozenset(surface.surface for surface in plan.surfaces)
        return (
            bool(surfaces)
            and not surfaces.intersection(fallen)
            and not dissolved.intersection(sheet.code for sheet in plan.sheets)
            and not any(self.elsewhere.intersection(marks_on(sheet)) for sheet in plan.sheets)
            and not any(self._is_told_otherwise(sheet) for sheet in plan.sheets)
            and all(self.pool_of(surface) == surfaces for surface in surfaces)
        )

    def attempt(
        self,
        fallen: Mapping[str, Fallen],
        freed: Collection[str],
        cache: PlanCache,
        improve: Improve | None,
        *,
        without_pooling: bool,
    ) -> _Attempt:
        """Plan the pools of which something fell."""
        standing = {surface: plan for surface, plan in self.given.items() if surface not in fallen}
        boards, spare = self._boards(fallen, freed)
        stay = {board.mark for board in boards}
        struck = {
            piece.code
            for surface in fallen
            for piece in self.given[surface].pieces
            if piece.code not in stay
        }
        dissolved = self._dissolved(struck)
        kept = [
            sheet
            for plan in self.plans
            for sheet in plan.sheets
            if sheet.code not in self.begun and sheet.code not in dissolved
        ]
        as_before = [plan for plan in self.plans if self._stands(plan, fallen, dissolved)]
        untouched = {surface.surface for plan in as_before for surface in plan.surfaces}
        planned = frozenset(surface for surface in self._pools if surface not in untouched)
        begun_now = self._begun_now(struck, kept, boards)
        as_planned = {sheet.code: sheet for plan in as_before for sheet in plan.sheets}
        sheets = tuple(as_planned.get(sheet.code, sheet) for sheet in (*begun_now, *kept))
        open_now = {surface for surface in planned if surface not in standing}
        open_now |= {
            self.surface_of.get(mark, "")
            for plan in self.plans
            for sheet in plan.sheets
            if sheet.code in dissolved
            for mark in marks_on(sheet)
        }
        offered = (*begun_now, *(self._as_offered(sheet, open_now) for sheet in kept))
        stated = self._stated(planned, standing, boards, offered, as_before)
        house = self._with_owned(kept, begun_now, spare)
        plans: Sequence[BoardPlan] = ()
        refused: Sequence[Refusal] = ()
        if planned:
            plans, refused = plan_boards(
                house,
                self.rooms_of(planned),
                self.members,
                cache,
                improve,
                self.warm_start,
                without_pooling=without_pooling,
                built=stated,
            )
        # What was not offered of a sheet is left over of it all the same.
        stays = {sheet.code: sheet for sheet in kept}
        plans = [
            replace(plan, sheets=tuple(stays.get(sheet.code, sheet) for sheet in plan.sheets))
            for plan in plans
        ]
        return _Attempt(
            plans=self._in_order([*as_before, *map(self._as_given, plans)]),
            refused=tuple(refused),
            standing=standing,
            boards=boards,
            sheets=sheets,
            spare=spare,
            house=house,
            stated=stated,
            planned=planned,
        )

    def _as_offered(self, sheet: Sheet, open_now: Collection[str]) -> Sheet:
        """A sheet that is still to be cut, with its offcuts where they are kept, and left over
        before anything that is open is hung."""
        rooms = [room.room for room in self.rooms]
        first = min(
            (
                rooms.index(self.members[surface].surface.room)
                for surface in open_now
                if surface in self.members
            ),
            default=len(rooms),
        )
        late = sheet.room not in rooms or rooms.index(sheet.room) > first
        if late or not self.house.rules.keep_offcuts:
            return replace(sheet, offcuts=())
        return sheet

    def _boards(
        self, fallen: Mapping[str, Fallen], freed: Collection[str]
    ) -> tuple[tuple[PlacedBoard, ...], tuple[OwnedSheet, ...]]:
        """The boards that stay where they are, and those cut whose place is no more."""
        stay = [board for board in self.done.boards if not self.is_loose(board)]
        spare: list[OwnedSheet] = []
        for board in self.done.boards:
            if not self.is_loose(board):
                continue
            now = self.members.get(board.surface)
            if now is not None and board.surface not in fallen:
                stay.append(board)
                continue
            if (
                now is not None
                and board.surface not in freed
                and self._place_stands(
                    board, now, [other for other in stay if other.surface == board.surface]
                )
            ):
                stay.append(board)
            else:
                spare += spare_of(board)
        order = {board.mark: number for number, board in enumerate(self.done.boards)}
        return tuple(sorted(stay, key=lambda board: order[board.mark])), tuple(spare)

    def _dissolved(self, struck: Collection[str]) -> frozenset[str]:
        """The sheets not begun that are no more: a piece of theirs fell, or there is nothing to cut
        them of."""
        here = [one for one in self.house.rules.owned if one.id not in self.done.gone]
        owned = {one.id: one.count for one in here}
        measures = {one.id: (one.width, one.length, one.factory_edges) for one in here}
        rules, catalogue = self.house.rules, self.house.catalogue
        on_sale = {
            (one.board, one.thickness, one.width, one.length)
            for one in (catalogue.sheets if rules.sheets is None else rules.sheets)
        }
        offcuts = {
            offcut.id: sheet.code
            for sheet in (*self.begun.values(), *(s for plan in self.plans for s in plan.sheets))
            for offcut in sheet.offcuts
            if offcut.id not in self.done.gone
        }
        dissolved: set[str] = set()
        lost = self.elsewhere.union(struck)
        uncuttable = {
            breach.where
            for found in self.findings.values()
            for breach in found.broken
            if breach.rule in _UNCUTTABLE
        }
        spent = {sheet.source for sheet in self._told.values()}
        waiting = [
            sheet for plan in self.plans for sheet in plan.sheets if sheet.code not in self.begun
        ]
        # Whole sheets that were here when they were planned come first: what is to be bought is
        # there as long as it is on sale.
        for sheet in sorted(waiting, key=lambda sheet: not _is_from_stock(sheet)):
            size = (sheet.board, sheet.thickness, sheet.width, sheet.length)
            source = sheet.source if sheet.source is not None else sheet_id(*size)
            if sheet.source in offcuts:
                there = offcuts[sheet.source] not in dissolved and sheet.source not in spent
            else:
                there = owned.get(source, 0) > 0
                # One that was measured anew is not what the pieces were laid out on.
                there &= sheet.source is None or measures.get(source) == (
                    sheet.width,
                    sheet.length,
                    sheet.factory_edges,
                )
                there |= sheet.source is None and size in on_sale
            # Pieces of rooms that are not bought together any more are not cut together.
            pools = {self.pool_of(self.surface_of.get(mark, "")) for mark in marks_on(sheet)}
            if (
                not there
                or sheet.code in uncuttable
                or len(pools) > 1
                or len(self._marks_still_on(sheet)) < len(marks_on(sheet))
                or lost.intersection(marks_on(sheet))
            ):
                dissolved.add(sheet.code)
            elif source in owned:
                owned[source] -= 1
        return frozenset(dissolved)

    def _begun_now(
        self, struck: Collection[str], kept: Sequence[Sheet], boards: Sequence[PlacedBoard]
    ) -> tuple[Sheet, ...]:
        """The sheets begun, with what is cut and what stays on them; the other places are free."""
        used = {sheet.source for sheet in (*self.begun.values(), *kept)}
        loose = {one.id for one in self.house.rules.owned}
        taken = self.taken()
        sheets = []
        for sheet in self.begun.values():
            pool = self._pool_of_sheet(sheet, boards)
            stays = {
                mark
                for mark in self._marks_still_on(sheet)
                if mark in self.done.cut
                or (
                    mark in self.surface_of
                    and mark not in struck
                    and mark not in self.elsewhere
                    and self.surface_of[mark] in pool
                )
            }
            gone = {offcut.id for offcut in sheet.offcuts}
            apart = gone.intersection(self.done.gone | used | loose)
            here = tuple(o for o in sheet.offcuts if o.id not in self.done.gone)
            if len(stays) == len(marks_on(sheet)):
                now = replace(sheet, offcuts=here)
            else:
                now = begun(
                    sheet, stays, self._kerf(sheet), self.house.rules, gone=apart, taken=taken
                )
                # What is cut off already, or meant for another sheet, is still what it was.
                lost = [o for o in here if o.id in apart]
                now = replace(now, offcuts=(*lost, *now.offcuts))
            sheets.append(replace(now, room=self._room_of(now)))
        return tuple(sheets)

    def _pool_of_sheet(self, sheet: Sheet, boards: Sequence[PlacedBoard]) -> frozenset[str]:
        """The pool that a begun sheet counts in: the first that has a board of it, or the room it
        is cut in."""
        marks = set(marks_on(sheet))
        here = {board.surface for board in boards if board.mark in marks}
        room = self._room_of(sheet)
        for surface in self._pools:
            one = self.members[surface].surface
            if (one.board.kind, one.board.thickness) == (sheet.board, sheet.thickness) and (
                surface in here or one.room == room
            ):
                return self._pools[surface]
        return frozenset()

    def _kerf(self, sheet: Sheet) -> Nm:
        kinds = {kind.id: kind for kind in self.house.catalogue.boards}
        kind = kinds.get(sheet.board)
        return self.house.rules.kerf if kind and kind.cutting is Cutting.SAW else Nm(0)

    def _room_of(self, sheet: Sheet) -> str:
        """The room that a sheet is cut in: another where its own gets none of its board any
        more."""
        rooms = [
            one.surface.room
            for one in self.members.values()
            if one.surface.id in self._pools
            and (one.surface.board.kind, one.surface.board.thickness)
            == (sheet.board, sheet.thickness)
        ]
        if sheet.room in rooms or not rooms:
            return sheet.room
        marks = set(marks_on(sheet))
        mine = [plan.room for plan in self.given.values() for p in plan.pieces if p.code in marks]
        return next((room for room in mine if room in rooms), rooms[0])

    def taken(self) -> frozenset[str]:
        """Every mark that was ever given, as far as is known here."""
        done = self.done
        sheets = [*done.sheets, *(sheet for plan in self.plans for sheet in plan.sheets)]
        marks = done.taken | done.gone | done.cut | {board.mark for board in done.boards}
        marks |= {sheet.code for sheet in sheets}
        marks |= {mark for sheet in sheets for mark in marks_on(sheet)}
        marks |= {offcut.id for sheet in sheets for offcut in sheet.offcuts}
        marks |= {piece.code for plan in self.given.values() for piece in plan.pieces}
        return frozenset(marks | {one.id for one in self.house.rules.owned})

    def _stated(
        self,
        planned: Collection[str],
        standing: Mapping[str, SurfacePlan],
        boards: Sequence[PlacedBoard],
        sheets: Sequence[Sheet],
        as_before: Sequence[BoardPlan],
    ) -> AsBuilt:
        """What the planner may not change: what is done, and the pieces of surfaces that stand on
        sheets that stay."""
        others = {sheet.code for plan in as_before for sheet in plan.sheets}
        mine = [sheet for sheet in sheets if sheet.code not in others]
        done = {board.mark for board in boards}
        stays = {mark for sheet in mine for mark in marks_on(sheet)} - done
        pretended: list[PlacedBoard] = []
        for surface, plan in standing.items():
            if surface in planned:
                here = [board for board in boards if board.surface == surface]
                pretended += place(plan, self.members[surface].surface, stays, here)
        return AsBuilt(
            boards=(*(board for board in boards if board.surface in planned), *pretended),
            sheets=tuple(mine),
            taken=tuple(sorted(self.taken())),
            standing=tuple(plan for surface, plan in standing.items() if surface in planned),
        )

    def _with_owned(
        self, kept: Sequence[Sheet], begun_now: Sequence[Sheet], spare: Sequence[OwnedSheet]
    ) -> House:
        """The house with what is free of the sheets it owns: the spare pieces, offered first, and
        nothing that a sheet which stays is cut from."""
        offcuts = {offcut.id for sheet in (*kept, *begun_now) for offcut in sheet.offcuts}
        used = Counter(
            sheet.source or sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length)
            for sheet in kept
        )
        used.update(sheet.source for sheet in begun_now if sheet.source in offcuts)
        owned = [
            replace(one, count=one.count - used[one.id])
            for one in self.house.rules.owned
            if one.count > used[one.id] and one.id not in self.done.gone
        ]
        # An offcut of a sheet that is begun is told of by that sheet.
        return replace(self.house, rules=replace(self.house.rules, owned=(*spare, *owned)))

    def _in_order(self, plans: Iterable[BoardPlan]) -> tuple[BoardPlan, ...]:
        """Plans in the order their boards are first hung."""
        order = [surface for room in self.rooms for surface in room.hang_order]
        places = {surface: number for number, surface in enumerate(order)}
        return tuple(
            sorted(
                plans,
                key=lambda plan: min(
                    (places.get(surface.surface, len(order)) for surface in plan.surfaces),
                    default=len(order),
                ),
            )
        )

    def _as_given(self, plan: BoardPlan) -> BoardPlan:
        """The plan there was, where that is the same: also one of a pool with a surface that could
        not be boarded before."""

        def said(one: BoardPlan) -> object:
            return [replace(surface, notes=()) for surface in one.surfaces], one.sheets

        return next((one for one in self.plans if said(one) == said(plan)), plan)

    def renewal(self, attempt: _Attempt, fallen: Mapping[str, Fallen]) -> Renewal:
        """What came of it, held against what there was."""
        plans = tuple(_priced(plan, self.house.rules, self._hours(plan)) for plan in attempt.plans)
        laid = {piece.code for plan in plans for s in plan.surfaces for piece in s.pieces}
        spare = tuple(one for one in attempt.spare if one.id not in laid)
        cut = {board.mark for board in self.done.boards} | self.done.cut
        of_use = laid | {one.id for one in spare} | {board.mark for board in attempt.boards}
        now = {
            mark: sheet.code for plan in plans for sheet in plan.sheets for mark in marks_on(sheet)
        }
        before = {
            mark: sheet.code
            for plan in self.plans
            for sheet in plan.sheets
            for mark in marks_on(sheet)
        }
        codes = {sheet.code for plan in plans for sheet in plan.sheets}
        house = self.house
        if spare:
            house = replace(house, rules=replace(house.rules, owned=(*spare, *house.rules.owned)))
        built = AsBuilt(
            boards=attempt.boards,
            sheets=attempt.sheets,
            taken=tuple(sorted(self.taken())),
            standing=tuple(attempt.standing.values()),
        )
        takeoff = takeoff_of_plans(
            house,
            self.rooms,
            self.partitions,
            self.members,
            plans,
            attempt.refused,
            built=built,
        )
        return Renewal(
            takeoff=replace(takeoff, amiss=(*takeoff.amiss, *self._amiss_sheets(codes))),
            fallen=tuple(fallen.values()),
            struck=tuple(
                piece.code
                for plan in self.given.values()
                for piece in plan.pieces
                if piece.code not in laid and piece.code not in cut
            ),
            dissolved=tuple(
                sheet.code
                for plan in self.plans
                for sheet in plan.sheets
                if sheet.code not in codes and sheet.code not in self.begun
            ),
            spare=spare,
            waste=tuple(b.mark for b in self.done.boards if b.mark not in of_use),
            recut=tuple(
                mark
                for mark, code in before.items()
                if mark in laid and mark in now and now[mark] != code
            ),
            leaning=tuple(self._leaning(fallen)),
        )

    def _leaning(self, fallen: Collection[str]) -> Iterator[str]:
        """The surfaces that stand, and could not without what hangs there, or was cut for there, as
        planned."""
        others = [board for board in self.done.boards if board.mark in self.done.off_plan]
        known = self.done.off_plan
        on = {board.surface for board in self.done.boards if board.mark not in known} - set(fallen)
        for plan in self.plans:
            mine = on.intersection(surface.surface for surface in plan.surfaces)
            if mine:
                broken = {breach.where for breach in self._examined(plan, others).broken}
                yield from sorted(mine & broken)

    def _hours(self, plan: BoardPlan) -> Cents:
        """What the hours of a plan are worth as the house is now."""
        rules, catalogue = self.house.rules, self.house.catalogue
        hours = 0
        for one in plan.surfaces:
            surface = self.members[one.surface].surface
            kind = catalogue.board(surface.board.kind)
            sheets = on_sale(surface, rules, catalogue)
            work = work_on(surface, kind, rules, sheets, one.rows_run)
            hours += hours_of(one, work)
        planned = [(self.members[one.surface], one) for one in plan.surfaces]
        return Cents(hours + shared_work(planned, rules))

    def _amiss_sheets(self, codes: Collection[str]) -> Iterator[Breach]:
        """What is said of sheets that stay and are not begun, which no plan falls for."""
        for plan in self.plans:
            waiting = {sheet.code for sheet in plan.sheets if sheet.code in codes} - set(self.begun)
            for breach in self.findings[id(plan)].broken:
                if breach.where in waiting:
                    yield replace(breach, amiss=True)


def marks_on(sheet: Sheet) -> tuple[str, ...]:
    """The marks of the pieces of a sheet."""
    placed = (*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces))
    return tuple(piece.piece for piece in placed)


def _is_from_stock(sheet: Sheet) -> bool:
    """Whether a sheet is a whole one that was here when it was planned."""
    return sheet.source == sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length)


def _is_at(piece: Piece, board: PlacedBoard) -> bool:
    return (piece.start, piece.end, piece.low, piece.high, piece.outline) == (
        board.start,
        board.end,
        board.low,
        board.high,
        board.outline,
    )


def _priced(plan: BoardPlan, rules: Rules, hours: Cents) -> BoardPlan:
    """The plan at what seams, backers and hours cost now; itself where they cost the same.

    What no plan can cost less than is not known at other prices, so nothing is claimed then.
    """
    points = [
        joint_at(joint.at, joint.kind, joint.length, rules)
        for surface in plan.surfaces
        for joint in surface.joints
    ]
    pairs = sum(_close_pairs(surface, rules) for surface in plan.surfaces)
    seams = sum((point.seam_cost for point in points), Fraction(0))
    seams += pairs * 100 * Fraction(rules.preferred_stagger_price)
    backers = sum((point.backer_cost for point in points), Fraction(0))
    if (seams, backers, hours) == (plan.seam_cost, plan.backer_cost, plan.work_cost):
        return plan
    return replace(
        plan,
        seam_cost=seams,
        backer_cost=backers,
        work_cost=hours,
        bound=Bound(value=Fraction(0), basis=BoundBasis.AREA),
    )


def _close_pairs(plan: SurfacePlan, rules: Rules) -> int:
    """The pairs of joints in touching courses that stand closer than is preferred."""
    rows = sorted(plan.rows, key=lambda row: (row.low, row.index))
    return sum(
        abs(one.at - other.at) < rules.preferred_stagger
        for lower, upper in pairwise(rows)
        for one in plan.joints
        if one.row == lower.index
        for other in plan.joints
        if other.row == upper.index
    )
