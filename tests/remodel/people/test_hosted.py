"""Hosted: signing in and up, the limits on both, sessions, and invitations."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from remodel.history.services import By
from remodel.people.models import Attempt, Invitation, Membership, Person, Role
from remodel.people.services import (
    invitation_make,
    invitation_take,
    membership_change,
    membership_end,
)
from tests.remodel.factories import HouseFactory, PersonFactory, ada, ben, shared_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
PASSWORD = "four words of ours"


@pytest.fixture
def account():
    person = ada()
    person.set_password(PASSWORD)
    person.save()
    return person


def sign_in(client, password=PASSWORD, **more):
    return client.post(
        reverse("sign-in"), {"email": "Ada@example.org", "password": password, **more}
    )


def test_right_pair_signs_in_under_a_new_session(client, account):
    client.get(reverse("sign-in"))
    client.session.save()
    before = client.session.session_key
    answer = sign_in(client, next="/password")
    assert (answer.status_code, answer["Location"]) == (302, "/password")
    assert client.session.session_key != before
    assert client.get("/password").wsgi_request.person == account


def test_wrong_password_says_so_and_keeps_the_address(client, account):
    answer = sign_in(client, "wrong")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "do not fit together" in page
    assert "Ada@example.org" in page
    assert 'wrong"' not in page


def test_unknown_account_is_refused_in_the_same_words(client, account):
    known = sign_in(client, "wrong").content.decode()
    unknown = client.post(
        reverse("sign-in"), {"email": "no@example.org", "password": "wrong"}
    ).content.decode()
    words = "The e-mail address and the password do not fit together"
    assert words in known
    assert words in unknown


@pytest.mark.parametrize(
    "wanted", ["//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_sign_in_leads_to_no_other_site(client, account, wanted):
    assert sign_in(client, next=wanted)["Location"] == "/"


def test_after_ten_wrong_passwords_the_right_one_waits_too_then_signs_in(client, account):
    for _ in range(10):
        assert sign_in(client, "wrong").status_code == 422
    answer = sign_in(client)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= 15 * 60
    assert "Wait 15 minutes" in answer.content.decode()
    Attempt.objects.update(at=timezone.now() - timedelta(minutes=15, seconds=1))
    assert sign_in(client).status_code == 302


def test_trying_on_while_waiting_does_not_make_the_wait_longer(client, account):
    for _ in range(30):
        sign_in(client, "wrong")
    assert Attempt.objects.count() == 20
    Attempt.objects.update(at=timezone.now() - timedelta(minutes=15, seconds=1))
    assert sign_in(client).status_code == 302


def test_spoofed_address_does_not_get_round_the_limit(client, account):
    for number in range(30):
        client.post(
            reverse("sign-in"),
            {"email": f"a{number}@example.org", "password": "wrong"},
            HTTP_X_FORWARDED_FOR=f"203.0.113.{number}",
        )
    answer = sign_in(client)
    assert answer.status_code == 429


def test_trusted_proxy_is_believed_for_the_address_it_saw_itself(client, account, settings):
    settings.TRUSTED_PROXY = True
    for number in range(31):
        client.post(
            reverse("sign-in"),
            {"email": f"a{number}@example.org", "password": "wrong"},
            HTTP_X_FORWARDED_FOR=f"203.0.113.{number}, 198.51.100.7",
        )
    blocked = client.post(
        reverse("sign-in"),
        {"email": "b@example.org", "password": "x"},
        HTTP_X_FORWARDED_FOR="9.9.9.9, 198.51.100.7",
    )
    elsewhere = client.post(
        reverse("sign-in"),
        {"email": "b@example.org", "password": "x"},
        HTTP_X_FORWARDED_FOR="198.51.100.7, 9.9.9.9",
    )
    assert (blocked.status_code, elsewhere.status_code) == (429, 422)


def test_wrong_tries_of_another_do_not_keep_a_known_browser_out(client, account):
    sign_in(client)
    client.post(reverse("sign-out"))
    other = Client(REMOTE_ADDR="203.0.113.9")
    for _ in range(11):
        last = sign_in(other, "wrong")
    assert last.status_code == 429
    assert sign_in(client).status_code == 302


def test_sign_out_ends_the_session_on_the_server(client, account):
    sign_in(client)
    old = client.cookies["sessionid"].value
    client.post(reverse("sign-out"))
    other = Client()
    other.cookies["sessionid"] = old
    assert other.get("/password").status_code == 302


def test_changed_password_ends_every_other_session(client, account):
    sign_in(client)
    other = Client()
    sign_in(other)
    answer = client.post(
        reverse("password-change"), {"current": PASSWORD, "password": "another four words"}
    )
    assert answer.status_code == 302
    assert client.get("/password").status_code == 200
    assert other.get("/password").status_code == 302


def test_password_is_changed_only_by_who_knows_it(client, account):
    sign_in(client)
    answer = client.post(
        reverse("password-change"), {"current": "guess", "password": "another four words"}
    )
    assert answer.status_code == 422
    account.refresh_from_db()
    assert account.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("password", "says"),
    [
        ("seven77", "8 characters or more"),
        ("password1", "lists of common ones"),
        ("ada@example.org", "too much like"),
    ],
)
def test_weak_password_is_refused_with_the_rule(client, account, password, says):
    sign_in(client)
    answer = client.post(reverse("password-change"), {"current": PASSWORD, "password": password})
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_long_password_with_spaces_round_it_is_taken_as_typed(client, account):
    sign_in(client)
    long = " " + "long words " * 20
    client.post(reverse("password-change"), {"current": PASSWORD, "password": long})
    account.refresh_from_db()
    assert account.check_password(long)


def test_session_ends_sixty_days_after_its_sign_in(client, account):
    sign_in(client)
    session = client.session
    session["since"] = (timezone.now() - timedelta(days=61)).isoformat()
    session.save()
    assert client.get("/password").status_code == 302
    assert not client.session.get("_auth_user_id")


def test_a_visit_a_day_moves_the_two_weeks_on(client, account):
    sign_in(client)
    session = client.session
    session["seen"] = (timezone.now() - timedelta(days=2)).isoformat()
    session.save()
    client.get("/password")
    assert client.session["seen"] > (timezone.now() - timedelta(minutes=1)).isoformat()


def test_refused_sign_in_is_logged_with_account_and_address_and_never_the_password(
    client, account, caplog
):
    with caplog.at_level("INFO"):
        sign_in(client, "secret-words")
        sign_in(client)
    assert "signed in" in caplog.text
    assert "sign-in refused for 'ada@example.org' from 127.0.0.1" in caplog.text
    assert "secret-words" not in caplog.text


def test_nobody_is_led_to_sign_in(client):
    assert client.get("/password")["Location"] == "/sign-in?next=/password"


def test_home_pages_are_not_there_when_hosted(client, account):
    sign_in(client)
    for name in ("who", "device-list"):
        assert client.get(reverse(name)).status_code == 404


def invited(role=Role.HELPER):
    house, owner, _ = shared_house()
    return house, invitation_make(by=By(owner), house=house, role=role)[1]


def test_invited_person_makes_an_account_and_belongs(client):
    house, token = invited(Role.VIEWER)
    assert (
        "You may look at everything"
        in client.get(reverse("invitation", args=[token])).content.decode()
    )
    answer = client.post(
        reverse("sign-up", args=[token]),
        {"name": "Dot", "email": "Dot@Example.org", "password": PASSWORD},
    )
    assert answer.status_code == 302
    dot = Person.objects.get(email="dot@example.org")
    assert Membership.objects.get(house=house, person=dot).role == Role.VIEWER
    assert client.get("/password").wsgi_request.person == dot


def test_link_opens_once(client):
    _, token = invited()
    client.force_login(PersonFactory(name="Dot"))
    client.post(reverse("invitation", args=[token]))
    assert Client().get(reverse("invitation", args=[token])).status_code == 404


@pytest.mark.parametrize("change", [{"withdrawn": True}, {"expires_at": timezone.now()}])
def test_withdrawn_or_old_link_says_what_to_do(client, change):
    _, token = invited()
    Invitation.objects.update(**change)
    answer = client.get(reverse("invitation", args=[token]))
    assert answer.status_code == 404
    assert "Ask for a new one" in answer.content.decode()
    assert client.post(reverse("sign-up", args=[token]), {}).status_code == 404


@pytest.mark.parametrize("end", ["removed", "made a helper"])
def test_link_ends_with_its_makers_right(client, end):
    house, owner, helper = shared_house()
    membership = Membership.objects.get(person=helper)
    membership_change(by=By(owner), membership=membership, role=Role.OWNER)
    token = invitation_make(by=By(helper), house=house, role=Role.OWNER)[1]
    if end == "removed":
        membership_end(person=owner, membership=membership)
    else:
        membership_change(by=By(owner), membership=membership, role=Role.HELPER)
    client.force_login(helper)
    assert client.post(reverse("invitation", args=[token])).status_code == 404
    assert not Membership.objects.filter(person=helper, role=Role.OWNER).exists()
    client.force_login(owner)
    assert not client.get(reverse("house-people", args=[house.pk])).context["waiting"]


def test_sign_up_that_comes_second_on_one_link_leaves_no_account(client, monkeypatch):
    _, token = invited()

    def taken_meanwhile(*_: object) -> None:
        invitation_take(token=token, person=PersonFactory(name="Dot"))

    monkeypatch.setattr("remodel.people.sign_in.check_password_rules", taken_meanwhile)
    before = Person.objects.count()
    answer = client.post(
        reverse("sign-up", args=[token]),
        {"name": "Eve", "email": "eve@example.org", "password": PASSWORD},
    )
    assert answer.status_code == 422
    assert "ask for a new one" in answer.content.decode()
    assert Person.objects.count() == before + 1
    assert "_auth_user_id" not in client.session


def test_refused_sign_up_keeps_what_was_typed_but_the_password(client, account):
    _, token = invited()
    answer = client.post(
        reverse("sign-up", args=[token]),
        {"name": "Dot", "email": "ada@example.org", "password": PASSWORD},
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "There is an account with this address already" in page
    assert 'value="Dot"' in page
    assert PASSWORD not in page


def test_owner_makes_a_link_that_is_shown_once(client):
    house, owner, _ = shared_house()
    client.force_login(owner)
    page = client.post(
        reverse("invitation-add", args=[house.pk]), {"role": "viewer"}
    ).content.decode()
    assert "http://testserver/join/" in page
    assert (
        "http://testserver/join/"
        not in client.get(reverse("house-people", args=[house.pk])).content.decode()
    )
    client.post(reverse("invitation-withdraw", args=[Invitation.objects.get().pk]))
    assert Invitation.objects.get().withdrawn


def test_helper_neither_invites_nor_changes_roles(client):
    house, _, helper = shared_house()
    mine = Membership.objects.get(person=helper)
    client.force_login(helper)
    assert (
        client.post(reverse("invitation-add", args=[house.pk]), {"role": "owner"}).status_code
        == 404
    )
    assert (
        client.post(reverse("membership-role", args=[mine.pk]), {"role": "owner"}).status_code
        == 404
    )
    assert not Invitation.objects.exists()
    mine.refresh_from_db()
    assert mine.role == Role.HELPER


def test_owner_changes_a_role_but_not_that_of_the_last_owner(client):
    _house, owner, helper = shared_house()
    client.force_login(owner)
    role = reverse("membership-role", args=[Membership.objects.get(person=helper).pk])
    assert client.post(role, {"role": "viewer"}).status_code == 302
    assert Membership.objects.get(person=helper).role == Role.VIEWER
    last = reverse("membership-role", args=[Membership.objects.get(person=owner).pk])
    answer = client.post(last, {"role": "helper"})
    assert answer.status_code == 422
    assert "must keep an owner" in answer.content.decode()


def test_member_leaves_and_owner_takes_out(client):
    _house, owner, helper = shared_house()
    client.force_login(helper)
    others = reverse("membership-end", args=[Membership.objects.get(person=owner).pk])
    assert client.post(others).status_code == 404
    client.post(reverse("membership-end", args=[Membership.objects.get(person=helper).pk]))
    assert not Membership.objects.filter(person=helper).exists()


def test_members_of_another_house_are_not_there(client):
    house, owner, _ = shared_house()
    HouseFactory(owner=ben(), key="other")
    client.force_login(PersonFactory(name="Cy"))
    assert client.get(reverse("house-people", args=[house.pk])).status_code == 404
    mine = Membership.objects.get(person=owner)
    assert client.get(reverse("membership-role", args=[mine.pk])).status_code == 404


def test_invitation_of_no_role_is_refused(client):
    house, owner, _ = shared_house()
    client.force_login(owner)
    assert (
        client.post(reverse("invitation-add", args=[house.pk]), {"role": "king"}).status_code == 422
    )


def test_signing_out_is_not_a_link(client, account):
    sign_in(client)
    assert client.get(reverse("sign-out")).status_code == 405
