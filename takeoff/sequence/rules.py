"""The kinds of steps and the rules between them, as the data files have them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from graphlib import CycleError, TopologicalSorter
from importlib import resources
from typing import Any

from takeoff.errors import BadValue
from takeoff.reference.data import Status

__all__ = [
    "FACTS",
    "Kind",
    "Of",
    "Rule",
    "Severity",
    "ToldBy",
    "Where",
    "contradictions",
    "kinds",
    "rules",
]

FACTS: Mapping[str, str] = {
    "tear-out": "something old is torn out here",
    "ceiling": "a ceiling gets board",
    "walls": "walls get board",
    "wet": "a surface stands in the wet",
    "tiled": "a surface is tiled",
    "rated": "a surface is fire-rated",
    "insulated": "a surface is insulated",
    "boxes": "electrical boxes are cut out here",
    "outside corners": "a corner takes bead",
    "second coat": "a surface asks for a second coat",
    "third coat": "a surface asks for a third coat",
    "sanded": "a surface is sanded",
    "primed": "a surface is primed",
    "painted": "a surface is painted",
    "texture": "the room gets texture",
    "drying compound": "the compound dries instead of setting",
    "cold": "somebody said that the room gets too cold to tape",
}
"""What may be so in a room, which decides whether a step is there and whether a rule holds."""


class Severity(StrEnum):
    """How much is at stake: harm or work undone, work that is dearer or harder, good to know."""

    STOP = "stop"
    THINK = "think"
    NOTE = "note"


class Of(StrEnum):
    """What a step is a step of."""

    HOUSE = "house"
    ROOM = "room"
    THING = "thing"


class ToldBy(StrEnum):
    """How it is known that a step is done."""

    PHASE = "phase"
    TICKS = "ticks"
    RECORD = "record"
    SAID = "said"
    FACE = "face"

    @property
    def is_work(self) -> bool:
        """Whether a step told so is work by itself, and not only said or looked at."""
        return self not in (ToldBy.SAID, ToldBy.FACE)


class Where(StrEnum):
    """Which steps of a kind a step waits for; see the head of `rules.toml`."""

    ROOM = "room"
    FACE = "face"
    HOUSE = "house"
    THING = "thing"
    IN = "in"
    OWN_WALL = "own wall"
    PARENT = "parent"
    BESIDE = "beside"
    EVERYWHERE = "everywhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of step. `place` is its place in the order of the list, `phase` the key of the phase
    it belongs to, empty where it has none. Steps of one `group` are worked on in the
    same days."""

    id: str
    name: str
    of: Of
    told: ToldBy
    place: int
    phase: str = ""
    done: str = ""
    group: str = ""
    facts: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule: each of `steps` waits for each of `after`. `gap` is in hours. A rule that `asks` is
    answered once before a face is begun, though it does not stop anything."""

    id: str
    steps: tuple[str, ...]
    after: tuple[str, ...]
    where: Where
    severity: Severity
    first: str
    why: str
    source: str
    status: Status
    facts: frozenset[str] = frozenset()
    gap: int = 0
    edition: str = ""
    asks: bool = False

    @property
    def source_text(self) -> str:
        """Where the rule comes from, with what to think of it."""
        source = f"{self.source} ({self.edition} edition)" if self.edition else self.source
        return "; ".join(part for part in (source, self.status.caution) if part)


def _rows(table: str) -> Iterable[Mapping[str, Any]]:
    text = resources.files("takeoff.sequence").joinpath(f"{table}s.toml").read_text("utf-8")
    rows: list[Mapping[str, Any]] = tomllib.loads(text)[table]
    return rows


@cache
def kinds() -> Mapping[str, Kind]:
    """Every kind of step by its id, in the order of a list."""
    return {
        row["id"]: Kind(
            id=row["id"],
            name=row["name"],
            of=Of(row["of"]),
            told=ToldBy(row["told"]),
            place=place,
            phase=row.get("phase", ""),
            done=row.get("done", ""),
            group=row.get("group", ""),
            facts=_facts(row),
        )
        for place, row in enumerate(_rows("step"))
    }


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule. Raises `BadValue` where they name a step that is not there or contradict one
    another."""
    read = tuple(_rule(row) for row in _rows("rule"))
    for rule in read:
        unknown = {*rule.steps, *rule.after} - kinds().keys()
        if unknown:
            raise BadValue(f"Rule {rule.id} names no step: {', '.join(sorted(unknown))}")
    if (against := contradictions(read)) is not None:
        raise BadValue(against)
    return read


def _rule(row: Mapping[str, Any]) -> Rule:
    return Rule(
        id=row["id"],
        steps=tuple(row["step"]),
        after=tuple(row["after"]),
        where=Where(row["where"]),
        severity=Severity(row["severity"]),
        first=row["first"],
        why=row["why"],
        source=row["source"],
        status=Status(row["status"]),
        facts=_facts(row),
        gap=row.get("gap", 0),
        edition=row.get("edition", ""),
        asks=row.get("asks", False),
    )


def _facts(row: Mapping[str, Any]) -> frozenset[str]:
    facts = frozenset(row.get("facts", ()))
    if facts - FACTS.keys():
        raise BadValue(f"{row['id']} asks for an unknown fact: {', '.join(facts - FACTS.keys())}")
    return facts


# Rules between rooms may run against the order inside one, so a circle of kinds is none there.
_INSIDE = (Where.ROOM, Where.FACE, Where.IN, Where.THING)


def contradictions(read: Iterable[Rule]) -> str | None:
    """A sentence that names the steps of one room which wait for each other; None where there are
    none."""
    waits: dict[str, set[str]] = {}
    for rule in read:
        for step in rule.steps if rule.where in _INSIDE else ():
            waits.setdefault(step, set()).update(rule.after)
    return circle_in(waits)


def circle_in(waits: Mapping[str, Iterable[str]]) -> str | None:
    """A sentence that names one circle of steps that wait for each other; None where there is
    none."""
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as error:
        # Each node of the circle comes right before the one that waits for it.
        return f"These steps wait for each other: {' before '.join(error.args[1])}"
    return None
