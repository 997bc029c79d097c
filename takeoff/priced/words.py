"""What is said of each kind of choice, as the data file has it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from takeoff.errors import BadValue
from takeoff.reference.data import Status

__all__ = ["Keeps", "KindWords", "SideWords", "kind_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideWords:
    """One side of a kind of choice: its id, its name as a heading, and what is done so."""

    id: str
    name: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeps:
    """What either side forbids or keeps open about a topic. `source_text` says where that comes
    from, with what to think of it."""

    topic: str
    one: str
    other: str
    source: str
    status: Status

    @property
    def source_text(self) -> str:
        return "; ".join(part for part in (self.source, self.status.caution) if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class KindWords:
    """All that is said of a kind of choice. `why` has a sentence by the field of a figure."""

    name: str
    uncounted: str
    sides: tuple[SideWords, SideWords]
    keeps: tuple[Keeps, ...]
    why: Mapping[str, str]

    @property
    def side_ids(self) -> tuple[str, str]:
        one, other = self.sides
        return one.id, other.id

    def side(self, id_: str) -> SideWords:
        """The side of that id; raises `BadValue` where there is none."""
        for one in self.sides:
            if one.id == id_:
                return one
        raise BadValue(f"No side {id_!r}; there are {' and '.join(self.side_ids)}")


@cache
def kind_words(kind: str) -> KindWords:
    """What is said of a kind of choice, by its id."""
    rows = _tables()
    (own,) = (row for row in rows["kind"] if row["id"] == kind)
    of_it = {
        table: [row for row in rows[table] if row["kind"] == kind]
        for table in ("side", "keeps", "why")
    }
    one, other = (
        SideWords(id=row["id"], name=row["name"], about=row["about"]) for row in of_it["side"]
    )
    return KindWords(
        name=own["name"],
        uncounted=own["uncounted"],
        sides=(one, other),
        keeps=tuple(
            Keeps(
                topic=row["topic"],
                one=row["one"],
                other=row["other"],
                source=row.get("source", ""),
                status=Status(row.get("status", "common practice")),
            )
            for row in of_it["keeps"]
        ),
        why={row["figure"]: row["text"] for row in of_it["why"]},
    )


@cache
def _tables() -> Mapping[str, list[dict[str, str]]]:
    text = resources.files("takeoff.priced").joinpath("sides.toml").read_text("utf-8")
    tables: Mapping[str, list[dict[str, str]]] = tomllib.loads(text)
    return tables
