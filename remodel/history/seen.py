"""What a page was made from: the rows it showed with their versions, and the lists it showed whole.

A form carries this from the page to the write. A write is a conflict where it would change a row
that the page showed in an older version. It is one too where it would change a row of a whole list
that the page did not have, because somebody made that row meanwhile. A page that found no row yet
names the empty list alone: "there was none". Anything that is no editable row is a fact with a
name, like how many deliveries there were, or what role a member had.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Self
from uuid import UUID

from remodel.history.versioned import Versioned

__all__ = ["Seen"]


@dataclass(frozen=True, slots=True)
class Seen:
    """What a page was made from.

    `versions` are by row id. `lists` has the label of each table of which the page showed all it
    needs. `facts` are anything else the page was made from, by name. `str()` gives the text that a
    hidden field carries, and `Seen.read()` reads it back.
    """

    versions: Mapping[UUID, int] = field(default_factory=dict)
    lists: frozenset[str] = frozenset()
    facts: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, *shown: Versioned | type[Versioned] | None, **facts: int | str) -> Self:
        """What a page shows: rows, the classes of rows it lists whole, and facts (numbers or
        words). None stands for no row."""
        return cls(
            versions={row.pk: row.version for row in shown if isinstance(row, Versioned)},
            lists=frozenset(kind._meta.label_lower for kind in shown if isinstance(kind, type)),
            facts={name: str(fact) for name, fact in facts.items()},
        )

    @classmethod
    def read(cls, text: str) -> Self:
        """The value that `str()` wrote; raises `ValueError` for any other text."""
        versions: dict[UUID, int] = {}
        lists: set[str] = set()
        facts: dict[str, str] = {}
        for word in text.split():
            # A fact may hold a colon, but no id or table name holds an equals sign, so that mark
            # decides.
            key, mark, value = word.partition("=" if "=" in word else ":")
            if not mark:
                lists.add(key)
            elif mark == "=":
                facts[key] = value
            # The text comes back from a browser and may be anything. Nine digits always fit the
            # column of versions, in which the number is looked up later.
            elif value.isascii() and value.isdigit() and len(value) < 10:
                versions[UUID(key)] = int(value)
            else:
                raise ValueError(f"{word} names no version of a row")
        return cls(versions, frozenset(lists), facts)

    def __str__(self) -> str:
        rows = [f"{key.hex}:{version}" for key, version in self.versions.items()]
        return " ".join(
            [*rows, *sorted(self.lists), *(f"{name}={fact}" for name, fact in self.facts.items())]
        )
