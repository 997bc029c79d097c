"""What a reader carries through a file: the house's unit, what was found wrong, and the ids given
out."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from string import ascii_uppercase

from takeoff.catalogue import BoardKind, MaterialOnSale, OwnedSheet
from takeoff.errors import HouseFileError, Problem
from takeoff.house import (
    AddedNeed,
    BuiltIn,
    Cutout,
    HiddenItem,
    House,
    Leg,
    Opening,
    Partition,
    PlainSurface,
    Room,
    TakenOut,
    Wall,
)
from takeoff.housefile._json import Object
from takeoff.units import UnitSystem

__all__ = ["FILLED_IN", "Reading", "join"]

_MOST_PROBLEMS = 100

# Things of one group share their ids' name space; those in `_LOCAL` only with their neighbours in
# the same list.
_GROUP: dict[type, str] = {
    House: "house",
    Room: "room",
    Partition: "partition",
    Leg: "partition",
    Opening: "thing",
    Cutout: "thing",
    HiddenItem: "thing",
    BoardKind: "board kind",
    MaterialOnSale: "material",
    OwnedSheet: "owned sheet",
    AddedNeed: "added need",
    BuiltIn: "built-in",
    TakenOut: "wall taken out",
}
_LOCAL = (Wall, PlainSurface)
_OWNERS = (Room, Partition)

FILLED_IN: dict[type, tuple[str, ...]] = {
    **dict.fromkeys(_GROUP, ("id",)),
    Wall: ("id", "name"),
    PlainSurface: ("id", "name"),
    Leg: ("id", "name"),
    Opening: ("id", "name", "wall"),
    Cutout: ("id", "name"),
    HiddenItem: ("id", "name"),
}
"""Keys that a hand-written file may leave out though the value must have them."""


def join(place: str, key: str) -> str:
    """Return the place of `key` in the object at `place`."""
    return f"{place}.{key}" if place else key


@dataclass(slots=True)
class Reading:
    """One pass over one file. `lost` are the kinds of value of which one could not be made at
    all."""

    units: UnitSystem
    problems: list[Problem] = field(default_factory=list)
    lost: set[type] = field(default_factory=set)
    position: int = 0
    neighbours: set[str] = field(default_factory=set)
    _taken: set[str] = field(default_factory=set)
    _seen: dict[tuple[str, str], str] = field(default_factory=dict)
    _next: dict[str, int] = field(default_factory=dict)
    _owners: list[tuple[type, str]] = field(default_factory=list)
    _places: dict[int, str] = field(default_factory=dict)
    _made: list[object] = field(default_factory=list)

    def problem(self, place: str, message: str) -> None:
        """Note what is wrong at `place`; stop reading with `HouseFileError` once there are a
        hundred."""
        self.problems.append(Problem(place, message))
        if len(self.problems) >= _MOST_PROBLEMS:
            raise HouseFileError(
                (*self.problems, Problem("", "There may be more; put these right first"))
            )

    def made(self, value: object, place: str) -> None:
        """Remember where `value` stands. It is kept, so that no other value can come to have its
        identity."""
        self._made.append(value)
        self._places[id(value)] = place

    def place_of(self, value: object) -> str:
        """Return where `value` stands in the file; empty for a default."""
        return self._places.get(id(value), "")

    def reserve(self, tree: object) -> None:
        """Note every id the file gives, so that none given out later is the same."""
        waiting = [tree]
        while waiting:
            node = waiting.pop()
            if isinstance(node, dict):
                given = node.get("id")
                if isinstance(given, str):
                    self._taken.add(given)
                waiting.extend(node.values())
            elif isinstance(node, list):
                waiting.extend(node)

    def filled(self, kind: type, raw: Object) -> dict[str, object]:
        """Return the object with the keys it may leave out filled in: name, id, and the wall of a
        partition's opening.

        An id comes from the name, behind the id of the room or partition it is in, with a number
        where it is taken: the same file gets the same ids at every reading.
        """
        if kind not in FILLED_IN and kind not in _LOCAL:
            return raw
        result = dict(raw)
        if "name" not in raw and "name" in FILLED_IN[kind]:
            result["name"] = self._name(kind, raw)
        if (
            kind is Opening
            and "wall" not in raw
            and self._owners
            and self._owners[-1][0] is Partition
        ):
            result["wall"] = self._owners[-1][1]
        if "id" not in raw:
            name = result.get("name")
            base = _slug(name) if isinstance(name, str) else ""
            if kind is Wall:
                base = self._letter()
            result["id"] = self._new_id(kind, base or _slug(_GROUP.get(kind, "wall")))
        return result

    def _name(self, kind: type, raw: Object) -> str:
        if kind is Wall:
            return self._letter()
        if kind is Leg:
            # Its first leg is the partition itself.
            return f"Leg {self.position + 2}"
        given = raw.get("kind")
        return given[:40].capitalize() if isinstance(given, str) and given else kind.__name__

    def _letter(self) -> str:
        rounds, letter = divmod(self.position, len(ascii_uppercase))
        return ascii_uppercase[letter] * (rounds + 1)

    def _new_id(self, kind: type, base: str) -> str:
        local = kind in _LOCAL
        taken = self.neighbours if local else self._taken
        if self._owners and not local:
            base = f"{_slug(self._owners[-1][1])}-{base}".strip("-")
        base = base[:56].rstrip("-")
        number = 1 if local else self._next.get(base, 1)
        while (new := base if number == 1 else f"{base}-{number}") in taken:
            number += 1
        taken.add(new)
        if not local:
            self._next[base] = number + 1
        return new

    def enter(self, kind: type, identity: str | None, place: str) -> None:
        """Note that the value of that id is being read; refuse an id that another of its group
        has."""
        if kind in _GROUP and identity is not None:
            first = self._seen.setdefault((_GROUP[kind], identity), place)
            if first != place:
                self.problem(
                    join(place, "id"),
                    f"Id {identity!r} is used twice, first at {first}; give each its own",
                )
        if kind in _OWNERS:
            self._owners.append((kind, identity or _GROUP[kind]))

    def leave(self, kind: type) -> None:
        if kind in _OWNERS:
            self._owners.pop()


def _slug(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name[:200]).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-")
