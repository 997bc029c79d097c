"""A house as it is measured now, the plans there are of it, and what is done."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from takeoff.boards.plan import BoardPlan, PlacedBoard, SurfacePlan
from takeoff.boards.renewal.values import Done, marks_on
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.house import House
from takeoff.piles import piles
from takeoff.units import Nm

__all__ = ["Now"]


@dataclass
class Now:
    """A house as it is measured now, the plans there are, and what is done.

    `given` are the plans of surfaces, by those; `surface_of` the surface that each planned piece is
    for; `pools` the surfaces that share sheets, by each of them, those that get board alone.
    """

    house: House
    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    members: Mapping[str, FramedSurface]
    plans: tuple[BoardPlan, ...]
    done: Done
    warm_start: tuple[BoardPlan, ...]
    given: dict[str, SurfacePlan] = field(init=False)
    surface_of: dict[str, str] = field(init=False)
    pools: dict[str, frozenset[str]] = field(init=False)

    def __post_init__(self) -> None:
        self.given = {plan.surface: plan for one in self.plans for plan in one.surfaces}
        self.surface_of = {
            piece.code: plan.surface for plan in self.given.values() for piece in plan.pieces
        }
        self.pools = self._by_pool()

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
        return self.pools.get(surface, frozenset())

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

    def in_order(self, plans: Iterable[BoardPlan]) -> tuple[BoardPlan, ...]:
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

    def as_given(self, plan: BoardPlan) -> BoardPlan:
        """The plan there was, where that is the same: also one of a pool with a surface that could
        not be boarded before."""

        def said(one: BoardPlan) -> object:
            return [replace(surface, notes=()) for surface in one.surfaces], one.sheets

        return next((one for one in self.plans if said(one) == said(plan)), plan)
