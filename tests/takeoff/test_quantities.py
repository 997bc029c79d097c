"""Amounts, rates and money: exact, and only among their own kind."""

import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pint
import pytest

import takeoff
from takeoff.errors import BadValue, WrongUnit
from takeoff.quantities import (
    UNITS,
    Amount,
    Cents,
    add,
    convert,
    display,
    format_amount,
    format_money,
    from_nm,
    from_nm2,
    parse_amount,
    parse_money,
    per,
    ratio,
    same_kind,
    scale,
    subtract,
)
from takeoff.units import FOOT, INCH, METRE, MM, Nm, UnitSystem

IN, METRIC = UnitSystem.INCH, UnitSystem.MILLIMETRE


def test_no_other_module_imports_pint_and_this_one_does_when_it_must():
    package = Path(takeoff.__file__).parent
    importers = [
        path.name
        for path in package.rglob("*.py")
        if "import pint" in path.read_text(encoding="utf-8")
    ]
    assert importers == ["quantities.py"]
    loaded = "import sys, takeoff.quantities, takeoff.housefile; sys.exit('pint' in sys.modules)"
    assert (
        subprocess.run([sys.executable, "-c", loaded], cwd=package.parent, check=False).returncode
        == 0
    )


def amount(text):
    return parse_amount(text)


# Exact definitions: NIST Special Publication 811 (2008), appendix B.8, and NIST Handbook 44,
# appendix C.
@pytest.mark.parametrize(
    ("one", "unit", "exactly"),
    [
        ("1 in", "mm", Fraction(254, 10)),
        ("1 ft", "in", Fraction(12)),
        ("1 sq ft", "sq in", Fraction(144)),
        ("1 sq ft", "m2", Fraction(3048, 10_000) ** 2),
        ("1 cu ft", "cu in", Fraction(1728)),
        ("1 gal", "cu in", Fraction(231)),
        ("1 gal", "qt", Fraction(4)),
        ("1 gal", "fl oz", Fraction(128)),
        ("1 l", "ml", Fraction(1000)),
        ("1 cu in", "ml", Fraction(16_387_064, 1_000_000)),
        ("1 m3", "l", Fraction(1000)),
        ("1 lb", "kg", Fraction(45_359_237, 100_000_000)),
        ("1 lb", "oz", Fraction(16)),
        ("1 kg", "g", Fraction(1000)),
        ("1 m", "cm", Fraction(100)),
        ("1 h", "min", Fraction(60)),
    ],
)
def test_conversions_are_the_defined_ones(one, unit, exactly):
    assert convert(amount(one), unit) == Amount(exactly, unit)


@pytest.mark.parametrize(
    ("unit", "into", "expression"),
    [
        ("gal", "l", "1 gallon to liter"),
        ("fl oz", "ml", "1 fluid_ounce to milliliter"),
        ("cu ft", "gal", "1 foot**3 to gallon"),
        ("oz", "g", "1 ounce to gram"),
        ("m2", "sq ft", "1 meter**2 to foot**2"),
        ("cm", "ft", "1 centimeter to foot"),
        ("min", "h", "1 minute to hour"),
    ],
)
def test_conversions_agree_with_a_plain_registry_of_pint(unit, into, expression):
    source, target = expression[2:].split(" to ")
    plain = pint.UnitRegistry().Quantity(1.0, source).to(target).magnitude
    assert float(convert(Amount(Fraction(1), unit), into).value) == pytest.approx(plain, rel=1e-12)


def test_pounds_per_1000_square_feet_cannot_be_added_to_gallons():
    pounds = per(amount("5 lb"), amount("1000 sq ft")).of(amount("400 sq ft"))
    assert pounds == amount("2 lb")
    with pytest.raises(WrongUnit, match=r"lb .* gal"):
        add(amount("3 gal"), pounds)


def test_a_rate_of_the_wrong_kind_names_both_units():
    with pytest.raises(WrongUnit, match=r"gal per sq ft .* ft"):
        per(amount("9.4 gal"), amount("1000 sq ft")).of(amount("100 ft"))


def test_coverage_turned_round_says_how_much_an_area_takes():
    coverage = per(amount("350 sq ft"), amount("1 gal"))
    assert coverage.of(amount("2 gal")) == amount("700 sq ft")
    assert coverage.inverse.of(amount("875 sq ft")) == amount("2.5 gal")


def test_a_rate_is_taken_of_an_area_in_any_unit_exactly():
    rate = per(amount("9.4 gal"), amount("1000 sq ft"))
    assert rate.of(convert(amount("500 sq ft"), "m2")) == amount("4.7 gal")


def test_a_rate_per_nothing_is_refused():
    with pytest.raises(BadValue, match="more than zero"):
        per(amount("1 lb"), amount("0 sq ft"))


def test_a_sum_is_in_the_first_amounts_unit():
    assert add(amount("1 gal"), amount("2 qt"), amount("64 fl oz")) == amount("2 gal")
    assert add(amount("3 each")) == amount("3 each")


def test_a_difference_may_fall_below_zero():
    assert subtract(amount("1 ft"), amount("18 in")) == Amount(Fraction(-1, 2), "ft")


def test_scaling_is_exact():
    assert scale(amount("10 ft"), Fraction(1, 3)) == Amount(Fraction(10, 3), "ft")


def test_a_ratio_counts_packs():
    assert ratio(amount("1000 ft"), amount("250 ft")) == 4
    with pytest.raises(WrongUnit):
        ratio(amount("1000 ft"), amount("250 each"))
    with pytest.raises(BadValue, match="0 ft"):
        ratio(amount("1000 ft"), amount("0 ft"))


def test_counts_are_no_other_kind():
    assert same_kind(amount("1 gal"), amount("1 cu in"))
    assert not any(
        same_kind(amount("1 each"), Amount(Fraction(1), unit)) for unit in UNITS if unit != "each"
    )


def test_lengths_and_areas_come_over_exactly():
    assert from_nm(FOOT, "in") == amount("12 in")
    assert from_nm(Nm(3810 * MM), "m") == amount("3.81 m")
    assert from_nm2(FOOT * FOOT, "sq ft") == amount("1 sq ft")
    assert from_nm2(METRE * INCH, "m2") == Amount(Fraction(254, 10_000), "m2")
    with pytest.raises(WrongUnit, match="gal"):
        from_nm(FOOT, "gal")
    with pytest.raises(WrongUnit, match="ft"):
        from_nm2(FOOT * FOOT, "ft")


def test_an_unknown_unit_is_refused_with_the_nearest():
    with pytest.raises(WrongUnit, match="'e3 ft'"):
        amount("1e3 ft")
    with pytest.raises(WrongUnit, match=r"'gals' .* did you mean 'gal'"):
        Amount(Fraction(1), "gals")


@pytest.mark.parametrize(
    ("text", "inches", "metric"),
    [
        ("412.4 ft", "412 ft", "126 m"),
        ("9.4321 gal", "9.43 gal", "35.7 l"),
        ("12.345 lb", "12.3 lb", "5.6 kg"),
        ("1234.5 sq ft", "1234 sq ft", "115 m2"),
        ("0.0315 gal", "0.032 gal", "0.119 l"),
        ("10 m2", "108 sq ft", "10 m2"),
        ("1280 each", "1280 each", "1280 each"),
        ("0 gal", "0 gal", "0 l"),
    ],
)
def test_display_rounds_for_people_in_the_houses_units(text, inches, metric):
    assert display(amount(text), IN) == inches
    assert display(amount(text), METRIC) == metric


@pytest.mark.parametrize(
    "text", ["4.5 gal", "1/3 gal", "50 each", "0 sq ft", "123456789012 ft", "0.000000000001 m2"]
)
def test_an_amount_is_written_as_it_is_read(text):
    assert format_amount(amount(text)) == text


def test_a_mixed_fraction_is_an_amount():
    assert amount("1 1/2 lb") == amount("1.5 lb")


@pytest.mark.parametrize(
    "text", ["", "gal", "4.5", "-1 gal", "1/0 gal", "nan gal", "1" * 61, "1,5 gal", "٣ gal"]
)
def test_what_is_no_amount_is_refused(text):
    with pytest.raises(BadValue, match="number and a unit"):
        parse_amount(text)


@pytest.mark.parametrize(
    ("text", "cents"), [("14.50", 1450), ("14.5", 1450), ("14", 1400), ("$0.07", 7), ("0", 0)]
)
def test_money_is_whole_cents(text, cents):
    assert parse_money(text) == cents


@pytest.mark.parametrize(
    "text", ["", "-1", "1.005", "1,000", "nan", "1e3", "1234567890", "٣", ".5", "1" * 500]
)
def test_what_is_no_price_is_refused(text):
    with pytest.raises(BadValue, match=r"for example 14\.50"):
        parse_money(text)


def test_money_is_shown_with_two_decimals():
    assert [format_money(Cents(cents)) for cents in (0, 7, 1450, -250)] == [
        "0.00",
        "0.07",
        "14.50",
        "-2.50",
    ]
