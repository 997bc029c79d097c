"""Who gets to what: every route with an id against a stranger, somebody who may look only, and
nobody."""

import uuid

from django.test import Client

from remodel.history.models import Change, Write
from remodel.people.models import Invitation, Membership, Role
from remodel.supply.models import Movement, Receipt
from tests.remodel.factories import PersonFactory, cy
from tests.remodel.routes import routes

WITH_IDS = [route for route in routes() if route.who in ("house", "owner")]
SAFE = {"GET", "HEAD"}
# draws what is being typed and keeps nothing; prints, and keeps what was printed for its code alone
CHANGES_NOTHING = {"room-outline", "room-pack", "thing-picture"}


def rows():
    return [
        table.objects.count()
        for table in (Change, Write, Movement, Receipt, Invitation, Membership)
    ]


def test_stranger_finds_nothing_with_any_verb(everything):
    client = everything.client(cy())
    before = rows()
    answers = []
    for route in WITH_IDS:
        for verb in route.methods:
            answer = everything.ask(client, verb, route)
            if answer.status_code != 404 or everything.house.name in answer.page:
                answers.append((verb, route.path, answer.status_code))
    assert answers == []
    assert rows() == before


def test_stranger_with_a_house_finds_nothing_of_the_other(everything):
    """Belonging to some house opens no other."""
    from tests.remodel.factories import HouseFactory

    stranger = cy()
    HouseFactory(owner=stranger, key="elsewhere", name="Elsewhere")
    client = everything.client(stranger)
    assert [
        route.path
        for route in WITH_IDS
        for verb in route.methods
        if everything.ask(client, verb, route).status_code != 404
    ] == []


def test_what_does_not_exist_is_the_same_404(everything):
    client = everything.client(everything.ada)
    wrong = [
        (verb, route.path, status)
        for route in WITH_IDS
        for verb in route.methods
        if (status := everything.ask(client, verb, route, missing=True).status_code) != 404
    ]
    assert wrong == []


def test_who_may_look_only_writes_nothing(everything):
    viewer = PersonFactory(name="Vi")
    Membership.objects.create(house=everything.house, person=viewer, role=Role.VIEWER)
    client = everything.client(viewer)
    before = rows()
    wrote = [
        (verb, route.path, status)
        for route in WITH_IDS
        for verb in set(route.methods) - SAFE
        if route.name not in CHANGES_NOTHING
        and (status := everything.ask(client, verb, route).status_code) != 404
    ]
    assert wrote == []
    assert rows() == before


def test_who_may_look_only_reads_the_house(everything):
    viewer = PersonFactory(name="Vi")
    Membership.objects.create(house=everything.house, person=viewer, role=Role.VIEWER)
    client = everything.client(viewer)
    for name in (
        "house-detail",
        "room-list",
        "room-detail",
        "order-list",
        "log-list",
        "use-list",
        "price-list",
    ):
        route = next(with_id for with_id in WITH_IDS if with_id.name == name)
        assert everything.ask(client, "GET", route).status_code == 200, name


def test_helper_does_nothing_that_owners_keep(everything):
    helper = PersonFactory(name="Hal")
    Membership.objects.create(house=everything.house, person=helper, role=Role.HELPER)
    client = everything.client(helper)
    assert [
        route.path
        for route in WITH_IDS
        for verb in route.methods
        if route.who == "owner" and everything.ask(client, verb, route).status_code != 404
    ] == []


def test_nobody_is_led_to_sign_in_from_everywhere(everything):
    client = Client()
    let_in = []
    for route in routes():
        if route.who == "open":
            continue
        for verb in route.methods:
            answer = everything.ask(client, verb, route)
            if answer.status_code != 302 or not answer["Location"].startswith("/sign-in?next="):
                let_in.append((verb, route.path, answer.status_code))
    assert let_in == []


def test_unpaired_device_is_led_to_pairing_from_everywhere(everything, settings):
    settings.HOSTED = False
    client = Client(REMOTE_ADDR="192.168.1.30")
    let_in = []
    for route in routes():
        if route.who == "open":
            continue
        for verb in route.methods:
            answer = everything.ask(client, verb, route)
            if answer.status_code != 302 or not answer["Location"].startswith("/pair?next="):
                let_in.append((verb, route.path, answer.status_code))
    assert let_in == []


def test_removed_house_is_gone_for_its_owner_too(everything):
    from remodel.history.services import By
    from remodel.house.services import house_remove

    house_remove(by=By(everything.ada), house=everything.house)
    client = everything.client(everything.ada)
    there = [
        route.path
        for route in WITH_IDS
        if "GET" in route.methods and everything.ask(client, "GET", route).status_code != 404
    ]
    assert there == []


def test_unknown_kinds_of_ids_are_not_guessed(everything):
    client = everything.client(everything.ada)
    assert client.get(f"/house/{uuid.uuid4()}").status_code == 404
    assert client.get("/house/1").status_code == 404
