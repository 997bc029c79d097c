"""The page of what is built into a room and taken out of it."""

from __future__ import annotations

import html

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge import house_value
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.services import By
from remodel.house.models import Opening, Room
from remodel.house.things import opening_add, surface_choice_set
from tests.remodel.factories import ada
from tests.remodel.page_forms import forms_of
from tests.remodel.site import browser

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

SOFFIT = {
    "built-0-kind": ["soffit"],
    "built-0-name": ["Cabinet soffit"],
    "built-0-wall": ["A"],
    "built-0-left": ["2 ft"],
    "built-0-width": ["4 ft"],
    "built-0-depth": ["13 in"],
    "built-0-height": ["12 in"],
}
WALL_OUT = {
    "out-0-name": ["Pantry wall"],
    "out-0-wall": ["A"],
    "out-0-at": ["3 ft"],
    "out-0-length": ["5 ft"],
    "out-0-end": ["C"],
}


def page_of(room):
    url = reverse("room-built", args=[room.pk])
    client = browser(ada())
    (form,) = (
        one for one in forms_of(client.get(url).content.decode(), url) if "builts" in one.data()
    )
    return client, url, form.data()


def save(room, **changes):
    client, url, data = page_of(room)
    return client.post(url, data | changes)


def refusal(response) -> str:
    assert response.status_code == 422
    return html.unescape(response.content.decode())


def test_soffit_is_kept_with_a_letter_and_boarded(room):
    response = save(room, **SOFFIT)

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    (soffit,) = house_value(Room.objects.get().house).room(room.key).built
    assert (soffit.id, soffit.letter, soffit.width) == ("cabinet-soffit", "E", 4 * FOOT)
    marks = {surface.key for surface in view_of(Room.objects.get()).surfaces}
    assert {"cabinet-soffit-front", "cabinet-soffit-under", "cabinet-soffit-left"} <= marks


def test_one_that_is_removed_does_not_leave_its_letter_to_the_next(room):
    save(room, **SOFFIT)
    save(room, **{"built-0-kind": [""], **{f"built-0-{name}": [""] for name in SIZES}})
    save(room, **SOFFIT | {"built-0-name": ["Another"]})

    (again,) = house_value(Room.objects.get().house).room(room.key).built
    assert (again.id, again.letter) == ("another", "F")


SIZES = ("left", "width", "depth", "height")


def test_one_on_which_something_is_chosen_stays_until_that_is_gone(room):
    save(room, **SOFFIT)
    surface_choice_set(
        by=By(ada()), room=Room.objects.get(), surface="cabinet-soffit-front", wet=True
    )

    text = refusal(
        save(room, **{"built-0-kind": [""], **{f"built-0-{name}": [""] for name in SIZES}})
    )

    assert "Cabinet soffit, front would be gone, and something is on it: A choice for it" in text


def test_wall_that_comes_out_is_kept_and_told_on_the_rooms_page(room):
    save(room, **WALL_OUT)
    (wall,) = house_value(Room.objects.get().house).room(room.key).taken_out

    assert (wall.at, wall.length, wall.thickness, wall.end) == (
        3 * FOOT,
        5 * FOOT,
        9 * INCH // 2,
        "C",
    )
    page = browser(ada()).get(reverse("room-edit", args=[room.pk])).content.decode()
    assert "Pantry wall (comes out)" in page
    form = page_of(room)[2]
    assert form["out-0-name"] == ["Pantry wall"]
    assert {"out-1-length", "built-0-kind"} <= form.keys()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (
            SOFFIT | {"built-0-height": [""]},
            '"Built-in 1, height" is empty. Measure it up and down',
        ),
        (
            SOFFIT | {"built-0-kind": [""]},
            "Choose soffit, chase, skylight well or stairs, or clear",
        ),
        (SOFFIT | {"built-0-left": ["40 ft"]}, "enter another left or width"),
        (SOFFIT | {"built-0-height": ["9 ft"]}, "make its height less, or give it as a chase"),
        ({"out-0-at": ["3 ft"]}, '"Wall out 1, length" is empty. Measure the wall'),
        (WALL_OUT | {"out-0-end": ["A"]}, "give the wall across from it as end"),
    ],
    ids=["height", "kind", "left", "too high", "length", "end"],
)
def test_what_cannot_be_built_is_refused_with_what_to_enter_and_stays_typed(room, typed, says):
    response = save(room, **typed)

    assert says in refusal(response)
    for field, (value,) in typed.items():
        if value and not field.endswith(("kind", "wall", "end")):
            assert f'value="{value}"' in response.content.decode()
    assert Room.objects.get().built == []


def test_door_is_said_to_be_closed_and_cut(room):
    door = opening_add(
        by=By(ada()),
        room=room,
        surface="A",
        name="Old door",
        kind="door",
        left=FOOT,
        width=34 * INCH,
        height=82 * INCH,
    )
    url = reverse("opening-edit", args=[door.pk])
    client = browser(ada())
    form = next(
        one for one in forms_of(client.get(url).content.decode(), url) if "found" in one.data()
    )

    refused = client.post(url, form.data() | {"nonbearing": ["on"]})
    assert 'or choose that under "As found"' in refusal(refused)
    client.post(url, form.data() | {"found": ["closed"]})
    assert Opening.objects.get().found == "closed"
