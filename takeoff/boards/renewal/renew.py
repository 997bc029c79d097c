"""Plan anew what fell of the plans of a house, and keep the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.boards.house_plan import Improve, PlanCache, Refusal, plan_boards, pools_of
from takeoff.boards.hung import place
from takeoff.boards.plan import AsBuilt, BoardPlan, PlacedBoard, Sheet, SurfacePlan
from takeoff.boards.renewal.falls import TURNED, Falls
from takeoff.boards.renewal.now import Now
from takeoff.boards.renewal.prices import priced
from takeoff.boards.renewal.sheets import Sheets
from takeoff.boards.renewal.values import NOTHING_DONE, Done, Fallen, Renewal, marks_on
from takeoff.boards.spares import spare_of
from takeoff.catalogue import OwnedSheet
from takeoff.choices import FramedWhen
from takeoff.framing.members import frame
from takeoff.geometry.rooms import room_shapes
from takeoff.house import House
from takeoff.job import takeoff_of_plans
from takeoff.needs.materials import sheet_id

__all__ = ["renew"]


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
    now = Now(house, tuple(rooms), partitions, members, tuple(plans), done, tuple(warm_start))
    sheets = Sheets(now)
    falls = Falls(now, sheets)
    work = _Work(now, sheets, falls)
    cache = cache or PlanCache()
    fallen = {one.surface: one for plan in plans for one in falls.of(plan)}
    for surface in set(anew).intersection(now.given) - set(fallen):
        fallen[surface] = Fallen(
            surface=surface,
            rule="anew",
            message=f"{members[surface].surface.name} is to be planned anew",
        )
    freed = {one.surface for one in fallen.values() if one.rule in TURNED}
    attempt = work.attempt(fallen, freed, cache, improve, without_pooling=without_pooling)
    while attempt.refused:
        wider = _wider(now, attempt, fallen, freed, cache)
        if wider is None:
            break
        other, more = wider
        again = work.attempt(other, more, cache, improve, without_pooling=without_pooling)
        asked = {one.surface for one in attempt.refused if one.surface not in attempt.standing}
        opened = len(other) > len(fallen) and not any(
            one.surface in attempt.standing for one in attempt.refused
        )
        if opened and asked <= {one.surface for one in again.refused}:
            # That the others' joints may move does not help it, so they stay.
            break
        attempt, fallen, freed = again, other, more
    return work.renewal(attempt, fallen)


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
    now: Now,
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


@dataclass(frozen=True)
class _Work:
    """The planning of what fell, with what is kept around it."""

    now: Now
    sheets: Sheets
    falls: Falls

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
        standing = {
            surface: plan for surface, plan in self.now.given.items() if surface not in fallen
        }
        boards, spare = self._boards(fallen, freed)
        stay = {board.mark for board in boards}
        struck = {
            piece.code
            for surface in fallen
            for piece in self.now.given[surface].pieces
            if piece.code not in stay
        }
        dissolved = self.sheets.dissolved(struck, self.falls.uncuttable())
        kept = [
            sheet
            for plan in self.now.plans
            for sheet in plan.sheets
            if sheet.code not in self.sheets.begun and sheet.code not in dissolved
        ]
        as_before = [plan for plan in self.now.plans if self._stands(plan, fallen, dissolved)]
        untouched = {surface.surface for plan in as_before for surface in plan.surfaces}
        planned = frozenset(surface for surface in self.now.pools if surface not in untouched)
        begun_now = self.sheets.begun_now(struck, kept, boards)
        as_planned = {sheet.code: sheet for plan in as_before for sheet in plan.sheets}
        sheets = tuple(as_planned.get(sheet.code, sheet) for sheet in (*begun_now, *kept))
        open_now = {surface for surface in planned if surface not in standing}
        open_now |= {
            self.now.surface_of.get(mark, "")
            for plan in self.now.plans
            for sheet in plan.sheets
            if sheet.code in dissolved
            for mark in marks_on(sheet)
        }
        offered = (*begun_now, *(self.sheets.as_offered(sheet, open_now) for sheet in kept))
        stated = self._stated(planned, standing, boards, offered, as_before)
        house = self._with_owned(kept, begun_now, spare)
        plans: Sequence[BoardPlan] = ()
        refused: Sequence[Refusal] = ()
        if planned:
            plans, refused = plan_boards(
                house,
                self.now.rooms_of(planned),
                self.now.members,
                cache,
                improve,
                self.now.warm_start,
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
            plans=self.now.in_order([*as_before, *map(self.now.as_given, plans)]),
            refused=tuple(refused),
            standing=standing,
            boards=boards,
            sheets=sheets,
            spare=spare,
            house=house,
            stated=stated,
            planned=planned,
        )

    def renewal(self, attempt: _Attempt, fallen: Mapping[str, Fallen]) -> Renewal:
        """What came of it, held against what there was."""
        plans = tuple(priced(plan, self.now.house, self.now.members) for plan in attempt.plans)
        laid = {piece.code for plan in plans for s in plan.surfaces for piece in s.pieces}
        spare = tuple(one for one in attempt.spare if one.id not in laid)
        cut = {board.mark for board in self.now.done.boards} | self.now.done.cut
        of_use = laid | {one.id for one in spare} | {board.mark for board in attempt.boards}
        sheet_of = {
            mark: sheet.code for plan in plans for sheet in plan.sheets for mark in marks_on(sheet)
        }
        before = {
            mark: sheet.code
            for plan in self.now.plans
            for sheet in plan.sheets
            for mark in marks_on(sheet)
        }
        codes = {sheet.code for plan in plans for sheet in plan.sheets}
        house = self.now.house
        if spare:
            house = replace(house, rules=replace(house.rules, owned=(*spare, *house.rules.owned)))
        built = AsBuilt(
            boards=attempt.boards,
            sheets=attempt.sheets,
            taken=tuple(sorted(self.now.taken())),
            standing=tuple(attempt.standing.values()),
        )
        takeoff = takeoff_of_plans(
            house,
            self.now.rooms,
            self.now.partitions,
            self.now.members,
            plans,
            attempt.refused,
            built=built,
        )
        return Renewal(
            takeoff=replace(takeoff, amiss=(*takeoff.amiss, *self.falls.amiss_sheets(codes))),
            fallen=tuple(fallen.values()),
            struck=tuple(
                piece.code
                for plan in self.now.given.values()
                for piece in plan.pieces
                if piece.code not in laid and piece.code not in cut
            ),
            dissolved=tuple(
                sheet.code
                for plan in self.now.plans
                for sheet in plan.sheets
                if sheet.code not in codes and sheet.code not in self.sheets.begun
            ),
            spare=spare,
            waste=tuple(b.mark for b in self.now.done.boards if b.mark not in of_use),
            recut=tuple(
                mark
                for mark, code in before.items()
                if mark in laid and mark in sheet_of and sheet_of[mark] != code
            ),
            leaning=tuple(self.falls.leaning(fallen)),
        )

    def _stands(self, plan: BoardPlan, fallen: Collection[str], dissolved: frozenset[str]) -> bool:
        """Whether nothing of a plan changes."""
        surfaces = frozenset(surface.surface for surface in plan.surfaces)
        return (
            bool(surfaces)
            and not surfaces.intersection(fallen)
            and not dissolved.intersection(sheet.code for sheet in plan.sheets)
            and not any(self.now.elsewhere.intersection(marks_on(sheet)) for sheet in plan.sheets)
            and not any(self.sheets.is_told_otherwise(sheet) for sheet in plan.sheets)
            and all(self.now.pool_of(surface) == surfaces for surface in surfaces)
        )

    def _boards(
        self, fallen: Mapping[str, Fallen], freed: Collection[str]
    ) -> tuple[tuple[PlacedBoard, ...], tuple[OwnedSheet, ...]]:
        """The boards that stay where they are, and those cut whose place is no more."""
        stay = [board for board in self.now.done.boards if not self.now.is_loose(board)]
        spare: list[OwnedSheet] = []
        for board in self.now.done.boards:
            if not self.now.is_loose(board):
                continue
            now = self.now.members.get(board.surface)
            if now is not None and board.surface not in fallen:
                stay.append(board)
                continue
            if (
                now is not None
                and board.surface not in freed
                and self.falls.stands_there(
                    board, now, [other for other in stay if other.surface == board.surface]
                )
            ):
                stay.append(board)
            else:
                spare += spare_of(board)
        order = {board.mark: number for number, board in enumerate(self.now.done.boards)}
        return tuple(sorted(stay, key=lambda board: order[board.mark])), tuple(spare)

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
                pretended += place(plan, self.now.members[surface].surface, stays, here)
        return AsBuilt(
            boards=(*(board for board in boards if board.surface in planned), *pretended),
            sheets=tuple(mine),
            taken=tuple(sorted(self.now.taken())),
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
            for one in self.now.house.rules.owned
            if one.count > used[one.id] and one.id not in self.now.done.gone
        ]
        # An offcut of a sheet that is begun is told of by that sheet.
        return replace(self.now.house, rules=replace(self.now.house.rules, owned=(*spare, *owned)))
