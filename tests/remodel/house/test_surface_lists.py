"""A room as a plain list of surfaces, and walls put in the order they are hung."""

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.house.models import Room, Wall
from remodel.house.services import room_add_surfaces, room_change
from remodel.house.things import opening_add
from tests.remodel.factories import ada
from tests.remodel.site import HTMX, browser

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def listed(house):
    return room_add_surfaces(
        by=By(ada()),
        house=house,
        name="Stair",
        surfaces=[("", "wall", 12 * FOOT, 8 * FOOT), ("Slope", "ceiling", 10 * FOOT, 4 * FOOT)],
    )


@pytest.fixture
def client():
    return browser(ada())


def rows(*given, **more):
    data = {"surfaces": str(len(given)), **more}
    for at, (kind, width, height, name) in enumerate(given):
        data |= {
            f"surface-{at}-kind": kind,
            f"surface-{at}-width": width,
            f"surface-{at}-height": height,
            f"surface-{at}-name": name,
        }
    return data


START = {
    "name": "Attic",
    "measured_to": "framing",
    "studs": str(int(16 * INCH)),
    "joists_run": "unknown",
}
START |= {"joists": str(int(16 * INCH)), "save": "yes"}


def stood(room):
    """The rows of a room's page as they stand, ready to be sent back."""
    data = rows(
        *[
            (w.kind, f"{w.length // INCH} in", f"{w.height // INCH} in", w.name)
            for w in room.walls.all()
        ]
    )
    for at, wall in enumerate(room.walls.all()):
        data |= {f"surface-{at}-wall": str(wall.pk)}
    return data | {"save": "yes", "seen": str(Seen.of(room, *room.walls.all(), Wall))}


def test_room_is_added_as_a_list_of_surfaces(client, house):
    url = reverse("room-add-surfaces", args=[house.pk])
    given = rows(("wall", "12'", "8'", ""), ("ceiling", "10'", "4'", "Slope"), ("wall", "", "", ""))
    answer = client.post(url, START | given)
    room = Room.objects.get(name="Attic")
    assert answer["Location"] == reverse("room-edit", args=[room.pk])
    assert [(w.key, w.name, w.kind, w.length, w.height) for w in room.walls.all()] == [
        ("A", "Wall A", "wall", 12 * FOOT, 8 * FOOT),
        ("B", "Slope", "ceiling", 10 * FOOT, 4 * FOOT),
    ]


def test_listed_surfaces_get_boards(listed):
    view = view_of(listed)
    assert view is not None
    assert all(surface.pieces for surface in view.surfaces)


def test_row_is_added_without_script_and_nothing_typed_is_lost(client, house):
    url = reverse("room-add-surfaces", args=[house.pk])
    page = client.post(
        url, {"add": "yes", "name": "Attic", **rows(("wall", "12'", "8 x", "Gable"))}
    ).content.decode()
    assert 'name="surfaces" value="2"' in page
    for typed in ("12&#x27;", "8 x", "Gable", "Attic"):
        assert f'value="{typed}"' in page
    assert not Room.objects.filter(name="Attic").exists()


def test_half_a_surface_is_refused_with_an_example(client, house):
    answer = client.post(
        reverse("room-add-surfaces", args=[house.pk]), START | rows(("wall", "12'", "", ""))
    )
    assert answer.status_code == 422
    assert (
        "&quot;Surface 1, height&quot; is empty. Enter it, for example 8" in answer.content.decode()
    )


def test_wall_too_high_is_refused(client, house):
    answer = client.post(
        reverse("room-add-surfaces", args=[house.pk]), START | rows(("wall", "12'", "41'", ""))
    )
    assert (
        "&quot;Surface 1, height&quot; must be at most 40 ft for a wall" in answer.content.decode()
    )


def test_room_without_any_surface_is_refused(client, house):
    answer = client.post(
        reverse("room-add-surfaces", args=[house.pk]), START | rows(("wall", "", "", ""))
    )
    assert answer.status_code == 422
    assert "A room has at least one surface" in answer.content.decode()


def test_surface_is_changed_and_another_added(client, listed):
    data = stood(listed)
    data |= {"surfaces": "3", "surface-0-width": "14'", "surface-2-kind": "wall"}
    data |= {"surface-2-width": "3'", "surface-2-height": "7'", "surface-2-name": ""}
    client.post(reverse("room-surfaces", args=[listed.pk]), data)
    assert [(w.name, w.length) for w in listed.walls.all()] == [
        ("Wall A", 14 * FOOT),
        ("Slope", 10 * FOOT),
        ("Wall C", 3 * FOOT),
    ]


def test_emptied_surface_goes_with_what_stands_on_it_and_undo_brings_both_back(client, listed):
    opening_add(
        by=By(ada()),
        room=listed,
        surface="A",
        name="Door",
        kind="door",
        left=FOOT,
        width=3 * FOOT,
        height=7 * FOOT,
    )
    wall = listed.walls.get(key="A")
    client.post(
        reverse("room-surfaces", args=[listed.pk]),
        stood(listed) | {"surface-0-width": "", "surface-0-height": ""},
    )
    assert (listed.walls.count(), listed.openings.count()) == (1, 0)
    undo(by=By(ada()), group=last_group(wall.pk))
    assert (listed.walls.count(), listed.openings.count()) == (2, 1)


def test_stale_surface_shows_both_values_and_keeps_what_was_typed(client, listed):
    data = stood(listed) | {"surface-0-width": "13'"}
    client.post(reverse("room-surfaces", args=[listed.pk]), data | {"surface-0-width": "15'"})
    answer = client.post(reverse("room-surfaces", args=[listed.pk]), data)
    assert answer.status_code == 409
    assert 'value="13&#x27;"' in answer.content.decode()
    assert listed.walls.get(key="A").length == 15 * FOOT


def test_room_with_an_outline_has_no_list(client, house):
    room = house.rooms.get(name="Kitchen")
    assert client.get(reverse("room-surfaces", args=[room.pk])).status_code == 302


def test_page_of_the_room_leads_to_its_list(client, listed):
    page = client.get(reverse("room-edit", args=[listed.pk])).content.decode()
    assert "2, as a plain list" in page
    assert reverse("room-surfaces", args=[listed.pk]) in page


# The kitchen is 12' by 10': walls A and C are the long ones.


@pytest.fixture
def kitchen(house):
    return house.rooms.get(name="Kitchen")


def order(client, room, **data):
    sent = {f"place-{key}": str(place) for place, key in enumerate("ACBD", start=1)}
    return client.post(
        reverse("room-hang-first", args=[room.pk]), sent | {"seen": str(Seen.of(room))} | data
    )


def test_walls_stand_in_the_order_they_are_hung(client, kitchen):
    page = client.get(reverse("room-hang-first", args=[kitchen.pk])).content.decode()
    names = [part.split("<")[0] for part in page.split('class="place-name">')[1:]]
    assert names == ["Wall A", "Wall C", "Wall B", "Wall D"]


def test_up_moves_a_wall_before_the_one_above(client, kitchen):
    order(client, kitchen, up="B")
    kitchen.refresh_from_db()
    assert kitchen.hang_first == ["A", "B", "C", "D"]


def test_down_moves_a_wall_after_the_one_below(client, kitchen):
    order(client, kitchen, down="A")
    kitchen.refresh_from_db()
    assert kitchen.hang_first == ["C", "A", "B", "D"]


def test_order_is_set_by_number(client, kitchen):
    order(client, kitchen, **{"place-D": "1", "place-A": "4"})
    kitchen.refresh_from_db()
    assert kitchen.hang_first == ["D", "C", "B", "A"]


def test_order_changes_the_size_to_board(client, kitchen):
    """At a corner the wall hung later is shorter by the board of the other."""

    def width(key):
        surface = next(
            surface for surface in view_of(kitchen).surfaces if surface.key == key
        ).framed.surface
        return max(x for x, _ in surface.board_area) - min(x for x, _ in surface.board_area)

    before = width("D")
    order(client, kitchen, **{"place-D": "1", "place-A": "4"})
    assert width("D") > before


def test_same_place_twice_is_refused_and_kept(client, kitchen):
    answer = order(client, kitchen, **{"place-D": "1"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Place of Wall D must be another than that of Wall A, for example 4" in page
    kitchen.refresh_from_db()
    assert kitchen.hang_first == []


def test_up_takes_the_numbers_typed_with_it(client, kitchen):
    order(client, kitchen, up="D", **{"place-B": "1", "place-A": "3"})
    kitchen.refresh_from_db()
    assert kitchen.hang_first == ["B", "C", "D", "A"]


def test_longest_comes_first_again(client, kitchen):
    room_change(by=By(ada()), room=kitchen, hang_first=["D", "A"])
    order(client, kitchen, longest="yes", **{"place-D": "x"})
    kitchen.refresh_from_db()
    assert kitchen.hang_first == []


def test_moving_with_script_stays_on_the_page_and_says_the_order(client, kitchen):
    sent = {f"place-{key}": str(place) for place, key in enumerate("ACBD", start=1)} | {"up": "D"}
    answer = client.post(reverse("room-hang-first", args=[kitchen.pk]), sent, **HTMX)
    assert answer.status_code == 200
    assert "Wall A, Wall C, Wall D, Wall B" in answer.headers["HX-Trigger-After-Settle"]


def test_stale_order_is_told(client, kitchen):
    seen = str(Seen.of(kitchen))
    room_change(by=By(ada()), room=kitchen, hang_first=["D"])
    answer = order(client, kitchen, up="B", seen=seen)
    assert answer.status_code == 409
    kitchen.refresh_from_db()
    assert kitchen.hang_first == ["D"]


def test_removed_wall_leaves_the_order(client, listed):
    room_change(by=By(ada()), room=listed, hang_first=["A"])
    client.post(
        reverse("room-surfaces", args=[listed.pk]),
        stood(listed) | {"surface-0-width": "", "surface-0-height": ""},
    )
    listed.refresh_from_db()
    assert listed.hang_first == []
