"""What every page has from base.html."""

import json
import re
from itertools import pairwise

import pytest

pytestmark = pytest.mark.usefixtures("sink_site")


@pytest.fixture
def html(client):
    return client.get("/sink").content.decode()


def test_skip_link_is_first_and_landmarks_are_there(html):
    body = html[html.index("<body") :]

    assert re.search(r"<a [^>]*>", body)[0] == '<a class="skip" href="#main">'
    for landmark in ("<header", "<nav", "<main", "<footer"):
        assert body.count(landmark) == 1


def test_htmx_fits_the_policy(html):
    config = json.loads(re.search(r"<meta name=\"htmx-config\" content='([^']+)'", html)[1])

    assert config["allowEval"] is False
    assert config["includeIndicatorStyles"] is False
    assert config["allowScriptTags"] is False
    assert config["selfRequestsOnly"] is True
    handled = {rule["code"]: rule["swap"] for rule in config["responseHandling"]}
    assert handled["(409|422|429)"] is True
    assert handled["[45].."] is False


def test_one_polite_live_region_is_there_from_the_start(html):
    assert html.count('role="status"') == 1
    assert '<p id="live" class="live" role="status"></p>' in html


def test_htmx_sends_the_csrf_token(html):
    token = re.search(r'hx-headers=\'\{"X-CSRFToken": "([A-Za-z0-9]{64})"\}\'', html)

    assert token


def test_nothing_loads_from_another_host(html):
    assert not re.findall(r'(?:src|href|action)="(?:https?:)?//', html)


def test_ids_are_unique(html):
    ids = re.findall(r'\sid="([^"]+)"', html)

    assert len(ids) == len(set(ids))


def test_headings_do_not_skip_a_level(html):
    levels = [int(level) for level in re.findall(r"<h([1-6])", html)]

    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_way_back_and_help_are_there(html):
    assert '<a href="/house/hollow">Back to Hollow Lane</a>' in html
    assert '<a href="/help">Help</a>' in html
