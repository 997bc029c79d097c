"""The page "What we already have", and offcuts, as people fill them in."""

import re

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT, INCH, amount
from remodel.history.services import By
from remodel.people.models import Role
from remodel.supply.ledger import here_of, move
from remodel.supply.models import Movement, OwnedSheet
from remodel.supply.services import owned_sheet_add
from tests.remodel.factories import HouseFactory, ada, ben
from tests.remodel.page_forms import forms_of
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
SHEET = "sheet-regular-0.5x48x96in"
BOARD = f"regular@{INCH // 2}"


@pytest.fixture
def house():
    return small_house(ada(), "Kitchen")


def form_of(client, house):
    """The form of the page as a browser reads it, and the page."""
    address = reverse("stock-have", args=[house.pk])
    page = client.get(address).content.decode()
    return next(form for form in forms_of(page, address) if form.action == address), page


def field_of(page, label):
    """The name of the box with a label."""
    named = re.search(rf'<label for="id_([^"]+)">\s*{re.escape(label)}\s*</label>', page)
    return named[1]


def send(client, house, data, **more):
    form, _ = form_of(client, house)
    return client.post(form.action, form.data(data), **more)


def test_what_is_had_is_entered_in_one_pass(client, house):
    form, page = form_of(client, house)
    sheets, mud = field_of(page, "48 in x 8 ft"), field_of(page, "Ready-mix joint compound")
    measures = form.controls[mud.replace("number", "of")].options
    pail = next(measure for measure in measures if measure == "9/2 gal" or measure == "4.5 gal")
    answer = client.post(
        form.action,
        form.data(
            {
                sheets: ["6"],
                mud: ["1/2"],
                mud.replace("number", "of"): [pail],
                "offcut-0-board": [BOARD],
                "offcut-0-width": ["24"],
                "offcut-0-length": ["5'"],
                "offcut-0-factory_edges": ["1"],
                "offcut-0-count": ["2"],
                "offcut-0-place": ["Garage"],
            }
        ),
        follow=True,
    )
    listed = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", answer.content.decode()))
    assert "6 here: 6 free." in listed
    assert "2.25 gal here: 2.25 gal free." in listed
    assert "2' 0&quot; × 5' 0&quot; × 2" in listed.replace("&#x27;", "'")
    assert "1 factory edge" in listed
    assert "Garage" in listed
    assert here_of(house)[SHEET].amount == 6


def test_page_may_be_skipped_and_sent_empty(client, house):
    _, page = form_of(client, house)
    assert "Skip this" in page
    assert send(client, house, {}).status_code == 302
    assert not Movement.objects.exists()
    assert not OwnedSheet.objects.exists()


def test_what_is_known_is_filled_in_and_counted_only_where_it_was_changed(client, house):
    by = By(ada())
    move(by=by, house=house, item=SHEET, kind="received", amount=amount(6, "each"))
    move(by=by, house=house, item="tape-paper", kind="received", amount=amount("1000/3", "ft"))
    form, page = form_of(client, house)
    sheets, tape = field_of(page, "48 in x 8 ft"), field_of(page, "Paper joint tape")
    assert form.controls[sheets].values == ["6"]
    assert form.controls[tape].values == ["333.33"]
    move(by=by, house=house, item="tape-paper", kind="used", amount=amount(100, "ft"))
    client.post(form.action, form.data({sheets: ["4"]}))
    here = here_of(house)
    assert here[SHEET].amount == 4
    assert here["tape-paper"].amount == amount("700/3", "ft").value
    assert Movement.objects.filter(count=True).count() == 1


def test_sticks_are_entered_length_by_length(client, house):
    by = By(ada())
    move(by=by, house=house, item="2x4", kind="received", amount=amount(8, "ft"), pieces=5)
    form, page = form_of(client, house)
    eight, ten = field_of(page, "2x4 lumber, 8 ft"), field_of(page, "2x4 lumber, 10 ft")
    assert form.controls[eight].values == ["5"]
    client.post(form.action, form.data({ten: ["2"]}))
    assert here_of(house)["2x4"].sticks == {8 * FOOT: 5, 10 * FOOT: 2}


@pytest.mark.parametrize("number", ["some", "-1", "1/0", "2.5", "9" * 30])
def test_nonsense_is_refused_with_its_line_and_nothing_is_lost(client, house, number):
    _, page = form_of(client, house)
    sheets, twelve = field_of(page, "48 in x 8 ft"), field_of(page, "48 in x 12 ft")
    answer = send(
        client, house, {twelve: ["3"], sheets: [number], "offcut-0-place": ["Under the stairs"]}
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert f'value="{number}"' in text
    assert 'value="Under the stairs"' in text
    assert f'id="id_{sheets}_error"' in text
    assert not Movement.objects.exists()


def test_board_that_no_room_takes_opens_where_its_number_is_wrong(client, house):
    _, page = form_of(client, house)
    folded = page.split("<details>")[1]
    name = re.search(r'name="(number-\d+)"', folded)[1]
    text = send(client, house, {name: ["some"]}).content.decode()
    assert text.index(f'name="{name}"') < text.index("Other boards, which no room takes yet")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"width": "4'", "length": "21'"}, "must be"),
        ({"width": "4'", "length": "13'"}, "an offcut of it is no larger"),
        ({"width": "4'", "length": "8'"}, "this is a whole sheet"),
        ({"width": "4'"}, "&quot;Offcut 1, length&quot; is empty"),
        ({"width": "4'", "length": "3'", "board": ""}, "&quot;Offcut 1, board&quot; is empty"),
        ({"width": "wide", "length": "3'"}, "Offcut 1, width"),
        ({"width": "2'", "length": "3'", "count": "none"}, "must be a whole number"),
    ],
)
def test_offcut_that_cannot_be_is_refused_and_nothing_is_half_done(client, house, row, said):
    _, page = form_of(client, house)
    sheets = field_of(page, "48 in x 8 ft")
    typed = {f"offcut-0-{name}": [value] for name, value in ({"board": BOARD} | row).items()}
    answer = send(client, house, {sheets: ["6"], **typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Movement.objects.exists()
    assert not OwnedSheet.objects.exists()


def test_another_row_keeps_what_was_typed_and_saves_nothing(client, house):
    form, page = form_of(client, house)
    sheets = field_of(page, "48 in x 8 ft")
    data = form.data({sheets: ["6"], "offcut-1-place": ["Garage"]}) | {"add": ["offcut"]}
    text = client.post(form.action, data, **HTMX).content.decode()
    assert 'name="offcuts" value="3"' in text
    assert 'name="offcut-2-width"' in text
    assert 'value="6"' in text
    assert 'value="Garage"' in text
    assert not Movement.objects.exists()


def test_house_without_prices_and_rooms_can_be_opened(client):
    house = HouseFactory(owner=ada())
    assert client.get(reverse("stock-have", args=[house.pk])).status_code == 200


@pytest.fixture
def offcut(house):
    return owned_sheet_add(
        by=By(ada()),
        house=house,
        board="regular",
        thickness=INCH // 2,
        width=2 * FOOT,
        length=5 * FOOT,
        count=2,
        made_by="K3",
    )


def test_offcut_is_listed_with_its_sheet_and_is_gone_once_a_press(client, house, offcut):
    address = reverse("stock-list", args=[house.pk])
    page = client.get(address).content.decode()
    assert "from sheet K3" in re.sub(r"\s+", " ", page)
    gone = reverse("offcut-gone", args=[offcut.pk])
    form = next(form for form in forms_of(page, address) if form.action == gone)
    for _ in range(2):
        client.post(gone, form.data())
    offcut.refresh_from_db()
    assert (offcut.spoiled, offcut.here) == (1, 1)
    client.post(gone)
    assert "K3" not in client.get(address).content.decode()
    assert "None of these is here any more" in client.post(gone, follow=True).content.decode()


def test_offcut_is_corrected_and_one_too_large_refused(client, offcut):
    address = reverse("offcut-change", args=[offcut.pk])
    form = forms_of(client.get(address).content.decode(), address)[0]
    large = client.post(address, form.data({"length": ["13'"], "place": ["Porch"]}))
    assert large.status_code == 422
    assert "an offcut of it is no larger" in large.content.decode()
    assert 'value="Porch"' in large.content.decode()
    assert client.post(address, form.data({"length": ["4'"], "count": ["3"]})).status_code == 302
    offcut.refresh_from_db()
    assert (offcut.length, offcut.count, offcut.made_by) == (4 * FOOT, 3, "K3")
    few = forms_of(client.get(address).content.decode(), address)[0]
    OwnedSheet.objects.filter(pk=offcut.pk).update(cut_up=2)
    refused = client.post(address, few.data({"count": ["1"]}))
    assert "2 of these are cut or thrown away already" in refused.content.decode()


def test_offcut_entered_wrongly_is_removed_and_brought_back(client, house, offcut):
    remove = reverse("offcut-remove", args=[offcut.pk])
    page = client.post(remove, follow=True).content.decode()
    assert "Removed the offcut of" in page
    assert not OwnedSheet.objects.exists()
    undo = next(form for form in forms_of(page, "/") if "/undo/" in form.action)
    client.post(undo.action, undo.data())
    OwnedSheet.objects.filter(pk=offcut.pk).update(cut_up=1)
    answer = client.post(remove, follow=True).content.decode()
    assert "1 of these is cut already, so the entry stays" in answer
    assert OwnedSheet.objects.get().here == 1


def test_who_may_look_only_sees_offcuts_without_presses(house, offcut):
    share(house, ben(), Role.VIEWER)
    viewer = browser(ben())
    page = viewer.get(reverse("stock-list", args=[house.pk])).content.decode()
    assert "from sheet K3" in re.sub(r"\s+", " ", page)
    assert reverse("offcut-gone", args=[offcut.pk]) not in page
    assert viewer.get(reverse("stock-have", args=[house.pk])).status_code == 404
    assert viewer.post(reverse("offcut-gone", args=[offcut.pk])).status_code == 404
