"""Tables for a spreadsheet, as CSV that is safe to open: no cell is taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from django.http import HttpResponse

from remodel.printing.pdf import file_name

__all__ = ["Value", "cell", "csv_answer", "csv_text", "money_cell"]

Value = str | int | Decimal | Fraction | None
_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")


def cell(value: Value) -> str:
    """A value as a cell. A text that a program would take for a formula gets an apostrophe in
    front.

    A number stays a number, with at most six decimals, because a fraction would be read as a date.
    """
    if value is None:
        return ""
    if isinstance(value, Fraction):
        value = Decimal(round(value * 10**6)) / 10**6
    if isinstance(value, Decimal):
        return format(value.normalize() + 0, "f")
    if isinstance(value, int):
        return str(value)
    text = value.replace("\0", "")
    return f"'{text}" if value.lstrip(" ").startswith(_RISKY) else text


def money_cell(cents: int) -> Decimal:
    return Decimal(cents) / 100


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Value]]) -> str:
    """Header and rows, with the mark in front by which spreadsheets recognize UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([cell(value) for value in row] for row in rows)
    return "\ufeff" + out.getvalue()


def csv_answer(name: str, header: Sequence[str], rows: Iterable[Sequence[Value]]) -> HttpResponse:
    """The table as a file to download."""
    answer = HttpResponse(csv_text(header, rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{file_name(name)}.csv"'
    answer["Cache-Control"] = "private, no-store"
    return answer
