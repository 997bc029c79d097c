"""A house file worked out and told as text: what the `takeoff` command prints."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from takeoff.catalogue import Catalogue
from takeoff.errors import BadValue, TakeoffError
from takeoff.house import House
from takeoff.housefile import read_catalogue, read_house, write_house
from takeoff.job import PartitionChoice, Takeoff, chosen_needs, partition_choices, supply_for, take_off
from takeoff.needs.need import Phase
from takeoff.report.csv_text import supply_csv
from takeoff.report.document import document
from takeoff.report.supply_text import supply_text
from takeoff.report.why_text import why_text

__all__ = [
    "PHASES",
    "Catalogue",
    "House",
    "Job",
    "TakeoffError",
    "read_catalogue_file",
    "read_house_file",
    "work_out",
    "write_house_file",
]

PHASES = tuple(phase.value for phase in Phase)


@dataclass(frozen=True, slots=True)
class Job:
    """A house worked out, and what of it is asked for: some rooms and phases, or all."""

    takeoff: Takeoff
    choices: tuple[PartitionChoice, ...]
    phases: tuple[Phase, ...]
    rooms: tuple[str, ...]

    def text(self) -> str:
        """The supply list with all there is to know before buying."""
        return supply_text(self.takeoff, supply_for(self.takeoff, phases=self.phases, rooms=self.rooms), self.choices)

    def csv(self) -> str:
        """The supply list for a spreadsheet."""
        supply = supply_for(self.takeoff, phases=self.phases, rooms=self.rooms)
        return supply_csv(supply, currency=self.takeoff.house.catalogue.currency)

    def json(self) -> str:
        """The whole takeoff, whatever rooms and phases were asked for: half a plan could not be re-checked."""
        return json.dumps(document(self.takeoff, self.choices), indent=1, ensure_ascii=False) + "\n"

    def why(self, item: str) -> str:
        """The reasons behind one item; raises `TakeoffError` that lists the items where none matches."""
        return why_text(self.takeoff, chosen_needs(self.takeoff, phases=self.phases, rooms=self.rooms), item)


def work_out(
    house_file: Path,
    *,
    catalogue_file: Path,
    phases: Collection[str] = (),
    rooms: Collection[str] = (),
    both_ways: bool = False,
) -> Job:
    """Read a house file and work it out; `catalogue_file` serves a house that brings no catalogue of its own.

    No phases or rooms means all of them. `both_ways` works out every partition framed before and after board as well.
    Raises `TakeoffError` with everything wrong in the file, and `OSError` where a file cannot be read.
    """
    house = read_house(house_file.read_bytes(), catalogue=read_catalogue(catalogue_file.read_bytes()))
    unknown = [room for room in rooms if room not in {each.id for each in house.rooms}]
    if unknown:
        raise BadValue(f"No room {unknown[0]!r} in this house; there are {', '.join(room.id for room in house.rooms)}")
    return Job(
        takeoff=take_off(house),
        choices=partition_choices(house) if both_ways else (),
        phases=tuple(Phase(phase) for phase in phases),
        rooms=tuple(rooms),
    )


def read_house_file(text: str | bytes, catalogue: Catalogue) -> House:
    """The house a file holds; `catalogue` serves one that brings none. Raises `TakeoffError` with all that is wrong."""
    return read_house(text, catalogue=catalogue)


def read_catalogue_file(text: str | bytes) -> Catalogue:
    """The catalogue a file holds. Raises `TakeoffError` with all that is wrong."""
    return read_catalogue(text)


def write_house_file(house: House) -> str:
    """The house as a file, with its catalogue."""
    return write_house(house)
