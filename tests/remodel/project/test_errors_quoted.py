"""Whatever is typed into any form, an error names its field in quotes, as the page labels it."""

from __future__ import annotations

import html
import re

import pytest

from tests.remodel.page_forms import PageForm
from tests.remodel.saving import route_of, taken_back

pytestmark = pytest.mark.django_db

_SUMMARY = re.compile(r'<div class="error-summary".*?</div>', re.S)
_LINK = re.compile(r'<a href="#([^"]+)">(.*?)</a>', re.S)


def words(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", text)).split())


def label_of(page: str, id_: str) -> str:
    """What a field is called on the page: its label, or of buttons to choose from, their legend."""
    place = page.find(f'id="{id_}"')
    own = re.search(rf'<label[^>]*for="{re.escape(id_)}"[^>]*>(.*?)</label>', page, re.S)
    if own is None or id_.endswith("_0"):
        found = re.findall(r"<legend[^>]*>(.*?)</legend>", page[:place], re.S)[-1]
    else:
        found = own[1]
    return words(re.sub(r'<span class="(?:optional|unseen)">.*?</span>', "", found, flags=re.S))


def errors(client, form: PageForm, typed: str) -> list[tuple[str, str]]:
    """The errors that a form is sent back with, each with the label of its field."""
    data = form.data({one.name: [typed] for one in form.typed if one.kind == "text"})
    page = client.post(form.action, data).content.decode(errors="replace")
    summary = _SUMMARY.search(page)
    links = _LINK.findall(summary[0]) if summary else []
    return [(label_of(page, id_), words(text)) for id_, text in links]


def names(error: str, label: str) -> bool:
    """Whether the label stands in quotes, alone or with the row it is of."""
    label = label.removesuffix(" (optional)").casefold()
    return any(label in quoted.casefold() for quoted in re.findall(r'"([^"]+)"', error))


@pytest.mark.parametrize("typed", ["?", pytest.param("", marks=pytest.mark.deep)])
def test_every_error_names_its_field_in_quotes(form_house, typed):
    client = form_house.client(form_house.ada)
    tried, said, wrong = set(), 0, set()
    for _, form in form_house.forms(client).values():
        route = route_of(form.action)
        if route in tried or not any(one.kind == "text" for one in form.typed):
            continue
        tried.add(route)
        with taken_back():
            found = errors(client, form, typed)
        said += len(found)
        wrong |= {f"{route}: {error}" for label, error in found if not names(error, label)}

    assert len(tried) > 40
    assert said > 250
    assert not wrong, "\n".join(sorted(wrong))
