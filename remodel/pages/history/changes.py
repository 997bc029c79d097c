"""Changes in words for people: which fields of which row changed, as they were and as they are."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import models

from remodel.cards.models import DoneMark
from remodel.history.errors import CannotUndo, Conflict, Stale
from remodel.history.models import Change
from remodel.history.queries import Entry
from remodel.house.models import House
from remodel.pages.rules_words import rules_told
from remodel.web.dates import day_words, moment_words
from remodel.web.lengths import marked_length
from remodel.web.parts import Difference
from remodel.web.templatetags.halfbay import money
from remodel.work.models import PhaseState

__all__ = ["DescribedChange", "differences", "label_of", "tell", "title_of", "who_changed"]

_WORDS = {
    "turn": "Turn",
    "position": "Place in the order",
    "deleted_at": "Removed",
    "pile": "Shares sheets as",
    "at": "Distance from the corner",
    "goes_by": "What that goes by",
}
# not said to people: what a row hangs on, keys, and what only the page needs
_UNSAID = frozenset(
    {
        "key",
        "position",
        "made_at",
        "own",
        "version",
        "at",
        "frozen",
        "placed_at",
        "confirmed_at",
        "person_id",
    }
)
_UNDID = "undid: "
_PHASE_STATES = {
    PhaseState.NOT_STARTED: "is not started",
    PhaseState.READY: "is ready to start",
    PhaseState.IN_PROGRESS: "is begun",
    PhaseState.DONE: "is done",
}
_TICKED = {
    "cut": ("piece as cut", "pieces as cut"),
    "hung": ("board as hung", "boards as hung"),
}
# what services call a write, as a person would say it
_SAID = {
    "moved a phase on": "moved a phase on",
    "changed a phase": "changed a phase",
    "set up the phases": "set up the phases",
    "told that a step is done": "marked a step done",
    "accepted a stop": "went on although something stands before it",
    "took an accepted stop up again": "asked to be stopped there again",
    "closed a face": "closed a surface",
    "opened a face again": "opened a surface again",
    "chose for a surface": "changed a surface",
    "went back to the default": "put a surface back to what the room has",
    "told a piece differently": "noted how a piece hangs",
    "bought rooms together": "shared sheets between rooms",
    "bought rooms apart": "stopped sharing sheets",
    "took an order back": "undid “ordered”",
    "took back a receipt": "undid a receipt",
    "took back a movement": "undid an entry in the stock",
    "kept it for a job": "kept stock for a job",
    "set free": "freed stock that was kept for a job",
    "served it first": "gave a job its stock first",
    "took a sheet off the list": "took a size off the price list",
    "added a sheet": "added a size to the price list",
    "changed a sheet": "changed the price of a size",
    "added a pack": "added a package to the price list",
    "changed a pack": "changed the price of a package",
    "removed a pack": "took a package off the price list",
    "took away sheets on hand": "removed an offcut",
    "noted sheets on hand": "noted an offcut",
    "changed sheets on hand": "changed an offcut",
    "left what others lack out of an order": "left something out of an order",
    "added a cut-out": "added a box or hole",
    "changed a cut-out": "changed a box or hole",
    "removed a cut-out": "removed a box or hole",
    "gave up a partition": "removed a partition",
    "put the house back": "brought the house back",
}
_MONEY_WORDS = frozenset({"paid", "price", "refund"})


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribedChange:
    """One row of a write: its name, what happened to it (added, changed, removed, brought
    back), and its fields."""

    name: str
    happened: str
    fields: tuple[Difference, ...]


def tell(entry: Entry, units: str) -> list[DescribedChange]:
    """A write row by row. Fields that only the program needs are left out."""
    return [_described(change, units) for change in entry.changes]


def title_of(entry: Entry, room: str) -> str:
    """What a write did, as a person would say it: where, and what became of it."""
    words = _phase_title(entry) or _day_title(entry) or _ticks_title(entry) or _what(entry)
    return f"{room}: {words[0].lower() + words[1:]}" if room else words[0].upper() + words[1:]


def _what(entry: Entry) -> str:
    undid = entry.what.startswith(_UNDID)
    what = entry.what.removeprefix(_UNDID)
    words = _SAID.get(what, what)
    return f"{_UNDID}{words}" if undid else words


def _phase_title(entry: Entry) -> str:
    """A phase that was moved on, by its name: "Framing is done"."""
    phases = [one for one in entry.changes if one.model == "work.phase" and one.before]
    if len(phases) != 1:
        return ""
    values = phases[0].after
    if entry.what == "changed a phase" and "left_out" in phases[0].fields:
        needed = "is not needed here" if values["left_out"] else "is needed here again"
        return f"“{values['name']}” {needed}"
    if entry.what != "moved a phase on" or "state" not in phases[0].fields:
        return ""
    if values["state"] == PhaseState.BLOCKED:
        return f"“{values['name']}” waits for {values['waits_for']}"
    return f"“{values['name']}” {_PHASE_STATES[values['state']]}"


def _day_title(entry: Entry) -> str:
    day = next((one for one in entry.changes if one.model == "work.daylog"), None)
    if day is None or entry.what != "logged a day" or not day.after.get("minutes"):
        return ""
    hours = Fraction(int(day.after["minutes"]), 60)
    return f"logged {float(hours):g} hour{'' if hours == 1 else 's'} of work"


def _ticks_title(entry: Entry) -> str:
    """How many pieces or surfaces a press marked, and as what."""
    if entry.what != "ticked off":
        return ""
    ticks = Counter(
        str(change.after.get("kind", ""))
        for change in entry.changes
        if change.model == "cards.donemark" and not change.after.get("deleted_at")
    )
    gone = sum(
        change.model == "cards.donemark" and bool(change.after.get("deleted_at"))
        for change in entry.changes
    )
    said = [_marked(kind, number) for kind, number in ticks.items()]
    if gone:
        said.append(f"took {gone} mark{'' if gone == 1 else 's'} off again")
    return ", ".join(said)


def _marked(kind: str, number: int) -> str:
    if kind in _TICKED:
        return f"marked {number} {_TICKED[kind][number > 1]}"
    label = dict(DoneMark.Kind.choices).get(kind, kind).lower()
    return f"marked {number} surface{'' if number == 1 else 's'}: {label}"


def differences(error: Stale | CannotUndo, units: str, currency: str = "") -> list[Difference]:
    """Both values of each field that two people changed, for `{% problems %}`. Where several rows
    are concerned, each field has the name of its row."""
    conflicts = [
        conflict
        for conflict in error.conflicts
        if conflict.field not in _UNSAID or _is_said(conflict)
    ]
    several = len({conflict.row.pk for conflict in conflicts}) > 1
    return [
        row
        for conflict in conflicts
        for row in (
            _rules(conflict.mine, conflict.theirs, units, currency)
            if _is_rules(type(conflict.row), conflict.field)
            else [_difference(conflict, units, currency, named=several)]
        )
    ]


def _is_rules(model: type[models.Model], field: str) -> bool:
    return field == "rules" and model is House


def _rules(before: Any, after: Any, units: str, currency: str = "") -> list[Difference]:
    """The rules of a house that differ, one by one."""
    return [
        Difference(label=name, yours=mine, theirs=theirs)
        for name, mine, theirs in rules_told(before or {}, after or {}, units, currency)
    ]


def _is_said(conflict: Conflict) -> bool:
    return conflict.field == "at" and _is_length(type(conflict.row), "at")


def who_changed(row: models.Model) -> str:
    """The name of the person who wrote a row last, for the heading of `{% conflict %}`; empty where
    it is not known."""
    return (
        Change.objects.filter(row=row.pk)
        .exclude(who="")
        .order_by("-id")
        .values_list("who", flat=True)
        .first()
    ) or ""


def label_of(model: type[models.Model], name: str) -> str:
    """The name of a column for people: `wall_level` is Wall level."""
    return _WORDS.get(name) or name.removesuffix("_id").replace("_", " ").capitalize()


def _described(change: Change, units: str) -> DescribedChange:
    model = apps.get_model(change.model)
    values: Mapping[str, Any] = change.after
    kind = str(model._meta.verbose_name)
    name = next(
        (str(values[field]) for field in ("name", "text", "caption") if values.get(field)), ""
    )
    if not name and values.get("day"):
        name = _day(datetime.date.fromisoformat(values["day"]), units)
    fields = change.fields
    removed = fields.pop("deleted_at", None)
    if change.before is None:
        happened = "added"
    elif removed:
        happened = "removed" if removed[1] else "brought back"
    else:
        happened = "changed"
    shown: Sequence[Difference] = ()
    if happened == "changed":
        shown = [
            Difference(
                label=label_of(model, field),
                yours=_shown(model, field, before, units),
                theirs=_shown(model, field, after, units),
            )
            for field, (before, after) in fields.items()
            if field not in _UNSAID or (field == "at" and _is_length(model, field))
            if not _is_rules(model, field)
        ]
        if "rules" in fields and _is_rules(model, "rules"):
            shown = [*shown, *_rules(*fields["rules"], units)]
    return DescribedChange(
        name=f"{kind.capitalize()}: {name}" if name else kind.capitalize(),
        happened=happened,
        fields=tuple(shown),
    )


def _difference(conflict: Conflict, units: str, currency: str, *, named: bool) -> Difference:
    model = type(conflict.row)
    label = label_of(model, conflict.field)
    values = [
        money(value, currency)
        if currency and conflict.field in _MONEY_WORDS
        else _shown(model, conflict.field, value, units)
        for value in (conflict.mine, conflict.theirs)
    ]
    name = str(getattr(conflict.row, "name", "")) if named else ""
    return Difference(
        label=f"{name}: {label[0].lower()}{label[1:]}" if name else label,
        yours=values[0],
        theirs=values[1],
    )


def _is_length(model: type[models.Model], name: str) -> bool:
    try:
        return isinstance(model._meta.get_field(name), models.BigIntegerField)
    except FieldDoesNotExist:
        return False


def _shown(model: type[models.Model], name: str, value: Any, units: str) -> str:
    if value is None or value == "":
        return "–"
    try:
        field = model._meta.get_field(name)
    except FieldDoesNotExist:
        field = None
    if name in _MONEY_WORDS:
        return f"{int(value) // 100}.{int(value) % 100:02d}"
    if isinstance(field, models.ForeignKey):
        return _named(field.related_model, value)
    if isinstance(field, models.BigIntegerField):
        return marked_length(int(value), units)
    choices = dict(getattr(field, "flatchoices", None) or ())
    if choices and value == PhaseState.BLOCKED:
        return "Waiting"
    if choices:
        return str(choices.get(value, value))
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if isinstance(field, models.DateField):
        value = field.to_python(value)
    if isinstance(value, datetime.date):
        return _day(value, units)
    if isinstance(value, Decimal | Fraction):
        return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)
    if isinstance(field, models.DecimalField):
        return f"{Decimal(str(value)).normalize():f}"
    if isinstance(value, dict | list):
        return _counted(value)
    return str(value)


def _day(when: datetime.date, units: str) -> str:
    if isinstance(when, datetime.datetime):
        return moment_words(when, units)
    return day_words(when, units)


def _named(model: Any, key: Any) -> str:
    """The name of a row, deleted ones included; the kind of the row where it no longer exists."""
    row = (
        getattr(model, "all_objects", model._base_manager)
        .filter(pk=getattr(key, "pk", key))
        .first()
    )
    return str(row) if row else str(model._meta.verbose_name)


def _counted(value: dict[str, Any] | list[Any]) -> str:
    if not value:
        return "–"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return ", ".join(key.replace("_", " ") for key in value)
