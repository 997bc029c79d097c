import datetime

import pytest
from django import forms

from remodel.bridge.texts import tidy_text
from remodel.web.fields import CountField, DayField, LengthField, MoneyField, TextField
from remodel.web.forms import HouseForm

INCH = 25_400_000


class OpeningForm(HouseForm):
    width = LengthField(label="Wall width", least=12 * INCH, most=480 * INCH)
    price = MoneyField(label="Price", required=False)
    count = CountField(label="How many", least=1, most=20, required=False)
    day = DayField(label="Day", required=False)
    name = TextField(label="Name", max_length=10, required=False)
    side = forms.ChoiceField(
        label="Side", choices=[("a", "A"), ("b", "B")], widget=forms.RadioSelect, required=False
    )


def filled(units="in", **values):
    return OpeningForm(
        {"width": "150", **values} if units == "in" else {"width": "3810", **values}, units=units
    )


def message(name, **values):
    form = filled(**values)
    return form.errors[name][0]


@pytest.mark.parametrize(
    "text",
    ["12' 6 1/2\"", "12-6 1/2", "12 ft 6.5 in", '150 1/2"', "150.5", "12′ 6½″", " 12' 6 1/2\" "],
)
def test_each_way_to_write_a_length_gives_the_same_nanometres(text):
    form = filled(width=text)

    assert form.is_valid(), form.errors
    assert form.cleaned_data["width"] == 150 * INCH + INCH // 2


def test_a_bare_number_is_millimetres_in_a_metric_house():
    form = filled(units="mm")

    assert form.is_valid(), form.errors
    assert form.cleaned_data["width"] == 3_810_000_000


@pytest.mark.parametrize("text", ["6 1", "12' 14\"", "9**9**9", "1e99", "-3", "x" * 500, "\x00"])
def test_what_is_not_one_length_is_refused_with_the_label_and_an_example(text):
    answer = message("width", width=text)

    assert answer.startswith('"Wall width": ')
    assert "for example" in answer.lower()
    assert "invalid" not in answer.lower()


@pytest.mark.parametrize("text", ['11 15/16"', '480 1/16"'])
def test_a_length_past_a_limit_says_the_limits(text):
    assert (
        message("width", width=text)
        == '"Wall width" must be from 1\' 0" to 40\' 0", for example 12\' 6 1/2"'
    )


@pytest.mark.parametrize("text", ['12"', '480"'])
def test_a_length_at_its_limit_stands(text):
    assert filled(width=text).is_valid()


def test_an_empty_length_says_what_to_enter():
    assert (
        message("width", width="  ") == '"Wall width" is empty. Enter it, for example 12\' 6 1/2"'
    )


def test_hint_and_example_follow_the_units_of_the_house():
    assert (
        OpeningForm(units="in")["width"].help_text == "In feet and inches, for example 12' 6 1/2\""
    )
    assert OpeningForm(units="mm")["width"].help_text == "In millimeters, for example 3810 mm"


def test_units_of_one_form_do_not_leak_into_the_next():
    OpeningForm(units="mm")

    assert 'data-length="in"' in str(OpeningForm(units="in")["width"])


def test_a_kept_length_is_shown_as_the_house_writes_it():
    assert 'value="12&#x27; 6 1/2&quot;"' in str(
        OpeningForm(initial={"width": 150 * INCH + INCH // 2})["width"]
    )


@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("14.50", 1450),
        ("14,5", 1450),
        ("$14", 1400),
        ("1,250.00", 125_000),
        ("0", 0),
        ("10000000", 1_000_000_000),
    ],
)
def test_money_is_whole_cents(text, cents):
    form = filled(price=text)

    assert form.is_valid(), form.errors
    assert form.cleaned_data["price"] == cents


@pytest.mark.parametrize(
    "text", ["-1", "1.234", "1,250,00", "12,34.5", "1e3", "NaN", "٣", "9999999999", "1,,5"]
)
def test_what_is_not_money_is_refused_with_an_example(text):
    assert (
        message("price", price=text)
        == '"Price" must be zero or more with at most two decimals, for example 14.50'
    )


def test_more_money_than_a_house_costs_is_refused_with_the_limit():
    assert (
        message("price", price="10000000.01")
        == '"Price" must be at most 10000000.00, for example 14.50'
    )


@pytest.mark.parametrize("text", ["0", "21", "1.5", "six", "-1", "٣", "1" * 50])
def test_what_is_not_a_count_in_its_limits_is_refused(text):
    assert (
        message("count", count=text)
        == '"How many" must be a whole number from 1 to 20, for example 6'
    )


def test_a_day_is_a_date():
    assert filled(day="2026-11-25").is_valid()
    assert message("day", day="25.11.") == '"Day" must be a day, for example 2026-11-25'
    form = filled(day="2026-11-25")
    form.is_valid()
    assert form.cleaned_data["day"] == datetime.date(2026, 11, 25)


def test_words_too_long_say_the_limit_and_nothing_is_cut():
    form = filled(name="a" * 11)

    assert form.errors["name"] == ['"Name" takes at most 10 characters; this has 11']
    assert "a" * 11 in str(form["name"])


def test_a_choice_that_is_not_on_the_page_is_refused_in_our_words():
    assert message("side", side="z") == '"Side" must be one of the choices on the page'


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Bath\u200b", "Bath"),  # zero-width space
        ("\u202eBath\u202c", "Bath"),  # signs that turn the direction of reading
        ("\ufeffBath", "Bath"),  # what some editors begin a text with
        ("Ba\u00adth\x07", "Bath"),  # a hyphen that is not seen, and a bell
        ("Bath\u00a02", "Bath\u00a02"),  # a space that does not break is seen
        ("Cafe\u0301", "Caf\u00e9"),  # an accent of its own and one with its letter look the same
        ("\U0001f469\u200d\U0001f527", "\U0001f469\u200d\U0001f527"),  # a picture joined of two
        ("\u200b \u200d", ""),
    ],
)
def test_signs_that_are_not_seen_are_left_out_of_a_text(typed, kept):
    form = filled(name=typed)

    assert form.is_valid()
    assert form.cleaned_data["name"] == kept
    assert tidy_text(kept) == kept
