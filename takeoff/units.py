"""Lengths: whole nanometres, the grammar that reads a tape, and the text that is shown back.

A nanometre makes both 1 mm and 1/64 in (396 875 nm) exact, so a metric and an inch house need no
rounding.

What is read (spaces are free, letters may be capitals, primes and quotes may be typographic, `''`
is an inch mark):

    12' 6 1/2"   12'-6 1/2"   12' 6-1/2"   12' 6½   12ft6in   12 feet, 6 inches
    12' 6.5"     12' 1/2"
    12-6 1/2     a dash without spaces parts feet from inches where bare numbers are inches, or an
                 inch mark ends it
    12.5 ft      12 1/2'
    150 1/2"     150.5 in     6½     1/2"     6-1/2"     .5"
    3.81 m       381 cm       3810 mm      3 m 81 cm     3,81 m
    3810         150 1/2      a bare number is millimetres or inches, as the house says

What is refused, because it has two readings or none: `6 1` and `12 6` (what are they?), `12' 14"`
(14 is over a foot), `6-1/2` without a mark (6 1/2 in, or 6 ft 1/2 in), `61/2` (30 1/2, or 6 1/2),
fractions of a millimetre, and a comma before exactly three digits (`3,810 mm`). A comma is a
decimal mark in metric readings only, before any other number of digits, or after a lone 0. Nothing
is rounded: what is finer than 1/64 in or than a nanometre is refused."""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction
from typing import NewType

from takeoff.errors import LengthError

__all__ = [
    "FOOT",
    "INCH",
    "LONGEST",
    "METRE",
    "MM",
    "SIXTEENTH",
    "SIXTY_FOURTH",
    "Nm",
    "UnitSystem",
    "format_length",
    "parse_length",
    "round_to_tape",
    "tape_reading",
]

Nm = NewType("Nm", int)

MM = Nm(1_000_000)
METRE = Nm(1_000_000_000)
INCH = Nm(25_400_000)
FOOT = Nm(304_800_000)
SIXTEENTH = Nm(1_587_500)
SIXTY_FOURTH = Nm(396_875)

# nothing in a house is longer; keeps a slip of the pen from filling memory
LONGEST = Nm(1_000 * FOOT)

_CENTIMETRE = Nm(10 * MM)
_LONGEST_TEXT = 40
_DENOMINATORS = frozenset({2, 4, 8, 16, 32, 64})


class UnitSystem(StrEnum):
    """How a house shows lengths, and what a bare number means: inches or millimetres."""

    INCH = "in"
    MILLIMETRE = "mm"


_EXAMPLE = {UnitSystem.INCH: "12' 6 1/2\"", UnitSystem.MILLIMETRE: "3810 mm"}

# Phones, word processors and web pages put all of these where a tape reading has ' " - / or a
# space.
_PLAIN = str.maketrans(
    {
        **dict.fromkeys("\u2019\u2018\u201b\u2032\u2035\u02b9\u02bc\u02c8`\u00b4\uff07", "'"),
        **dict.fromkeys("\u201d\u201c\u201f\u2033\u2036\u02ba\u02dd\uff02", '"'),
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"),
        **dict.fromkeys(
            "\t\n\r\u00a0\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u3000", " "
        ),
        **dict.fromkeys("\u200b\u200e\u200f\u2060\ufeff", ""),
        "\u2044": "/",
        "\u2215": "/",
        "½": " 1/2 ",
        "¼": " 1/4 ",
        "¾": " 3/4 ",
        "⅛": " 1/8 ",
        "⅜": " 3/8 ",
        "⅝": " 5/8 ",
        "⅞": " 7/8 ",
    }
)

_DOT = r"(?:\.(?![0-9]))?"
_FT = rf"(?:'|(?:feet|foot|ft)(?![a-z])){_DOT}"
_IN = rf"(?:\"|(?:inches|inch|ins?)(?![a-z])){_DOT}"
_DECIMAL = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_VALUE = (
    r"(?:(?:(?P<whole>[0-9]+)(?P<joint> | ?- ?))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    rf"|(?P<decimal>{_DECIMAL}))"
)
_FLAGS = re.ASCII | re.IGNORECASE

_FEET_ONLY = re.compile(rf"{_VALUE} ?{_FT}", _FLAGS)
_INCHES = re.compile(
    rf"(?:(?P<feet>[0-9]+) ?{_FT} ?(?:-|,|and\b|&)? ?|(?P<dashed>[0-9]+)-(?=[0-9])(?![0-9]+/))?"
    rf"{_VALUE} ?(?P<mark>{_IN})?",
    _FLAGS,
)
_COMMA_DECIMAL = re.compile(
    r"(?<![0-9.,])(?:0,[0-9]+|[0-9]+,(?![0-9]{3}(?![0-9]))[0-9]+)(?![0-9.,])"
)
_METRIC = re.compile(
    rf"(?:(?P<m>{_DECIMAL}) ?(?:m|met(?:re|er)s?)(?![a-z]){_DOT} ?)?"
    rf"(?:(?P<cm>{_DECIMAL}) ?(?:cm|centimet(?:re|er)s?)(?![a-z]){_DOT} ?)?"
    rf"(?:(?P<mm>{_DECIMAL}) ?(?:mm|millimet(?:re|er)s?)(?![a-z]){_DOT})?",
    _FLAGS,
)


def parse_length(text: str, *, unit: UnitSystem) -> Nm:
    """Return the length that `text` says, exactly; a bare number is inches or millimetres as `unit`
    says.

    Zero is a length; whether it may stand is the caller's to say. Raises `LengthError`, whose
    message ends in a reading that would be accepted, for anything negative, over 1000 ft, longer
    than 40 characters, finer than 1/64 in or one nanometre, or not readable in one way only (the
    module's docstring lists the forms).

    >>> parse_length("12' 6 1/2\\"", unit=UnitSystem.INCH) == 150 * INCH + INCH // 2
    True
    >>> parse_length("3,81 m", unit=UnitSystem.INCH) == 3810 * MM
    True
    """
    if len(text) > _LONGEST_TEXT:
        raise LengthError(
            f"A length takes at most {_LONGEST_TEXT} characters; this has {len(text)}. Write one, "
            f"for example {_EXAMPLE[unit]}"
        )
    plain = re.sub(" +", " ", text.translate(_PLAIN)).replace("''", '"').lstrip().rstrip(" .,;:")
    if not plain:
        raise LengthError(f"A length must be given, for example {_EXAMPLE[unit]}")
    if plain[0] in "+-":
        raise _refusal(text, "has a sign, and a length is zero or more", unit)
    if re.search("[0-9]{10}", plain):
        raise _refusal(text, "has more than 9 digits in a row", unit)
    exact = _metric(plain, text, unit)
    if exact is None:
        exact = _feet_and_inches(plain, text, unit)
    if exact is None:
        raise _not_read(plain, text, unit)
    if exact > LONGEST:
        raise _refusal(text, "is over 1000 ft (304.8 m), longer than anything in a house", unit)
    if exact.denominator != 1:
        raise _refusal(
            text, "has too many decimals to be a whole number of nanometers; give up to 5", unit
        )
    return Nm(exact.numerator)


def _metric(plain: str, text: str, unit: UnitSystem) -> Fraction | None:
    if "," in plain:
        plain = _COMMA_DECIMAL.sub(lambda number: number[0].replace(",", "."), plain)
    if unit is UnitSystem.MILLIMETRE and re.fullmatch(_DECIMAL, plain, re.ASCII):
        return Fraction(plain) * MM
    match = _METRIC.fullmatch(plain)
    if match is None:
        return None
    total = Fraction(0)
    limit: int | None = None
    given = [
        (match[name], size)
        for name, size in (("m", METRE), ("cm", _CENTIMETRE), ("mm", MM))
        if match[name]
    ]
    for index, (number, size) in enumerate(given):
        part = Fraction(number) * size
        if index + 1 < len(given) and part % size:
            raise _refusal(text, "has decimals before a smaller unit", unit, "3 m 81 cm, or 3.81 m")
        if limit is not None and part >= limit:
            raise _refusal(
                text, "has a smaller unit that fills the larger one", unit, "3 m 81 cm, or 3.81 m"
            )
        total += part
        limit = size
    return total


def _feet_and_inches(plain: str, text: str, unit: UnitSystem) -> Fraction | None:
    match = _FEET_ONLY.fullmatch(plain)
    if match is not None:
        return _value(match, text, unit) * FOOT
    match = _INCHES.fullmatch(plain)
    if match is None:
        return None
    if unit is UnitSystem.MILLIMETRE and match["feet"] is None and match["mark"] is None:
        raise _refusal(
            text,
            "has no mark that says feet or inches",
            unit,
            f"{_EXAMPLE[UnitSystem.INCH]}, or 3810 mm",
        )
    inches = _value(match, text, unit)
    feet = match["feet"] or match["dashed"]
    if feet is None:
        if "-" in (match["joint"] or "") and match["mark"] is None:
            fraction = f"{match['top']}/{match['bottom']}"
            raise _two_readings(
                text, f'{match["whole"]} {fraction}", or {match["whole"]}\' 0 {fraction}"'
            )
        return inches * INCH
    if match["decimal"] and match["decimal"][0] == ".":
        raise _two_readings(text, f"{feet}{match['decimal']} ft, or {feet}' 0{match['decimal']}\"")
    if inches >= 12:
        raise _refusal(
            text,
            "has 12 inches or more after the feet",
            unit,
            f'{int(feet) + 1}\' 2 1/2", or 150 1/2"',
        )
    return int(feet) * FOOT + inches * INCH


def _value(match: re.Match[str], text: str, unit: UnitSystem) -> Fraction:
    if match["decimal"]:
        return Fraction(match["decimal"])
    top, bottom = int(match["top"]), int(match["bottom"])
    if bottom not in _DENOMINATORS:
        raise _refusal(
            text,
            "has a fraction that is not on a tape; halves down to 64ths are",
            unit,
            '6 1/2", or 6.5"',
        )
    if top >= bottom:
        raise _refusal(text, f"has a fraction of one or more, {top}/{bottom}", unit, '6 1/2"')
    return int(match["whole"] or 0) + Fraction(top, bottom)


def _not_read(plain: str, text: str, unit: UnitSystem) -> LengthError:
    if re.search(r"[0-9] +[0-9]", plain):
        metric = "m" in plain or unit is UnitSystem.MILLIMETRE
        return _two_readings(
            text, "3810 mm, or 3.81 m" if metric else '6\' 1", or 6 1/2", or 61 in'
        )
    if re.fullmatch(r"(?!0x)[^x]*[0-9\"')a-z] ?[x\u00d7] ?[0-9].*", plain, re.IGNORECASE):
        return _refusal(text, "is two lengths; give width and height each under its own key", unit)
    if "," in plain:
        return _refusal(text, "has a comma that can be read in more than one way", unit)
    return _refusal(text, "is not a length", unit)


def _two_readings(text: str, examples: str) -> LengthError:
    return LengthError(
        f"{_shown(text)} can be read in more than one way. Say which, for example {examples}"
    )


def _refusal(text: str, why: str, unit: UnitSystem, example: str | None = None) -> LengthError:
    return LengthError(
        f"{_shown(text)} {why}. Write a length, for example {example or _EXAMPLE[unit]}"
    )


def _shown(text: str) -> str:
    return "“" + "".join(character if character.isprintable() else "?" for character in text) + "”"


def format_length(nm: Nm, unit: UnitSystem, *, feet: bool = True) -> str:
    """Return `nm` as one writes it, exactly: `parse_length` gives it back for anything from zero to
    1000 ft.

    Inches go to sixteenths, finer down to 64ths where needed; what is on no 64th is shown in
    decimal inches where five decimals hold it, and in millimetres otherwise. `feet` False keeps all
    of it in inches. A negative length, which only a difference can be, has a minus sign in front.
    To show a rounded reading, round with `round_to_tape` first.

    >>> format_length(Nm(150 * INCH + INCH // 2), UnitSystem.INCH)
    '12\\' 6 1/2"'
    >>> format_length(Nm(150 * INCH + INCH // 2), UnitSystem.INCH, feet=False)
    '150 1/2"'
    >>> format_length(Nm(3810 * MM), UnitSystem.MILLIMETRE)
    '3810 mm'
    """
    if nm < 0:
        return "-" + format_length(Nm(-nm), unit, feet=feet)
    if unit is UnitSystem.INCH:
        whole_feet, rest = divmod(nm, FOOT) if feet else (0, nm)
        inches = _inches(rest)
        if inches is not None:
            if not whole_feet:
                return f'{inches}"'
            return f"{whole_feet}' {'0 ' if '/' in inches and ' ' not in inches else ''}{inches}\""
    return f"{_decimal(nm, MM, 6)} mm"


def _inches(nm: int) -> str | None:
    whole, part = divmod(nm, INCH)
    if part % SIXTY_FOURTH == 0:
        fraction = Fraction(part, INCH)
        if not fraction:
            return str(whole)
        return f"{whole} {fraction}" if whole else str(fraction)
    return None if nm % (INCH // 100_000) else _decimal(nm, INCH, 5)


def _decimal(nm: int, unit: int, places: int) -> str:
    whole, part = divmod(nm, unit)
    digits = f"{part * 10**places // unit:0{places}d}".rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)


def tape_reading(nm: Nm, unit: UnitSystem, *, feet: bool = True) -> str:
    """Return `nm` as sentences show it: to the nearest mark of the house's tape, half to even.

    >>> tape_reading(Nm(16 * INCH), UnitSystem.MILLIMETRE)
    '406 mm'
    >>> tape_reading(Nm(16 * INCH), UnitSystem.INCH, feet=False)
    '16"'
    """
    return format_length(round_to_tape(nm, unit, up=None), unit, feet=feet)


def round_to_tape(nm: Nm, unit: UnitSystem, *, up: bool | None) -> Nm:
    """Return `nm` on a mark one can cut to: the 1/16 in or 1 mm above (`up`), below, or (None)
    nearest, half to even.

    >>> format_length(round_to_tape(Nm(100 * MM), UnitSystem.INCH, up=False), UnitSystem.INCH)
    '3 7/8"'
    """
    mark = SIXTEENTH if unit is UnitSystem.INCH else MM
    if up is None:
        return Nm(round(Fraction(nm, mark)) * mark)
    return Nm(-(-nm // mark) * mark if up else nm // mark * mark)
