"""A row as plain JSON, and back."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import models

__all__ = ["snapshot", "values_of"]

_LEFT_OUT = ("id", "version")


def snapshot(row: models.Model) -> dict[str, Any]:
    """Every column of a row but its id and version, by column name."""
    return {
        field.attname: _plain(field.value_from_object(row))
        for field in row._meta.concrete_fields
        if field.name not in _LEFT_OUT
    }


def values_of(row: models.Model, taken: dict[str, Any]) -> dict[str, Any]:
    """The values of a snapshot, ready to be set on the row. Columns that are newer than the
    snapshot are not in it."""
    return {
        field.attname: field.to_python(taken[field.attname])
        for field in row._meta.concrete_fields
        if field.attname in taken
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        # as the form gives it and as the database gives it back must read the same
        text = f"{value:f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    # JSON knows neither ids nor dates; as text they compare equal to what the history gives back.
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    if value is None or isinstance(value, str | int | list | dict):
        return value
    return str(value)
