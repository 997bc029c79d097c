"""What is on sale: changed, confirmed, removed, undone."""

import pytest

from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.history.errors import Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.supply import services
from remodel.supply.models import Material, Pack

pytestmark = pytest.mark.django_db


def test_material_comes_with_its_first_pack_confirmed(by, house):
    row = services.material_add(
        by=by,
        house=house,
        name="Roofing tar",
        pack={"name": "tube", "holds": amount(28, "fl oz"), "price": 899},
    )
    assert row.key == "roofing-tar"
    assert not row.packs.get().is_sample


def test_last_pack_of_a_material_stays(by, house):
    material = Material.objects.get(house=house, key="2x2")
    with pytest.raises(Refused):
        services.pack_remove(by=by, pack=material.packs.get())


def test_two_packs_of_one_name_are_refused(by, house):
    material = Material.objects.get(house=house, key="2x2")
    with pytest.raises(Refused) as refused:
        services.pack_add(by=by, material=material, name="8 ft", holds=amount(8, "ft"), price=1)
    assert refused.value.field == "name"


@pytest.mark.parametrize("price", [-1, 10**10])
def test_price_that_cannot_be_is_refused(by, house, price):
    with pytest.raises(Refused) as refused:
        services.pack_change(by=by, pack=Pack.objects.first(), price=price)
    assert refused.value.field == "price"


def test_price_changed_from_an_old_page_is_stale_and_undo_unconfirms_it(by, house):
    pack = Pack.objects.first()
    before = pack.price
    stale = By(by.person, seen=Seen.of(pack))
    services.pack_change(by=stale, pack=pack, price=before + 1)
    with pytest.raises(Stale):
        services.pack_change(by=stale, pack=Pack.objects.get(pk=pack.pk), price=5)
    undo(by=by, group=last_group(pack.pk))
    pack.refresh_from_db()
    assert (pack.price, pack.is_sample) == (before, True)


def test_sheet_wider_than_long_or_of_no_known_board_is_refused(by, house):
    size = {"thickness": INCH // 2, "width": 4 * FOOT, "price": 1500}
    with pytest.raises(Refused):
        services.sheet_add(by=by, house=house, board="regular", length=3 * FOOT, **size)
    with pytest.raises(Refused):
        services.sheet_add(by=by, house=house, board="velvet", length=8 * FOOT, **size)


def test_sheets_on_hand_are_counted_and_checked(by, house):
    size = {"thickness": INCH // 2, "width": 4 * FOOT, "length": 8 * FOOT}
    row = services.owned_sheet_add(by=by, house=house, board="regular", count=3, **size)
    assert house.owned_sheets.get() == row
    with pytest.raises(Refused):
        services.owned_sheet_add(by=by, house=house, board="regular", count=0, **size)


def test_store_in_use_is_not_removed(by, house):
    store = services.store_add(by=by, house=house, name="Mill Street Lumber")
    services.prices_confirm(by=by, house=house, priced=[Pack.objects.first()], store=store)
    with pytest.raises(Refused):
        services.store_remove(by=by, store=store)
