"""Rows of a list on a page, each a form of its own: walls of a walk, surfaces, studs out of line.

The page posts how many rows it has under the plural of their prefix (`walls`), and the fields of
row 2 as `wall-2-length`. An empty row is one that is not there; more are put in by a button.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import QueryDict

__all__ = ["PostedRow", "posted_count", "posted_rows"]


@dataclass(frozen=True, slots=True)
class PostedRow:
    """What a row's form is bound to: everything that was posted, and the prefix of the row's own
    fields."""

    data: QueryDict
    prefix: str

    def get(self, name: str) -> str:
        """What was posted for a field of the row, or an empty text."""
        return self.data.get(f"{self.prefix}-{name}", "")


def posted_rows(
    data: QueryDict,
    prefix: str,
    *,
    most: int,
    after: int | None = None,
    fresh: Mapping[str, str] | None = None,
) -> list[PostedRow]:
    """The rows as they were posted, at most `most`, numbered in their order.

    `after` is the number of a row, from 0: a new row with the values `fresh` is put in after it
    (-1: first). A number that no row has puts none in.
    """
    count = posted_count(data, prefix, most=most)
    rows = [_fields(data, f"{prefix}-{index}-") for index in range(count)]
    if after is not None and -1 <= after < len(rows) < most:
        rows.insert(after + 1, dict(fresh or {}))
    renumbered = QueryDict(mutable=True)
    for index, fields in enumerate(rows):
        for name, value in fields.items():
            renumbered[f"{prefix}-{index}-{name}"] = value
    return [PostedRow(renumbered, f"{prefix}-{index}") for index in range(len(rows))]


def posted_count(data: QueryDict, prefix: str, *, most: int) -> int:
    """The number of posted rows, at most `most`; 0 where it cannot be read."""
    text = data.get(f"{prefix}s", "")
    return min(int(text), most) if text.isascii() and text.isdigit() and len(text) < 4 else 0


def _fields(data: QueryDict, start: str) -> dict[str, str]:
    return {name.removeprefix(start): data.get(name, "") for name in data if name.startswith(start)}
