"""Tables as files: CSV and XLSX read, XLSX written. Only what a plain table of texts and numbers
needs of the format (ECMA-376, Office Open XML): one sheet, no styles, no formulas."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from xml.etree import ElementTree
from xml.sax.saxutils import escape

from django.http import HttpResponse

from remodel.printing.pdf import file_name
from remodel.spreadsheet import Value, cell

__all__ = ["NotATable", "rows_of_file", "xlsx_answer", "xlsx_bytes"]

MOST_ROWS = 5_000
_MOST_COLUMNS = 50
_MOST_XML = 20_000_000  # what a part of a file may unpack to
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_PLACE = re.compile(r"([A-Z]{1,3})[0-9]+", re.ASCII)
_PARTS = {
    "[Content_Types].xml": (
        '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Override PartName="/xl/workbook.xml" ContentType="application/'
        'vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
        '<Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/'
        'vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>'
    ),
    "_rels/.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/'
        'relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>'
    ),
    "xl/workbook.xml": (
        '<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
        'xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">'
        '<sheets><sheet name="Table" sheetId="1" r:id="rId1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/'
        'relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>'
    ),
}


class NotATable(ValueError):
    """The file holds no table that can be read; its text says why, for a person."""


def xlsx_bytes(header: Sequence[str], rows: Iterable[Sequence[Value]]) -> bytes:
    """Header and rows as one sheet. A number stays a number; a text is never taken for a
    formula, because it is stored as a text."""
    lines = [_line(number, row) for number, row in enumerate((header, *rows), start=1)]
    sheet = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        + "".join(lines)
        + "</sheetData></worksheet>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        for name, text in (*_PARTS.items(), ("xl/worksheets/sheet1.xml", sheet)):
            file.writestr(name, f'<?xml version="1.0" encoding="UTF-8"?>{text}')
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


def _line(number: int, row: Sequence[Value]) -> str:
    cells = []
    for place, value in enumerate(row):
        at = f"{_column(place)}{number}"
        if isinstance(value, (int, Decimal, Fraction)):
            cells.append(f'<c r="{at}"><v>{cell(value)}</v></c>')
        elif value:
            text = escape(
                re.sub(r"[^\t\n\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "", value)
            )
            cells.append(
                f'<c r="{at}" t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'
            )
    return f'<row r="{number}">{"".join(cells)}</row>'


def _column(place: int) -> str:
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(65 + rest) + name
    return name


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
            names = set(file.namelist())
            sheets = sorted(name for name in names if name.startswith("xl/worksheets/sheet"))
            if not sheets:
                raise NotATable("is no spreadsheet. Save it as CSV or XLSX in your spreadsheet")
            shared = (
                [_joined(entry) for entry in _part(file, "xl/sharedStrings.xml").iter(f"{_MAIN}si")]
                if "xl/sharedStrings.xml" in names
                else []
            )
            return list(_sheet_rows(_part(file, sheets[0]), shared))
    except (zipfile.BadZipFile, ElementTree.ParseError, KeyError, IndexError, ValueError) as error:
        if isinstance(error, NotATable):
            raise
        raise NotATable("cannot be read. Save it again as CSV or XLSX") from None


def _part(file: zipfile.ZipFile, name: str) -> ElementTree.Element:
    if file.getinfo(name).file_size > _MOST_XML:
        raise NotATable("is too large. Take out what is no price")
    content = file.read(name)
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise NotATable("cannot be read. Save it again as CSV or XLSX")
    return ElementTree.fromstring(content)


def _joined(entry: ElementTree.Element) -> str:
    return "".join(text.text or "" for text in entry.iter(f"{_MAIN}t"))


def _sheet_rows(sheet: ElementTree.Element, shared: Sequence[str]) -> Iterator[list[str]]:
    at = 0
    for row in sheet.iter(f"{_MAIN}row"):
        number = int(row.get("r") or at + 1)
        if number > MOST_ROWS + 1:
            raise NotATable(f"has more than {MOST_ROWS} rows, the most that is read")
        while at < number - 1:  # rows without a cell are not in the file
            yield []
            at += 1
        values: list[str] = []
        for entry in row.iter(f"{_MAIN}c"):
            place = _place(entry.get("r", ""), len(values))
            if place >= _MOST_COLUMNS:
                continue
            values += [""] * (place + 1 - len(values))
            values[place] = _cell_text(entry, shared).strip()
        yield values
        at += 1


def _place(name: str, otherwise: int) -> int:
    match = _PLACE.fullmatch(name)
    if match is None:
        return otherwise
    place = 0
    for letter in match[1]:
        place = place * 26 + ord(letter) - 64
    return place - 1


def _cell_text(entry: ElementTree.Element, shared: Sequence[str]) -> str:
    kind = entry.get("t", "n")
    if kind == "inlineStr":
        return _joined(entry)
    value = entry.find(f"{_MAIN}v")
    text = (value.text or "") if value is not None else ""
    if kind == "s":
        return shared[int(text)]
    if kind == "n" and text:
        return _number(text)
    return text


def _number(text: str) -> str:
    """A number as it was typed: a program stores 13.98 as 13.980000000000001."""
    try:
        return format(Decimal(repr(round(float(text), 6))).normalize() + 0, "f")
    except (ValueError, ArithmeticError):
        return text
