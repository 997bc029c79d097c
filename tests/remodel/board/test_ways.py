"""Other ways to board a room: looked at one at a time, by anybody who may see the house."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.models import Plan
from remodel.board.queries import pile_result_of, view_of
from remodel.board.services import bring_up_to_date
from remodel.bridge.other_ways import WAYS
from remodel.history.models import Change
from remodel.house.models import Room, SurfaceChoice
from remodel.people.models import Role
from remodel.piles import pile_make
from remodel.ticks import tick
from tests.remodel.board.test_placed import keys_of
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import browser, share

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def page(person, room, way=""):
    answer = browser(person).get(reverse("room-ways", args=[room.pk]), {"way": way} if way else {})
    assert answer.status_code == 200
    return answer, " ".join(answer.content.decode().split())


def cells(answer):
    """The rows of the table by their names."""
    return {row[0]: row[1:] for row in answer.context["shown"].table.rows}


def test_room_page_has_the_figures_of_its_plan(room):
    words = browser(ada()).get(reverse("room-boards", args=[room.pk])).content.decode()
    figures = view_of(room).figures
    pieces = sum(len(one.pieces) for one in pile_result_of(room).pools[0].plan.surfaces)
    assert figures.pieces == pieces
    assert "This room&#x27;s boards in numbers" in words
    assert f"{figures.sheets_bought} to buy" in words
    assert reverse("room-ways", args=[room.pk]) in words


def test_nothing_is_worked_out_until_a_way_is_asked_for(room):
    answer, words = page(ada(), room)
    assert answer.context["shown"].chosen is None
    assert "The plan as it is" in words
    assert all(f"?way={way}" in words for way in WAYS)


@pytest.mark.parametrize("way", WAYS)
def test_every_way_is_a_table_or_a_reason_and_changes_nothing(room, way):
    before = pile_result_of(room), Plan.objects.count(), Change.objects.count()
    answer, words = page(ada(), room, way)
    shown = answer.context["shown"]
    assert shown.chosen.key == way
    if shown.why_not:
        assert "Not possible in this room" in words
    else:
        assert "Difference" in words
        assert cells(answer)["Pieces"][0] == str(view_of(room).figures.pieces)
    assert (pile_result_of(room), Plan.objects.count(), Change.objects.count()) == before


def test_difference_is_that_of_the_numbers_beside_it(room):
    answer, _ = page(ada(), room, "least")
    for name in ("Sheets", "Pieces", "Crosscuts", "Rips", "Cut-outs"):
        now, other, difference = cells(answer)[name]
        more = int(other) - int(now)
        said = f"{abs(more)} {'more' if more > 0 else 'fewer'}" if more else "none"
        assert difference == said


def test_way_that_can_be_set_leads_to_where_it_is(room):
    _, words = page(ada(), room, "along")
    assert "“Boards run”" in words
    assert reverse("surface-edit", args=[room.pk, "A"]) in words
    _, words = page(ada(), room, "longest")
    assert "To use this way" not in words


def test_one_who_may_only_look_sees_ways_but_no_form(room):
    share(room.house, cy(), Role.VIEWER)
    answer, words = page(cy(), room, "along")
    assert answer.context["shown"].table is not None
    assert reverse("surface-edit", args=[room.pk, "A"]) not in words


def test_others_find_no_such_page(room):
    ben()
    assert browser(ben()).get(reverse("room-ways", args=[room.pk])).status_code == 404


def test_unknown_way_is_the_page_without_one(room):
    answer, _ = page(ada(), room, "gold")
    assert answer.context["shown"].chosen is None


def test_room_without_a_plan_says_why(room):
    Room.objects.get(pk=room.pk).result.delete()
    _, words = page(ada(), room, "along")
    assert "Nothing to compare yet" in words


def test_room_that_is_begun_says_that_ways_begin_bare(room, by):
    tick(by=by, room=room, kind="cut", item=keys_of(room)[0])
    _, words = page(ada(), room, "longest")
    assert "planned as if none were" in words


def test_room_that_shares_its_sheets_is_planned_alone(pile_house, pile_rooms, by):
    pile_make(by=by, house=pile_house, rooms=pile_rooms)
    answer, words = page(ada(), pile_rooms[1], "longest")
    assert "shares its sheets with other rooms" in words
    alone, _, _ = cells(answer)["Pieces"]
    assert alone == str(view_of(pile_rooms[1]).figures.pieces)
    assert cells(answer)["Sheets"][0] != "0"


def test_surface_that_cannot_be_boarded_is_told_of(room):
    # Half-inch board may not lie along joists at 24 in.
    SurfaceChoice.objects.create(room=room, plane="ceiling", orientation="along")
    bring_up_to_date(room.house_id, {room.pk})
    assert any(one.refused for one in view_of(room).surfaces)
    _, words = page(ada(), room, "longest")
    assert "Not counted here. Kitchen, ceiling" in words


@pytest.mark.parametrize(
    ("way", "rule"), [("other-side", "ceiling_rows"), ("narrow", "widths"), ("least", "hour")]
)
def test_way_that_a_rule_sets_leads_to_the_rule(room, way, rule):
    words = browser(ada()).get(reverse("room-ways", args=[room.pk]), {"way": way}).content.decode()
    assert f"#{rule}" in words
