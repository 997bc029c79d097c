"""Houses that many tests begin from: worked out once in a process, and copied row by row into the
empty database of each later test."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cache
from typing import Any, TypeVar

from django.apps import apps
from django.db import connection, transaction

from remodel.history import services

__all__ = ["made_once"]

_PEOPLE = "people_person"
_OWN = {"django_content_type", "auth_permission"}  # Django's own, which are always there

T = TypeVar("T")

_made: dict[Hashable, tuple[Any, list[tuple[str, list[Any]]]]] = {}


def made_once(what: Hashable, make: Callable[[], T]) -> T:
    """Have in the database what `make` writes, which follows from `what` alone: that names the
    people by their keys. Gives what `make` gave: plain values, which nobody changes.

    It is made, not copied, where more than people is there already, and on PostgreSQL, whose
    sequences a copy would leave behind.
    """
    if connection.vendor != "sqlite" or not _filled() <= {_PEOPLE}:
        return make()
    # Tests may have switched off what follows a write.
    key = (what, len(services._listeners))
    if key not in _made:
        here = _rows_of(_PEOPLE)
        given = make()
        rows = {table: _rows_of(table) for table in sorted(_filled())}
        rows[_PEOPLE] = [row for row in rows[_PEOPLE] if row not in here]
        _made[key] = (given, [(table, new) for table, new in rows.items() if new])
        return given
    given, tables = _made[key]
    # What a row points at may come after it, and is looked at when the transaction ends.
    with transaction.atomic(), connection.cursor() as cursor:
        for table, rows in tables:
            marks = ", ".join(["%s"] * len(rows[0]))
            cursor.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
    return given  # type: ignore[no-any-return]


def _rows_of(table: str) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table}")
        return list(cursor.fetchall())


def _filled() -> set[str]:
    """The tables with a row in them."""
    with connection.cursor() as cursor:
        cursor.execute(_asked())
        return {table for table, full in cursor.fetchall() if full}


@cache
def _asked() -> str:
    models = apps.get_models(include_auto_created=True)
    tables = sorted({model._meta.db_table for model in models} - _OWN)
    return " UNION ALL ".join(
        f"SELECT '{table}', EXISTS (SELECT 1 FROM {table})" for table in tables
    )
