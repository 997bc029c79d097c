"""Your store's lengths and prices, as pages."""

from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.records import rules_of
from remodel.history.models import Change
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import House
from remodel.people.models import Role
from remodel.supply.models import Material, Pack, SheetOnSale, Store
from remodel.supply.services import prices_confirm, sheet_change, store_add
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
MISSING = "00000000-0000-4000-8000-000000000000"


@pytest.fixture
def half_inch(house):
    return list(
        SheetOnSale.objects.filter(house=house, board="regular", thickness=INCH // 2).order_by(
            "length"
        )
    )


def sheets_url(house):
    return reverse("price-sheets", args=[house.pk, "regular", INCH // 2])


def posted(rows, **changes):
    data = {f"price-{row.pk}": f"{row.price // 100}.{row.price % 100:02d}" for row in rows}
    return data | {"seen": str(Seen.of(*rows))} | changes


def test_list_shows_every_size_with_its_price_and_says_they_are_samples(house, half_inch):
    page = browser(ada()).get(reverse("price-list", args=[house.pk])).content.decode()
    assert "Sample prices" in page
    assert "48 in x 12 ft" in page
    assert f"${half_inch[0].price / 100:.2f}" in page


def test_list_asks_the_database_no_more_for_more_sheets(house):
    client = browser(ada())
    url = reverse("price-list", args=[house.pk])
    client.get(url)  # the first one also looks up what is kept
    with CaptureQueriesContext(connection) as before:
        client.get(url)
    for number in range(20):
        SheetOnSale.objects.create(
            house=house,
            board="light",
            thickness=INCH // 2,
            width=48 * INCH,
            length=(8 + number) * FOOT,
            price=1,
        )
    with CaptureQueriesContext(connection) as after:
        client.get(url)
    assert len(after) == len(before)


def test_saved_prices_are_the_stores_own(house, half_inch):
    store = store_add(by=By(ada()), house=house, name="Mill Street Lumber")
    first, *rest = half_inch
    data = posted(half_inch, store=str(store.pk), **{f"price-{first.pk}": "13.25"})
    answer = browser(ada()).post(sheets_url(house), data)
    assert answer.status_code == 302
    first.refresh_from_db()
    assert (first.price, first.store, first.is_sample) == (1325, store, False)
    assert all(not SheetOnSale.objects.get(pk=row.pk).is_sample for row in rest)


def test_a_cleared_price_stays_a_sample(house, half_inch):
    browser(ada()).post(sheets_url(house), posted(half_inch, **{f"price-{half_inch[0].pk}": ""}))
    half_inch[0].refresh_from_db()
    assert half_inch[0].is_sample


def test_a_size_not_sold_here_leaves_the_list_and_can_come_back(house, half_inch):
    client = browser(ada())
    answer = client.post(
        sheets_url(house), posted(half_inch, **{f"gone-{half_inch[0].pk}": "on"}), follow=True
    )
    assert not SheetOnSale.objects.filter(pk=half_inch[0].pk).exists()
    assert "Undo" in answer.content.decode()
    group = Change.objects.filter(row=half_inch[0].pk).latest("id").group
    client.post(reverse("change-undo", args=[group]))
    assert SheetOnSale.objects.filter(pk=half_inch[0].pk).exists()


def test_the_last_pack_of_a_material_stays(house):
    material = Material.objects.get(house=house, key="2x2")
    pack = material.packs.get()
    answer = browser(ada()).post(
        reverse("price-material", args=[material.pk]), posted([pack], **{f"gone-{pack.pk}": "on"})
    )
    assert answer.status_code == 422
    assert "must keep a pack" in answer.content.decode()
    assert material.packs.count() == 1


def test_bad_price_is_refused_and_everything_typed_is_kept(house, half_inch):
    data = posted(
        half_inch, **{f"price-{half_inch[0].pk}": "twelve", f"price-{half_inch[1].pk}": "77.77"}
    )
    answer = browser(ada()).post(sheets_url(house), data)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert 'value="twelve"' in page
    assert 'value="77.77"' in page
    assert "for example 14.50" in page
    assert SheetOnSale.objects.get(pk=half_inch[1].pk).is_sample


def test_stale_price_is_told_with_both_values_and_can_be_saved_again(house, half_inch):
    data = posted(half_inch, **{f"price-{half_inch[0].pk}": "11.11"})
    sheet_change(by=By(ben()), sheet=half_inch[0], price=2222)
    client = browser(ada())
    answer = client.post(sheets_url(house), data)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "$11.11" in page
    assert "$22.22" in page
    assert "Ben changed this" in page
    again = data | {"seen": answer.context["form"]["seen"].value()}
    assert client.post(sheets_url(house), again).status_code == 302
    half_inch[0].refresh_from_db()
    assert half_inch[0].price == 1111


def test_htmx_gets_the_part_and_a_redirect_it_carries_out(house, half_inch):
    client = browser(ada())
    part = client.post(
        sheets_url(house), posted(half_inch, **{f"price-{half_inch[0].pk}": "x"}), **HTMX
    )
    assert part.status_code == 422
    assert "<title>" not in part.content.decode()
    done = client.post(sheets_url(house), posted(half_inch), **HTMX)
    assert done["HX-Redirect"] == reverse("price-list", args=[house.pk])


def test_confirming_every_price_ends_the_samples(house):
    everything = [
        *SheetOnSale.objects.filter(house=house),
        *Pack.objects.filter(material__house=house),
    ]
    url = reverse("price-confirm", args=[house.pk])
    client = browser(ada())
    assert client.get(url).status_code == 200
    client.post(url, {"right": [str(row.pk) for row in everything]})
    assert not House.objects.get(pk=house.pk).sample_prices
    assert (
        "Sample prices" not in client.get(reverse("price-list", args=[house.pk])).content.decode()
    )


def test_confirming_nothing_says_what_to_do(house):
    answer = browser(ada()).post(reverse("price-confirm", args=[house.pk]), {})
    assert answer.status_code == 422
    assert "Tick at least one" in answer.content.decode()


def test_longest_board_is_kept_as_a_rule(house):
    url = reverse("price-longest", args=[house.pk])
    client = browser(ada())
    assert (
        client.post(url, {"longest_board": "10'", "seen": str(Seen.of(house))}).status_code == 302
    )
    assert rules_of(House.objects.get(pk=house.pk)).longest_board == 10 * FOOT
    refused = client.post(url, {"longest_board": "3'"})
    assert refused.status_code == 422
    assert "must be from 4" in refused.content.decode()
    assert client.post(url, {"longest_board": "9'", "seen": str(Seen.of(house))}).status_code == 409


def test_a_size_is_added_once_for_two_presses(house):
    url = reverse("price-sheet-add", args=[house.pk])
    client = browser(ada())
    data = {
        "board": "regular",
        "thickness": '1/2"',
        "width": '48"',
        "length": "14'",
        "price": "31.00",
        "key": "7c0e4f6e-57a5-4a5b-9b0f-0d2f5cdd0a01",
    }
    assert client.get(url + "?board=regular&thickness=12700000").status_code == 200
    client.post(url, data)
    client.post(url, data)
    assert SheetOnSale.objects.filter(house=house, length=14 * FOOT, board="regular").count() == 1


def test_a_sheet_wider_than_long_is_refused(house):
    data = {"board": "regular", "thickness": '1/2"', "width": "6'", "length": "4'", "price": "3"}
    answer = browser(ada()).post(reverse("price-sheet-add", args=[house.pk]), data)
    assert answer.status_code == 422
    assert "at most its length" in answer.content.decode()


def test_material_and_pack_are_added_with_a_fraction(house):
    client = browser(ada())
    data = {
        "material": "Acoustic sealant",
        "name": "tube",
        "holds": "28 1/2",
        "unit": "fl oz",
        "price": "7.98",
    }
    assert client.post(reverse("price-material-add", args=[house.pk]), data).status_code == 302
    material = Material.objects.get(house=house, name="Acoustic sealant")
    assert (material.packs.get().holds, material.packs.get().price) == (Fraction(57, 2), 798)
    url = reverse("price-pack-add", args=[material.pk])
    assert client.get(url).status_code == 200
    more = client.post(
        url, {"name": "case", "holds": "342", "unit": "fl oz", "price": "80", "weight": "24"}
    )
    assert more.status_code == 302
    same = client.post(url, {"name": "case", "holds": "342", "unit": "fl oz", "price": "80"})
    assert same.status_code == 422
    none = client.post(url, {"name": "bag", "holds": "lots", "unit": "fl oz", "price": "80"})
    assert "&quot;It holds&quot; must be a number" in none.content.decode()


def test_store_sent_without_its_name_is_asked_for_it(house):
    store = store_add(by=By(ada()), house=house, name="Mill Street Lumber")
    answer = browser(ada()).post(
        reverse("store-change", args=[store.pk]), {"note": "Delivers on Fridays"}
    )
    assert answer.status_code == 422
    assert "&quot;Name of the store&quot; is empty" in answer.text


def test_stores_are_added_changed_and_removed_while_nothing_is_bought_there(house, half_inch):
    client = browser(ada())
    client.post(reverse("store-add", args=[house.pk]), {"name": "Mill Street Lumber"})
    store = Store.objects.get(house=house)
    changed = client.post(
        reverse("store-change", args=[store.pk]),
        {"name": "Mill Street", "seen": str(Seen.of(store))},
    )
    assert changed.status_code == 302
    again = client.post(
        reverse("store-change", args=[store.pk]), {"name": "X", "seen": str(Seen.of(store))}
    )
    assert again.status_code == 409
    prices_confirm(by=By(ada()), house=house, priced=half_inch, store=store)
    refused = client.post(reverse("store-remove", args=[store.pk]))
    assert "give them another store first" in refused.content.decode()
    empty = store_add(by=By(ada()), house=house, name="Empty")
    assert (
        "Undo"
        in client.post(reverse("store-remove", args=[empty.pk]), follow=True).content.decode()
    )
    assert not Store.objects.filter(pk=empty.pk).exists()


def _pages(house):
    material = Material.objects.filter(house=house).first()
    store = store_add(by=By(ada()), house=house, name="Mill Street Lumber")
    return {
        "price-list": [house.pk],
        "price-confirm": [house.pk],
        "price-longest": [house.pk],
        "price-sheet-add": [house.pk],
        "price-sheets": [house.pk, "regular", INCH // 2],
        "price-material-add": [house.pk],
        "price-material": [material.pk],
        "price-pack-add": [material.pk],
        "store-add": [house.pk],
        "store-change": [store.pk],
        "store-remove": [store.pk],
    }


def test_a_stranger_and_a_missing_id_both_get_404(house):
    for name, args in _pages(house).items():
        for method in ("get", "post"):
            if (name, method) in (("price-list", "post"), ("store-remove", "get")):
                continue
            assert getattr(browser(cy()), method)(reverse(name, args=args)).status_code == 404, (
                name,
                method,
            )
            gone = reverse(name, args=[MISSING, *args[1:]])
            assert getattr(browser(ada()), method)(gone).status_code == 404, (name, method)


def test_who_may_look_only_sees_the_list_and_changes_nothing(house):
    share(house, ben(), Role.VIEWER)
    client = browser(ben())
    assert client.get(reverse("price-list", args=[house.pk])).status_code == 200
    assert client.get(sheets_url(house)).status_code == 404
    assert client.post(reverse("store-add", args=[house.pk]), {"name": "X"}).status_code == 404


def test_wrong_verbs_are_refused(house):
    client = browser(ada())
    pages = _pages(house)
    for name, args in pages.items():
        assert client.delete(reverse(name, args=args)).status_code == 405, name
    assert client.post(reverse("price-list", args=pages["price-list"])).status_code == 405
    assert client.get(reverse("store-remove", args=pages["store-remove"])).status_code == 405


def test_another_houses_store_cannot_be_chosen(house, half_inch):
    foreign = store_add(by=By(cy()), house=small_house(cy()), name="Elsewhere")
    answer = browser(ada()).post(sheets_url(house), posted(half_inch, store=str(foreign.pk)))
    assert answer.status_code == 422
