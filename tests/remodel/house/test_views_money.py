"""The money of a house, as its own page, on the house page and on the order list."""

import csv
import html
import io
import re

import pytest
from django.urls import reverse

from remodel.history.services import By
from remodel.house.models import Room
from remodel.pages.money_bar import bar_of
from remodel.supply.models import Material
from remodel.supply.money import Money, Parts, money_of
from remodel.supply.orders import order_line_set, order_make, order_place, order_receive
from remodel.supply.services import prices_confirm
from remodel.supply.standing import standing_of
from remodel.web.templatetags.halfbay import money
from tests.remodel.factories import ada
from tests.remodel.site import browser, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def house():
    """Two rooms; the kitchen's board is ordered with a spare sheet, and a part of it came."""
    by = By(ada())
    house = small_house(by.person, "Kitchen", "Bath")
    kitchen = Room.objects.get(house=house, name="Kitchen")
    draft = order_make(by=by, house=house, phases=["hanging"], rooms=[kitchen])
    sheets = next(line for line in draft.lines.all() if line.pack == "sheet" and line.packs > 1)
    order_line_set(by=by, line=sheets, packs=sheets.packs + 1, reason="One spare")
    placed = order_place(by=by, order=draft, without_prices=True, unseen_framing=True)
    order_receive(by=by, line=placed.lines.get(pk=sheets.pk), packs=2)
    return house


def text_of(name, house):
    answer = browser(ada()).get(reverse(name, args=[house.pk]))
    assert answer.status_code == 200
    return " ".join(html.unescape(answer.content.decode()).split())


def test_three_parts_have_their_figures_words_and_hatches_on_each_page(house):
    paid = money_of(house, standing_of(house))
    assert min(paid.all.spent, paid.all.on_its_way, paid.all.to_buy) > 0
    for name in ("house-money", "house-detail", "order-list"):
        page = text_of(name, house)
        for word, cents in (
            ("Spent", paid.all.spent),
            ("On its way", paid.all.on_its_way),
            ("Still to buy", paid.all.to_buy),
            ("In all", paid.all.forecast),
        ):
            shown = re.escape(money(cents))
            assert re.search(rf"{word} </dt> <dd>{shown}<|<dt>{word}</dt> <dd>{shown}<", page), word
        assert f"{money(paid.sample)} of it is at sample prices" in page
        assert page.count('<rect class="bar-way" fill="url(#hatch-way)"') == 2


def test_widths_of_the_bar_follow_the_cents_and_fill_it():
    house = small_house(ada())
    bar = bar_of(house, Money(all=Parts(spent=500, on_its_way=0, to_buy=1500)))
    assert [(part.left, part.width) for part in bar.parts] == [(0, 250), (250, 0), (250, 750)]
    # More refunded than paid is no part of the bar, and is said in figures.
    bar = bar_of(house, Money(all=Parts(spent=-500, on_its_way=100, to_buy=0)))
    assert [part.width for part in bar.parts] == [0, 1000, 0]
    assert bar.words.startswith("Spent −$5.00")
    assert [part.width for part in bar_of(house, Money(all=Parts())).parts] == [0, 0, 0]


def test_rows_by_room_and_phase_add_up_to_all(house):
    text = browser(ada()).get(reverse("house-money-csv", args=[house.pk])).content
    rows = list(csv.DictReader(io.StringIO(text.decode("utf-8-sig"))))
    paid = money_of(house, standing_of(house)).all
    for column, cents in (
        ("Spent", paid.spent),
        ("On its way", paid.on_its_way),
        ("Still to buy", paid.to_buy),
        ("Forecast", paid.forecast),
    ):
        assert sum(round(float(row[column]) * 100) for row in rows) == cents
    kitchen = [row for row in rows if row["Room"] == "Kitchen" and float(row["Spent"])]
    assert [row["Phase"] for row in kitchen] == [
        Room.objects.get(house=house, name="Kitchen").phases.get(key="hanging").name
    ]
    assert float(rows[-1]["Spent"]) > 0  # of the spare sheet, the house's
    assert rows[-1]["Room"] == "The house"


def test_page_has_a_row_for_each_room_its_phases_and_the_house(house):
    page = text_of("house-money", house)
    table = page.partition("By room and phase</h2>")[2].partition("</table>")[0]
    for room in house.rooms.all():
        assert f'<a href="{reverse("room-detail", args=[room.pk])}">{room.name}</a>' in table
        assert f'<span class="unseen">{room.name}: </span>' in table
    assert "rests of packages, free stock, what was added by hand" in table
    assert money(money_of(house, standing_of(house)).all.forecast) in table.partition("<tfoot")[2]


def test_what_nothing_on_sale_meets_is_named_beside_the_figures(house):
    Material.objects.filter(house=house, key="tape-paper").delete()
    page = text_of("house-money", house)
    assert "Not in these figures, because nothing on sale meets it: Paper joint tape." in page


def test_confirmed_prices_are_told_apart_from_samples(house):
    before = money_of(house, standing_of(house)).sample
    tape = Material.objects.get(house=house, key="tape-paper")
    prices_confirm(by=By(ada()), house=house, priced=tape.packs.all())
    after = money_of(house, standing_of(house)).sample
    assert 0 < after < before
    assert f"{money(after)} of it is at sample prices" in text_of("house-money", house)
