import re
import uuid

import pytest
from django.http import QueryDict
from django.template import Context, Template

from remodel.web.forms import HouseForm
from tests.remodel.web.test_fields import OpeningForm
from tests.remodel.web.views import SinkForm

pytestmark = pytest.mark.usefixtures("sink_site")

BAD = {
    "name": "",
    "width": "6 1",
    "height": "tall",
    "wall": "z",
    "kind": "",
    "count": "x",
    "price": "y",
    "when": "z",
}


def drawn(form):
    return Template("{% load halfbay %}{% problems %}{{ form }}").render(Context({"form": form}))


def test_every_field_has_a_visible_label_and_none_of_the_attributes_that_cut_or_hide():
    html = drawn(SinkForm())

    for name in ("placeholder", "maxlength", "required", "minlength", 'type="number"'):
        assert name not in html
    ids = re.findall(
        r'<(?:input|select|textarea)[^>]* id="([^"]+)"', html.replace('type="hidden"', "")
    )
    visible = [control for control in ids if control not in ("id_key", "id_seen")]
    assert len(visible) == 13
    for control in visible:
        assert f'<label for="{control}"' in html


def test_a_length_has_no_number_pad_and_a_count_has():
    html = drawn(OpeningForm())

    assert "inputmode" not in re.search(r'<input[^>]*name="width"[^>]*>', html)[0]
    assert 'inputmode="numeric"' in re.search(r'<input[^>]*name="count"[^>]*>', html)[0]


def test_what_was_typed_comes_back_good_and_bad():
    html = drawn(SinkForm(BAD | {"name": "Big <b>", "note": "two\nlines"}))

    for kept in (
        'value="6 1"',
        'value="tall"',
        'value="x"',
        'value="y"',
        "Big &lt;b&gt;",
        "two\nlines",
    ):
        assert kept in html


def test_summary_says_each_error_in_the_words_at_the_field_and_links_to_it():
    html = drawn(SinkForm(BAD))
    summary = html[: html.index("</ul>")]
    links = re.findall(r'<a href="#([^"]+)">([^<]+)</a>', summary)

    assert len(links) == 8
    for anchor, text in links:
        assert f' id="{anchor}"' in html
        assert f"<p>{text}</p>" in html


def test_a_wrong_field_points_at_its_message_and_its_hint():
    box = re.search(r'<input[^>]*name="width"[^>]*>', drawn(SinkForm(BAD)))[0]

    assert 'aria-invalid="true"' in box
    assert 'aria-describedby="id_width_helptext id_width_error"' in box


def test_a_wrong_group_of_choices_points_at_its_message():
    html = drawn(SinkForm(BAD))

    assert (
        '<fieldset class="field field-wrong" aria-describedby="id_wall_helptext id_wall_error">'
        in html
    )
    assert 'id="id_wall_error"' in html


def test_no_message_says_invalid():
    assert "invalid" not in re.sub(r"aria-invalid", "", drawn(SinkForm(BAD))).lower()


def test_a_fresh_form_has_no_summary_and_a_key_of_its_own():
    first, second = drawn(OpeningForm()), drawn(OpeningForm())
    keys = [re.search(r'name="key" value="([^"]+)"', html)[1] for html in (first, second)]

    assert "error-summary" not in first
    assert keys[0] != keys[1]
    assert all(uuid.UUID(key) for key in keys)


def test_a_refused_form_keeps_its_key_and_what_it_was_made_from():
    key = str(uuid.uuid4())
    html = drawn(OpeningForm({"key": key, "seen": "a.room", "width": "x"}))

    assert f'name="key" value="{key}"' in html
    assert 'name="seen" value="a.room"' in html


def test_values_leave_out_key_and_what_was_seen():
    key = uuid.uuid4()
    form = OpeningForm({"key": str(key), "seen": "a.room", "width": "150"})

    assert form.is_valid()
    assert form.written_key == str(key)
    assert form.cleaned_data["seen"] == "a.room"
    assert set(form.values) == {"width", "price", "count", "day", "name", "side"}


def test_a_meddled_key_asks_for_a_fresh_page():
    html = drawn(OpeningForm({"key": "<script>", "width": "150"}))

    assert "This page is out of date. Load it again, then save" in html
    assert "<script>" not in html


def test_the_page_carries_what_stands_now_after_a_conflict():
    form = OpeningForm({"seen": "a.room", "width": "150"}, seen="b.room")
    assert 'name="seen" value="a.room"' in drawn(form)
    form.see_anew()

    assert 'name="seen" value="b.room"' in drawn(form)


def test_words_given_with_a_field_are_kept():
    class Given(HouseForm):
        name = OpeningForm.base_fields["name"].__class__(
            label="Name", error_messages={"required": "Name the room, for example Kitchen"}
        )

    assert Given({"name": ""}).errors["name"] == ["Name the room, for example Kitchen"]


def test_error_of_the_whole_form_comes_first_without_a_link():
    form = OpeningForm({"width": "x"})
    form.add_error(None, "The room is being hung. Finish the wall first")

    assert form.summary[0] == {
        "anchor": "",
        "text": "The room is being hung. Finish the wall first",
    }


def test_refused_page_answers_422_with_error_first_in_the_title(client):
    answer = client.post("/sink", BAD)
    html = answer.content.decode()

    assert answer.status_code == 422
    assert "<title>Error: Every part – Hollow Lane – Halfbay</title>" in html
    assert html.index("error-summary") < html.index("<h1>")


def test_htmx_gets_the_same_part_and_not_the_page(client):
    answer = client.post("/sink", BAD, headers={"HX-Request": "true"})
    html = answer.content.decode()

    assert answer.status_code == 422
    assert html.lstrip().startswith('<div id="body">')
    assert "error-summary" in html


def test_seeing_anew_keeps_every_value_of_a_field():
    form = OpeningForm(QueryDict("seen=a.room&width=150&tick=a&tick=b"), seen="b.room")
    form.see_anew()

    assert form.data.getlist("tick") == ["a", "b"]
    assert form.data.getlist("seen") == ["b.room"]
