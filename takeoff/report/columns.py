"""Columns of text that line up, and wrap where a cell is longer than its column."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

__all__ = ["PAGE_WIDTH", "Column", "paragraph", "rows"]

PAGE_WIDTH = 100


@dataclass(frozen=True, slots=True)
class Column:
    """A heading, a width in characters, and whether its cells stand to the right, as numbers do."""

    heading: str
    width: int
    right: bool = False


def rows(columns: Sequence[Column], cells: Iterable[Sequence[str]], *, indent: str = "  ") -> Iterator[str]:
    """Yield the heading line, then each row; a cell longer than its column goes on in the next line."""
    yield _line(columns, [column.heading for column in columns], indent)
    for row in cells:
        wrapped = [
            textwrap.wrap(cell, column.width, break_on_hyphens=False) or [""]
            for column, cell in zip(columns, row, strict=True)
        ]
        for index in range(max(map(len, wrapped))):
            yield _line(columns, [lines[index] if index < len(lines) else "" for lines in wrapped], indent)


def paragraph(text: str, *, indent: str = "  ", hang: str = "") -> Iterator[str]:
    """Yield `text` wrapped to the page; lines after the first are set in by `hang` more."""
    yield from textwrap.wrap(
        text, PAGE_WIDTH, initial_indent=indent, subsequent_indent=indent + hang, break_on_hyphens=False
    )


def _line(columns: Sequence[Column], cells: Sequence[str], indent: str) -> str:
    set_out = (
        cell.rjust(column.width) if column.right else cell.ljust(column.width)
        for column, cell in zip(columns, cells, strict=True)
    )
    return (indent + "  ".join(set_out)).rstrip()
