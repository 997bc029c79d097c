"""The archive on its page: at home, for owners of every house here."""

import pytest
from django.test import Client
from django.urls import reverse

from remodel.archive.before_update import place
from remodel.archive.reading import Archive
from remodel.house.models import House
from remodel.people.models import Membership, Role
from remodel.people.services import household
from tests.remodel.factories import HouseFactory
from tests.remodel.site import browser, small_house

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(empty, settings):
    settings.HOSTED = False
    return small_house(household())


def page_of(client, name="archive", *more):
    return client.get(reverse(name, args=more)).content.decode()


def test_page_says_what_is_in_the_file_and_how_it_comes_back(home, client):
    page = page_of(client)
    assert home.name in page
    assert "make restore FILE=halfbay.zip" in page
    assert "None yet. Halfbay makes one by itself" in page


def test_what_is_downloaded_is_a_whole_archive(home, client, tmp_path):
    answer = client.get(reverse("archive-file"))
    path = tmp_path / "halfbay.zip"
    path.write_bytes(b"".join(answer.streaming_content))
    assert answer["Content-Type"] == "application/zip"
    assert "no-store" in answer["Cache-Control"]
    assert 'attachment; filename="halfbay-' in answer["Content-Disposition"]
    with Archive(path) as archive:
        archive.check()
        (row,) = archive.lines("house.house")
    assert home.name.encode() in row


def test_archives_made_before_updates_are_listed(home, client):
    place().mkdir()
    (place() / "halfbay-before-update-20261101-080000.zip").write_bytes(b"x" * 2048)
    page = page_of(client)
    assert "halfbay-before-update-20261101-080000.zip, 2.0\xa0KB" in page
    assert str(place()) in page


def test_pages_lead_to_the_archive(home, client):
    HouseFactory(owner=household(), key="second", name="Second")
    link = f'href="{reverse("archive")}"'
    assert link in page_of(client, "house-list")
    assert link in page_of(client, "house-edit", home.pk)
    assert link in page_of(client, "help")


def test_who_does_not_own_every_house_has_no_archive(home, client):
    Membership.objects.filter(house=home).update(role=Role.HELPER)
    assert client.get(reverse("archive")).status_code == 404
    assert client.get(reverse("archive-file")).status_code == 404
    assert reverse("archive") not in page_of(client, "house-list")


def test_removed_house_of_somebody_else_counts(home, client):
    other = HouseFactory(key="second", name="Second")
    House.all_objects.filter(pk=other.pk).update(deleted_at="2026-11-01T08:00:00Z")
    assert client.get(reverse("archive-file")).status_code == 404


def test_where_people_sign_in_there_is_the_command_alone(home, settings):
    settings.HOSTED = True
    owner = browser(household())
    assert owner.get(reverse("archive")).status_code == 404
    assert owner.get(reverse("archive-file")).status_code == 404
    assert reverse("archive") not in page_of(owner, "help")


def test_device_that_is_not_paired_has_no_archive(home, settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    answer = Client(REMOTE_ADDR="192.168.1.30").get(reverse("archive-file"))
    assert (answer.status_code, answer["Location"][:6]) == (302, "/pair?")
