"""What is chosen for one surface, and the members behind it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge.framings import framing_of
from remodel.bridge.lengths import INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Room, SurfaceChoice
from remodel.house.things import surface_choice_set
from tests.remodel.factories import ada, ben, cy
from tests.remodel.site import HTMX, browser, share, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"
MISSING = "00000000-0000-0000-0000-000000000000"
PLAIN = {
    "key": KEY,
    "action": "board",
    "lining": "",
    "board": "",
    "orientation": "house",
    "joint_mode": "house",
    "rated": "",
    "spacing": "room",
    "spacing_other": "",
    "first": "",
    "runs": "unknown",
    "substrate": "wood",
    "extra": "",
    "missing": "",
    "start_backed": "unknown",
    "end_backed": "unknown",
    "members": "2",
    "member-0-at": "",
    "member-0-out_by": "",
    "member-0-remedy": "shim",
    "member-1-at": "",
    "member-1-out_by": "",
    "member-1-remedy": "shim",
}


def url_of(room, key: str = "B", name: str = "surface-edit") -> str:
    return reverse(name, args=[room.pk, key])


def test_wall_left_as_it_is_gets_no_board(room):
    response = browser(ada()).post(url_of(room), PLAIN | {"action": "leave", "lining": '1/2"'})
    choice = SurfaceChoice.objects.get()

    assert response["Location"] == reverse("room-edit", args=[room.pk])
    assert (choice.wall.key, choice.action, choice.lining) == ("B", "leave", INCH // 2)
    wall = next(surface for surface in view_of(Room.objects.get()).surfaces if surface.key == "B")
    assert wall.pieces == ()


def test_board_orientation_and_joints_are_chosen(room):
    data = PLAIN | {
        "board": f"regular {INCH // 2}",
        "orientation": "across",
        "joint_mode": "framing",
        "wet": "on",
    }
    browser(ada()).post(url_of(room), data)
    choice = SurfaceChoice.objects.get()

    assert (choice.board_kind, choice.board_thickness) == ("regular", INCH // 2)
    assert (choice.orientation, choice.joint_mode, choice.wet, choice.framing) == (
        "across",
        "framing",
        True,
        None,
    )


def test_floating_seams_are_offered_with_the_caution(room):
    page = browser(ada()).get(url_of(room)).content.decode()

    assert "Model codes ask that board ends land on framing" in page
    assert "ask your local inspector" in page


def test_members_of_its_own_are_kept_one_by_one(room):
    data = PLAIN | {
        "spacing": str(16 * INCH),
        "first": '3/4"',
        "runs": "across",
        "extra": "70 in, 30 in",
        "missing": "",
        "start_backed": "yes",
        "member-0-at": '48 3/4"',
        "member-0-out_by": '3/16"',
        "member-1-at": '80 3/4"',
        "member-1-out_by": '1/4"',
        "member-1-remedy": "sister",
    }
    assert browser(ada()).post(url_of(room), data).status_code == 302
    framing = framing_of(SurfaceChoice.objects.get().framing)

    assert (framing.spacing, framing.first, framing.extra) == (
        16 * INCH,
        3 * INCH // 4,
        (30 * INCH, 70 * INCH),
    )
    assert [(member.out_by, member.remedy.value) for member in framing.uneven] == [
        (3 * INCH // 16, "shim"),
        (INCH // 4, "sister"),
    ]
    assert framing.start_backed is True
    context = browser(ada()).get(url_of(room)).context
    assert context["form"]["extra"].value() == "2' 6\", 5' 10\""
    assert len(context["members"]) == 4


def test_members_not_known_are_provisional(room):
    browser(ada()).post(url_of(room), PLAIN | {"spacing": str(24 * INCH)})
    browser(ada()).post(
        url_of(room),
        PLAIN
        | {"spacing": "unknown", "seen": str(Seen.of(SurfaceChoice.objects.get())), "key": MISSING},
    )

    wall = next(surface for surface in view_of(Room.objects.get()).surfaces if surface.key == "B")
    assert wall.framed.provisional


def test_single_members_are_not_dropped_in_silence(room):
    response = browser(ada()).post(url_of(room), PLAIN | {"extra": "70 in"})

    assert response.status_code == 422
    assert "this surface has members of its own, so choose a spacing" in response.content.decode()
    assert response.context["form"]["extra"].value() == "70 in"


@pytest.mark.parametrize("more", [{}, HTMX])
@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (
            {"action": "burn"},
            "&quot;What happens to it&quot; must be one of the choices on the page",
        ),
        ({"lining": "9 9"}, "&quot;Old lining, how thick&quot;: "),
        ({"spacing": "other"}, "&quot;The other spacing&quot; is empty. Enter it, for example"),
        (
            {"spacing": "other", "spacing_other": "2 in"},
            "&quot;The other spacing&quot; must be from",
        ),
        ({"member-0-at": "3'"}, "&quot;Member 1, back by&quot; is empty. Enter it, or empty both"),
        (
            {"spacing": str(16 * INCH), "extra": "70, x"},
            "&quot;Extra studs or joists: where is each center?&quot;: ",
        ),
        ({"spacing": str(16 * INCH), "extra": "90'"}, "Wall B"),
    ],
)
def test_what_cannot_be_comes_back_as_typed(room, wrong, message, more):
    response = browser(ada()).post(url_of(room), PLAIN | wrong, **more)
    page = response.content.decode()

    assert response.status_code == 422
    assert "error-summary" in page
    assert message in page
    for name, value in wrong.items():
        form = (
            response.context["members"][0]
            if name.startswith("member-0")
            else response.context["form"]
        )
        assert form[name.rpartition("-")[2]].value() == value
    assert not SurfaceChoice.objects.exists()


def test_choice_sent_twice_by_one_page_is_one(room):
    client = browser(ada())
    for _ in range(2):
        assert client.post(url_of(room), PLAIN | {"tiled": "on"}).status_code == 302

    assert SurfaceChoice.objects.get().version == 1


def test_stale_choice_is_told_with_both_values(room):
    share(room.house, ben())
    seen = str(
        Seen.of(
            surface_choice_set(by=By(ben()), room=room, surface="B", action="patch"), SurfaceChoice
        )
    )
    surface_choice_set(by=By(ben()), room=room, surface="B", rated="Ben's assembly")
    data = PLAIN | {"seen": seen, "rated": "Ada's assembly"}
    client = browser(ada())
    response = client.post(url_of(room), data)
    page = response.content.decode()

    assert response.status_code == 409
    assert "Ben&#x27;s assembly" in page
    assert "Ada&#x27;s assembly" in page
    data["seen"] = response.context["form"]["seen"].value()
    assert client.post(url_of(room), data).status_code == 302
    assert SurfaceChoice.objects.get().rated == "Ada's assembly"


def test_going_back_to_the_room_is_undone(room):
    choice = surface_choice_set(by=By(ada()), room=room, surface="B", action="patch")
    client = browser(ada())
    page = client.post(url_of(room, name="surface-clear"), follow=True).content.decode()
    assert not SurfaceChoice.objects.exists()
    assert "Removed what was chosen for Wall B." in page

    client.post(reverse("change-undo", args=[last_group(choice.pk)]))
    assert SurfaceChoice.objects.get().action == "patch"


def test_ceiling_and_partition_face_have_pages_of_their_own(room):
    partition = with_partition(room, ada())

    for key in ("ceiling", partition.key):
        assert browser(ada()).post(url_of(room, key), PLAIN | {"tiled": "on"}).status_code == 302
    assert sorted(SurfaceChoice.objects.values_list("plane", flat=True)) == [
        "ceiling",
        partition.key,
    ]


def test_stranger_and_missing_are_not_there(room):
    for name in ("surface-edit", "surface-clear"):
        assert browser(cy()).post(url_of(room, name=name), PLAIN).status_code == 404
        assert browser(ada()).post(url_of(room, "Z", name), PLAIN).status_code == 404
        assert browser(ada()).delete(url_of(room, name=name)).status_code == 405
        assert browser(ada()).post(reverse(name, args=[MISSING, "B"]), PLAIN).status_code == 404
    assert browser(ada()).get(url_of(room)).status_code == 200
    assert browser(cy()).get(url_of(room)).status_code == 404
    assert browser(ada()).get(url_of(room, name="surface-clear")).status_code == 405
