"""A house in millimeters says nothing in feet, pounds or gallons: every page of one is read."""

from __future__ import annotations

import html
import re

import pytest

from remodel.pages.work.forms_phases import NoteForm
from remodel.web.fields import LiftField, pounds_of
from tests.remodel.everything import Everything
from tests.remodel.routes import routes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

_UNIT = r"(?:lbs?|pounds?|ft|foot|feet|inch(?:es)?|in(?! the)|gal|gallons?|qt|oz|sq ft|psf)"
_AMOUNT = re.compile(
    rf"(?<![\w.])\d[\d.,/ ]*\s?{_UNIT}\b|\b(?:pounds?|gallons?|sq ft)\b"
    r"|\b(?:an?|per) (?:square )?foot\b|\d\s?″"
)
# Pages for people of houses of either kind, and pages that name both kinds side by side.
EITHER = {"help", "house-new", "house-list", "house-import", "measuring-sheet", "house-file"}
# Sources are quoted in the units they use.
_QUOTED = re.compile(r'<dl class="figures">.*?</dl>|<script.*?</script>|<svg.*?</svg>', re.S)


def words_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", _QUOTED.sub(" ", page))).split())


def test_no_page_of_a_metric_house_speaks_of_feet_pounds_or_gallons():
    everything = Everything()
    client = everything.client(everything.ada)
    read, found = 0, {}
    for route in routes():
        if "GET" not in route.methods or route.who not in ("house", "owner", "anybody"):
            continue
        if route.name in EITHER:
            continue
        answer = everything.ask(client, "GET", route)
        kind = answer.headers.get("Content-Type", "")
        if answer.status_code != 200 or not kind.startswith(("text/html", "text/csv")):
            continue
        read += 1
        words = words_of(answer.page)
        said = [words[max(0, one.start() - 30) : one.end() + 20] for one in _AMOUNT.finditer(words)]
        if said:
            found[route.name] = said[:3]

    assert read > 60
    assert not found, "\n".join(f"{name}: {said}" for name, said in found.items())


def test_lift_is_asked_in_kilograms_and_kept_in_pounds():
    field = LiftField(label="The heaviest sheet you lift")
    field.measure_in("mm")

    assert "kilograms" in field.label
    assert field.clean("36") == pounds_of(36)
    assert field.prepare_value(pounds_of(36)) == 36
    # 36 kg / 0.45359237 kg a pound, by hand
    assert abs(float(pounds_of(36)) - 79.366414) < 1e-6
    assert not field.has_changed(pounds_of(36), "36")
    assert field.has_changed(None, "36")


def test_example_of_a_note_is_of_no_unit():
    assert not _AMOUNT.search(str(NoteForm().fields["text"].help_text))
