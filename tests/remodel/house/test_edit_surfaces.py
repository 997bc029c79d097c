"""What is chosen for one surface, and the members behind it."""

from __future__ import annotations

import html
from fractions import Fraction

import pytest
from django.urls import reverse

from remodel.board.queries import view_of
from remodel.bridge import house_value
from remodel.bridge.framings import framing_of
from remodel.bridge.lengths import INCH
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Opening, Room, SurfaceChoice
from remodel.house.things import surface_choice_set
from tests.remodel.factories import ada, ben, cy
from tests.remodel.page_forms import forms_of
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
        "layers": "2",
    }
    browser(ada()).post(url_of(room), data)
    choice = SurfaceChoice.objects.get()

    assert (choice.board_kind, choice.board_thickness) == ("regular", INCH // 2)
    assert choice.layers == 2
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
    assert "has studs or joists of its own, so choose a spacing" in response.content.decode()
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


LET_IN = {
    "above": "attic",
    "insulated": "no",
    "old_lining": "plaster",
    "r_value": "R-13",
    "batt_area": "60.5",
    "retarder": "on",
    "holes": "1",
    "hole-0-width": "16 in",
    "hole-0-height": "12 in",
    "hole-0-count": "2",
    "hole-0-held": "strips",
    "hole-0-thickness": "",
}


def test_batts_and_patches_of_a_surface_are_kept_and_bought(room):
    response = browser(ada()).post(url_of(room), PLAIN | LET_IN | {"action": "patch"})
    assert response.status_code == 302
    (choice,) = house_value(Room.objects.get().house).room(room.key).surfaces

    assert choice.old_lining == "plaster"
    assert (str(choice.insulation.r), choice.insulation.area.value) == ("13", Fraction(121, 2))
    assert choice.insulation.retarder
    (patch,) = choice.patches
    assert (patch.width, patch.count, patch.held) == (16 * INCH, 2, "strips")
    needs = {(line.phase, line.item) for line in view_of(Room.objects.get()).needs}
    assert {("insulation", "batts-r13"), ("insulation", "vapor-sheet"), ("hanging", "1x3")} <= needs

    page = browser(ada()).get(url_of(room)).content.decode()
    assert 'value="60.5"' in page
    assert 'name="hole-1-width"' in page


def test_ceiling_says_what_is_above_it(room):
    data = PLAIN | LET_IN | {"r_value": "", "batt_area": "", "retarder": "", "holes": "0"}
    del data["retarder"]
    assert browser(ada()).post(url_of(room, "ceiling"), data).status_code == 302
    choice = SurfaceChoice.objects.get()
    assert (choice.above, choice.insulated) == ("attic", False)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"r_value": "2.3"}, "2.3 is the RSI of these batts; enter their R-value, 13"),
        ({"r_value": "14"}, "no batts of 14 are on sale; enter one of 11, 13"),
        ({"r_value": "thick"}, "enter the R-value on the bag, for example 13"),
        ({"batt_area": ""}, '"Area they fill" is empty. Enter it, or empty both'),
        ({"batt_area": "500"}, "more than the surface, which is"),
        ({"hole-0-height": ""}, '"Patch 1, height" is empty. Enter it, or empty both'),
        ({"hole-0-width": "90 ft"}, "larger than the surface; enter at most"),
    ],
)
def test_what_cannot_be_let_in_is_refused_with_what_to_enter(room, typed, sentence):
    response = browser(ada()).post(url_of(room), PLAIN | LET_IN | {"action": "patch"} | typed)
    text = html.unescape(response.content.decode())
    assert sentence in text
    assert not SurfaceChoice.objects.exists()


def test_board_turned_into_an_opening_has_a_depth_and_no_other_has(room):
    opening = {
        "key": KEY,
        "kind": "window",
        "surface": "B",
        "left": "3 ft",
        "width": "36 in",
        "height": "40 in",
        "sill": "36 in",
        "given": "rough",
        "edge": "cased",
        "return_depth": "4 1/2 in",
        "name": "",
    }
    url = reverse("opening-add", args=[room.pk])
    client = browser(ada())
    assert "only board that is turned into the opening" in html.unescape(
        client.post(url, opening).content.decode()
    )
    assert client.post(url, opening | {"edge": "return"}).status_code == 302
    assert Opening.objects.get().return_depth == 4 * INCH + INCH // 2
    needs = {line.item for line in view_of(Room.objects.get()).needs}
    assert "l-trim" in needs


def test_garage_on_a_slab_is_said_with_the_rooms_size(room):
    url = reverse("room-size", args=[room.pk])
    client = browser(ada())
    page = client.get(url).content.decode()
    form = next(form for form in forms_of(page, url) if "garage" in form.controls)
    client.post(url, form.data() | {"garage": ["on"], "slab": ["on"]})
    kept = Room.objects.get()
    assert (kept.garage, kept.slab) == (True, True)


def test_a_ceiling_says_what_it_may_carry_and_the_room_tells_what_is_over_it(room):
    address = url_of(room, "ceiling")
    asked = {"above": "unknown", "insulated": "unknown"}
    answer = browser(ada()).post(address, PLAIN | asked | {"most_load": "0"})
    assert answer.status_code == 422
    assert "must be more than zero and at most 500, for example 5" in answer.content.decode()

    browser(ada()).post(address, PLAIN | asked | {"most_load": "2"})
    assert SurfaceChoice.objects.get().most_load == 2
    page = browser(ada()).get(reverse("room-boards", args=[room.pk])).content.decode()
    assert "you said that it may carry 2" in page
