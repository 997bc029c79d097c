"""Household, devices, memberships, invitations, and who gets past the door."""

import pytest
from django.db import IntegrityError, transaction
from django.http import Http404
from django.test import RequestFactory
from django.utils import timezone

from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.people import services
from remodel.people.middleware import WhoIsHereMiddleware, is_this_machine
from remodel.people.models import Invitation, Membership, PairingCode, Person, Role
from remodel.people.queries import house_for, room_for, row_for
from tests.remodel.factories import RoomFactory, ada, cy, shared_house

pytestmark = pytest.mark.django_db


def test_household_is_made_once():
    assert services.household() == services.household()
    assert Person.objects.count() == 1


def test_person_of_the_household_belongs_to_every_house():
    house, _, _ = shared_house()
    ben = services.person_add(by=By(), name="Ben at home")
    assert list(House.objects.for_person(ben)) == [house]


def test_code_pairs_one_device_once():
    code = services.pairing_code_make()
    device, token = services.device_pair(code=code[:3] + " " + code[3:], label="Phone")
    assert services.device_of(token) == device
    with pytest.raises(Refused):
        services.device_pair(code=code, label="Another")


def test_five_wrong_tries_end_a_code():
    code = services.pairing_code_make()
    wrong = f"{(int(code) + 1) % 10**6:06d}"
    for _ in range(5):
        with pytest.raises(Refused):
            services.device_pair(code=wrong, label="Phone")
    with pytest.raises(Refused):
        services.device_pair(code=code, label="Phone")


def test_old_code_pairs_nothing():
    code = services.pairing_code_make()
    PairingCode.objects.update(expires_at=timezone.now())
    with pytest.raises(Refused):
        services.device_pair(code=code, label="Phone")


def test_device_shut_out_stays_out():
    device, token = services.device_pair(code=services.pairing_code_make(), label="Phone")
    services.device_withdraw(device=device)
    assert services.device_of(token) is None


def test_invitation_makes_a_member_once():
    house, owner, _ = shared_house()
    _, token = services.invitation_make(by=By(owner), house=house, role="viewer")
    assert services.invitation_take(token=token, person=cy()) == house
    assert Membership.objects.get(person=cy()).role == "viewer"
    with pytest.raises(Refused):
        services.invitation_take(token=token, person=cy())


def test_old_or_withdrawn_invitation_opens_nothing():
    house, owner, _ = shared_house()
    made, token = services.invitation_make(by=By(owner), house=house)
    Invitation.objects.filter(pk=made.pk).update(withdrawn=True)
    assert services.invitation_of(token) is None
    Invitation.objects.filter(pk=made.pk).update(withdrawn=False, expires_at=timezone.now())
    assert services.invitation_of(token) is None


def test_helper_invites_nobody_and_the_last_owner_stays():
    house, owner, helper = shared_house()
    with pytest.raises(Refused):
        services.invitation_make(by=By(helper), house=house)
    with pytest.raises(Refused):
        services.membership_end(person=owner, membership=Membership.objects.get(person=owner))
    with pytest.raises(Refused):
        services.membership_change(
            by=By(owner), membership=Membership.objects.get(person=owner), role="helper"
        )


def test_stranger_gets_404_for_a_house_a_room_and_a_row():
    house, owner, _ = shared_house()
    room = RoomFactory(house=house)
    wall = room.walls.first()
    assert house_for(owner, house.pk) == house
    assert row_for(owner, type(wall).objects.all(), wall.pk, through="room__house") == wall
    for ask in (
        lambda: house_for(cy(), house.pk),
        lambda: room_for(cy(), room.pk),
        lambda: row_for(cy(), type(wall).objects.all(), wall.pk, through="room__house"),
    ):
        with pytest.raises(Http404):
            ask()


def test_who_may_look_only_gets_404_where_they_would_write():
    house, _, helper = shared_house()
    Membership.objects.filter(person=helper).update(role=Role.VIEWER)
    assert house_for(helper, house.pk) == house
    with pytest.raises(Http404):
        house_for(helper, house.pk, write=True)


def test_row_in_a_deleted_room_is_not_there():
    house, owner, _ = shared_house()
    room = RoomFactory(house=house)
    wall = room.walls.first()
    Room.objects.filter(pk=room.pk).update(deleted_at=timezone.now())
    with pytest.raises(Http404):
        row_for(owner, type(wall).objects.all(), wall.pk, through="room__house")


def test_role_and_membership_are_held_by_the_database():
    house, owner, _ = shared_house()
    for wrong in ({"person": owner}, {"person": cy(), "role": "king"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Membership.objects.create(house=house, **wrong)


def answer(client_address, settings, **meta):
    request = RequestFactory().get("/", REMOTE_ADDR=client_address, **meta)
    request.session = {}
    request.user = None
    people = []

    def view(asked):
        people.append(asked.person)
        from django.http import HttpResponse

        return HttpResponse("in")

    return WhoIsHereMiddleware(view)(request), people


def test_this_machine_is_the_household(settings):
    _, people = answer("127.0.0.1", settings)
    assert people == [services.household()]


def test_other_device_is_turned_away_until_it_is_paired(settings):
    response, people = answer("192.168.1.30", settings)
    assert people == []
    assert response.status_code in (302, 403)


def test_address_behind_a_proxy_is_not_this_machine():
    request = RequestFactory().get("/", REMOTE_ADDR="127.0.0.1", HTTP_X_FORWARDED_FOR="127.0.0.1")
    assert not is_this_machine(request)


def test_person_without_a_name_cannot_be_stored():
    with pytest.raises(IntegrityError), transaction.atomic():
        Person.objects.create(name="")


def test_ada_signs_in_with_an_address():
    assert Person.objects.get_by_natural_key(ada().email.upper()) == ada()
