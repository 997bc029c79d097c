"""A whole house removed by its owner, and put back."""

import pytest
from django.urls import reverse

from remodel.board.models import SearchJob
from remodel.board.queue import SEARCHES
from remodel.board.worker import run_once
from remodel.history.models import Change
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.services import house_remove
from remodel.people.models import Role
from remodel.work.services import note_add
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def remove(house, **typed):
    return browser(ada()).post(
        reverse("house-remove", args=[house.pk]), {"name": house.name, **typed}, follow=True
    )


def test_page_says_what_goes_and_what_stays(house):
    note_add(by=By(ada()), house=house, room=house.rooms.get(), text="Out of plumb")
    share(house, ben())
    page = browser(ada()).get(reverse("house-remove", args=[house.pk])).content.decode()
    assert "for you and for Ben: 1 room, 1 note." in " ".join(page.split())
    assert "Every archive" in page
    assert reverse("house-file", args=[house.pk]) in page


def test_name_typed_out_removes_it_and_undo_is_offered(house):
    page = remove(house).content.decode()
    assert not House.objects.filter(pk=house.pk).exists()
    assert "Removed Elm Street." in page
    undo = page.split('class="undo"')[1].split('action="')[1].split('"')[0]
    assert undo == reverse("house-put-back", args=[house.pk])


def test_other_name_removes_nothing_and_keeps_what_was_typed(house):
    answer = remove(house, name="Elm Road")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "&quot;Name of the house&quot; must be Elm Street" in page
    assert 'value="Elm Road"' in page
    assert House.objects.filter(pk=house.pk).exists()


def test_capitals_and_spaces_do_not_matter(house):
    remove(house, name="  elm  STREET ")
    assert not House.objects.filter(pk=house.pk).exists()


def test_curled_quote_of_a_phone_does_not_matter(house):
    House.objects.filter(pk=house.pk).update(name="Ada's house")
    remove(house, name="Ada\u2019s house")
    assert not House.objects.filter(pk=house.pk).exists()


def test_removed_house_is_listed_for_its_owner_alone(house):
    share(house, ben())
    remove(house)
    assert "Removed houses" in browser(ada()).get("/houses").content.decode()
    for other in (ben(), cy()):
        assert "Elm Street" not in browser(other).get("/houses").content.decode()


def test_put_back_it_is_there_for_all_with_its_rooms(house):
    share(house, ben())
    remove(house)
    page = (
        browser(ada())
        .post(reverse("house-put-back", args=[house.pk]), follow=True)
        .content.decode()
    )
    assert "Elm Street is back" in page
    assert "Kitchen" in browser(ben()).get(reverse("room-list", args=[house.pk])).content.decode()


@pytest.mark.parametrize("role", [Role.HELPER, Role.VIEWER])
def test_only_an_owner_removes_or_puts_back(house, role):
    share(house, ben(), role)
    client = browser(ben())
    url = reverse("house-remove", args=[house.pk])
    assert client.get(url).status_code == 404
    assert client.post(url, {"name": house.name}).status_code == 404
    house_remove(by=By(ada()), house=house)
    assert client.post(reverse("house-put-back", args=[house.pk])).status_code == 404
    assert not House.objects.filter(pk=house.pk).exists()


def test_house_that_is_there_is_not_put_back(house):
    assert browser(ada()).post(reverse("house-put-back", args=[house.pk])).status_code == 404


def test_way_to_remove_is_shown_to_owners_only(house):
    share(house, ben())
    url = reverse("house-remove", args=[house.pk])
    about = reverse("house-edit", args=[house.pk])
    assert url in browser(ada()).get(about).content.decode()
    assert url not in browser(ben()).get(about).content.decode()


def test_history_tells_both_and_undoes_neither(house):
    remove(house)
    client = browser(ada())
    client.post(reverse("house-put-back", args=[house.pk]))
    page = client.get(reverse("house-history", args=[house.pk])).content.decode()
    assert "Removed the house" in page
    assert "Brought the house back" in page
    for change in Change.objects.filter(row=house.pk):
        assert client.post(reverse("change-undo", args=[change.group])).status_code == 404


def test_search_of_a_removed_house_waits_until_it_is_back(house):
    assert SearchJob.objects.filter(house=house, state="waiting").exists()
    house_remove(by=By(ada()), house=house)
    assert SEARCHES.take("worker") is None
    browser(ada()).post(reverse("house-put-back", args=[house.pk]))
    assert SEARCHES.take("worker") is not None


def test_worker_outlives_a_house_removed_under_its_hands(house, monkeypatch):
    claim = SEARCHES.take("worker")
    house_remove(by=By(ada()), house=house)
    monkeypatch.setattr(SEARCHES, "take", lambda *_: claim)
    job = run_once()
    job.refresh_from_db()
    assert job.state == "cancelled"


def test_every_page_leads_to_the_list_of_houses(house):
    page = browser(ada()).get(reverse("house-detail", args=[house.pk])).content.decode()
    assert f'href="{reverse("house-list")}"' in page
