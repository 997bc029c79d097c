"""Rooms added in a line or wall by wall, measured again, removed."""

from __future__ import annotations

from html import unescape

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.framings import framing_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Opening, Room, Wall
from remodel.house.services import room_change, wall_change
from remodel.house.things import opening_add
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, small_house, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
OTHER_KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c12"
MISSING = "00000000-0000-0000-0000-000000000000"
START = {
    "key": KEY,
    "measured_to": "framing",
    "studs": "unknown",
    "joists": "unknown",
    "joists_run": "unknown",
}
LINE = START | {"name": "Bath", "line": "12' 6\" x 10' 2\" x 8'"}


def walls_of(*walls: tuple[str, str], **more: str) -> dict[str, str]:
    """The fields of a walk: lengths and turns, as typed."""
    typed = {"walls": str(len(walls)), "save": "yes", **more}
    for index, (length, turn) in enumerate(walls):
        typed |= {f"wall-{index}-length": length, f"wall-{index}-turn": turn}
    return typed


L_SHAPE = walls_of(
    ("10'", "90"), ("6'", "90"), ("4'", "-90"), ("4'", "90"), ("6'", "90"), ("10'", "90")
)
WALK = START | {"name": "Hall", "ceiling_height": "8'"}


def test_room_comes_from_one_line(house):
    response = browser(ada()).post(reverse("room-add", args=[house.pk]), LINE)
    room = Room.objects.get(name="Bath")

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert [wall.length for wall in room.walls.all()][:2] == [150 * INCH, 122 * INCH]
    assert room.ceiling_height == 8 * FOOT


@pytest.mark.parametrize("line", ["12x10x8", "12' x 10' x 8", "12' 6 x 10 x 8'"])
def test_small_number_without_a_mark_is_asked_whether_feet_or_inches(house, line):
    response = browser(ada()).post(reverse("room-add", args=[house.pk]), LINE | {"line": line})

    assert response.status_code == 422
    assert "could be read two ways" in response.content.decode()
    assert line in unescape(response.content.decode())


@pytest.mark.parametrize("line", ["150 x 122 x 96", "12-6 x 10-2 x 8-0", '30" x 24" x 8\''])
def test_inches_that_can_be_nothing_else_need_no_mark(house, line):
    response = browser(ada()).post(reverse("room-add", args=[house.pk]), LINE | {"line": line})

    assert response.status_code == 302


def test_wall_of_a_small_number_without_a_mark_is_asked_about(house):
    walls = walls_of(("12", "90"), ("10'", "90"), ("12'", "90"), ("10'", "90"))
    page = (
        browser(ada())
        .post(reverse("room-add-walls", args=[house.pk]), WALK | walls)
        .content.decode()
    )

    assert "Write 12' if it is feet" in unescape(page)


def test_second_room_of_one_name_is_told_apart(house):
    client = browser(ada())
    client.post(reverse("room-add", args=[house.pk]), LINE)
    response = client.post(
        reverse("room-add", args=[house.pk]), LINE | {"name": "bath", "key": OTHER_KEY}
    )

    assert response.status_code == 422
    assert "Choose another name, for example bath 2" in response.content.decode()


def test_studs_not_known_mark_the_plan_provisional(house):
    client = browser(ada())
    client.post(reverse("room-add", args=[house.pk]), LINE)
    client.post(
        reverse("room-add", args=[house.pk]),
        LINE
        | {"name": "Den", "studs": str(16 * INCH), "joists": str(24 * INCH), "joists_run": "along"},
    )
    bath, den = (view_of(Room.objects.get(name=name)) for name in ("Bath", "Den"))

    assert {surface.framed.provisional for surface in bath.surfaces} == {True}
    assert {surface.framed.provisional for surface in den.surfaces} == {False}
    assert framing_of(Room.objects.get(name="Den").ceiling_framing).runs.value == "along"


def test_finished_room_takes_no_board(house):
    browser(ada()).post(reverse("room-add", args=[house.pk]), LINE | {"finished": "on"})
    room = Room.objects.get(name="Bath")

    assert room.finished
    assert view_of(room).sheets == ()


def test_what_the_last_room_said_is_offered_for_the_next(house):
    client = browser(ada())
    client.post(
        reverse("room-add", args=[house.pk]),
        LINE | {"measured_to": "finished", "studs": str(24 * INCH)},
    )
    form = client.get(reverse("room-add", args=[house.pk])).context["form"]

    assert form["measured_to"].value() == "finished"
    assert form["studs"].value() == str(24 * INCH)


@pytest.mark.parametrize("more", [{}, HTMX])
@pytest.mark.parametrize(
    "line",
    [
        "",
        "12 6 x 10",
        "12' x 10'",
        "0 x 10' x 8'",
        "12' x 10' x 8' x 9'",
        "12' x 6 1 x 8'",
        "x" * 200,
    ],
)
def test_line_that_cannot_be_read_is_kept_with_an_example(house, line, more):
    response = browser(ada()).post(
        reverse("room-add", args=[house.pk]), LINE | {"line": line}, **more
    )
    page = response.content.decode()

    assert response.status_code == 422
    assert "error-summary" in page
    assert 'value="Bath"' in page
    assert response.context["form"]["line"].value() == line
    assert "for example" in " ".join(response.context["form"].errors["line"]) or not line
    assert not Room.objects.filter(name="Bath").exists()


def test_other_spacing_must_be_said(house):
    response = browser(ada()).post(reverse("room-add", args=[house.pk]), LINE | {"studs": "other"})

    assert response.status_code == 422
    assert (
        "&quot;The other stud spacing&quot; is empty. Enter it, for example"
        in response.content.decode()
    )


def test_room_sent_twice_by_one_page_is_one_room(house):
    client = browser(ada())
    for _ in range(2):
        assert client.post(reverse("room-add", args=[house.pk]), LINE).status_code == 302

    assert Room.objects.filter(name="Bath").count() == 1


def test_line_is_read_back_in_words(house):
    client = browser(ada())

    words = client.get(
        reverse("line-readback"), {"line": LINE["line"], "units": "in"}
    ).content.decode()
    assert words == "Reads as 12 ft 6 in long, 10 ft 2 in wide, 8 ft 0 in high"
    assert (
        client.get(reverse("line-readback"), {"line": "<b>"})
        .content.decode()
        .startswith("Not read yet")
    )
    assert b"<b>" not in client.get(reverse("line-readback"), {"line": "<b>"}).content


def test_room_is_walked_wall_by_wall(house):
    response = browser(ada()).post(reverse("room-add-walls", args=[house.pk]), WALK | L_SHAPE)
    room = Room.objects.get(name="Hall")

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert room.shape == "walls"
    assert view_of(room).floor_area == (10 * 6 + 6 * 4) * FOOT**2


def test_walls_left_empty_are_not_there(house):
    walls = walls_of(("10'", "90"), ("8'", "90"), ("", "90"), ("10'", "90"), ("8'", "90"))
    browser(ada()).post(reverse("room-add-walls", args=[house.pk]), WALK | walls)

    assert [wall.key for wall in Room.objects.get(name="Hall").walls.all()] == ["A", "B", "C", "D"]


def test_check_draws_and_keeps_nothing(house):
    data = {**WALK, **L_SHAPE, "check": "yes"}
    del data["save"]
    response = browser(ada()).post(reverse("room-add-walls", args=[house.pk]), data)
    page = response.content.decode()

    assert response.status_code == 200
    assert "It closes exactly." in page
    assert "<polygon" in page
    assert response.context["walk"].forms[2]["turn"].value() == "-90"
    assert not Room.objects.filter(name="Hall").exists()


def test_outline_part_says_what_is_missing_to_close(house):
    url = reverse("room-outline", args=[house.pk])
    walls = walls_of(("10'", "90"), ("8'", "90"), ("10'", "90"), ("7' 6\"", "90"))
    page = browser(ada()).post(url, walls, **HTMX).content.decode()

    assert "It does not close yet: 6&quot;" in page
    assert "seam-floating" in page
    assert browser(cy()).post(url, walls).status_code == 404
    assert browser(ada()).get(url).status_code == 405


@pytest.mark.parametrize("typed", ["", "6 1", "-3", "9" * 60, "<b>"])
def test_outline_part_draws_up_to_what_cannot_be_read(house, typed):
    walls = walls_of(("10'", "90"), (typed, "90"), ("10'", "nonsense"))
    response = browser(ada()).post(reverse("room-outline", args=[house.pk]), walls, **HTMX)

    assert response.status_code == 200
    assert b"<b>" not in response.content


def test_another_wall_is_put_after_the_one_pressed(house):
    data = {**WALK, **walls_of(("10'", "90"), ("8'", "90"), ("10'", "90")), "after": "0"}
    del data["save"]
    response = browser(ada()).post(reverse("room-add-walls", args=[house.pk]), data, **HTMX)

    assert [form["length"].value() for form in response.context["walk"].forms] == [
        "10'",
        None,
        "8'",
        "10'",
    ]


def test_walk_that_does_not_close_is_refused_with_what_was_typed(house):
    walls = walls_of(("10'", "90"), ("8'", "90"), ("10'", "90"), ("6'", "90"))
    response = browser(ada()).post(reverse("room-add-walls", args=[house.pk]), WALK | walls)
    page = response.content.decode()

    assert response.status_code == 422
    assert "does not close" in page
    assert "Error: " in page
    assert [form["length"].value() for form in response.context["walk"].forms] == [
        "10'",
        "8'",
        "10'",
        "6'",
    ]
    assert not Room.objects.filter(name="Hall").exists()


def test_walk_with_an_unread_length_names_the_wall(house):
    walls = walls_of(("10'", "90"), ("6 1", "90"), ("10'", "other"))
    page = (
        browser(ada())
        .post(reverse("room-add-walls", args=[house.pk]), WALK | walls)
        .content.decode()
    )

    assert "&quot;Wall B, length&quot;: " in page
    assert "&quot;Wall C, angle&quot; is empty. Enter it in degrees, for example 45" in page
    assert 'href="#id_wall-1-length"' in page


def walked(room: Room, **changes: str) -> dict[str, str]:
    """The fields of the walls page as it stands."""
    typed = {
        "walls": str(room.walls.count()),
        "save": "yes",
        "key": KEY,
        "seen": str(Seen.of(room, *room.walls.all(), Wall)),
    }
    for index, wall in enumerate(room.walls.all()):
        typed |= {
            f"wall-{index}-wall": str(wall.pk),
            f"wall-{index}-length": f"{wall.length // INCH} in",
            f"wall-{index}-turn": str(int(wall.turn)),
            f"wall-{index}-name": wall.name,
        }
    return typed | changes


def test_walls_are_changed_in_one_go_that_undo_takes_back(room):
    client = browser(ada())
    data = walked(
        room, **{"wall-0-length": "14'", "wall-2-length": "14'", "wall-0-name": "Door wall"}
    )
    assert client.post(reverse("room-walls", args=[room.pk]), data).status_code == 302
    wall = room.walls.get(key="A")
    assert (wall.length, wall.name, Room.objects.get(pk=room.pk).shape) == (
        14 * FOOT,
        "Door wall",
        "walls",
    )

    client.post(reverse("change-undo", args=[last_group(wall.pk)]))
    wall.refresh_from_db()
    assert (wall.length, wall.name, Room.objects.get(pk=room.pk).shape) == (
        12 * FOOT,
        "Wall A",
        "quick",
    )


def test_walls_added_keep_the_keys_of_the_others(room):
    data = walked(room)
    typed = [
        ("12'", "90", "A"),
        ("6'", "90", "B"),
        ("4'", "-90", ""),
        ("4'", "90", ""),
        ("8'", "90", "C"),
        ("10'", "90", "D"),
    ]
    ids = {wall.key: wall for wall in room.walls.all()}
    data = {key: value for key, value in data.items() if not key.startswith("wall-")} | {
        "walls": "6"
    }
    for index, (length, turn, key) in enumerate(typed):
        data |= {f"wall-{index}-length": length, f"wall-{index}-turn": turn}
        if key:
            data |= {f"wall-{index}-wall": str(ids[key].pk)}
    response = browser(ada()).post(reverse("room-walls", args=[room.pk]), data)

    assert response.status_code == 302
    assert [wall.key for wall in room.walls.all()] == ["A", "B", "E", "F", "C", "D"]
    assert view_of(Room.objects.get(pk=room.pk)).floor_area == (12 * 10 - 4 * 4) * FOOT**2


def test_stale_wall_is_told_with_both_values(room):
    share(room.house, ben())
    data = walked(room, **{"wall-0-name": "Ada's wall"})
    wall_change(by=By(ben()), wall=room.walls.get(key="A"), name="Ben's wall")
    client = browser(ada())
    response = client.post(reverse("room-walls", args=[room.pk]), data)
    page = response.content.decode()

    assert response.status_code == 409
    assert "Ada&#x27;s wall" in page
    assert "Ben&#x27;s wall" in page
    seen = response.context["form"]["seen"].value()
    assert (
        client.post(reverse("room-walls", args=[room.pk]), data | {"seen": seen}).status_code == 302
    )
    assert Wall.objects.get(room=room, key="A").name == "Ada's wall"


def test_walls_of_another_room_are_not_taken_over(room):
    other = small_house(cy()).rooms.get()
    data = walked(room, **{"wall-0-wall": str(other.walls.get(key="A").pk)})
    browser(ada()).post(reverse("room-walls", args=[room.pk]), data)

    assert other.walls.get(key="A").length == 12 * FOOT
    assert other.walls.get(key="A").room_id == other.pk


SIZE = {
    "key": KEY,
    "name": "Kitchen",
    "code": "K",
    "room_length": "14'",
    "room_width": "10'",
    "ceiling_kind": "flat",
    "ceiling_height": "9'",
    "measured_to": "framing",
}


def test_size_is_changed_and_boards_follow(room):
    before = view_of(room).floor_area
    response = browser(ada()).post(
        reverse("room-size", args=[room.pk]),
        SIZE | {"seen": str(Seen.of(room)), "name": "Big kitchen"},
    )
    changed = Room.objects.get(pk=room.pk)

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert (changed.name, changed.ceiling_height) == ("Big kitchen", 9 * FOOT)
    assert before == 120 * FOOT**2
    assert view_of(changed).floor_area == 140 * FOOT**2


VAULT = {
    "ceiling_kind": "vault",
    "ceiling_height": "4'",
    "ceiling_low_wall": "A",
    "ceiling_high": "8'",
    "ceiling_flat_at": "3'",
    "ceiling_flat_width": "4'",
}


def test_ceiling_with_a_flat_top_is_saved_and_shows_its_planes(room):
    client = browser(ada())
    url = reverse("room-size", args=[room.pk])
    client.post(url, SIZE | VAULT | {"seen": str(Seen.of(room))})
    room.refresh_from_db()

    assert (room.ceiling_flat_at, room.ceiling_flat_width) == (3 * FOOT, 4 * FOOT)
    page = client.get(reverse("room-edit", args=[room.pk])).content.decode()
    for plane in ("near slope", "flat part", "far slope"):
        assert f"Ceiling, {plane}" in page


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (
            {"ceiling_flat_at": ""},
            "flat part, measured level&quot; is empty. Enter it, for example",
        ),
        (
            {"ceiling_flat_width": "9'"},
            "flat part of the ceiling would reach past the far wall",
        ),
        ({"ceiling_high": "4'"}, "high point must be above its eaves"),
    ],
)
def test_ceiling_with_a_flat_top_that_cannot_be_comes_back(room, wrong, message):
    url = reverse("room-size", args=[room.pk])
    data = SIZE | VAULT | wrong | {"seen": str(Seen.of(room))}
    response = browser(ada()).post(url, data)

    assert response.status_code == 422
    assert message in response.content.decode()


def test_gable_asks_for_its_low_wall_and_high_point(room):
    url = reverse("room-size", args=[room.pk])
    page = (
        browser(ada())
        .post(url, SIZE | {"seen": str(Seen.of(room)), "ceiling_kind": "gable"})
        .content.decode()
    )
    assert "&quot;The low wall&quot; is empty. Choose it" in page
    assert (
        "&quot;Floor to the highest point&quot; is empty. Enter it, for example 11&#x27; 6&quot;"
        in page
    )

    data = SIZE | {
        "seen": str(Seen.of(room)),
        "ceiling_kind": "gable",
        "ceiling_low_wall": "A",
        "ceiling_high": "12'",
    }
    assert browser(ada()).post(url, data).status_code == 302
    assert {surface.key for surface in view_of(Room.objects.get(pk=room.pk)).surfaces} >= {
        "ceiling-near",
        "ceiling-far",
    }


def test_stale_size_is_told_with_both_values(room):
    share(room.house, ben())
    seen = str(Seen.of(room))
    room_change(by=By(ben()), room=Room.objects.get(pk=room.pk), name="Ben's kitchen")
    response = browser(ada()).post(reverse("room-size", args=[room.pk]), SIZE | {"seen": seen})

    assert response.status_code == 409
    assert "Ben&#x27;s kitchen" in response.content.decode()
    assert response.context["form"]["seen"].value().startswith(f"{room.pk.hex}:{room.version + 1} ")


def test_framing_of_a_room_is_kept_and_given_up(room):
    url = reverse("room-framing", args=[room.pk])
    data = {
        "key": KEY,
        "seen": str(Seen.of(room)),
        "studs": "other",
        "studs_other": "19 in",
        "first_stud": '15 1/4"',
        "joists": str(24 * INCH),
        "joists_run": "across",
        "first_joist": "",
        "joist_start": "yes",
        "joist_end": "unknown",
    }
    assert browser(ada()).post(url, data).status_code == 302
    changed = Room.objects.get(pk=room.pk)
    wall, ceiling = framing_of(changed.wall_framing), framing_of(changed.ceiling_framing)
    assert (wall.spacing, wall.first) == (19 * INCH, 15 * INCH + INCH // 4)
    assert (ceiling.runs.value, ceiling.start_backed, ceiling.end_backed) == ("across", True, None)
    shown = browser(ada()).get(url).context["form"]
    assert (shown["studs"].value(), shown["studs_other"].value()) == ("other", "1' 7\"")

    nothing = {
        "studs": "unknown",
        "joists": "unknown",
        "joists_run": "unknown",
        "first_stud": "",
        "joist_start": "unknown",
    }
    browser(ada()).post(url, data | {"seen": str(Seen.of(changed)), "studs_other": ""} | nothing)
    changed.refresh_from_db()
    assert (changed.wall_framing, changed.ceiling_framing) == (None, None)


FINISH = {
    "key": KEY,
    "wall_board": f"regular {INCH // 2}",
    "ceiling_board": "",
    "longest_board": "10'",
    "heaviest_lift": "90",
    "wall_level": "4",
    "ceiling_level": "3",
    "compound": "drying",
    "tape": "paper",
    "primer_coats": "1",
    "paint_coats": "2",
}


def test_boards_and_finish_are_kept(room):
    data = FINISH | {"seen": str(Seen.of(room))}
    assert browser(ada()).post(reverse("room-finish", args=[room.pk]), data).status_code == 302
    changed = Room.objects.get(pk=room.pk)

    assert (changed.wall_board_kind, changed.wall_board_thickness) == ("regular", INCH // 2)
    assert (changed.longest_board, changed.heaviest_lift, changed.ceiling_level) == (
        10 * FOOT,
        90,
        3,
    )


def test_mesh_with_drying_compound_is_refused_in_words(room):
    data = FINISH | {"seen": str(Seen.of(room)), "tape": "mesh"}
    response = browser(ada()).post(reverse("room-finish", args=[room.pk]), data)

    assert response.status_code == 422
    assert "Mesh tape goes with setting compound only" in response.content.decode()


def test_room_removed_is_brought_back_by_undo_with_all_in_it(room):
    by = By(ada())
    opening_add(
        by=by,
        room=room,
        surface="A",
        kind="door",
        left=3 * FOOT,
        sill=0,
        width=34 * INCH,
        height=82 * INCH,
    )
    with_partition(room, ada())
    client = browser(ada())
    page = client.post(reverse("room-remove", args=[room.pk]), follow=True)
    assert not Room.objects.exists()
    assert "Removed Kitchen." in page.content.decode()

    client.post(reverse("change-undo", args=[last_group(room.pk)]))
    assert sorted(Room.objects.values_list("name", flat=True)) == ["Closet", "Kitchen"]
    assert Opening.objects.filter(room=room).count() == 1


ROOM_PAGES = ["room-edit", "room-size", "room-walls", "room-framing", "room-finish"]


@pytest.mark.parametrize("name", ROOM_PAGES)
def test_stranger_and_missing_room_are_not_there(room, name):
    url = reverse(name, args=[room.pk])

    assert browser(ada()).get(url).status_code == 200
    assert browser(cy()).get(url).status_code == 404
    assert browser(ada()).get(reverse(name, args=[MISSING])).status_code == 404
    assert browser(ada()).delete(url).status_code == 405
    if name != "room-edit":
        assert browser(cy()).post(url, {}).status_code == 404


@pytest.mark.parametrize("name", ["room-add", "room-add-walls"])
def test_stranger_and_missing_house_take_no_room(house, name):
    url = reverse(name, args=[house.pk])

    assert browser(ada()).get(url).status_code == 200
    assert browser(cy()).get(url).status_code == 404
    assert browser(cy()).post(url, LINE).status_code == 404
    assert browser(ada()).get(reverse(name, args=[MISSING])).status_code == 404
    assert browser(ada()).put(url).status_code == 405


def test_stranger_removes_no_room(room):
    url = reverse("room-remove", args=[room.pk])

    assert browser(cy()).post(url).status_code == 404
    assert browser(ada()).get(url).status_code == 405
    assert Room.objects.filter(pk=room.pk).exists()
