"""An edit against boards that are cut or hang asks: cut in place, take down, do not change."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.against_hung import save_against
from remodel.board import rounds
from remodel.board.models import PlacedPiece
from remodel.board.queries import board_of, pile_result_of, takes_of_pile
from remodel.bridge.lengths import FOOT, INCH
from remodel.cards.models import DoneMark
from remodel.differently import undo_told
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import By
from remodel.house.models import Cutout, HiddenItem, House, Opening, Partition, Room, SurfaceChoice
from remodel.house.services import room_change, room_resize
from remodel.house.things import cutout_add, opening_add
from remodel.ticks import tick
from tests.remodel.factories import ada
from tests.remodel.house.test_edit_surfaces import PLAIN
from tests.remodel.page_forms import forms_of
from tests.remodel.site import HTMX, browser, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
BOX = {
    "key": KEY,
    "kind": "box",
    "surface": "A",
    "across_origin": "left",
    "across_distance": "2' 7\"",
    "across_to": "centre",
    "up_origin": "ceiling",
    "up_distance": '12"',
    "up_to": "near",
    "width": '2 1/4"',
    "height": '3 3/4"',
    "name": "Coffee HVAC",
}
WINDOW = {
    "key": KEY,
    "kind": "window",
    "surface": "A",
    "left": "3'",
    "width": "3'",
    "height": "3'",
    "sill": "3'",
    "given": "rough",
    "edge": "cased",
    "name": "",
}


@pytest.fixture
def hung(room, by):
    """The highest board at the left end of Wall A hangs."""
    return hang(room, by, "A")


def hang(room, by, surface):
    place = min(
        (place for place in places(room) if place.key.startswith(f"{surface}.")),
        key=lambda place: place.key,
    )
    tick(by=by, room=room, kind="hung", item=place.key)
    return PlacedPiece.objects.get(room=room, surface=surface)


def places(room):
    return takes_of_pile(room)[room.pk].places


def boards_of(room):
    return {
        piece.code
        for pool in pile_result_of(room).pools
        for surface in pool.plan.surfaces
        for piece in surface.pieces
    }


def form_of(response, action):
    """The form of a page that is sent to an address."""
    return next(
        form for form in forms_of(response.content.decode(), action) if form.action == action
    )


def ask(url, data, **extra):
    """Send a form, and give the page that asks with its form."""
    client = browser(ada())
    response = client.post(url, data, **extra)
    assert response.status_code == 200, response
    assert "Nothing is saved yet" in response.content.decode()
    return response, form_of(response, url)


def answer(url, form, choice):
    return browser(ada()).post(url, form.data({"against": [choice]}))


def size_form(room, **changes):
    url = reverse("room-size", args=[room.pk])
    form = form_of(browser(ada()).get(url), url)
    return url, form.data({name: [value] for name, value in changes.items()})


# A box on a board


def test_box_on_a_hung_board_asks_and_saves_nothing(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    before = boards_of(room)
    response, _ = ask(url, BOX)
    text = response.content.decode()
    assert hung.mark in text
    assert "Coffee HVAC lies on it." in text
    assert "Wall A" in text
    assert "Cut in place" in text
    assert not Cutout.objects.exists()
    assert boards_of(room) == before
    hung.refresh_from_db()
    assert hung.state == "hung"


def test_box_cut_in_place_is_saved_and_the_board_stays(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    response = answer(url, form, "keep")
    assert response.status_code == 302
    assert Cutout.objects.get().name == "Coffee HVAC"
    hung.refresh_from_db()
    assert hung.state == "hung"
    assert hung.mark in boards_of(room)


def test_board_taken_down_for_a_box_is_open_again_under_another_mark(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    assert answer(url, form, "down").status_code == 302
    assert Cutout.objects.count() == 1
    hung.refresh_from_db()
    assert hung.state == "down"
    assert hung.ended_at is not None
    assert hung.mark not in boards_of(room)
    view = board_of(room).view
    surface = next(surface for surface in view.surfaces if surface.key == "A")
    width = sum(piece.end - piece.start for piece in surface.pieces if piece.row == 0)
    assert width > 11 * FOOT  # the row is boarded again


def test_do_not_change_gives_back_all_that_was_typed(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    response = answer(url, form, "back")
    assert response.status_code == 200
    again = form_of(response, url)
    assert {name: again.controls[name].values for name in BOX} == {
        name: [value] for name, value in BOX.items()
    }
    assert not Cutout.objects.exists()


def test_the_same_answer_twice_adds_one_box(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    for choice in ("keep", "keep", "down", "down"):
        assert answer(url, form, choice).status_code == 302
    assert Cutout.objects.count() == 1
    # The other answer of the same page is an answer too.
    hung.refresh_from_db()
    assert hung.state == "down"


def test_answer_of_a_page_that_did_not_show_a_board_asks_again(room, by):
    lower, upper = sorted(place.key for place in places(room) if place.key.startswith("A."))[:2]
    tick(by=by, room=room, kind="hung", item=lower)
    url = reverse("opening-add", args=[room.pk])
    data = WINDOW | {"sill": "2'", "height": "5'"}
    _, form = ask(url, data)
    tick(by=by, room=room, kind="hung", item=upper)
    response = answer(url, form, "keep")
    assert response.status_code == 200
    assert "2 boards are in the way" in " ".join(response.content.decode().split())
    assert not Opening.objects.exists()


def test_htmx_is_given_the_part_that_asks(room, hung):
    url = reverse("cutout-add", args=[room.pk])
    response, _ = ask(url, BOX, **HTMX)
    assert "<html" not in response.content.decode()
    assert "Not saved yet" in response["HX-Trigger-After-Settle"]


def test_cut_board_asks_as_one_that_hangs(room, by):
    key = min(place.key for place in places(room) if place.key.startswith("A."))
    tick(by=by, room=room, kind="cut", item=key)
    response, _ = ask(reverse("cutout-add", args=[room.pk]), BOX)
    assert "Cut in place" in response.content.decode()
    assert PlacedPiece.objects.get().state == "cut"


@pytest.mark.parametrize("choice", ["down", "keep"])
def test_cut_board_that_a_door_leaves_no_place_asks_and_may_go(room, by, choice):
    places_on_a = sorted(place.key for place in places(room) if place.key.startswith("A."))
    tick(by=by, room=room, kind="cut", item=places_on_a[-1])
    piece = PlacedPiece.objects.get(room=room)

    def door():
        opening_add(
            by=By(ada()),
            room=Room.objects.get(pk=room.pk),
            surface="A",
            name="Door",
            kind="door",
            left=4 * FOOT,
            sill=0,
            width=3 * FOOT,
            height=7 * FOOT,
        )

    asked = save_against(Room.objects.get(pk=room.pk), door, by=By(ada()))
    assert [one.piece.pk for one in asked.pieces] == [piece.pk]
    assert not Opening.objects.exists()
    save_against(
        Room.objects.get(pk=room.pk), door, by=By(ada()), answer=choice, shown=[str(piece.pk)]
    )
    assert Opening.objects.count() == 1
    piece.refresh_from_db()
    assert piece.state == ("down" if choice == "down" else "spare")


def test_moved_box_asks_for_the_board_it_comes_to_lie_on(room, by, hung):
    cutout_add(by=by, room=room, surface="B", name="Switch", kind="box", width=2 * INCH,
               height=4 * INCH, across_origin="left", across_distance=3 * FOOT,
               up_origin="floor", up_distance=4 * FOOT)  # fmt: skip
    box = Cutout.objects.get()
    url = reverse("cutout-edit", args=[box.pk])
    data = form_of(browser(ada()).get(url), url).data({"surface": ["A"], "up_distance": ["7'"]})
    _, form = ask(url, data)
    box.refresh_from_db()
    assert box.wall.key == "B"
    assert answer(url, form, "keep").status_code == 302
    box.refresh_from_db()
    assert (box.wall.key, box.up_distance) == ("A", 7 * FOOT)


# What touches no board


@pytest.mark.parametrize(
    ("route", "more"),
    [
        ("cutout-add", {"surface": "B"}),
        ("cutout-add", {"across_distance": "11' 6\"", "up_distance": "7'"}),
        ("hidden-add", {"kind": "blocking", "lumber": "2x6", "planned": "on"}),
    ],
)
def test_what_lies_elsewhere_or_behind_does_not_ask(room, hung, route, more):
    response = browser(ada()).post(reverse(route, args=[room.pk]), BOX | more)
    assert response.status_code == 302, forms_of(response.content.decode(), "")
    assert Cutout.objects.exists() or HiddenItem.objects.exists()


def test_nothing_is_worked_out_twice_for_an_edit_that_touches_no_board(room, hung, monkeypatch):
    asked = []
    work = rounds.work_out_pile
    monkeypatch.setattr(
        rounds, "work_out_pile", lambda *args, **more: asked.append(1) or work(*args, **more)
    )
    browser(ada()).post(reverse("cutout-add", args=[room.pk]), BOX | {"surface": "B"})
    assert len(asked) <= 1


def test_room_without_boards_asks_nothing_and_costs_one_query(room, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert save_against(room, lambda: "saved", by=By()) == "saved"


def test_renamed_box_does_not_ask(room, by, hung):
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    answer(url, form, "keep")
    url = reverse("cutout-edit", args=[Cutout.objects.get().pk])
    data = form_of(browser(ada()).get(url), url).data({"name": ["Toaster"]})
    assert browser(ada()).post(url, data).status_code == 302


def test_name_and_finish_of_the_room_do_not_ask(room, hung):
    url, data = size_form(room, name="Cookery")
    assert browser(ada()).post(url, data).status_code == 302
    url = reverse("room-finish", args=[room.pk])
    form = form_of(browser(ada()).get(url), url)
    level = next(one for one in form.controls if "level" in one)
    data = form.data({level: ["5"]})
    assert browser(ada()).post(url, data).status_code == 302


# Openings


def test_window_on_a_hung_board_asks(room, hung):
    url = reverse("opening-add", args=[room.pk])
    response, form = ask(url, WINDOW)
    assert "Window lies on it." in response.content.decode()
    assert answer(url, form, "keep").status_code == 302
    assert Opening.objects.get().name == "Window"


def test_window_removed_from_a_hung_board_asks_and_may_stay(room, by):
    opening_add(by=by, room=room, surface="A", name="Window 1", kind="window", left=3 * FOOT,
                width=3 * FOOT, height=3 * FOOT, sill=3 * FOOT)  # fmt: skip
    hang(room, by, "A")
    row = Opening.objects.get()
    url = reverse("opening-remove", args=[row.pk])
    response, form = ask(url, {})
    assert "hole for Window 1" in response.content.decode()
    back = answer(url, form, "back")
    assert back["Location"] == reverse("opening-edit", args=[row.pk])
    assert Opening.objects.exists()
    assert answer(url, form, "keep").status_code == 302
    assert not Opening.objects.exists()


# Measures, choices, framing


def test_lower_ceiling_names_the_boards_and_says_what_follows(room, hung):
    url, data = size_form(room, ceiling_height="3' 6\"")
    response, form = ask(url, data)
    text = response.content.decode()
    assert "past the edge" in text
    assert "Keep the boards, save the change" in text
    assert "Boards not cut yet that change" in text
    assert "Worked out once saved" not in text
    assert " fewer" in text
    assert answer(url, form, "keep").status_code == 302
    room.refresh_from_db()
    assert room.ceiling_height == 42 * INCH
    assert board_of(room).view.amiss


def test_shorter_room_asks_and_boards_taken_down_leave_nothing_amiss(room, by):
    for key in [place.key for place in places(room) if place.key.startswith("A.")]:
        tick(by=by, room=room, kind="hung", item=key)
    url, data = size_form(room, room_length="11'")
    response, form = ask(url, data)
    touched = [
        piece for piece in PlacedPiece.objects.all() if piece.mark in response.content.decode()
    ]
    assert touched
    assert answer(url, form, "down").status_code == 302
    assert PlacedPiece.objects.filter(state="down").count() >= 1
    assert board_of(room).refusal == ""
    assert not board_of(room).view.amiss


def test_do_not_change_gives_back_the_measure(room, hung):
    url, data = size_form(room, ceiling_height="3' 6\"")
    _, form = ask(url, data)
    again = form_of(answer(url, form, "back"), url)
    assert again.controls["ceiling_height"].values == ["3' 6\""]
    room.refresh_from_db()
    assert room.ceiling_height == 8 * FOOT


def test_wall_left_as_it_is_asks(room, hung):
    url = reverse("surface-edit", args=[room.pk, "A"])
    response, form = ask(url, PLAIN | {"action": "leave", "lining": '1/2"'})
    assert "no new board" in response.content.decode()
    assert answer(url, form, "keep").status_code == 302
    assert SurfaceChoice.objects.get().action == "leave"


def test_other_framing_behind_a_hung_seam_asks(by, room):
    room_resize(by=by, room=room, length=16 * FOOT, width=10 * FOOT)
    for key in [place.key for place in places(room) if place.key.startswith("A.")]:
        tick(by=by, room=room, kind="hung", item=key)
    url = reverse("surface-edit", args=[room.pk, "A"])
    response, form = ask(
        url, PLAIN | {"spacing": "other", "spacing_other": '19"', "runs": "across"}
    )
    assert "no longer on framing" in response.content.decode()
    assert answer(url, form, "keep").status_code == 302
    assert any("framing" in one.rule for one in board_of(room).view.amiss)


def test_studs_of_the_whole_house_behind_a_hung_seam_ask(by, room):
    room_resize(by=by, room=room, length=14 * FOOT + 8 * INCH, width=10 * FOOT)
    for key in [place.key for place in places(room) if place.key.startswith("A.")]:
        tick(by=by, room=room, kind="hung", item=key)
    url = reverse("house-edit", args=[room.house_id])
    form = form_of(browser(ada()).get(url), url)
    other = next(
        value for value in form.controls["framed"].options if value.startswith(("19", "24"))
    )
    response, form = ask(url, form.data({"framed": [other]}))
    assert "no longer on framing" in response.content.decode()
    assert answer(url, form, "keep").status_code == 302


def test_name_of_the_house_does_not_ask(room, hung):
    url = reverse("house-edit", args=[room.house_id])
    data = form_of(browser(ada()).get(url), url).data({"name": ["Oak Street"]})
    assert browser(ada()).post(url, data).status_code == 302
    assert House.objects.get().name == "Oak Street"


def test_partition_against_a_boarded_wall_asks(room, hung):
    url = reverse("partition-add", args=[room.pk])
    form = form_of(browser(ada()).get(url), url)
    data = form.data({
        "name": ["Nook wall"], "behind": ["Nook"], "surface": ["A"], "at": ["5'"],
    })  # fmt: skip
    _, form = ask(url, data)
    assert not Partition.objects.exists()
    assert answer(url, form, "keep").status_code == 302
    assert Partition.objects.exists()


def test_partition_with_boards_behind_it_stays(room, by):
    partition = with_partition(room, ada())
    closet = Room.objects.get(behind=partition)
    key = takes_of_pile(closet)[closet.pk].places[0].key
    tick(by=by, room=closet, kind="hung", item=key)
    response = browser(ada()).post(reverse("partition-remove", args=[partition.pk]), follow=True)
    assert "Work was done in Closet" in response.content.decode()
    assert Partition.objects.exists()


def test_undo_of_an_edit_asks_as_the_edit_does(room, by):
    opening_add(by=by, room=room, surface="A", name="Window 1", kind="window", left=3 * FOOT,
                width=3 * FOOT, height=3 * FOOT, sill=3 * FOOT)  # fmt: skip
    group = last_group(Opening.objects.get().pk)
    hang(room, by, "A")
    url = reverse("change-undo", args=[group])
    _, form = ask(url, {})
    assert answer(url, form, "back").status_code == 302
    assert Opening.objects.exists()
    assert answer(url, form, "keep").status_code == 302
    assert not Opening.objects.exists()


def test_somebody_elses_measure_is_shown_and_not_overwritten(room, by, hung):
    url, data = size_form(room, ceiling_height="3' 6\"")
    _, form = ask(url, data)
    room_change(by=by, room=Room.objects.get(pk=room.pk), ceiling_height=9 * FOOT)
    response = answer(url, form, "keep")
    assert response.status_code == 409
    assert "Both values are here" in response.content.decode()
    assert Room.objects.get(pk=room.pk).ceiling_height == 9 * FOOT


@pytest.mark.parametrize("kind", ["cut", "hung"])
def test_board_taken_down_for_an_edit_is_put_back_from_its_page(room, by, kind):
    key = min(place.key for place in places(room) if place.key.startswith("A."))
    tick(by=by, room=room, kind=kind, item=key)
    before, ticks = boards_of(room), DoneMark.objects.count()
    url = reverse("cutout-add", args=[room.pk])
    _, form = ask(url, BOX)
    answer(url, form, "down")
    piece = PlacedPiece.objects.get()
    assert (piece.state, piece.note) == ("down", "Taken down, thrown away")
    page = reverse("room-piece", args=[room.pk, key])
    undo = next(
        form
        for form in forms_of(browser(ada()).get(page).content.decode(), page)
        if form.action == reverse("room-piece-undo", args=[room.pk, key])
    )
    browser(ada()).post(undo.action, undo.data())
    piece = PlacedPiece.objects.get()
    assert (piece.state, piece.ended_at, piece.told) == (kind, None, [])
    assert DoneMark.objects.count() == ticks
    assert boards_of(room) == before
    assert Cutout.objects.filter(name=BOX["name"]).exists()


def test_boards_taken_down_for_a_shorter_room_are_put_back_the_last_one_first(room, by):
    keys = [place.key for place in places(room) if place.key.startswith("A.")]
    for key in keys:
        tick(by=by, room=room, kind="hung", item=key)
    url, data = size_form(room, room_length="10'")
    _, form = ask(url, data)
    answer(url, form, "down")
    with pytest.raises(Refused, match="Undo that first"):
        undo_told(by=by, room=room, key=keys[0])
    for key in reversed(keys):
        undo_told(by=by, room=room, key=key)
    assert {piece.state for piece in PlacedPiece.objects.all()} == {"hung"}
    said = " ".join(one.message for one in board_of(room).view.amiss)
    assert all(f"{key.rpartition('.')[2]} reaches" in said for key in keys)


# What is amiss, and a surface planned anew


@pytest.fixture
def low(room, hung):
    """The ceiling was measured lower after a board was hung, and the board stays."""
    url, data = size_form(room, ceiling_height="3' 6\"")
    _, form = ask(url, data)
    answer(url, form, "keep")
    return room


def text_of(url):
    return " ".join(browser(ada()).get(url).content.decode().split())


def test_what_is_amiss_is_said_on_the_pages_of_the_room_and_the_surface(low, hung):
    for url in (
        reverse("room-detail", args=[low.pk]),
        reverse("surface-detail", args=[low.pk, "A"]),
    ):
        text = text_of(url)
        assert "Good to know" in text
        assert f"{hung.mark} reaches" in text
        assert f"Piece {hung.mark}" not in text
    assert "Good to know" not in text_of(reverse("surface-detail", args=[low.pk, "B"]))


def test_what_is_amiss_is_measured_as_the_house_measures(room, by, hung):
    House.objects.update(units="mm")
    url, data = size_form(room, ceiling_height="1000 mm")
    _, form = ask(url, data)
    answer(url, form, "keep")
    found = [one.message for one in board_of(room).view.amiss if "reaches" in one.message]
    assert found
    assert all(" mm past" in message for message in found)


def anew(room, key="B"):
    return reverse("surface-anew", args=[room.pk, key])


def test_surface_page_offers_to_plan_anew_where_a_plan_stands_with_open_pieces(room, by):
    page = reverse("surface-detail", args=[room.pk, "A"])
    assert "Plan this surface anew" not in text_of(page)
    for key in [place.key for place in places(room) if place.key.startswith("A.")]:
        tick(by=by, room=room, kind="hung", item=key)
    assert "Plan this surface anew" not in text_of(page)
    assert "Plan this surface anew" in text_of(reverse("surface-detail", args=[room.pk, "B"]))


def test_planning_anew_says_what_it_changes_and_changes_nothing_yet(room, hung):
    before = boards_of(room)
    assert "Boards that go" not in text_of(anew(room))
    text = browser(ada()).post(anew(room), {"show": "yes"}).content.decode()
    assert "Boards that go" in text
    assert "Nothing but the marks" in text
    assert boards_of(room) == before
    assert PlacedPiece.objects.get().state == "hung"


def test_surface_is_planned_anew_once_a_press(room, hung):
    url = anew(room)
    form = form_of(browser(ada()).post(url, {"show": "yes"}), url)
    first = browser(ada()).post(url, form.data())
    assert first["Location"] == reverse("surface-detail", args=[room.pk, "B"])
    after = boards_of(room)
    assert browser(ada()).post(url, form.data()).status_code == 302
    assert boards_of(room) == after
    assert hung.mark in after


def test_page_older_than_the_plan_shows_what_it_would_change_now(room, by, hung):
    url = anew(room)
    form = form_of(browser(ada()).post(url, {"show": "yes"}), url)
    room_resize(by=by, room=room, length=12 * FOOT, width=10 * FOOT + 2 * INCH)
    before = boards_of(room)
    response = browser(ada()).post(url, form.data())
    assert response.status_code == 409
    assert "changed since this page was made" in response.content.decode()
    assert boards_of(room) == before


def test_surface_without_open_pieces_is_not_planned_anew(room, by):
    assert "No accepted plan has this surface" in text_of(anew(room))
    for key in [place.key for place in places(room) if place.key.startswith("A.")]:
        tick(by=by, room=room, kind="hung", item=key)
    assert "nothing to plan" in text_of(anew(room, "A"))
