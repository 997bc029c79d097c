"""A room taken along as one file, and the ticks that come back from it."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html import unescape
from html.parser import HTMLParser

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for, hanging_for
from remodel.history.errors import Refused
from remodel.history.models import Change
from remodel.history.services import By
from remodel.people.models import Role
from remodel.taken_along import enter, read_code
from remodel.ticks import tick
from tests.remodel.factories import accept_stops, ada, ben
from tests.remodel.site import browser, share

FILE = "0123456789abcdef0123456789abcdef"


def code(room, ticks, file=FILE) -> str:
    told = {"f": file, "r": str(room.pk), "p": [""], "t": ticks}
    return "hb1." + base64.urlsafe_b64encode(json.dumps(told).encode()).decode().rstrip("=") + "."


def pieces(room) -> list[str]:
    return [step.piece for step in hanging_for(room) if step.piece]


def hung(room) -> set[str]:
    return set(
        DoneMark.objects.filter(room=room, kind="hung", done=True).values_list("item", flat=True)
    )


class _Loads(HTMLParser):
    """Whatever of a page would be fetched, and its scripts."""

    def __init__(self) -> None:
        super().__init__()
        self.fetched: list[str] = []
        self.numbers: list[int] = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag != "a":
            self.fetched += [given[name] for name in ("src", "href", "action") if given.get(name)]
        if "data-number" in given:
            self.numbers.append(int(given["data-number"]))


def test_file_needs_nothing_else_and_has_a_box_for_every_step_and_piece(room):
    answer = browser(ada()).get(reverse("room-take-along-file", args=[room.pk]))
    page = answer.content.decode()
    loads = _Loads()
    loads.feed(page)
    along = json.loads(re.search(r'<script id="along"[^>]*>(.*?)</script>', page).group(1))
    cut = sum(len(sheet.pieces) for sheet in cards_for(room).sheets)

    script = re.search(r"<script>(.*?)</script></body>", page, re.DOTALL).group(1)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert "attachment" in answer["Content-Disposition"]
    assert f"script-src 'sha256-{digest}';" in answer["Content-Security-Policy"]
    assert "default-src 'none'" in unescape(page).partition("<title>")[0]
    assert all(address.startswith("#") for address in loads.fetched), loads.fetched
    assert set(re.findall(r"url\(.", page)) <= {"url(#"}
    assert len(along["t"]) == len(hanging_for(room)) + cut
    assert sorted(loads.numbers) == list(range(len(along["t"])))


def test_file_of_somebody_who_only_looks_has_no_box_and_no_code(room):
    share(room.house, ben(), Role.VIEWER)
    page = browser(ben()).get(reverse("room-take-along-file", args=[room.pk])).content.decode()
    loads = _Loads()
    loads.feed(page)

    assert loads.numbers == []
    assert 'id="code"' not in page


def test_code_enters_its_ticks_as_one_write_and_each_once_whoever_enters_it(room):
    first, second, third = pieces(room)[:3]
    accept_stops(room.house)
    two = read_code(code(room, [[0, "hung", first, "", 0], [1, "hung", second, "", 0]]))
    told = enter(by=By(ada(), "a"), room=room, presses=two.presses)
    assert (told.entered, told.before, told.refused) == (2, 0, ())
    assert len(set(Change.objects.filter(model="cards.donemark").values_list("group"))) == 1

    tick(by=By(ada()), room=room, kind="hung", item=first, done=False)
    more = read_code(
        code(
            room,
            [[0, "hung", first, "", 0], [1, "hung", second, "", 0], [2, "hung", third, "", 0]],
        )
    )
    share(room.house, ben())
    told = enter(by=By(ben(), "b"), room=room, presses=more.presses)

    assert (told.entered, told.before) == (1, 2)
    assert hung(room) == {second, third}


def test_tick_that_is_refused_is_told_and_the_others_are_entered_and_it_may_come_again(room):
    good = pieces(room)[0]
    brought = read_code(code(room, [[0, "painted", "no-such", "", 0], [1, "hung", good, "", 0]]))
    told = enter(by=By(ada(), "a"), room=room, presses=brought.presses)
    again = enter(by=By(ada(), "b"), room=room, presses=brought.presses)

    assert told.entered == 1
    assert "does not ask for that coat" in told.refused[0]
    assert hung(room) == {good}
    assert (again.before, len(again.refused)) == (1, 1)


def test_page_enters_a_pasted_code_that_was_broken_into_lines_and_says_what_it_did(room):
    accept_stops(room.house)
    text = code(room, [[0, "hung", pieces(room)[0], "", 0]])
    lines = "\n".join(text[at : at + 60] for at in range(0, len(text), 60))
    here = reverse("room-take-along", args=[room.pk])
    page = browser(ada()).post(here, {"code": lines}, follow=True).content.decode()

    assert "Entered 1 mark from the page you took along." in page
    assert len(hung(room)) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("K-A1 hangs", "It begins with hb1."),
        ("hb1.eyJmIjoi", "The code is not whole"),
        ("hb1..", "The code is not whole"),
        ("hb1.!!!.", "The code is not whole"),
    ],
)
def test_code_that_cannot_be_read_is_answered_with_what_to_do_and_stays(room, text, says):
    answer = browser(ada()).post(reverse("room-take-along", args=[room.pk]), {"code": text})
    page = answer.content.decode()

    assert answer.status_code == 422
    assert says in page
    assert text in page


def test_code_of_another_room_is_told(room):
    other = code(room, [[0, "hung", "A.K-A1", "", 0]]).replace("hb1.", "", 1).rstrip(".")
    told = json.loads(base64.urlsafe_b64decode(other + "=" * (-len(other) % 4)))
    told["r"] = "00000000-0000-0000-0000-000000000001"
    text = "hb1." + base64.urlsafe_b64encode(json.dumps(told).encode()).decode().rstrip("=") + "."
    answer = browser(ada()).post(reverse("room-take-along", args=[room.pk]), {"code": text})

    assert "This code is of another room" in answer.content.decode()


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from("frpt"), inner),
    )
)
def test_no_code_does_anything_but_read_or_be_refused(told):
    body = base64.urlsafe_b64encode(json.dumps(told).encode()).decode().rstrip("=")
    with pytest.raises(Refused):
        read_code(f"hb1.{body}.")
