"""Help: every page that explains itself is in it, and so are the cautions and the picture."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from remodel.pages.help.views import EXPLAINED, explained
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser, small_house

TEMPLATES = Path(settings.BASE_DIR) / "templates"
CAUTIONS = (
    "lead",
    "asbestos",
    "silica",
    "Electricity",
    "Lifting",
    "Structure",
    "alarms",
    "licensed",
    "local code",
)


def test_every_page_that_explains_itself_is_in_help():
    there = {
        str(path.relative_to(TEMPLATES)): len(re.findall("{% how_this_works", path.read_text()))
        for path in TEMPLATES.rglob("*.html")
        if "{% how_this_works" in path.read_text()
    }
    assert {
        name: len(names) for group in EXPLAINED.values() for name, names in group.items()
    } == there


@pytest.mark.parametrize("hosted", [True, False])
def test_every_explanation_is_a_whole_sentence(settings, hosted):
    settings.HOSTED = hosted
    for group in EXPLAINED.values():
        for explanation in explained(group):
            text = " ".join(explanation.paragraphs)
            assert re.match(r"[A-Z“].{40,}[.?]$", text), explanation.name
            assert not re.search(r"<|  | [.,]|None", text), explanation.name


def test_pages_of_another_way_to_run_are_left_out(settings):
    settings.HOSTED = True
    assert "Devices" not in [
        explanation.name for explanation in explained(EXPLAINED["People and devices"])
    ]
    settings.HOSTED = False
    assert "Sign in" not in [
        explanation.name for explanation in explained(EXPLAINED["People and devices"])
    ]


@pytest.mark.django_db
def test_help_stands_by_itself_and_with_the_house_around_it(settings):
    settings.HOSTED = True
    house = small_house(ada())
    alone = browser(ada()).get(reverse("help")).content.decode()
    around = browser(ada()).get(reverse("help", args=[house.pk])).content.decode()
    assert house.name not in alone
    assert reverse("log-list", args=[house.pk]) in around
    for caution in CAUTIONS:
        assert caution in alone
    assert 'aria-labelledby="help-room-title help-room-desc"' in alone


@pytest.mark.django_db
def test_stranger_missing_and_wrong_verb(settings):
    settings.HOSTED = True
    house = small_house(ada())
    assert browser(cy()).get(reverse("help", args=[house.pk])).status_code == 404
    assert browser(ada()).post(reverse("help")).status_code == 405
