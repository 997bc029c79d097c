"""Changes in words for people: which fields of which row changed, as they were and as they are."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.db import models
from django.utils import timezone

from remodel.history.errors import CannotUndo, Conflict, Stale
from remodel.history.models import Change
from remodel.history.queries import Entry
from remodel.house.models import House
from remodel.pages.rules_words import rules_told
from remodel.web.lengths import marked_length
from remodel.web.parts import Difference
from remodel.web.templatetags.halfbay import money

__all__ = ["DescribedChange", "differences", "label_of", "tell", "who_changed"]

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
_MONEY_WORDS = frozenset({"paid", "price", "refund"})


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribedChange:
    """One row of a write: its name, what happened to it (made, changed, removed, brought back), and
    its fields."""

    name: str
    happened: str
    fields: tuple[Difference, ...]


def tell(entry: Entry, units: str) -> list[DescribedChange]:
    """A write row by row. Fields that only the program needs are left out."""
    return [_described(change, units) for change in entry.changes]


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
        name = _day(datetime.date.fromisoformat(values["day"]))
    fields = change.fields
    removed = fields.pop("deleted_at", None)
    if change.before is None:
        happened = "made"
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
    if choices:
        return str(choices.get(value, value))
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if isinstance(field, models.DateField):
        value = field.to_python(value)
    if isinstance(value, datetime.date):
        return _day(value)
    if isinstance(value, Decimal | Fraction):
        return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)
    if isinstance(field, models.DecimalField):
        return f"{Decimal(str(value)).normalize():f}"
    if isinstance(value, dict | list):
        return _counted(value)
    return str(value)


def _day(when: datetime.date) -> str:
    if isinstance(when, datetime.datetime):
        local = timezone.localtime(when)
        return f"{local.day} {local:%b %Y}, {local:%H:%M}"
    return f"{when.day} {when:%b %Y}"


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
