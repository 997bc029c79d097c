"""A house file worked out and printed as text, for the `takeoff` command."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Collection
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool
from takeoff.catalogue import Catalogue
from takeoff.errors import BadValue, HouseFileError, TakeoffError
from takeoff.house import House
from takeoff.housefile import read_catalogue, read_house, write_house
from takeoff.job import (
    PlanCache,
    SearchOptions,
    Takeoff,
    chosen_needs,
    partition_choices,
    supply_for,
    take_off,
)
from takeoff.needs.need import Phase
from takeoff.quantities import money
from takeoff.report.choices_text import choices_text
from takeoff.report.csv_text import supply_csv
from takeoff.report.cut_text import cut_text
from takeoff.report.document import document
from takeoff.report.plan_text import plan_text
from takeoff.report.supply_text import supply_text
from takeoff.report.ways_text import ways_text
from takeoff.report.why_text import why_text
from takeoff.units import format_length

if TYPE_CHECKING:
    from takeoff.solve.best import Progress

__all__ = [
    "PHASES",
    "Catalogue",
    "FileTakeoff",
    "House",
    "TakeoffError",
    "problems_of",
    "read_catalogue_file",
    "read_house_file",
    "work_out",
    "write_house_file",
]

PHASES = tuple(phase.value for phase in Phase)


@dataclass(frozen=True, slots=True)
class FileTakeoff:
    """A house that was worked out, and the rooms and phases that were asked for (or all of
    them). `left` are the surfaces whose plan was too large for the quick search."""

    takeoff: Takeoff
    phases: tuple[str, ...]
    rooms: tuple[str, ...]
    left: frozenset[str] = frozenset()

    def text(self) -> str:
        """The supply list, with all that is worth knowing before buying."""
        supply = supply_for(self.takeoff, phases=self.phases, rooms=self.rooms)
        return supply_text(
            self.takeoff,
            supply,
            phases=self.phases,
            rooms=self.rooms,
            left=self.left,
        )

    def plan(self) -> str:
        """The board plans row by row and sheet by sheet."""
        return plan_text(self.takeoff, self.rooms)

    def cuts(self) -> str:
        """What is cut from sticks, stick by stick."""
        return cut_text(self.takeoff, phases=self.phases, rooms=self.rooms)

    def ways(self) -> str:
        """Each room boarded in several ways, side by side."""
        return ways_text(self.takeoff, self.rooms)

    def open_choices(self) -> str:
        """Each open choice worked out both ways, side by side."""
        return choices_text(self.takeoff, self.rooms)

    def csv(self) -> str:
        """The supply list for a spreadsheet."""
        supply = supply_for(self.takeoff, phases=self.phases, rooms=self.rooms)
        return supply_csv(supply, currency=self.takeoff.house.catalogue.currency)

    def json(self) -> str:
        """The whole takeoff, whatever rooms and phases were asked for, because half a plan could
        not be checked again; each partition framed before and after board, by first plans, is in
        it."""
        choices = partition_choices(self.takeoff)
        return json.dumps(document(self.takeoff, choices), indent=1, ensure_ascii=False) + "\n"

    def why(self, item: str) -> str:
        """The reasons behind one item. Raises `TakeoffError` with a list of the items where none
        has that name."""
        return why_text(
            self.takeoff, chosen_needs(self.takeoff, phases=self.phases, rooms=self.rooms), item
        )


def work_out(
    house_file: Path,
    *,
    catalogue_file: Path,
    metric_catalogue_file: Path,
    phases: Collection[str] = (),
    rooms: Collection[str] = (),
    search_seconds: float | None = None,
    on_progress: Callable[[str], None] = lambda line: None,
) -> FileTakeoff:
    """Read a house file and work it out. `catalogue_file` is used for a house that brings no
    catalogue of its own, and `metric_catalogue_file` for such a house in millimeters.

    Empty phases or rooms mean all of them. `search_seconds` is how long to search for better board
    plans, 0 not at all; each step of the search is reported in a line. None is a quick search by
    work, which gives the same plans each time. Raises `TakeoffError` with everything wrong in the
    file, and `OSError` where a file cannot be read.
    """
    house = read_house(
        house_file.read_bytes(),
        catalogue=read_catalogue(catalogue_file.read_bytes()),
        metric_catalogue=read_catalogue(metric_catalogue_file.read_bytes()),
    )
    chosen = tuple(_room_id(house, room) for room in rooms)
    chosen_phases = tuple(_phase_id(house, phase) for phase in phases)
    cache = PlanCache()
    takeoff = take_off(house, cache=cache)
    left: list[Pool] = []
    if search_seconds != 0:
        search = SearchOptions.quick(left.append)
        if search_seconds is not None:
            search = SearchOptions(
                seconds=search_seconds,
                clock=time.monotonic,
                on_progress=_teller(house, on_progress),
            )
        takeoff = take_off(house, cache=cache, search=search)
    return FileTakeoff(
        takeoff=takeoff,
        phases=chosen_phases,
        rooms=chosen,
        left=frozenset(problem.framed.surface.id for pool in left for problem in pool.surfaces),
    )


def read_house_file(
    text: str | bytes, catalogue: Catalogue, metric_catalogue: Catalogue | None = None
) -> House:
    """The house in a file. `catalogue` is used for a house that brings none, `metric_catalogue`,
    where given, for one in millimeters. Raises `TakeoffError` with all that is wrong."""
    return read_house(text, catalogue=catalogue, metric_catalogue=metric_catalogue)


def read_catalogue_file(text: str | bytes) -> Catalogue:
    """The catalogue in a file. Raises `TakeoffError` with all that is wrong."""
    return read_catalogue(text)


def write_house_file(house: House) -> str:
    """The house as a file, with its catalogue."""
    return write_house(house)


def _phase_id(house: House, wanted: str) -> str:
    """The id of a phase: of those every room has, or of those people named, by its id or its
    name."""
    own = house.own_phases
    for phase in PHASES:
        if wanted.strip().casefold() == phase:
            return phase
    for phase, name in own.items():
        if wanted.strip().casefold() in (phase.casefold(), name.casefold()):
            return phase
    raise BadValue(
        f"No phase {wanted!r} in this house; there are {', '.join((*PHASES, *own.values()))}"
    )


def _room_id(house: House, wanted: str) -> str:
    """The id of a room, found by its id or its name in upper or lower case."""
    for room in house.rooms:
        if wanted.strip().casefold() in (room.id.casefold(), room.name.casefold()):
            return room.id
    raise BadValue(
        f"No room {wanted!r} in this house; there are "
        f"{', '.join(room.name for room in house.rooms)}"
    )


def _cost(plan: BoardPlan, house: House) -> str:
    """Money and hours apart: what hours are worth is nothing that anybody pays."""
    paid = money(plan.money, house.catalogue.currency)
    hour = Fraction(house.rules.hour)
    return f"{paid} and {float(plan.work_cost / 100 / hour):.1f} hours" if hour else paid


def _teller(house: House, on_progress: Callable[[str], None]) -> Callable[[Pool, Progress], None]:
    """Turns each step of a search into a line for the terminal."""

    def tell(pool: Pool, progress: Progress) -> None:
        kind = house.catalogue.board(pool.board).name
        thickness = format_length(pool.thickness, house.units, feet=False)
        on_progress(
            f"{kind} {thickness}: {_cost(progress.plan, house)}, "
            f"at most {float(progress.gap) * 100:.2f}% could still be saved"
        )

    return tell


def problems_of(error: TakeoffError) -> list[tuple[str, str]]:
    """Everything that is wrong in a refused house file, as (place, what to enter). The place is
    empty for the whole file."""
    if isinstance(error, HouseFileError):
        return [(problem.place, problem.message) for problem in error.problems]
    return [("", str(error))]
