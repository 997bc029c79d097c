"""The page where rooms are bought together, and what orders and rooms say of it."""

import pytest
from django.urls import reverse

from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.services import room_change
from remodel.people.models import Role
from remodel.piles import heads_of, pile_make, piles_of, seen_piles
from remodel.supply.orders import order_make, order_place
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]
MISSING = "00000000-0000-4000-8000-000000000000"
KEY = "7c0e4f6e-57a5-4a5b-9b0f-0d2f5cdd0a01"


@pytest.fixture
def client():
    return browser(ada())


@pytest.fixture
def url(pile_house):
    return reverse("house-together", args=[pile_house.pk])


def posted(house, rooms, **more):
    return {"room": [str(room.pk) for room in rooms], "piles": seen_piles(heads_of(house)), **more}


def ordered(house, rooms):
    order = order_make(by=By(ada()), house=house, phases=["hanging"], rooms=rooms)
    return order_place(by=By(ada()), order=order, without_prices=True, unseen_framing=True)


def test_page_lists_the_rooms_in_the_order_they_are_hung(client, url):
    page = client.get(url).content.decode()
    assert page.index("Kitchen") < page.index("Hall") < page.index("Den")
    assert "Show what sharing saves" in page
    assert "Buy these together" not in page


def test_ticked_rooms_are_shown_bought_all_three_ways_and_nothing_is_written(
    client, pile_house, pile_rooms, url
):
    page = client.get(
        url, {"room": [pile_rooms[0].pk, pile_rooms[2].pk], "show": "yes"}
    ).content.decode()
    assert "Kitchen and Den" in page
    assert "Apart, each room its own sheets" in page
    assert "From one shared set, offcuts kept" in page
    assert "offcuts thrown away after each room" in page
    assert "Buy these together" in page
    assert piles_of(pile_house) == []


def test_one_room_is_told_to_tick_two_and_stays_ticked(client, pile_rooms, url):
    answer = client.get(url, {"room": [pile_rooms[1].pk], "show": "yes"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert "Tick at least two" in page
    assert page.count(" checked") == 1


def test_no_room_is_told_to_tick_two(client, url):
    answer = client.get(url, {"show": "yes"})
    assert answer.status_code == 422
    assert "Tick at least two" in answer.content.decode()


def test_htmx_gets_the_part_alone(client, pile_rooms, url):
    page = client.get(
        url, {"room": [room.pk for room in pile_rooms], "show": "yes"}, **HTMX
    ).content.decode()
    assert page.lstrip().startswith('<div id="body">')
    assert "Kitchen, Hall and Den" in page


def test_rooms_are_bought_together_once_for_two_presses(client, pile_house, pile_rooms, url):
    data = posted(pile_house, pile_rooms[:2], key=KEY)
    first = client.post(url, data)
    assert first.url == url
    assert [pile.rooms for pile in piles_of(pile_house)] == [(pile_rooms[0], pile_rooms[1])]
    version = Room.objects.get(pk=pile_rooms[0].pk).version
    client.post(url, data)
    assert Room.objects.get(pk=pile_rooms[0].pk).version == version
    page = client.get(url).content.decode()
    assert "Kitchen and Hall share sheets now" in page
    assert "Undo" in page
    assert "Kitchen, bought with Hall" in page


def test_choice_made_before_another_change_is_told_and_kept(client, pile_house, pile_rooms, url):
    data = posted(pile_house, pile_rooms[1:])
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    answer = client.post(url, data)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "was changed meanwhile" in page
    assert page.count(" checked") == 2
    assert [pile.rooms for pile in piles_of(pile_house)] == [(pile_rooms[0], pile_rooms[1])]


def test_room_of_another_house_is_refused(client, pile_house, pile_rooms, url):
    foreign = small_house(cy()).rooms.get()
    answer = client.post(url, posted(pile_house, [pile_rooms[0], foreign]))
    assert answer.status_code == 422
    assert piles_of(pile_house) == []


def test_pile_is_bought_apart_with_an_undo(client, pile_house, pile_rooms, url):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    answer = client.post(
        reverse("house-apart", args=[pile_house.pk]), {"pile": piles_of(pile_house)[0].key}
    )
    assert answer.url == url
    assert piles_of(pile_house) == []
    assert "Kitchen and Hall are bought apart now" in client.get(url).content.decode()


def test_pile_that_is_gone_is_told(client, pile_house, url):
    answer = client.post(
        reverse("house-apart", args=[pile_house.pk]), {"pile": "gone"}, follow=True
    )
    assert "bought apart already" in answer.content.decode()


def test_ordered_pile_says_why_it_stays_and_how_it_can_be_freed(
    client, pile_house, pile_rooms, url
):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    ordered(pile_house, pile_rooms[:2])
    page = client.get(url).content.decode()
    assert "Boards of Kitchen and Hall are ordered already, so this set stays as it is" in page
    assert "Undo &quot;ordered&quot;" in page
    assert "Stop sharing" not in page
    refused = client.post(
        reverse("house-apart", args=[pile_house.pk]),
        {"pile": piles_of(pile_house)[0].key},
        follow=True,
    )
    assert "ordered already" in refused.content.decode()
    assert len(piles_of(pile_house)) == 1


def test_room_of_an_ordered_pile_is_not_removed_and_the_page_says_why(
    client, pile_house, pile_rooms
):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    ordered(pile_house, pile_rooms[:2])
    answer = client.post(reverse("room-remove", args=[pile_rooms[1].pk]), follow=True)
    assert "Hall cannot be taken out of it" in answer.content.decode()
    assert pile_house.rooms.count() == 3


def test_room_that_cannot_be_worked_out_is_told_instead_of_figures(
    client, pile_house, pile_rooms, url
):
    from remodel.board.models import RoomResult

    RoomResult.objects.filter(room=pile_rooms[1]).update(refusal="put right step by step")
    room = Room.objects.get(pk=pile_rooms[1].pk)
    room_change(
        by=By(ada()),
        room=room,
        ceiling_kind="gable",
        ceiling_low_wall="Z",
        ceiling_high=3_100_000_000,
    )
    page = client.get(
        url, {"room": [room.pk for room in pile_rooms[:2]], "show": "yes"}
    ).content.decode()
    assert "Nothing can be worked out yet" in page
    assert "Buy these together" not in page


def test_finished_room_is_not_offered(client, pile_house, pile_rooms, url):
    room_change(by=By(ada()), room=pile_rooms[2], finished=True)
    assert str(pile_rooms[2].pk) not in client.get(url).content.decode()


def test_draft_of_rooms_bought_apart_leads_to_what_one_pile_saves_and_is_worked_out_again(
    client, pile_house, pile_rooms, url
):
    order = order_make(by=By(ada()), house=pile_house, phases=["hanging"], rooms=pile_rooms[:2])
    page = client.get(reverse("order-detail", args=[order.pk])).content.decode()
    assert "See what sharing sheets saves" in page
    answer = client.post(url, posted(pile_house, pile_rooms[:2], order=str(order.pk)))
    assert answer.url == reverse("order-detail", args=[order.pk])
    page = client.get(answer.url).content.decode()
    assert "the order is worked out again" in page
    assert "See what sharing sheets saves" not in page


def test_order_of_one_room_of_a_pile_says_what_the_others_still_bring(
    client, pile_house, pile_rooms
):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms)
    order = order_make(by=By(ada()), house=pile_house, phases=["hanging"], rooms=pile_rooms[:1])
    page = client.get(reverse("order-detail", args=[order.pk])).content.decode()
    said = "Kitchen comes out of one shared set of sheets with Hall and Den, which this order"
    assert f"{said} leaves out" in page
    assert "bought for Hall and Den" in page


def test_order_of_a_whole_pile_says_nothing_of_others(client, pile_house, pile_rooms):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    order = order_make(by=By(ada()), house=pile_house, phases=["hanging"], rooms=pile_rooms[:2])
    assert (
        "which this order leaves out"
        not in client.get(reverse("order-detail", args=[order.pk])).content.decode()
    )


def test_pages_of_rooms_say_what_a_room_is_bought_with(client, pile_house, pile_rooms):
    pile_make(by=By(ada()), house=pile_house, rooms=pile_rooms[:2])
    assert (
        "Bought with Hall"
        in client.get(reverse("room-list", args=[pile_house.pk])).content.decode()
    )
    page = client.get(reverse("room-boards", args=[pile_rooms[0].pk])).content.decode()
    assert "share sheets</a>: Kitchen and <a" in " ".join(page.split())


def test_stranger_finds_nothing(pile_house, pile_rooms, url):
    client = browser(cy())
    assert client.get(url).status_code == 404
    assert client.post(url, posted(pile_house, pile_rooms)).status_code == 404
    assert (
        client.post(reverse("house-apart", args=[pile_house.pk]), {"pile": "x"}).status_code == 404
    )


def test_who_may_look_only_changes_nothing(pile_house, pile_rooms, url):
    share(pile_house, ben(), Role.VIEWER)
    client = browser(ben())
    assert client.get(url).status_code == 200
    assert client.post(url, posted(pile_house, pile_rooms)).status_code == 404


def test_missing_house_is_not_found(client):
    assert client.get(reverse("house-together", args=[MISSING])).status_code == 404


@pytest.mark.parametrize(("name", "verb"), [("house-together", "put"), ("house-apart", "get")])
def test_wrong_verb_is_refused(client, pile_house, name, verb):
    assert getattr(client, verb)(reverse(name, args=[pile_house.pk])).status_code == 405
