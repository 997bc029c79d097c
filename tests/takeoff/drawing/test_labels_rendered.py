"""Words of plans, sections, elevations, sheets and pieces as a browser draws them: their ink,
measured there, touches no other word's and leaves no paper; none is cut short, and every board has
its mark."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

import pytest

from takeoff.cards.card import sheet_cards
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.piece_drawing import piece_drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.section import section_drawing
from takeoff.drawing.sheet_drawing import sheet_drawing
from takeoff.drawing.style import COLUMN, DRAWING_CSS, HALF, PAPER, PHONE, PHONE_ROOM, WIDE, Page
from takeoff.errors import BadValue
from takeoff.job import Takeoff, take_off
from tests.properties.random_houses import random_house
from tests.takeoff.drawing.house import takeoff
from tests.takeoff.houses import DEMO_HOUSES, demo_takeoff

PAGES = (PAPER, HALF, WIDE, PHONE_ROOM)
IDS = ("large paper", "paper", "screen", "phone")

# What the letters of each text cover, by the metrics of the face that the browser took.
INK = """() => {
  const pen = document.createElement('canvas').getContext('2d');
  const measured = (text) => {
    const look = getComputedStyle(text);
    const size = parseFloat(text.getAttribute('font-size'));
    pen.font = `${look.fontWeight} ${size}px ${look.fontFamily}`;
    pen.letterSpacing = look.letterSpacing;
    const ink = pen.measureText(text.textContent);
    const [x, y] = ['x', 'y'].map((name) => parseFloat(text.getAttribute(name)));
    const part = { middle: 0.5, end: 1 }[text.getAttribute('text-anchor')] || 0;
    const left = -part * ink.width, right = left + ink.width;
    const up = ink.actualBoundingBoxAscent, down = ink.actualBoundingBoxDescent;
    const box = text.hasAttribute('transform')
      ? [x - up, y - right, x + down, y - left]
      : [x + left, y - up, x + right, y + down];
    return [text.textContent, box];
  };
  return [...document.querySelectorAll('svg')].map(
    (svg) => [...svg.querySelectorAll('text')].map(measured));
}"""


def drawings(made: Takeoff, page: Page) -> Iterator[Drawing]:
    for room in made.rooms:
        if room.plan:
            yield plan_drawing(made, room.room, page=page, prefix=f"plan-{room.room}")
        with suppress(BadValue):  # no slope
            yield section_drawing(made, room.room, page=page, prefix=f"section-{room.room}")
        for number, surface in enumerate(room.surfaces):
            yield surface_drawing(made, surface.id, page=page, prefix=f"wall-{room.room}-{number}")


def of_cards(made: Takeoff, page: Page) -> Iterator[Drawing]:
    """Every sheet and every piece, for a column of paper or for a phone."""
    units, on_paper = made.house.units, page is COLUMN
    for number, card in enumerate(sheet_cards(made)):
        yield sheet_drawing(
            card, units, page=page, prefix=f"sheet-{number}", notes=False, heading=not on_paper
        )
        for place, piece in enumerate(card.pieces):
            with suppress(BadValue):  # more on it than a page takes
                yield piece_drawing(
                    piece, units, page=page, prefix=f"piece-{number}-{place}", alone=not on_paper
                )


def faults(browser, some: list[Drawing]) -> list[str]:
    tab = browser.new_page()
    tab.set_content(f"<style>{DRAWING_CSS}</style>" + "".join(one.svg for one in some))
    measured = tab.evaluate(INK)
    tab.close()
    wrong = []
    for one, words in zip(some, measured, strict=True):
        for number, (text, box) in enumerate(words):
            # a sentence quotes the beginning of a name of 200 letters
            if "…" in text and "<script>" not in text:
                wrong.append(f"{one.title}: {text} is cut short")
            if min(box[0], box[1]) < -1 or box[2] > one.width + 1 or box[3] > one.height + 1:
                wrong.append(f"{one.title}: {text} leaves the paper")
            for other, second in words[:number]:
                if all(box[k] < second[k + 2] - 1 and second[k] < box[k + 2] - 1 for k in (0, 1)):
                    wrong.append(f"{one.title}: {text} touches {other}")
        wrong += [
            f"{one.title}: {fact.label} has no place"
            for fact in one.facts
            if fact.kind == "Board" and not fact.drawn
        ]
    return wrong


def least_size(one: Drawing) -> int:
    return min(shape.size for shape in one.canvas.shapes if hasattr(shape, "size"))


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_words_of_a_small_house_touch_nothing_stay_on_the_paper_and_are_whole(chromium, page):
    some = list(drawings(takeoff(), page))

    assert faults(chromium, some) == []
    assert min(least_size(one) for one in some) >= 300  # 3 mm
    assert all(("on paper" in one.svg) == (page in (PAPER, HALF)) for one in some)


@pytest.mark.parametrize("page", [COLUMN, PHONE], ids=("paper", "phone"))
def test_words_of_the_cards_of_a_small_house_touch_nothing_and_are_whole(chromium, page):
    some = list(of_cards(takeoff(), page))

    assert faults(chromium, some) == []
    # 3 mm on paper; 14 pixels where a phone of 390 shows the drawing across its width
    assert min(least_size(one) for one in some) >= 300


@pytest.mark.deep
@pytest.mark.parametrize("page", [COLUMN, PHONE], ids=("paper", "phone"))
@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_words_of_the_cards_of_the_demo_houses_touch_nothing_and_are_whole(chromium, page, name):
    assert faults(chromium, list(of_cards(demo_takeoff(name), page))) == []


@pytest.mark.deep
@pytest.mark.parametrize("page", PAGES, ids=IDS)
@pytest.mark.parametrize("name", DEMO_HOUSES)
def test_words_of_the_demo_house_touch_nothing_stay_on_the_paper_and_are_whole(
    chromium, page, name
):
    assert faults(chromium, list(drawings(demo_takeoff(name), page))) == []


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(50))
def test_words_of_random_houses_touch_nothing_stay_on_the_paper_and_are_whole(chromium, seed):
    made = take_off(random_house(seed))
    for page in PAGES:
        assert faults(chromium, list(drawings(made, page))) == []
    for page in (COLUMN, PHONE):
        assert faults(chromium, list(of_cards(made, page))) == []
