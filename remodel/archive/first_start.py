"""What Halfbay itself makes when it starts for the first time, told apart from what people entered.

At home the first start makes a person for the household, and the demo house unless nobody wants it.
An archive may take the place of those as long as nobody has changed anything: a digest of every row
is noted when the demo house is made, and any change at all gives another one.
"""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection

from remodel.archive.schema import applied_schema, models_of
from remodel.archive.tables import has_rows, lines_of, tables_of
from remodel.people.services import HOUSEHOLD

__all__ = ["clear", "is_as_first_started", "note_first_start"]

_PERSON = "people.person"
_BY_ITSELF = "board.plan"  # better plans are found by themselves, whoever looks on
# What tells who is here, and what the program makes itself, goes on.
_GOES_ON = frozenset({"contenttypes", "auth", "sessions", "jobs"})


def note_first_start() -> None:
    """Note what stands now as what the first start made."""
    note = _note()
    note.write_text(json.dumps({"changes": _changes(), "digest": _digest()}))
    note.chmod(0o600)


def is_as_first_started() -> bool:
    """Whether nothing is here but what the first start made, as it made it."""
    schema = applied_schema()
    if schema is None:
        return False
    filled = {label for label, model in tables_of(schema).items() if has_rows(model)}
    if not filled:
        return True
    if filled == {_PERSON}:
        people = tables_of(schema)[_PERSON]._base_manager.values_list("name", "email")
        return list(people) == [(HOUSEHOLD, None)]
    try:
        noted = json.loads(_note().read_text())
        # Nearly every change is in the history, and to count it takes no time.
        return bool(noted["changes"] == _changes() and noted["digest"] == _digest())
    except (OSError, ValueError, KeyError, TypeError):
        return False


def clear() -> None:
    """Remove what the first start made, with all that was worked out of it. The caller has looked
    that there is nothing else, and is in a transaction."""
    schema = applied_schema()
    assert schema is not None
    with connection.cursor() as cursor:
        for label, model in models_of(schema).items():
            if label.partition(".")[0] not in _GOES_ON:
                # What points at what is looked at when the transaction ends.
                cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")


def _note() -> Path:
    return Path(settings.DATA_DIR) / "first-start.json"


def _changes() -> int:
    history = tables_of(applied_schema() or {}).get("history.change")
    return history._base_manager.count() if history else 0


def _digest() -> str:
    digest = sha256()
    schema: Any = applied_schema()
    for label, model in tables_of(schema or {}).items():
        if label != _BY_ITSELF:
            digest.update(f"{label}\n".encode())
            for _, line in lines_of(model):
                digest.update(line)
    return digest.hexdigest()
