"""What the template tags draw: plain values that a view fills."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.safestring import SafeString

__all__ = ["Cell", "Column", "Difference", "Drawing", "Fact", "Table", "Task"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One row of a summary list. `about` ends the words of the Change link for screen readers:
    "Change ceiling height"."""

    term: str
    value: str
    note: str = ""
    change_url: str = ""
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One row of work to do. The whole row leads to `url`. `waits_for` says what it waits for."""

    name: str
    status: str
    url: str = ""
    note: str = ""
    waits_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    title: str
    number: bool = False  # set flush right, figures under figures


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    text: str
    url: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table with its caption. The first cell of a row names the row.

    On a phone each row becomes a small stack. `wide` keeps the columns and scrolls them in a box of
    their own, for tables that are read down as much as across. A cell is a text or a `Cell`. `foot`
    is one last row, such as a total.
    """

    id: str
    caption: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[str | Cell]]
    foot: Sequence[str | Cell] = ()
    wide: bool = False
    caption_hidden: bool = False
    for_writers: bool = False  # its links lead to where things are changed


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing with its caption and the same facts as a table. `svg` is made by the project's SVG
    module alone; so is `wide`, the same laid out for wide screens and for paper laid sideways."""

    id: str
    caption: str
    svg: SafeString
    wide: SafeString | str = ""
    facts: Table | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A value that two people changed: as you typed it, and as it stands now."""

    label: str
    yours: str
    theirs: str
    theirs_by: str = field(default="")
