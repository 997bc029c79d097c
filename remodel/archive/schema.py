"""Which migrations a database or an archive is of, and the models as they were then.

A schema is the last migration of each app, like `{"house": "0002_room_pile"}`. An archive is
written with the models of the schema its database has, and not with those of the program, so that
a database can be archived before it is brought up to date.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import connection
from django.db.migrations.loader import MigrationLoader

__all__ = ["Schema", "applied_schema", "is_known", "models_of", "newest_schema"]

Schema = Mapping[str, str]


def applied_schema() -> Schema | None:
    """The schema of the database; None where it was written by a later version, whose migrations
    this program does not have. A new database has an empty schema."""
    loader = MigrationLoader(connection)
    applied = set(loader.applied_migrations)
    if not applied <= _known(loader):
        return None
    last = {}
    for app, name in sorted(applied & set(loader.graph.nodes)):
        children = loader.graph.node_map[app, name].children
        if not any(child.key[0] == app and child.key in applied for child in children):
            last[app] = name
    return last


def newest_schema() -> Schema:
    """The schema that this program brings every database to."""
    return dict(sorted(MigrationLoader(connection).graph.leaf_nodes()))


def is_known(schema: Schema) -> bool:
    """Whether this program has all migrations of a schema."""
    return set(schema.items()) <= set(MigrationLoader(connection).graph.nodes)


def models_of(schema: Schema) -> dict[str, Any]:
    """The models of a schema by their labels, like `house.room`, sorted. Only fields are known of
    them, none of the program's own methods."""
    state = MigrationLoader(connection).project_state(sorted(schema.items()))
    models = state.apps.get_models(include_auto_created=True)
    return {
        model._meta.label_lower: model
        for model in sorted(models, key=lambda model: model._meta.label_lower)
        if model._meta.managed and not model._meta.proxy
    }


def _known(loader: MigrationLoader) -> set[tuple[str, str]]:
    """The migrations this program has, and those that a squashed one of it stands for."""
    assert loader.disk_migrations is not None
    replaced = {key for each in loader.disk_migrations.values() for key in each.replaces}
    return {*loader.disk_migrations, *replaced}
