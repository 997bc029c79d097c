"""Prices at several stores, and prices as a table taken out and brought in."""

from __future__ import annotations

import csv
import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.lengths import INCH
from remodel.bridge.records import catalogue_value
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.people.models import Role
from remodel.supply.models import Material, Pack, SheetOnSale, Store
from remodel.supply.orders import order_make
from remodel.supply.services import prices_set, sheet_add, store_add
from remodel.workbook import rows_of_file, xlsx_bytes
from tests.remodel.factories import ada, ben
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def mill(house) -> Store:
    return store_add(by=By(ada()), house=house, name="Mill Street Lumber")


@pytest.fixture
def quay(house) -> Store:
    return store_add(by=By(ada()), house=house, name="Quay Supply")


def regular(house, feet: int) -> SheetOnSale:
    return SheetOnSale.objects.get(
        house=house, board="regular", thickness=INCH // 2, width=48 * INCH, length=feet * 12 * INCH
    )


def table(house) -> list[list[str]]:
    answer = browser(ada()).get(reverse("price-table-csv", args=[house.pk]))
    return list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))


def bring(house, rows, *, xlsx=False):
    if xlsx:
        file = SimpleUploadedFile("prices.xlsx", xlsx_bytes(rows[0], rows[1:]))
    else:
        out = io.StringIO()
        csv.writer(out).writerows(rows)
        file = SimpleUploadedFile("prices.csv", out.getvalue().encode())
    url = reverse("price-bring-in", args=[house.pk])
    return browser(ada()).post(url, {"file": file}, follow=True)


def beside(house, row: SheetOnSale, store: Store, price: int) -> SheetOnSale:
    same = ("board", "thickness", "width", "length")
    values = {name: getattr(row, name) for name in same}
    return sheet_add(by=By(ada()), house=house, price=price, store=store, **values)


def used(house, row: SheetOnSale) -> list[int]:
    house = type(house).objects.get(pk=house.pk)
    return [
        sheet.price
        for sheet in catalogue_value(house).sheets
        if (sheet.board, sheet.thickness, sheet.width, sheet.length)
        == (row.board, row.thickness, row.width, row.length)
    ]


def test_of_one_size_at_two_stores_the_cheaper_is_used_until_the_other_is_chosen(
    house, room, mill, quay
):
    row = regular(house, 12)
    prices_set(by=By(ada()), house=house, prices=[(row, 2000)], store=mill)
    dearer = beside(house, row, quay, 2500)
    assert used(house, row) == [2000]

    data = {f"price-{one.pk}": f"{one.price / 100:.2f}" for one in (row, dearer)}
    rows = list(
        SheetOnSale.objects.filter(house=house, board="regular", thickness=INCH // 2).order_by(
            "width", "length", "position"
        )
    )
    data = {f"price-{one.pk}": f"{one.price / 100:.2f}" for one in rows}
    url = reverse("price-sheets", args=[house.pk, "regular", INCH // 2])
    answer = browser(ada()).post(
        url, data | {f"chosen-{dearer.pk}": "on", "seen": str(Seen.of(*rows))}
    )

    assert answer.status_code == 302
    assert used(house, row) == [2500]
    assert SheetOnSale.objects.get(pk=row.pk).store == mill
    order = order_make(by=By(ada()), house=house, phases=["hanging"], rooms=[room])
    wide = [line for line in order.lines.all() if "48 in x 12 ft" in line.name]
    assert {(line.store, line.price) for line in wide} <= {(quay, 2500)}


def test_same_package_at_a_second_store_is_named_for_it(house, mill, quay):
    pack = Pack.objects.filter(material__house=house, material__key="tape-paper").first()
    prices_set(by=By(ada()), house=house, prices=[(pack, pack.price)], store=mill)
    rows = table(house)
    mine = next(row for row in rows if row[:2] == [pack.material.name, pack.name])
    assert mine[2] == "Mill Street Lumber"

    page = bring(house, [rows[0], [mine[0], mine[1], "Quay Supply", "0.99", ""]])

    assert "Brought in 1 price." in page.content.decode()
    second = Pack.objects.get(material=pack.material, store=quay)
    assert (second.name, second.price, second.holds) == (
        f"{pack.name}, Quay Supply",
        99,
        pack.holds,
    )
    pack.refresh_from_db()
    assert pack.store == mill


def test_table_taken_out_and_brought_in_unchanged_changes_nothing(house):
    before = list(SheetOnSale.objects.filter(house=house).values_list("pk", "version"))

    page = bring(house, table(house))

    assert "nothing changed" in page.content.decode()
    assert list(SheetOnSale.objects.filter(house=house).values_list("pk", "version")) == before


def test_a_table_brought_in_again_is_one_write(house):
    rows = table(house)
    rows[1][3] = "13.25"
    bring(house, rows)
    before = list(SheetOnSale.objects.filter(house=house).values_list("pk", "version"))

    page = bring(house, rows)

    assert "nothing changed" in page.content.decode()
    assert list(SheetOnSale.objects.filter(house=house).values_list("pk", "version")) == before


@pytest.mark.parametrize("xlsx", [False, True])
def test_changed_price_and_cleared_sample_are_the_stores_own_and_all_others_stay_samples(
    house, mill, xlsx
):
    rows = table(house)
    assert all(row[4] == "yes" for row in rows[1:])
    rows[1][3], rows[1][2] = "13.25", "mill street lumber"
    rows[2][4] = ""
    rows[3][3] = ""

    page = bring(house, rows, xlsx=xlsx)

    assert "Brought in 2 prices." in page.content.decode()
    after = table(house)
    assert after[1] == [*rows[1][:2], "Mill Street Lumber", "13.25", ""]
    assert after[2] == rows[2]
    assert all(row[4] == "yes" for row in after[3:])


def test_workbook_says_what_the_csv_says(house):
    answer = browser(ada()).get(reverse("price-table-xlsx", args=[house.pk]))

    said = [[*row, ""][:5] for row in rows_of_file(answer.content)]
    assert said == [[cell.strip() for cell in row] for row in table(house)]


@pytest.mark.parametrize(
    ("place", "text", "says"),
    [
        (0, "Gold leaf", "&quot;Item&quot; is not on the list: Gold leaf."),
        (0, "", "&quot;Item&quot; is empty."),
        (1, "48 in x 99 ft", "&quot;Size or package&quot; is not on the list: 48 in x 99 ft."),
        (2, "Nowhere", "&quot;Store&quot; names none of this house: Nowhere."),
        (3, "cheap", "&quot;Price&quot; must be zero or more with at most two decimals"),
    ],
)
def test_every_row_that_is_wrong_is_named_and_nothing_is_brought_in(house, place, text, says):
    rows = table(house)
    rows[1][3] = "1.11"
    rows[4][place], rows[4][3] = text, rows[4][3] if place == 3 else "2.22"
    if place == 3:
        rows[4][3] = text

    answer = bring(house, rows)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert re.search(r'<th scope="row">5</th>\s*<td>([^<]*)', page)[1].startswith(says)
    assert "&quot;Price table&quot; was not brought in: 1 row is wrong" in page
    assert not SheetOnSale.objects.filter(house=house, price=111).exists()


def test_file_without_the_columns_says_which_they_are(house):
    page = bring(house, [["Item", "Cost"], ["x", "1"]]).content.decode()

    assert "There is no column &quot;Size or package&quot;" in page


def test_two_rows_of_one_price_are_refused(house):
    rows = table(house)
    rows[1][3] = "1.11"

    page = bring(house, [rows[0], rows[1], rows[1]]).content.decode()

    assert "The same price stands in row 2" in page


def test_list_begins_with_what_the_rooms_use_and_folds_the_rest(house, room):
    page = browser(ada()).get(reverse("price-list", args=[house.pk])).content.decode()
    first = page[page.index('id="first"') : page.index("</table>")]
    names = re.findall(r'<th scope="row"[^>]*>\s*([^<\n]+)', first)

    assert 5 <= len(names) <= 12
    taken = {line.name.split(", 48")[0] for line in view_of(room).needs}
    assert {name.strip() for name in names} <= taken
    rest = page[page.index("Everything else on sale") :]
    assert rest.count("<details") >= 2
    for material in Material.objects.filter(house=house):
        assert page.count(f"\n          {material.name}") >= 1


def test_who_may_look_only_takes_the_table_out_and_brings_none_in(house):
    share(house, ben(), Role.VIEWER)
    client = browser(ben())

    assert client.get(reverse("price-table-csv", args=[house.pk])).status_code == 200
    assert client.get(reverse("price-bring-in", args=[house.pk])).status_code == 404
