"""Whatever names a row in a form, sent with the id of such a row in a stranger's house: nothing is
written that points there, and nothing there is changed."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest
from django.apps import apps
from django.db import models

from remodel.history.models import Change
from remodel.history.versioned import Versioned
from tests.remodel.factories import cy
from tests.remodel.page_forms import Control, PageForm
from tests.remodel.saving import taken_back
from tests.remodel.site import small_house, with_partition

MODELS = [model for model in apps.get_models() if issubclass(model, Versioned)]
# No row is named by them.
OWN = {"csrfmiddlewaretoken", "key", "seen", "next"}


def row_of(value: str) -> models.Model | None:
    """The row that a value names."""
    try:
        wanted = uuid.UUID(value)
    except ValueError:
        return None
    found = (model._base_manager.filter(pk=wanted).first() for model in MODELS)
    return next((row for row in found if row is not None), None)


def names_rows(control: Control) -> models.Model | None:
    values = [*control.values, *control.options]
    return next((row for row in map(row_of, values) if row is not None), None)


def mixed(
    form: PageForm, theirs: dict[type[models.Model], models.Model]
) -> Iterator[tuple[str, models.Model]]:
    """The fields of a form that name a row, each with such a row of the other house."""
    for control in form.controls.values():
        row = names_rows(control) if control.name not in OWN else None
        if row is not None and type(row) in theirs:
            yield control.name, theirs[type(row)]


def rows_pointing_at(row: models.Model) -> dict[str, int]:
    """How many rows of each table lead to a row."""
    return {
        relation.field.model._meta.label: relation.field.model._base_manager.filter(
            **{relation.field.name: row}
        ).count()
        for relation in type(row)._meta.related_objects
        if not relation.many_to_many
    }


@pytest.mark.deep
def test_no_form_takes_an_id_of_another_house(form_house):
    stranger = cy()
    other = small_house(stranger)
    with_partition(other.rooms.get(), stranger)
    theirs = {
        type(row): row
        for model in MODELS
        for row in model._base_manager.all()
        if row.history_house == other.pk and isinstance(row.pk, uuid.UUID)
    }
    client = form_house.client(form_house.ada)
    wrong, tried = [], 0
    for address, form in form_house.forms(client).values():
        for name, row in mixed(form, theirs):
            with taken_back():
                before, last = rows_pointing_at(row), Change.objects.order_by("-pk").first()
                status = client.post(form.action, form.data({name: [str(row.pk)]})).status_code
                told = Change.objects.filter(house=other.pk, pk__gt=last.pk if last else 0)
                tried += 1
                if status >= 500 or rows_pointing_at(row) != before or told:
                    wrong.append(f"{address}: {name} answered {status}")
    assert not wrong, "\n".join(wrong)
    assert tried > 10
