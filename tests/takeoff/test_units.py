"""The tape grammar and the text that goes back, reading by reading."""

import pytest

from takeoff.errors import LengthError
from takeoff.units import (
    FOOT,
    INCH,
    LONGEST,
    METRE,
    MM,
    SIXTEENTH,
    SIXTY_FOURTH,
    Nm,
    UnitSystem,
    format_length,
    parse_length,
    round_to_tape,
)

IN, METRIC = UnitSystem.INCH, UnitSystem.MILLIMETRE


def test_an_inch_is_25_4_mm():
    # NIST Special Publication 811 (2008), appendix B.8: 1 in = 25.4 mm exactly, 1 ft = 0.3048 m
    # exactly
    assert INCH * 10 == MM * 254
    assert FOOT * 10_000 == METRE * 3_048
    assert SIXTEENTH * 16 == SIXTY_FOURTH * 64 == INCH


@pytest.mark.parametrize(
    ("text", "sixteenths"),
    [
        ("12' 6 1/2\"", 2408),
        ("12'-6 1/2\"", 2408),
        ("12' - 6 1/2\"", 2408),
        ("12'-6-1/2\"", 2408),
        ("12'6-1/2\"", 2408),
        ("12' 6 1/2", 2408),
        ("12'6½", 2408),
        ("12′ 6½″", 2408),
        ("12’ 6½”", 2408),
        ("12' 6 1/2''", 2408),
        ("12' 6 1⁄2\"", 2408),
        ('12-6 1/2"', 2408),
        ("12–6½”", 2408),
        ("12 ft 6.5 in", 2408),
        ("12 ft. 6.5 in.", 2408),
        ("12FT 6.5IN", 2408),
        ("12 feet, 6 1/2 inches", 2408),
        ("12 foot and 6.5 inches", 2408),
        ("  12 ft\u00a06 1/2 in ;", 2408),
        ("12ft6in", 2400),
        ("12' 6", 2400),
        ("5 foot 6", 66 * 16),
        ("12'", 144 * 16),
        ("12.5 ft", 2400),
        ("12 1/2'", 2400),
        ("12' 1/2\"", 2312),
        ("12' 0 1/2\"", 2312),
        ("12'½\"", 2312),
        ('150 1/2"', 2408),
        ("150.5 in", 2408),
        ('6-1/2"', 104),
        ("10-1/2 in", 168),
        ('½"', 8),
        ('1/2"', 8),
        ('.5"', 8),
        ("3⅞ in", 62),
        ("0 in", 0),
        ("0'", 0),
    ],
)
@pytest.mark.parametrize("unit", UnitSystem)
def test_feet_and_inches_with_a_mark_read_the_same_in_every_house(text, sixteenths, unit):
    assert parse_length(text, unit=unit) == sixteenths * SIXTEENTH


@pytest.mark.parametrize(
    ("text", "micrometres"),
    [
        ("3.81 m", 3_810_000),
        ("3,81 m", 3_810_000),
        ("3.81 metres", 3_810_000),
        ("381 cm", 3_810_000),
        ("381,5 cm", 3_815_000),
        ("3810 mm", 3_810_000),
        ("3810MM", 3_810_000),
        ("3 m 81 cm", 3_810_000),
        ("3m 81cm 5mm", 3_815_000),
        ("0,125 m", 125_000),
        ("12.7 mm", 12_700),
        ("0.000001 mm", 0),
    ],
)
@pytest.mark.parametrize("unit", UnitSystem)
def test_metric_readings_read_the_same_in_every_house(text, micrometres, unit):
    assert parse_length(text, unit=unit) // 1_000 == micrometres


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("150.5", 150.5),
        ("150 1/2", 150.5),
        ("6½", 6.5),
        ("11/16", 0.6875),
        ("12-6 1/2", 150.5),
        ("12-6-1/2", 150.5),
    ],
)
def test_a_bare_reading_is_inches_in_an_inch_house(text, inches):
    assert parse_length(text, unit=IN) == inches * INCH


@pytest.mark.parametrize(
    ("text", "millimetres"), [("3810", 3810), ("3810.5", 3810.5), ("1250,5", 1250.5), ("0", 0)]
)
def test_a_bare_reading_is_millimetres_in_a_metric_house(text, millimetres):
    assert parse_length(text, unit=METRIC) == millimetres * MM


@pytest.mark.parametrize("text", ["150 1/2", "6½", "12-6", "6-1/2", "11/16"])
def test_a_fraction_or_dash_without_a_mark_is_refused_in_a_metric_house(text):
    with pytest.raises(LengthError, match="no mark that says feet or inches"):
        parse_length(text, unit=METRIC)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("6 1", "more than one way"),
        ("12 6", "more than one way"),
        ('12 6"', "more than one way"),
        ("12 6 1/2", "more than one way"),
        ("6-1/2", "more than one way"),
        ("12'.5", "more than one way"),
        ("12 ft.5", "more than one way"),
        ("3 810 mm", "more than one way"),
        ("3,810 mm", "comma"),
        ("3,810", "comma"),
        ('12,5"', "comma"),
        (",5 m", "comma"),
        ("12' 14\"", "12 inches or more"),
        ("12-12", "12 inches or more"),
        ("3 m 120 cm", "fills the larger"),
        ("3.5 m 20 cm", "decimals before a smaller"),
        ('61/2"', "fraction of one or more"),
        ('6 2/2"', "fraction of one or more"),
        ('1/128"', "not on a tape"),
        ('1/3"', "not on a tape"),
        ('1/0"', "not on a tape"),
        ("-5", "sign"),
        ("−5 in", "sign"),
        ("+5", "sign"),
        ("1000.001 ft", "over 1000 ft"),
        ("999999999", "over 1000 ft"),
        ("9999999999", "9 digits"),
        ("0.0000001 mm", "nanometer"),
        ("0.0078125 in", "nanometer"),
        ("10.41666667 ft", "nanometer"),
        ("", "must be given"),
        (" \t ", "must be given"),
        ("1" * 41, "at most 40 characters"),
        ("nan", "not a length"),
        ("infinity", "not a length"),
        ("1e3", "not a length"),
        ("0x10", "not a length"),
        ("12 - 6", "not a length"),
        ("12.5' 6\"", "not a length"),
        ("12' 6'", "not a length"),
        ("6\" 12'", "not a length"),
        ("12 m 3 in", "not a length"),
        ("12 yd", "not a length"),
        ("3m81", "not a length"),
        ("1/2 m", "not a length"),
        ("９", "not a length"),
        ("٣", "not a length"),
        ("12' 6 in in", "not a length"),
        ("\ud800", "not a length"),
    ],
)
def test_what_has_two_readings_or_none_is_refused_with_an_example(text, why):
    with pytest.raises(LengthError, match=why) as refused:
        parse_length(text, unit=IN)
    example = str(refused.value).rpartition("for example ")[2]
    for one in example.split(", or "):
        assert parse_length(one, unit=IN) >= 0


def test_exactly_a_thousand_feet_is_read():
    assert parse_length("1000 ft", unit=IN) == LONGEST


@pytest.mark.parametrize(
    ("nm", "inches", "millimetres"),
    [
        (0, '0"', "0 mm"),
        (INCH // 2, '1/2"', "12.7 mm"),
        (11 * SIXTEENTH, '11/16"', "17.4625 mm"),
        (12 * INCH, "1' 0\"", "304.8 mm"),
        (12 * INCH + INCH // 2, "1' 0 1/2\"", "317.5 mm"),
        (150 * INCH + INCH // 2, "12' 6 1/2\"", "3822.7 mm"),
        (SIXTY_FOURTH, '1/64"', "0.396875 mm"),
        (INCH * 3 // 10, '0.3"', "7.62 mm"),
        (100 * MM, "100 mm", "100 mm"),
        (1, "0.000001 mm", "0.000001 mm"),
        (-INCH // 2, '-1/2"', "-12.7 mm"),
    ],
)
def test_a_length_is_shown_exactly(nm, inches, millimetres):
    assert format_length(Nm(nm), IN) == inches
    assert format_length(Nm(nm), METRIC) == millimetres


def test_a_length_can_be_shown_in_inches_alone():
    assert format_length(Nm(150 * INCH + INCH // 2), IN, feet=False) == '150 1/2"'


@pytest.mark.parametrize(
    ("up", "expected"), [(True, 3 * SIXTEENTH), (False, 2 * SIXTEENTH), (None, 2 * SIXTEENTH)]
)
def test_half_a_mark_goes_up_down_or_to_the_even_mark(up, expected):
    assert round_to_tape(Nm(5 * SIXTEENTH // 2), IN, up=up) == expected


def test_a_metric_tape_has_a_mark_each_millimetre():
    assert round_to_tape(INCH, METRIC, up=None) == 25 * MM
    assert round_to_tape(INCH, METRIC, up=True) == 26 * MM


def test_a_length_on_a_mark_is_left_alone():
    assert {round_to_tape(FOOT, IN, up=up) for up in (True, False, None)} == {FOOT}
