"""Sizes that are pressed in place of typing: each fills in a form that is then taken."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.pages.house.forms.things import CutoutForm, OpeningForm
from remodel.pages.house.usual_sizes import usual_sizes
from tests.remodel.factories import ada
from tests.remodel.house.test_face_picture import BOX, DOOR
from tests.remodel.site import browser

pytestmark = pytest.mark.django_db
FORMS = {"opening": (OpeningForm, DOOR), "cutout": (CutoutForm, BOX)}


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("word", FORMS)
def test_every_usual_size_fills_in_a_form_that_is_taken(room, word, units):
    kind, typed = FORMS[word]
    _, sizes = usual_sizes(word, units)
    for size in sizes:
        form = kind(typed | {"along": ""} | size.fields, units=units, room=room)
        assert size.fields.keys() <= form.fields.keys()
        assert not {"width", "height", "kind", "given"} & form.errors.keys(), size.name
    assert len({size.name for size in sizes}) == len(sizes) >= 3


@pytest.mark.usefixtures("hosted")
def test_page_offers_them_as_buttons_that_send_nothing(room):
    page = browser(ada()).get(reverse("opening-add", args=[room.pk])).content.decode()

    assert page.count('data-fill-width="') == 4
    for width in (30, 32, 34, 36):
        assert f'data-fill-width="{width}&quot;"' in page


def test_nothing_behind_the_board_has_a_usual_size():
    assert usual_sizes("hidden", "in") is None
