"""The one way to write a row that people edit.

    @recorded("added an opening")
    def opening_add(*, by: By, room: Room, name: str, ...) -> Opening:
        return create(Opening(room=room, name=name, ...))

`recorded` opens one transaction, gathers every change under one group, and answers a write whose
key was seen before with the row it made then. `create`, `change` and `remove` work inside it and
nowhere else; a service called by another joins its group. When the outermost is done and its
transaction has closed, `on_written` callbacks hear which houses and rooms were touched.
"""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import Any, ParamSpec, TypeVar, cast

from django.apps import apps
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from remodel.history.errors import AlreadyUndone, CannotUndo, Conflict, Refused, Stale
from remodel.history.models import Change, Write
from remodel.history.seen import Seen
from remodel.history.snapshots import snapshot, values_of
from remodel.history.turns import write_turn
from remodel.history.versioned import Versioned

__all__ = [
    "By",
    "Telling",
    "Touched",
    "before_undo",
    "change",
    "create",
    "is_news",
    "keep",
    "keys_written",
    "must_stand",
    "on_written",
    "recorded",
    "remove",
    "restore",
    "tell_later",
    "touch",
    "undo",
    "written_before",
]

P = ParamSpec("P")
R = TypeVar("R")
AnyRow = TypeVar("AnyRow", bound=Versioned)


@dataclass(frozen=True, slots=True)
class By:
    """Who writes, the key of the form and its text, and what the page was made from.

    Without a key there is no protection from a second press; without `seen`, none from overwriting
    what somebody else wrote since the page was made. `parts` are keys of single presses, made
    without a signal, that one write enters together: `keys_written` tells later which are in.
    """

    person: Any = None
    key: str = ""
    seen: Seen | None = None
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Touched:
    """What one write changed: the model names by house, and the rooms."""

    houses: dict[uuid.UUID, frozenset[str]]
    rooms: frozenset[uuid.UUID]


@dataclass(slots=True)
class _Writing:
    by: By
    what: str
    group: uuid.UUID = field(default_factory=uuid.uuid4)
    undoes: uuid.UUID | None = None
    changes: list[Change] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    # Versions of the rows this write made or changed itself.
    own_versions: dict[uuid.UUID, int] = field(default_factory=dict)
    # Tables without a history that it wrote, by house.
    tables: dict[uuid.UUID, set[str]] = field(default_factory=dict)

    def overtakes(self, stored: Versioned) -> bool:
        """Whether the row differs from what the page showed, because it was written or made
        since."""
        # A row that this write changed before is newer than the page showed, but nobody else wrote
        # it.
        if self.by.seen is None or stored.pk in self.own_versions:
            return False
        version = self.seen_version(stored)
        if version is None:
            # The page did not show the row. Where it listed the whole table, somebody made the row
            # since; of any other table the page said nothing.
            return stored._meta.label_lower in self.by.seen.lists
        return version != stored.version

    def seen_version(self, stored: Versioned) -> int | None:
        """The version of the row that the page showed; None where it showed none."""
        return self.by.seen.versions.get(stored.pk) if self.by.seen is not None else None

    def note(self, row: Versioned, before: dict[str, Any] | None) -> None:
        self.own_versions[row.pk] = row.version
        self.changes.append(
            Change(
                group=self.group,
                at=timezone.now(),
                person=self.by.person,
                # The name is copied, because the history outlives the account.
                who=getattr(self.by.person, "name", ""),
                what=self.what,
                house=row.history_house,
                room=row.history_room,
                model=row._meta.label_lower,
                row=row.pk,
                version=row.version,
                before=before,
                after=snapshot(row),
                undoes=self.undoes,
            )
        )

    def touched(self) -> Touched:
        houses = {house: set(tables) for house, tables in self.tables.items()}
        for change in self.changes:
            if change.house:
                houses.setdefault(change.house, set()).add(change.model)
        return Touched(
            houses={house: frozenset(models_) for house, models_ in houses.items()},
            rooms=frozenset(change.room for change in self.changes if change.room),
        )


# A context variable and not a module global: the web writes in several threads at once.
_writing: ContextVar[_Writing | None] = ContextVar("writing", default=None)
_listeners: list[Callable[[Touched], None]] = []
_undo_checks: list[Callable[[list[Change]], None]] = []


def on_written(listener: Callable[[Touched], None]) -> None:
    """Call `listener` after every write, once its transaction has closed."""
    if listener not in _listeners:
        _listeners.append(listener)


@dataclass(slots=True)
class Telling:
    """What writes touched whose listeners have not heard of it yet."""

    touched: list[Touched] = field(default_factory=list)

    def tell(self) -> None:
        """Call the listeners with every write that waits, each once."""
        waiting, self.touched = self.touched, []
        for touched in waiting:
            for listener in _listeners:
                listener(touched)


_later: ContextVar[Telling | None] = ContextVar("later", default=None)


@contextmanager
def tell_later() -> Iterator[Telling]:
    """Let listeners hear of the writes inside only once they are told.

        with write_turn(), tell_later() as telling:
            written = write(by)
            ...  # look at what stands now, and write more that belongs to it
        telling.tell()

    A write that is looked at before it stands needs no figures of it where it is taken back, and
    figures once where more is written with it.
    """
    telling = Telling()
    token = _later.set(telling)
    try:
        yield telling
    finally:
        _later.reset(token)


def before_undo(check: Callable[[list[Change]], None]) -> None:
    """Call `check` with the changes that an undo would take back. It raises `Refused` where they
    must stay."""
    if check not in _undo_checks:
        _undo_checks.append(check)


def recorded(what: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Make a service of a function that takes `by`: each call is one transaction and one group of
    changes, and is done once for each key."""

    def decorate(service: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(service)
        def run(*args: P.args, **kwargs: P.kwargs) -> R:
            # A service called by a service joins the write under way: one key, one group, one undo.
            if _writing.get() is not None:
                return service(*args, **kwargs)
            return _outermost(
                _Writing(by=cast(By, kwargs["by"]), what=what), lambda: service(*args, **kwargs)
            )

        return run

    return decorate


def _outermost(writing: _Writing, work: Callable[[], R]) -> R:
    token = _writing.set(writing)
    try:
        with write_turn():
            # The turn was taken before any row is read, so what this write follows from stays as it
            # is until the transaction closes.
            earlier, write = _claim(writing)
            if earlier is not None and not _overtaken_since(earlier, writing.by.seen):
                return cast(R, _earlier_row(earlier))
            # A press sent again, of whose rows one was written since, is done as a new write. It
            # then ends as a conflict, which is true; "saved" would not be.
            result = _worked(writing, work)
            Change.objects.bulk_create(writing.changes)
            _claim_parts(writing)
            if write is not None and isinstance(result, models.Model):
                write.model, write.row = result._meta.label_lower, str(result.pk)
                write.save(update_fields=("model", "row"))
    finally:
        _writing.reset(token)
    if writing.changes or writing.tables:
        touched = writing.touched()
        later = _later.get()
        if later is not None:
            later.touched.append(touched)
            return result
        # Only now, with the transaction closed: listeners work out figures, which takes long, and
        # nobody else could write meanwhile. What they write is a write of its own.
        for listener in _listeners:
            listener(touched)
    return result


def keep(
    *,
    by: By,
    what: str,
    row: models.Model,
    house: uuid.UUID,
    room: uuid.UUID,
    before: dict[str, Any],
    after: dict[str, Any],
) -> None:
    """Keep in the history what a person did with a row that has no versions of its own. Values are
    texts and numbers, as a column of JSON takes them. It is gone back on where the row is shown,
    never by undoing a group. The caller holds the turn of writing."""
    last = Change.objects.filter(row=row.pk).aggregate(last=models.Max("version"))["last"]
    Change.objects.create(
        at=timezone.now(),
        person=by.person,
        who=getattr(by.person, "name", ""),
        what=what,
        house=house,
        room=room,
        model=row._meta.label_lower,
        row=row.pk,
        version=(last or 0) + 1,
        before=before,
        after=after,
    )


def touch(house: uuid.UUID, table: str) -> None:
    """Say, inside a write, that rows of a table that keeps no history were written for a house, so
    that listeners hear of it."""
    writing = _writing.get()
    if writing is not None:
        writing.tables.setdefault(house, set()).add(table)


@dataclass(frozen=True, slots=True)
class Before:
    """A write that was done before under a key. `row` is the row it made or changed, None where it
    was not one row."""

    row: Any


def written_before(by: By) -> Before | None:
    """The write that was done under the same key; None where a row of the page was written again
    since."""
    if not by.key or by.person is None:
        return None
    write = Write.objects.filter(person=by.person, key=by.key).first()
    return (
        None if write is None or _overtaken_since(write, by.seen) else Before(_earlier_row(write))
    )


def _worked(writing: _Writing, work: Callable[[], R]) -> R:
    """Do the write. Raise `Stale` with everything it would have overwritten; then nothing is
    written.

    A conflict is raised in place of a refusal, because what the other person wrote may be the
    reason for it.
    """
    try:
        result = work()
    except Stale:
        raise
    except Refused:
        if writing.conflicts:
            raise Stale(writing.conflicts[0].row, tuple(writing.conflicts)) from None
        raise
    if writing.conflicts:
        raise Stale(writing.conflicts[0].row, tuple(writing.conflicts))
    return result


def _overtaken_since(earlier: Write, seen: Seen | None) -> bool:
    """Whether a row of the page was written again after the write that has its key.

    The page is then older than the row, and the answer "saved" would no longer be true.
    """
    if seen is None or not seen.versions:
        return False
    # The newest change of a row comes first, and `setdefault` keeps it.
    latest = Change.objects.filter(row__in=list(seen.versions)).order_by("row", "-version")
    newest: dict[uuid.UUID, uuid.UUID] = {}
    for row, group, version in latest.values_list("row", "group", "version"):
        if version > seen.versions[row]:
            newest.setdefault(row, group)
    return any(group != earlier.group for group in newest.values())


def _claim(writing: _Writing) -> tuple[Write | None, Write | None]:
    """The earlier write under this key, or a new one that holds the key; neither where there is no
    key."""
    person, key = writing.by.person, writing.by.key
    if not key or person is None:
        return None, None
    if len(key) > 64:
        # PostgreSQL would end in an error here, and SQLite would store the longer text.
        raise Refused("The form's key is too long; load the page again")
    # The inner `atomic` is a savepoint: PostgreSQL refuses every later statement of a transaction
    # in which one failed.
    with suppress(IntegrityError), transaction.atomic():
        return None, Write.objects.create(
            person=person, key=key, group=writing.group, at=timezone.now()
        )
    return Write.objects.get(person=person, key=key), None


def _claim_parts(writing: _Writing) -> None:
    """Note the presses that this write entered together."""
    by, now = writing.by, timezone.now()
    Write.objects.bulk_create(
        [Write(person=by.person, key=key, group=writing.group, at=now) for key in by.parts],
        # Two devices may enter the same press at once.
        ignore_conflicts=True,
    )


def keys_written(keys: Iterable[str]) -> frozenset[str]:
    """Those of some keys under which anybody wrote before. They must be keys that nobody can
    guess, for they are looked for whoever wrote."""
    return frozenset(Write.objects.filter(key__in=list(keys)).values_list("key", flat=True))


def _earlier_row(write: Write) -> Any:
    if not write.model:
        return None
    # The base manager also finds a row that was deleted since: the first press did write it.
    return apps.get_model(write.model)._base_manager.get(pk=write.row)


def _current() -> _Writing:
    writing = _writing.get()
    if writing is None:
        raise RuntimeError("Rows are written inside a function marked @recorded")
    return writing


def create(row: AnyRow) -> AnyRow:
    """Save a new row."""
    writing = _current()
    # An id that exists already must fail here, and not overwrite the row that has it.
    row.save(force_insert=True)
    writing.note(row, None)
    return row


def create_all(rows: Iterable[AnyRow]) -> list[AnyRow]:
    """Save new rows of one model in one query."""
    writing, made = _current(), list(rows)
    if made:
        type(made[0])._base_manager.bulk_create(made)
        for row in made:
            writing.note(row, None)
    return made


def change(row: AnyRow, **values: Any) -> AnyRow:
    """Set fields of a row and return it as it stands then. A row that has all the values already is
    left alone.

    Where another write came since the page was made (`By.seen`), the whole write ends in `Stale`
    with both values of each field, and nothing is written. A row that was deleted raises `Stale` at
    once.
    """
    writing = _current()
    # The caller's object may be older than what stands: compare with the stored row, and count its
    # version on.
    stored = _locked(row)
    if stored.deleted_at is not None:
        raise Stale(stored, _conflicts(stored, values))
    # Two people who set the same value do not disagree, so this comes before any conflict.
    if all(getattr(stored, name) == value for name, value in values.items()):
        _take_over(row, stored)
        return row
    if writing.overtakes(stored):
        # Go on, so that all the write would overwrite is told at once; it is rolled back in the
        # end.
        writing.conflicts += _conflicts(stored, values, since=writing.seen_version(stored))
    before = snapshot(stored)
    for name, value in values.items():
        setattr(stored, name, value)
    _save(writing, stored, before)
    _take_over(row, stored)
    return row


def remove(row: AnyRow) -> AnyRow:
    """Mark a row as deleted; undo brings it back."""
    return change(row, deleted_at=timezone.now())


def must_stand(*rows: Versioned) -> None:
    """Raise `Stale` unless the page showed exactly these rows, each as it stands now.

    This is for a write that decides on rows without changing them, like placing an order with its
    lines. Where the page listed the table whole, `rows` are all rows there are. A write without
    `seen` passes.
    """
    seen = _current().by.seen
    if seen is None:
        return
    standing = {row.pk: row.version for row in rows}
    for row in rows:
        version = seen.versions.get(row.pk)
        if version != row.version and (version is not None or row._meta.label_lower in seen.lists):
            raise Stale(row, ())
    # The page showed a row that is no longer among these: somebody removed it.
    if rows and seen.versions.keys() - standing.keys():
        raise Stale(rows[0], ())


def is_news(name: str, fact: int | str) -> bool:
    """Whether a fact has changed since the page was made, like the number of deliveries of an
    order."""
    seen = _current().by.seen
    return seen is not None and seen.facts.get(name, str(fact)) != str(fact)


def restore(row: AnyRow) -> AnyRow:
    """Bring a deleted row back."""
    writing = _current()
    stored = _locked(row)
    before = snapshot(stored)
    stored.deleted_at = None
    _save(writing, stored, before)
    _take_over(row, stored)
    return row


def undo(*, by: By, group: uuid.UUID) -> list[Versioned]:
    """Take back every field a group changed, and return the rows.

    Each field must still be as the group left it. Where one is not, `CannotUndo` is raised with
    both values, and nothing is undone. `AlreadyUndone` is raised the second time. What others
    changed since in other fields stays. The undo is a group itself, and can be undone.
    """
    changes = list(Change.objects.filter(group=group).order_by("-id"))
    if not changes:
        raise Refused("There is nothing to undo here")
    for check in _undo_checks:
        check(changes)
    writing = _Writing(by=by, what=f"undid: {changes[0].what}"[:200], undoes=group)
    return _outermost(writing, lambda: _take_back(writing, changes))


def _take_back(writing: _Writing, changes: list[Change]) -> list[Versioned]:
    # An undo that was itself undone does not count: the change stands again, and may be undone
    # again.
    latest = Change.objects.filter(undoes=changes[0].group).order_by("-id").first()
    if latest is not None and not Change.objects.filter(undoes=latest.group).exists():
        raise AlreadyUndone
    latest_first: dict[uuid.UUID, list[Change]] = {}
    for change in changes:
        latest_first.setdefault(change.row, []).append(change)
    rows: list[tuple[Versioned, Change, dict[str, Any]]] = []
    conflicts: list[Conflict] = []
    for key, some in latest_first.items():
        model = cast(type[Versioned], apps.get_model(some[0].model))
        row = model.all_objects.select_for_update().get(pk=key)
        # The newest change of the row comes first: its `after` is what the group left, and the
        # `before` of the oldest is what stood ahead of the group.
        first, after, now = some[-1], some[0].after, snapshot(row)
        before = first.before or {}
        changed = [
            name for name in after if first.before is None or before.get(name) != after[name]
        ]
        # Only fields that the group changed are compared and set back, so that what others wrote
        # into the other fields stays.
        conflicts += [
            Conflict(row=row, field=name, theirs=now[name], mine=before.get(name))
            for name in changed
            if name in now and now[name] != after[name]
        ]
        rows.append((row, first, {name: before[name] for name in changed if name in before}))
    if conflicts:
        # All rows were looked at before any is written: the page shows every conflict at once.
        raise CannotUndo(tuple(conflicts))
    for row, first, values in rows:
        stood = snapshot(row)
        if first.before is None:
            # A row that the group made is marked as deleted, never dropped: this undo can be undone
            # too.
            row.deleted_at = timezone.now()
        for name, value in values_of(row, values).items():
            setattr(row, name, value)
        _save(writing, row, stood)
    return [row for row, _, _ in rows]


def _locked(row: AnyRow) -> AnyRow:
    # Deleted rows too: a change of one is refused with a reason, and `restore` brings one back.
    return type(row).all_objects.select_for_update().get(pk=row.pk)


def _save(writing: _Writing, row: Versioned, before: dict[str, Any]) -> None:
    row.version += 1
    row.save(force_update=True)
    writing.note(row, before)


def _conflicts(
    stored: Versioned, values: dict[str, Any], since: int | None = None
) -> tuple[Conflict, ...]:
    """Each field that would be overwritten.

    Of a row that the page showed, these are the fields changed `since` that version. Where the
    other person changed other fields alone, it is every field that differs.
    """
    conflicts = [
        Conflict(row=stored, field=name, theirs=getattr(stored, name), mine=value)
        for name, value in values.items()
        if getattr(stored, name) != value
    ]
    # The history holds the row as the page showed it, because every version has its change.
    shown = Change.objects.filter(row=stored.pk, version=since or 0).first()
    if shown is None:
        return tuple(conflicts)
    now = snapshot(stored)
    # A snapshot names a column (`room_id`), a change names the field (`room`).
    columns = {column.name: column.attname for column in stored._meta.concrete_fields}
    changed = {name for name, value in now.items() if shown.after.get(name) != value}
    since_then = [
        conflict for conflict in conflicts if columns.get(conflict.field, conflict.field) in changed
    ]
    return tuple(since_then or conflicts)


def _take_over(row: Versioned, stored: Versioned) -> None:
    # The caller goes on with its own object, so that has to show what was stored, version and all.
    for column in row._meta.concrete_fields:
        setattr(row, column.attname, getattr(stored, column.attname))
