"""The one way to write a row that people edit.

    @recorded("added an opening")
    def opening_add(*, by: By, room: Room, name: str, ...) -> Opening:
        return create(Opening(room=room, name=name, ...))

`recorded` opens one transaction, gathers every change under one group, and answers a write whose key was seen before
with the row it made then. `create`, `change` and `remove` work inside it and nowhere else; a service called by another
joins its group. When the outermost is done and its transaction has closed, `on_written` callbacks hear which houses
and rooms were touched.
"""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable, Iterable
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any, ParamSpec, TypeVar, cast

from django.apps import apps
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from remodel.history.errors import AlreadyUndone, CannotUndo, Conflict, Refused, Stale
from remodel.history.models import Change, Write
from remodel.history.rows import Row
from remodel.history.snapshots import snapshot, values_of
from remodel.history.turns import write_turn

__all__ = ["By", "Touched", "before_undo", "change", "create", "on_written", "recorded", "remove", "restore", "undo"]

P = ParamSpec("P")
R = TypeVar("R")
AnyRow = TypeVar("AnyRow", bound=Row)


@dataclass(frozen=True, slots=True)
class By:
    """Who writes, and the key the form carried; no key, no protection from a second click."""

    person: Any = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class Touched:
    """What one write changed: model names by house."""

    houses: dict[uuid.UUID, frozenset[str]]
    rooms: frozenset[uuid.UUID]


@dataclass(slots=True)
class _Writing:
    by: By
    what: str
    group: uuid.UUID = field(default_factory=uuid.uuid4)
    undoes: uuid.UUID | None = None
    changes: list[Change] = field(default_factory=list)

    def note(self, row: Row, before: dict[str, Any] | None) -> None:
        self.changes.append(
            Change(
                group=self.group,
                at=timezone.now(),
                person=self.by.person,
                who=getattr(self.by.person, "name", ""),
                what=self.what,
                house=row.trail_house,
                room=row.trail_room,
                model=row._meta.label_lower,
                row=row.pk,
                version=row.version,
                before=before,
                after=snapshot(row),
                undoes=self.undoes,
            )
        )

    def touched(self) -> Touched:
        houses: dict[uuid.UUID, set[str]] = {}
        for each in self.changes:
            if each.house:
                houses.setdefault(each.house, set()).add(each.model)
        return Touched(
            houses={house: frozenset(models_) for house, models_ in houses.items()},
            rooms=frozenset(each.room for each in self.changes if each.room),
        )


_writing: ContextVar[_Writing | None] = ContextVar("writing", default=None)
_listeners: list[Callable[[Touched], None]] = []
_undo_checks: list[Callable[[list[Change]], None]] = []


def on_written(listener: Callable[[Touched], None]) -> None:
    """Have `listener` told of every write, once its transaction has closed."""
    if listener not in _listeners:
        _listeners.append(listener)


def before_undo(check: Callable[[list[Change]], None]) -> None:
    """Have `check` look at what an undo would take back; it raises `Refused` where that must stay."""
    if check not in _undo_checks:
        _undo_checks.append(check)


def recorded(what: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Make a service of a function that takes `by`: one transaction, one group of changes, done once for each key."""

    def decorate(service: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(service)
        def run(*args: P.args, **kwargs: P.kwargs) -> R:
            if _writing.get() is not None:
                return service(*args, **kwargs)
            return _outermost(_Writing(by=cast(By, kwargs["by"]), what=what), lambda: service(*args, **kwargs))

        return run

    return decorate


def _outermost(writing: _Writing, work: Callable[[], R]) -> R:
    token = _writing.set(writing)
    try:
        with write_turn():
            earlier, write = _claim(writing)
            if earlier is not None:
                return cast(R, _earlier_row(earlier))
            result = work()
            Change.objects.bulk_create(writing.changes)
            if write is not None and isinstance(result, models.Model):
                write.model, write.row = result._meta.label_lower, str(result.pk)
                write.save(update_fields=("model", "row"))
    finally:
        _writing.reset(token)
    if writing.changes:
        touched = writing.touched()
        for listener in _listeners:
            listener(touched)
    return result


def _claim(writing: _Writing) -> tuple[Write | None, Write | None]:
    """The write done before under this key, or a new one that holds the key; neither where there is no key."""
    person, key = writing.by.person, writing.by.key
    if not key or person is None:
        return None, None
    if len(key) > 64:
        raise Refused("The form's key is too long; load the page again")
    with suppress(IntegrityError), transaction.atomic():
        return None, Write.objects.create(person=person, key=key, group=writing.group, at=timezone.now())
    return Write.objects.get(person=person, key=key), None


def _earlier_row(write: Write) -> Any:
    if not write.model:
        return None
    return apps.get_model(write.model)._base_manager.get(pk=write.row)


def _current() -> _Writing:
    writing = _writing.get()
    if writing is None:
        raise RuntimeError("Rows are written inside a function marked @recorded")
    return writing


def create(row: AnyRow) -> AnyRow:
    """Save a new row."""
    writing = _current()
    row.save(force_insert=True)
    writing.note(row, None)
    return row


def create_all(rows: Iterable[AnyRow]) -> list[AnyRow]:
    """Save new rows of one model in one go."""
    writing, made = _current(), list(rows)
    if made:
        type(made[0])._base_manager.bulk_create(made)
        for row in made:
            writing.note(row, None)
    return made


def change(row: AnyRow, *, expected: int | None = None, **values: Any) -> AnyRow:
    """Set fields of a row. `expected` is the version the person saw: where another write came between, raises `Stale`
    with both values and writes nothing. What is already so is left alone. Returns the row as it stands then."""
    writing = _current()
    stored = _locked(row)
    if (expected is not None and stored.version != expected) or stored.deleted_at is not None:
        raise Stale(stored, _conflicts(stored, values))
    if all(getattr(stored, name) == value for name, value in values.items()):
        _take_over(row, stored)
        return row
    before = snapshot(stored)
    for name, value in values.items():
        setattr(stored, name, value)
    _save(writing, stored, before)
    _take_over(row, stored)
    return row


def remove(row: AnyRow, *, expected: int | None = None) -> AnyRow:
    """Mark a row as deleted; undo brings it back."""
    return change(row, expected=expected, deleted_at=timezone.now())


def restore(row: AnyRow) -> AnyRow:
    """Bring a deleted row back."""
    writing = _current()
    stored = _locked(row)
    before = snapshot(stored)
    stored.deleted_at = None
    _save(writing, stored, before)
    _take_over(row, stored)
    return row


def undo(*, by: By, group: uuid.UUID) -> list[Row]:
    """Take back every field a group changed, where each still is as the group left it; returns the rows.

    Raises `CannotUndo` with both values of each field where one is not, and then nothing is undone; `AlreadyUndone`
    the second time. What others changed since in other fields stays. The undo is a group itself, and can be undone.
    """
    changes = list(Change.objects.filter(group=group).order_by("-id"))
    if not changes:
        raise Refused("There is nothing to undo here")
    for check in _undo_checks:
        check(changes)
    writing = _Writing(by=by, what=f"undid: {changes[0].what}"[:200], undoes=group)
    return _outermost(writing, lambda: _take_back(writing, changes))


def _take_back(writing: _Writing, changes: list[Change]) -> list[Row]:
    latest = Change.objects.filter(undoes=changes[0].group).order_by("-id").first()
    if latest is not None and not Change.objects.filter(undoes=latest.group).exists():
        raise AlreadyUndone
    latest_first: dict[uuid.UUID, list[Change]] = {}
    for each in changes:
        latest_first.setdefault(each.row, []).append(each)
    rows: list[tuple[Row, Change, dict[str, Any]]] = []
    conflicts: list[Conflict] = []
    for key, some in latest_first.items():
        model = cast(type[Row], apps.get_model(some[0].model))
        row = model.everything.select_for_update().get(pk=key)
        first, after, now = some[-1], some[0].after, snapshot(row)
        before = first.before or {}
        changed = [name for name in after if first.before is None or before.get(name) != after[name]]
        conflicts += [
            Conflict(row=row, field=name, theirs=now[name], mine=before.get(name))
            for name in changed
            if name in now and now[name] != after[name]
        ]
        rows.append((row, first, {name: before[name] for name in changed if name in before}))
    if conflicts:
        raise CannotUndo(tuple(conflicts))
    for row, first, values in rows:
        stood = snapshot(row)
        if first.before is None:
            row.deleted_at = timezone.now()
        for name, value in values_of(row, values).items():
            setattr(row, name, value)
        _save(writing, row, stood)
    return [row for row, _, _ in rows]


def _locked(row: AnyRow) -> AnyRow:
    return type(row).everything.select_for_update().get(pk=row.pk)


def _save(writing: _Writing, row: Row, before: dict[str, Any]) -> None:
    row.version += 1
    row.save(force_update=True)
    writing.note(row, before)


def _conflicts(stored: Row, values: dict[str, Any]) -> tuple[Conflict, ...]:
    return tuple(
        Conflict(row=stored, field=name, theirs=getattr(stored, name), mine=value)
        for name, value in values.items()
        if getattr(stored, name) != value
    )


def _take_over(row: Row, stored: Row) -> None:
    for each in row._meta.concrete_fields:
        setattr(row, each.attname, getattr(stored, each.attname))
