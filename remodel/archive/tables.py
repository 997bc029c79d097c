"""Which tables are in an archive, and a row as a line of text and back."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import connection
from django.utils.duration import duration_iso_string

from remodel.archive.errors import CannotRestore
from remodel.archive.schema import Schema, models_of

__all__ = ["LEFT_OUT", "file_columns", "has_rows", "insert_rows", "lines_of", "tables_of"]

_WORKED_OUT = "it is worked out again"
_MADE_BY_DJANGO = "the program makes its rows itself"
_LETS_IN = "it lets somebody in for a while"
_OF_THE_MOMENT = "it tells how things stand at this moment"

# A table, or an app with all of its tables, and why it is in no archive.
LEFT_OUT: dict[str, str] = {
    "contenttypes": _MADE_BY_DJANGO,
    "auth": _MADE_BY_DJANGO,
    "sessions": _LETS_IN,
    "people.invitation": _LETS_IN,
    "people.pairingcode": _LETS_IN,
    "people.attempt": _OF_THE_MOMENT,
    "jobs.worker": _OF_THE_MOMENT,
    "work.keptphoto": "a photo is kept in it for a day, until its form is saved",
    "board.result": _WORKED_OUT,
    "board.roomresult": _WORKED_OUT,
    "board.figures": _WORKED_OUT,
    "board.searchjob": _WORKED_OUT,
}

_ROWS_AT_ONCE = 500


def tables_of(schema: Schema) -> dict[str, Any]:
    """The models of a schema that are in an archive, by their labels."""
    return {
        label: model
        for label, model in models_of(schema).items()
        if label not in LEFT_OUT and label.partition(".")[0] not in LEFT_OUT
    }


def has_rows(model: Any) -> bool:
    return bool(model._base_manager.exists())


def file_columns(model: Any) -> list[str]:
    """The columns that name a file of the media folder."""
    return [
        field.attname
        for field in model._meta.local_concrete_fields
        if field.get_internal_type() in ("FileField", "ImageField")
    ]


def lines_of(model: Any) -> Iterator[tuple[dict[str, Any], bytes]]:
    """Every row of a table, ordered by primary key, with the line of text it is stored as."""
    names = [field.attname for field in model._meta.local_concrete_fields]
    rows = model._base_manager.order_by("pk").values_list(*names)
    for values in rows.iterator(chunk_size=_ROWS_AT_ONCE):
        row = {name: _plain(value) for name, value in zip(names, values, strict=True)}
        line = json.dumps(row, ensure_ascii=False, separators=(",", ":"))
        yield row, line.encode() + b"\n"


def insert_rows(model: Any, lines: Iterable[bytes]) -> None:
    """Write rows as they were stored, without any of the work that a model does when it is saved.

    Raises `CannotRestore` for a line that is no row of this table.
    """
    fields = model._meta.local_concrete_fields
    quote = connection.ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({marks})"
    rows = (_values(model, fields, line) for line in lines)
    with connection.cursor() as cursor:
        while batch := list(islice(rows, _ROWS_AT_ONCE)):
            cursor.executemany(statement, batch)


def _plain(value: Any) -> Any:
    """A value of a column as JSON has it."""
    if isinstance(value, UUID | Decimal):
        return str(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return duration_iso_string(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(value).decode()
    return value


def _values(model: Any, fields: Sequence[Any], line: bytes) -> list[Any]:
    """The values of one row as the database takes them."""
    try:
        row = json.loads(line)
        if {*row} != {field.attname for field in fields}:
            raise ValueError("other columns")
        return [
            field.get_db_prep_save(field.to_python(row[field.attname]), connection)
            for field in fields
        ]
    except (ValueError, TypeError, AttributeError, ArithmeticError, ValidationError) as error:
        raise CannotRestore(
            f"The archive holds a row of {model._meta.label_lower} that Halfbay cannot read. "
            "Nothing was restored; use an earlier archive."
        ) from error
