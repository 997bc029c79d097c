"""Tables as files: CSV and XLSX read, XLSX written."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from typing import Any

from django.http import HttpResponse
from openpyxl import Workbook, load_workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from remodel.printing.pdf import file_name
from remodel.spreadsheet import Value, cell

__all__ = ["NotATable", "rows_of_file", "xlsx_answer", "xlsx_bytes"]

MOST_ROWS = 5_000
_MOST_COLUMNS = 50
_MOST_XML = 20_000_000  # what a part of a file may unpack to


class NotATable(ValueError):
    """The file holds no table that can be read; its text says why, for a person."""


def xlsx_bytes(header: Sequence[str], rows: Iterable[Sequence[Value]]) -> bytes:
    """Header and rows as one sheet. A number stays a number; a text is never taken for a
    formula, because it is stored as a text."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Table")
    for row in (header, *rows):
        sheet.append([_cell(sheet, value) for value in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def xlsx_answer(name: str, header: Sequence[str], rows: Iterable[Sequence[Value]]) -> HttpResponse:
    """The table as a file to download."""
    answer = HttpResponse(
        xlsx_bytes(header, rows),
        content_type="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    )
    answer["Content-Disposition"] = f'attachment; filename="{file_name(name)}.xlsx"'
    answer["Cache-Control"] = "private, no-store"
    return answer


def _cell(sheet: Any, value: Value) -> Any:
    if isinstance(value, (int, Decimal, Fraction)):
        return WriteOnlyCell(sheet, float(cell(value)))
    text = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", value or ""))
    text.data_type = "s"
    return text


def rows_of_file(content: bytes) -> list[list[str]]:
    """The rows of a CSV or XLSX file as texts, the header first; rows without a text are empty
    lists, so that places in the file can be named. Raises `NotATable` where it is neither."""
    rows = _xlsx_rows(content) if content.startswith(b"PK") else _csv_rows(content)
    if len(rows) > MOST_ROWS:
        raise NotATable(f"has more than {MOST_ROWS} rows, the most that is read")
    return [row if any(row) else [] for row in rows]


def _csv_rows(content: bytes) -> list[list[str]]:
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    else:
        raise NotATable("is no table. Save it as CSV or XLSX in your spreadsheet")
    if "\0" in text:
        raise NotATable("is no table. Save it as CSV or XLSX in your spreadsheet")
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    try:
        rows = list(islice(csv.reader(io.StringIO(text), delimiter=mark), MOST_ROWS + 1))
    except csv.Error:
        raise NotATable("is no table. Save it as CSV or XLSX in your spreadsheet") from None
    return [[_text(value) for value in row[:_MOST_COLUMNS]] for row in rows]


def _text(value: str) -> str:
    """A cell as a person sees it: the apostrophe that keeps a spreadsheet from taking a text for a
    formula is no part of it."""
    value = value.strip()
    return value[1:] if value[:1] == "'" and cell(value[1:]) == value else value


def _xlsx_rows(content: bytes) -> list[list[str]]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as file:
            large = any(part.file_size > _MOST_XML for part in file.infolist())
        if large:
            raise NotATable("is too large. Take out what is no price")
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        rows = book.worksheets[0].iter_rows(
            max_row=MOST_ROWS + 1, max_col=_MOST_COLUMNS, values_only=True
        )
        return [_without_empty_end([_shown(value) for value in row]) for row in rows]
    except NotATable:
        raise
    except Exception:
        # Whatever a damaged file does to what reads it.
        raise NotATable("cannot be read. Save it again as CSV or XLSX") from None


def _without_empty_end(row: list[str]) -> list[str]:
    while row and not row[-1]:
        row.pop()
    return row


def _shown(value: object) -> str:
    """A cell as a person sees it: a program stores 13.98 as 13.980000000000001."""
    if value is None:
        return ""
    if isinstance(value, float):
        return format(Decimal(repr(round(value, 6))).normalize() + 0, "f")
    return str(value).strip()
