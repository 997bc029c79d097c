"""Drawings, cards, hanging order and marking as pages."""

from __future__ import annotations

import io
import re
from html import escape

import pytest
from django.urls import reverse

from remodel.bridge.lengths import INCH
from remodel.cards.models import DoneMark, Marking
from remodel.cards.queries import cards_for, hanging_for
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.ticks import tick
from tests.remodel.factories import accept_stops, ada, ben, cy
from tests.remodel.site import HTMX, browser, share

pytestmark = pytest.mark.django_db

MISSING = "00000000-0000-0000-0000-000000000000"
ROOM_PAGES = ["room-drawings", "room-cards", "room-cut", "room-hanging", "room-marking"]
HOUSE_PAGES = ["house-cards", "house-marking"]


def address(name, room):
    return reverse(name, args=[room.house_id if name in HOUSE_PAGES else room.pk])


@pytest.mark.parametrize("name", ROOM_PAGES + HOUSE_PAGES)
def test_page_works_and_is_not_there_for_strangers(room, name):
    assert browser(ada()).get(address(name, room)).status_code == 200
    assert browser(cy()).get(address(name, room)).status_code == 404
    assert browser(ada()).get(reverse(name, args=[MISSING])).status_code == 404
    assert browser(ada()).delete(address(name, room)).status_code == 405


@pytest.mark.parametrize("name", ROOM_PAGES + HOUSE_PAGES)
def test_ids_of_a_page_are_unique(room, name):
    ids = re.findall(r'\sid="([^"]+)"', browser(ada()).get(address(name, room)).content.decode())

    assert sorted(ids) == sorted(set(ids))


def test_drawings_say_what_seen_from_below_means_and_stand_beside_their_facts(room):
    answer = browser(ada()).get(address("room-drawings", room))
    page = answer.content.decode()

    assert "as you see them when you stand under them and look up" in page
    assert len(answer.context["parts"]) == 6
    for part in answer.context["parts"]:
        assert len(part["drawing"].facts.rows) > 3
    assert "Switch by the door" in page


def test_drawing_comes_as_svg_with_its_looks_inside(room):
    for which in ("plan", "A", "ceiling"):
        answer = browser(ada()).get(reverse("room-drawing-svg", args=[room.pk, which]))
        text = answer.content.decode()
        assert answer["Content-Type"].startswith("image/svg+xml")
        assert answer["Content-Disposition"].startswith("attachment")
        assert text.startswith("<svg")
        assert "<style>" in text
        assert len(text) < 100_000


# inside the drafting library
@pytest.mark.filterwarnings("ignore:.* deprecated.* use:DeprecationWarning")
def test_surface_comes_as_dxf_that_a_drafting_library_reads(room):
    ezdxf = pytest.importorskip("ezdxf", reason="ezdxf is not installed")
    from ezdxf import recover

    answer = browser(ada()).get(reverse("room-drawing-dxf", args=[room.pk, "A"]))
    document, auditor = recover.read(io.BytesIO(answer.content))
    assert not auditor.has_errors
    assert document.dxfversion == ezdxf.DXF12
    kinds = {entity.dxftype() for entity in document.modelspace()}
    assert {"LINE", "TEXT"} <= kinds
    words = {entity.dxf.text for entity in document.modelspace() if entity.dxftype() == "TEXT"}
    assert "Switch by the door" in words


@pytest.mark.parametrize("name", ["room-drawing-svg", "room-drawing-dxf"])
def test_file_of_a_surface_that_is_not_there_is_missing(room, name):
    assert browser(ada()).get(reverse(name, args=[room.pk, "Z"])).status_code == 404
    assert browser(cy()).get(reverse(name, args=[room.pk, "A"])).status_code == 404
    assert browser(ada()).post(reverse(name, args=[room.pk, "A"])).status_code == 405


def test_cards_list_every_sheet_once_in_cutting_order(room):
    lines = browser(ada()).get(address("room-cards", room)).context["lines"]

    assert [line.sheet.key for line in lines] == [sheet.key for sheet in cards_for(room).sheets]
    assert sum(line.of for line in lines) == sum(len(line.sheet.pieces) for line in lines)


def as_read(page):
    """A page without what only keeps a mark on one line."""
    return re.sub(r'<span class="whole">([^<]+)</span>', r"\1", page)


def test_card_shows_cuts_pieces_edges_and_checks(room):
    sheet = next(
        sheet for sheet in cards_for(room).sheets if any(piece.holes for piece in sheet.pieces)
    )
    page = browser(ada()).get(reverse("room-card", args=[room.pk, sheet.key])).content.decode()
    page = as_read(page).replace("&#x27;", "'").replace("&quot;", '"').replace("&#39;", "'")

    for cut in sheet.cuts:
        assert cut in page
    for piece in sheet.pieces:
        assert piece.lying in page
        for side in piece.sides:
            assert side.meets in page
        for mark in piece.marks:
            assert f"{mark.name}: {mark.size}, {mark.what}" in page
            for measure in (mark.left, mark.right, mark.near, mark.far):
                assert f"<td>{measure}</td>" in page
        for cut in piece.last_cuts:
            assert cut in page


def test_card_turns_over_and_its_far_edge_becomes_the_near_one(room):
    sheet = cards_for(room).sheets[0]
    far = {}
    for up in ("face", "back"):
        answer = browser(ada()).get(reverse("room-card", args=[room.pk, sheet.key]), {"up": up})
        assert answer.context["up"] == f"{up} up"
        sides = answer.context["card"].pieces[0].piece.sides
        far[up] = {side.where: side.meets for side in sides}
    assert far["face"]["Far edge"] == far["back"]["Near edge"]
    assert far["face"]["Left end"] == far["back"]["Left end"]


def test_card_that_is_not_there_is_missing(room):
    for key in ("0-S99", "x", "0-%3Cb%3E"):
        assert browser(ada()).get(f"{address('room-cards', room)}/{key}").status_code == 404


def test_piece_by_piece_holds_every_piece_of_the_room(room):
    page = browser(ada()).get(address("room-cut", room)).content.decode()
    pieces = [piece for sheet in cards_for(room).sheets for piece in sheet.pieces]

    assert page.count("data-step") == len(pieces)
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        assert len(svg) < 100_000
        assert svg.count("<") // 2 < 1_500


def test_hanging_order_has_a_reason_for_every_step_and_the_lift_leaves_after_the_ceiling(room):
    steps = hanging_for(room)
    page = as_read(browser(ada()).get(address("room-hanging", room)).content.decode())

    assert page.count('class="hang-number"') == len(steps)
    assert all(f">{escape(step.what)}: {escape(step.reason)}.<" in page for step in steps)
    leaves = next(step.number for step in steps if step.leave)
    for step in steps:
        if step.piece:
            assert (step.number < leaves) == step.piece.startswith("ceiling")


def post_mark(person, room, **more):
    cards = cards_for(room)
    fields = {
        "kind": "cut",
        "plan": cards.sheets[0].plan,
        "item": cards.sheets[0].pieces[0].key,
        "done": "yes",
    }
    return browser(person).post(reverse("room-tick", args=[room.pk]), fields | more)


def test_tick_by_a_plain_form_leads_back_to_its_page(room):
    back = address("room-cut", room)
    answer = post_mark(ada(), room, back=f"{back}#piece-1")

    assert answer.status_code == 302
    assert answer["Location"] == f"{back}#piece-1"
    assert DoneMark.objects.get().done
    assert browser(ada()).get(back).context["done"] == 1


@pytest.mark.parametrize("back", ["https://example.org/", "//example.org/", "/\\example.org", ""])
def test_tick_leads_nowhere_else(room, back):
    assert post_mark(ada(), room, back=back)["Location"] == address("room-cards", room)


def test_tick_by_script_is_answered_in_words(room):
    cards = cards_for(room)
    fields = {"kind": "cut", "plan": cards.sheets[0].plan, "item": "", "done": "yes"}
    client, to = browser(ada()), reverse("room-tick", args=[room.pk])
    headers = {"X-Marks": "yes"}
    assert client.post(to, fields, headers=headers).status_code == 422
    answer = client.post(to, fields | {"item": cards.sheets[0].pieces[0].key}, headers=headers)

    assert (answer.status_code, answer.content) == (200, b"kept")


def test_tick_is_for_those_who_may_write(room):
    share(room.house, ben(), "viewer")
    assert post_mark(ben(), room).status_code == 404
    assert post_mark(cy(), room).status_code == 404
    assert browser(ada()).get(reverse("room-tick", args=[room.pk])).status_code == 405
    assert not DoneMark.objects.exists()


def marking(room, **more):
    return {"side_up": "house", "allowance": "", "boxes": "house", "openings": "house"} | more


def test_marking_of_a_room_is_saved_box_by_box(room):
    box = room.cutouts.get()
    answer = browser(ada()).post(
        address("room-marking", room), marking(room, allowance='1/8"', **{f"box_{box.pk}": "place"})
    )
    assert answer.status_code == 302
    stands = Marking.objects.get()
    assert (stands.room, stands.allowance, stands.side_up) == (room, INCH // 8, "")
    assert stands.boxes_each == {str(box.pk): "place"}


def test_marking_that_cannot_be_is_told_and_kept_in_the_form(room):
    answer = browser(ada()).post(
        address("room-marking", room), marking(room, allowance="3 ft"), **HTMX
    )

    assert answer.status_code == 422
    assert "must be from" in answer.content.decode()
    assert 'value="3 ft"' in answer.content.decode()
    assert not Marking.objects.exists()


def test_marking_saved_twice_is_one(room):
    form = marking(room, side_up="back up", key="6f1d3b0e-6f1d-4b0e-8f1d-3b0e6f1d3b0e")
    for _ in range(2):
        assert browser(ada()).post(address("room-marking", room), form).status_code == 302
    assert Marking.objects.count() == 1


def test_marking_changed_by_another_shows_both(room):
    client, form = (
        browser(ada()),
        {"side_up": "face up", "allowance": '1/16"', "boxes": "floor", "openings": "cut"},
    )
    client.post(address("house-marking", room), form)
    form["seen"] = str(Seen.of(Marking.objects.get()))
    client.post(address("house-marking", room), form | {"boxes": "place"})
    answer = client.post(
        address("house-marking", room), form | {"boxes": "floor", "side_up": "back up"}
    )

    assert answer.status_code == 409
    assert Marking.objects.get().boxes == "place"
    assert 'class="conflict"' in answer.content.decode()


def test_trouble_is_told_on_the_card_the_list_and_the_hanging_order(room):
    box = room.cutouts.get()
    from remodel.history.services import By
    from remodel.house.things import cutout_change

    cutout_change(by=By(ada()), cutout=box, up_distance=47 * INCH)
    warning = "lies over the seam"
    cards = cards_for(room).sheets
    for page in (address("room-cards", room), address("room-hanging", room)):
        assert warning in browser(ada()).get(page).content.decode()
    told = {
        sheet.code: warning
        in browser(ada()).get(reverse("room-card", args=[room.pk, sheet.key])).content.decode()
        for sheet in cards
    }
    # on the cards of the sheets that have a part of the box, and on no other
    assert told == {sheet.code: box.key in sheet.things for sheet in cards}
    assert set(told.values()) == {True, False}


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "שקע ליד הדלת", "very long " * 20])
def test_odd_names_are_shown_safely(room, name):
    from remodel.history.services import By
    from remodel.house.things import cutout_change

    cutout_change(by=By(ada()), cutout=room.cutouts.get(), name=name[:200])
    for page in ("room-drawings", "room-cut"):
        text = browser(ada()).get(address(page, room)).content.decode()
        assert "<script>alert" not in text
        assert escape(name[:8]) in text


def test_elevation_fills_in_as_boards_are_ticked_as_hung(room):
    client, page = browser(ada()), address("room-drawings", room)
    before = client.get(page).content.decode()
    accept_stops(room.house)
    step = next(step for step in hanging_for(room) if step.surface.endswith("/A"))
    tick(by=By(ada()), room=room, kind="hung", item=step.piece)
    after = client.get(page).content.decode()

    assert 'class="hung"' not in before
    # the board and the sample below, for a phone and for a wide screen
    assert after.count('class="hung"') == 4
    assert after.count("board that hangs") > before.count("board that hangs")
