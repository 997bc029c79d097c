"""At home: choosing who is here, pairing a phone, and the devices that come in."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from remodel.history.services import By
from remodel.people import services
from remodel.people.models import Device, Person

pytestmark = pytest.mark.django_db
PHONE = "192.168.1.30"


@pytest.fixture
def home_network(settings):
    settings.LAN_HOST = "192.168.1.20"
    settings.ALLOWED_HOSTS = ["192.168.1.20", "testserver"]
    settings.PORT = 8100


@pytest.fixture
def phone(home_network):
    return Client(REMOTE_ADDR=PHONE)


def paired(phone):
    code = services.pairing_code_make()
    return phone.post(reverse("pair"), {"code": code, "label": "Ben's phone", "next": "/devices"})


def test_chosen_person_is_here_from_then_on(client):
    ada, ben = services.person_add(by=By(), name="Ada"), services.person_add(by=By(), name="Ben")
    answer = client.post(reverse("who"), {"person": str(ben.pk), "next": "/devices"})
    assert (answer.status_code, answer["Location"]) == (302, "/devices")
    assert client.get("/devices").wsgi_request.person == ben
    assert ada.name in client.get(reverse("who")).content.decode()


def test_nobody_chosen_is_asked_again(client):
    answer = client.post(reverse("who"), {})
    assert answer.status_code == 422
    assert "&quot;Who is working here?&quot; is empty. Choose one" in answer.content.decode()


def test_somebody_of_another_house_cannot_be_chosen(client):
    stranger = Person.objects.create(name="Cy", email="cy@example.org")
    assert client.post(reverse("who"), {"person": str(stranger.pk)}).status_code == 422


def test_added_person_is_here(client):
    client.post(reverse("person-add"), {"name": "Ben"})
    assert client.get("/devices").wsgi_request.person.name == "Ben"


def test_person_without_a_name_is_refused_with_what_was_typed_kept(client):
    answer = client.post(reverse("person-add"), {"name": "x" * 81})
    assert answer.status_code == 422
    assert "x" * 81 in answer.content.decode()
    assert "<title>Error: " in answer.content.decode()


@pytest.mark.parametrize("name", ["who", "pair"])
@pytest.mark.parametrize("wanted", ["//evil.example", "https://evil.example/", "/\\evil.example"])
def test_next_leads_to_no_other_site(client, phone, name, wanted):
    if name == "who":
        person = services.household()
        answer = client.post(reverse("who"), {"person": str(person.pk), "next": wanted})
    else:
        answer = phone.post(
            reverse("pair"),
            {"code": services.pairing_code_make(), "label": "Phone", "next": wanted},
        )
    assert answer.status_code == 302
    assert "evil" not in answer["Location"]


def test_unpaired_phone_is_led_to_pairing_and_knows_where_it_was_going(phone):
    answer = phone.get("/devices")
    assert answer["Location"] == "/pair?next=/devices"


def test_right_code_lets_the_phone_in_and_asks_who_holds_it(phone):
    answer = paired(phone)
    assert answer["Location"] == "/who?next=%2Fdevices"
    assert answer.cookies["device"]["httponly"]
    ben = services.person_add(by=By(), name="Ben")
    phone.post(reverse("who"), {"person": str(ben.pk)})
    assert Device.objects.get().person == ben
    assert phone.get("/devices").wsgi_request.person == ben


def test_wrong_code_keeps_the_phone_out_and_what_was_typed(phone):
    services.pairing_code_make()
    answer = phone.post(reverse("pair"), {"code": "12", "label": "Ben's phone"})
    assert answer.status_code == 422
    assert "Ben&#x27;s phone" in answer.content.decode()
    assert not Device.objects.exists()
    assert phone.get("/devices").status_code == 302


def test_phone_that_was_shut_out_stays_out(client, phone):
    paired(phone)
    answer = client.post(reverse("device-withdraw", args=[Device.objects.get().pk]))
    assert answer["Location"] == "/devices"
    assert phone.get("/devices").status_code == 302


def test_code_is_shown_once_with_the_address_of_the_home_network(client, home_network):
    page = client.post(reverse("device-code")).content.decode()
    code = re.search(r"pairing-code\">(\d{3} \d{3})<", page)[1]
    assert "http://192.168.1.20:8100/pair" in page
    assert "Keeping pages offline is off" in page
    assert "data:image/svg+xml" in page
    assert code not in client.get(reverse("device-list")).content.decode()


def test_no_code_where_nobody_else_is_served(client):
    assert client.post(reverse("device-code")).status_code == 404
    assert "make run HOST=lan" in client.get(reverse("device-list")).content.decode()


def test_pairing_page_says_that_keeping_offline_is_off_without_https(phone):
    assert "Keeping pages offline is off" in phone.get(reverse("pair")).content.decode()


def test_missing_device_is_not_found(client):
    assert (
        client.post(reverse("device-withdraw", args=[services.household().pk])).status_code == 404
    )


@pytest.mark.parametrize("name", ["person-add", "device-code"])
def test_writing_pages_are_not_read(client, name):
    assert client.get(reverse(name)).status_code == 405


def test_forwarded_request_is_not_this_machine(client, home_network):
    assert client.get("/devices", HTTP_X_FORWARDED_FOR="127.0.0.1").status_code == 302
