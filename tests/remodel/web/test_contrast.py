"""Contrast of the colour tokens, by WCAG 2.x relative luminance (constants from memory of the
definition)."""

import re
from itertools import product
from pathlib import Path

import pytest
from django.conf import settings

CSS = (Path(settings.BASE_DIR) / "remodel/web/static/web/web.css").read_text()
GROUNDS = ("paper", "card")


def tokens(block):
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6});", block))


LIGHT = tokens(CSS[CSS.index(":root {") : CSS.index("@media (prefers-color-scheme: dark)")])
DARK = LIGHT | tokens(
    CSS[CSS.index("@media (prefers-color-scheme: dark)") : CSS.index("*, *::before")]
)
PRINT = LIGHT | tokens(CSS[CSS.index("@media print") :])
SCHEMES = {"light": LIGHT, "dark": DARK, "print": PRINT}


def luminance(colour):
    digits = colour[1:] if len(colour) == 7 else "".join(digit * 2 for digit in colour[1:])
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_black_on_white_is_21_to_1():
    assert contrast("#000000", "#fff") == pytest.approx(21)


@pytest.mark.parametrize(
    ("scheme", "text", "ground"),
    [
        *product(SCHEMES, ("ink", "quiet", "accent", "wrong", "care"), GROUNDS),
        *product(SCHEMES, ("ink",), ("wrong-wash", "care-wash", "going-wash")),
        *product(SCHEMES, ("wrong",), ("wrong-wash",)),
        *product(SCHEMES, ("care",), ("care-wash",)),
        *product(SCHEMES, ("on-accent",), ("accent",)),
        *product(SCHEMES, ("paper",), ("ink",)),
    ],
)
def test_text_reads_in_glare_at_7_to_1(scheme, text, ground):
    colours = SCHEMES[scheme]

    assert contrast(colours[text], colours[ground]) >= 7


@pytest.mark.parametrize(
    ("scheme", "line", "ground"),
    [
        *product(SCHEMES, ("rule", "accent", "wrong", "care"), GROUNDS),
        *product(SCHEMES, ("line", "line-quiet", "seam"), ("paper", "card", "board")),
        *product(SCHEMES, ("line", "line-quiet"), ("wood", "hole")),
        *product(SCHEMES, ("care",), ("care-wash",)),
        *product(SCHEMES, ("accent",), ("going-wash",)),
    ],
)
def test_lines_are_seen_at_3_to_1(scheme, line, ground):
    assert contrast(SCHEMES[scheme][line], SCHEMES[scheme][ground]) >= 3


def test_every_colour_is_a_token():
    rules = re.sub(r"--[a-z-]+: #[0-9a-f]{3,6};", "", CSS)

    assert set(re.findall(r"#[0-9a-f]{3,6}\b", rules)) <= {"#000", "#fff"}
