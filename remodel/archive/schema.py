"""Which migrations a database or an archive is of, and the models as they were then.

A schema is the last migration of each app, like `{"house": "0002_room_pile"}`. An archive is
written with the models of the schema its database has, and not with those of the program, so that
a database can be archived before it is brought up to date.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

__all__ = ["Schema", "applied_schema", "is_known", "models_of", "newest_schema"]

Schema = Mapping[str, str]


def applied_schema() -> Schema | None:
    """The schema of the database; None where it was written by a later version, whose migrations
    this program does not have. A new database has an empty schema."""
    applied = {*MigrationRecorder(connection).applied_migrations()}
    if not applied <= _known():
        return None
    graph = _program().graph
    last = {}
    for app, name in sorted(applied & {*graph.nodes}):
        children = graph.node_map[app, name].children
        if not any(child.key[0] == app and child.key in applied for child in children):
            last[app] = name
    return last


def newest_schema() -> Schema:
    """The schema that this program brings every database to."""
    return dict(sorted(_program().graph.leaf_nodes()))


def is_known(schema: Schema) -> bool:
    """Whether this program has all migrations of a schema."""
    return {*schema.items()} <= {*_program().graph.nodes}


def models_of(schema: Schema) -> dict[str, Any]:
    """The models of a schema by their labels, like `house.room`, sorted. Only fields are known of
    them, none of the program's own methods."""
    return dict(_models_of(tuple(sorted(schema.items()))))


@cache
def _program() -> MigrationLoader:
    """The migrations of this program, whatever the database has of them."""
    return MigrationLoader(None, ignore_no_migrations=True)


def _known() -> set[tuple[str, str]]:
    """The migrations this program has, and those that a squashed one of it stands for."""
    migrations = _program().disk_migrations or {}
    replaced = {key for migration in migrations.values() for key in migration.replaces}
    return {*migrations, *replaced}


@lru_cache(maxsize=2)  # to build the models takes a third of a second
def _models_of(nodes: tuple[tuple[str, str], ...]) -> list[tuple[str, Any]]:
    models = _program().project_state(list(nodes)).apps.get_models(include_auto_created=True)
    return sorted(
        ((model._meta.label_lower, model) for model in models if _has_a_table(model)),
        key=lambda pair: pair[0],
    )


def _has_a_table(model: Any) -> bool:
    return bool(model._meta.managed and not model._meta.proxy)
