"""Tables that a spreadsheet opens without taking text for a formula."""

import csv
import io
from decimal import Decimal
from fractions import Fraction

import pytest

from remodel.spreadsheet import cell, csv_text


# how a formula can begin: OWASP, CSV Injection
@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "  =1", "＝1", "\0=1"]
)
def test_text_that_could_be_a_formula_gets_an_apostrophe(text):
    assert cell(text).startswith("'")


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (-3, "-3"),
        (Decimal("-12.50"), "-12.5"),
        (Fraction(1, 3), "0.333333"),
        (Fraction(-5, 2), "-2.5"),
        (Decimal("1E+3"), "1000"),
        (None, ""),
        ("2x4 lumber", "2x4 lumber"),
        ("12' 6 1/2\"", "12' 6 1/2\""),
    ],
)
def test_numbers_stay_numbers_and_plain_text_stays_text(value, shown):
    assert cell(value) == shown


def test_text_comes_back_as_it_was_with_commas_quotes_and_other_scripts():
    text = csv_text(["a", "b"], [["x, y", 'say "é"'], ["", "two\nlines"]])
    assert text.startswith("\ufeff")
    assert list(csv.reader(io.StringIO(text.removeprefix("\ufeff")))) == [
        ["a", "b"],
        ["x, y", 'say "é"'],
        ["", "two\nlines"],
    ]
