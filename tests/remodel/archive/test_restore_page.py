"""An archive restored on the page, where nothing was entered yet."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from remodel.archive import first_start, uploads
from remodel.archive.restoring import WORKPLACE
from remodel.board.services import recompute
from remodel.demo import progress_file
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.services import house_change
from remodel.management.commands import load_demo
from remodel.people.models import Person
from remodel.people.services import household
from tests.remodel.archive.conftest import is_untouched, raw_files
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db

PAGE = "/archive/restore"


@pytest.fixture
def home(empty, settings):
    settings.HOSTED = False
    return empty


@pytest.fixture
def demo(home, settings, monkeypatch):
    """The first start with a demo house, a small one."""
    monkeypatch.setattr(load_demo, "progress_file", lambda _: progress_file(home / "none.json"))
    settings.DEMO_HOUSE_FILE = settings.BASE_DIR / "fixtures" / "quay-flat.json"
    call_command("load_demo", if_empty=True)
    return House.objects.get()


def send(client, content, name="halfbay.zip"):
    return client.post(PAGE, {"file": SimpleUploadedFile(name, content)})


def test_first_page_of_an_empty_machine_leads_to_a_form(home, client):
    page = client.get("/", follow=True).content.decode()
    assert f'href="{PAGE}"' in page
    form = client.get(PAGE).content.decode()
    assert 'enctype="multipart/form-data"' in form
    assert "Restore everything" in form


def test_pages_open_with_the_restored_house(archived, home, client):
    client.get("/")  # which makes the household
    answer = send(client, archived.path.read_bytes())
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert raw_files(home) == archived.files
    house = House.objects.get()
    assert str(house.pk) == archived.house
    recompute(house)
    page = client.get("/", follow=True)
    assert page.redirect_chain[-1][0] == reverse("house-detail", args=[house.pk])
    text = page.content.decode()
    assert "Restored 1 house, with" in text
    assert not list((home / "incoming").iterdir())
    assert not (home / WORKPLACE).exists()


def test_demo_house_that_nobody_changed_gives_way(archived, demo, client):
    assert f'href="{PAGE}"' in client.get("/", follow=True).content.decode()
    assert f"{demo.name} goes" in client.get(PAGE).content.decode()
    assert send(client, archived.path.read_bytes()).status_code == 302
    assert str(House.all_objects.get().pk) == archived.house


def test_demo_house_that_was_changed_stays(archived, demo, client):
    house_change(by=By(household()), house=demo, name="Ours")
    assert f'href="{PAGE}"' not in client.get("/", follow=True).content.decode()
    answer = send(client, archived.path.read_bytes())
    assert answer.status_code == 422
    assert "There is a house here already: Ours." in answer.content.decode()
    assert House.all_objects.get() == demo


def test_change_that_the_history_does_not_know_counts(demo):
    assert first_start.is_as_first_started()
    Person.objects.update(name="Ada")
    assert not first_start.is_as_first_started()


def test_house_that_is_here_is_said_before_anything_is_chosen(home, client):
    small_house(household())
    page = client.get(PAGE).content.decode()
    assert "There is a house here already" in page
    assert 'type="file"' not in page
    assert f'href="{PAGE}"' not in client.get(reverse("house-list")).content.decode()


def test_person_who_was_named_is_not_overwritten(archived, home, client):
    Person.objects.create(name="Dot", email=None)
    answer = send(client, archived.path.read_bytes())
    assert "in use already" in answer.content.decode()
    assert is_untouched(home)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda content: content[: len(content) // 2], "is not whole"),
        (lambda content: b"Dear neighbor", "is not whole"),
        (lambda content: b"", "empty"),
    ],
)
def test_what_is_no_whole_archive_is_a_sentence_at_the_field(archived, home, client, change, words):
    answer = send(client, change(archived.path.read_bytes()))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert str(home) not in page  # where the upload lay says nothing to anybody
    assert is_untouched(home)
    assert not (home / "incoming").exists() or not list((home / "incoming").iterdir())


def test_no_file_is_a_sentence(home, client):
    answer = client.post(PAGE, {})
    assert answer.status_code == 422
    assert "Archive" in answer.content.decode()


def test_form_without_its_token_is_forged(archived, home):
    client = Client(enforce_csrf_checks=True)
    assert send(client, archived.path.read_bytes()).status_code == 403
    assert is_untouched(home)
    token = re.search(
        'name="csrfmiddlewaretoken" value="([^"]+)"', client.get(PAGE).content.decode()
    )
    sent = {"file": SimpleUploadedFile("a.zip", archived.path.read_bytes())}
    answer = client.post(PAGE, sent | {"csrfmiddlewaretoken": token[1]})
    assert answer.status_code == 302


def test_file_of_more_bytes_than_an_archive_may_have(archived, home, client, settings):
    settings.ARCHIVE_MAX_BYTES = 1000
    settings.UPLOAD_MAX_BYTES = 1000
    answer = client.post(PAGE, {"file": SimpleUploadedFile("big.zip", bytes(600_000))})
    assert answer.status_code == 413
    # and where the length was not told in front, the reading stops
    assert send(client, archived.path.read_bytes()).status_code >= 400
    assert is_untouched(home)


def test_upload_that_was_cut_off_is_removed_later(home, tmp_path):
    folder = uploads.incoming()
    left = folder / "left.zip"
    left.write_bytes(b"x")
    assert left in {*uploads.incoming().iterdir()}
    import os

    os.utime(left, (1, 1))
    assert not {*uploads.incoming().iterdir()}


def test_restoring_is_for_the_machine_itself_at_home(home, settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    phone = Client(REMOTE_ADDR="192.168.1.30")
    assert phone.get(PAGE)["Location"].startswith("/pair?")
    settings.HOSTED = True
    assert Client().get(PAGE).status_code == 302  # to sign in
