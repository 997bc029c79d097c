"""A table in plain text. Its columns line up, and a cell longer than its column wraps, but never
inside a measure."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

__all__ = ["PAGE_WIDTH", "TextColumn", "paragraph", "table_lines"]

PAGE_WIDTH = 100
_JOIN = "\N{NO-BREAK SPACE}"

# Spaces inside a measure: before a unit (`48 in`, `500 ft`), between feet, inches and a fraction
# (`5' 1 1/4"`), and after a count (`3 x`).
_UNITS = "in|ft|yd|lb|gal|qt|oz|mm|cm|m|m2|l|kg|sq|cu|x"
_INSIDE = re.compile(rf"""(?<=[\d'"]) (?=(?:{_UNITS})\b|%|\d+/\d|\d+"|\d+ \d+/\d)""")


@dataclass(frozen=True, slots=True)
class TextColumn:
    """A heading, a width in characters, and whether the cells are set to the right, as numbers
    are."""

    heading: str
    width: int
    right: bool = False


def table_lines(
    columns: Sequence[TextColumn], cells: Iterable[Sequence[str]], *, indent: str = "  "
) -> Iterator[str]:
    """Yield the heading line, then each row; a cell longer than its column goes on in the next
    line."""
    yield _line(columns, [column.heading for column in columns], indent)
    for row in cells:
        wrapped = [
            _wrap(cell, column.width) or [""] for column, cell in zip(columns, row, strict=True)
        ]
        for index in range(max(map(len, wrapped))):
            yield _line(
                columns, [lines[index] if index < len(lines) else "" for lines in wrapped], indent
            )


def paragraph(text: str, *, indent: str = "  ", hang: str = "") -> Iterator[str]:
    """Yield `text` wrapped to the page; lines after the first are set in by `hang` more."""
    yield from _wrap(text, PAGE_WIDTH, indent, indent + hang)


def _wrap(text: str, width: int, first: str = "", later: str = "") -> list[str]:
    lines = textwrap.wrap(
        _INSIDE.sub(_JOIN, text),
        width,
        initial_indent=first,
        subsequent_indent=later,
        break_on_hyphens=False,
    )
    return [line.replace(_JOIN, " ") for line in lines]


def _line(columns: Sequence[TextColumn], cells: Sequence[str], indent: str) -> str:
    set_out = (
        cell.rjust(column.width) if column.right else cell.ljust(column.width)
        for column, cell in zip(columns, cells, strict=True)
    )
    return (indent + "  ".join(set_out)).rstrip()
