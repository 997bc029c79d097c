"""What a face hides: told on its page, photographed, closed or not with the reason why."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from remodel.bridge.lengths import FOOT, INCH
from remodel.cards.models import DoneMark
from remodel.cards.queries import hanging_for
from remodel.house.models import HiddenItem, Room
from remodel.house.things import hidden_add
from remodel.order_of_work import order_of
from remodel.work.models import AcceptedStop, ClosedFace, Photo, SaidStep
from tests.remodel.factories import ada
from tests.remodel.site import browser, with_partition

ASKED = "Before you go on"
NO_PHOTO = "Photograph the open face"


@pytest.fixture
def kitchen(room: Room) -> Room:
    """A kitchen ready for board, in which nothing was photographed or closed; a rail is planned on
    wall A."""
    AcceptedStop.objects.all().delete()
    SaidStep.objects.create(house=room.house, step="/leaks-fixed", at=timezone.now())
    ready = room.phases.filter(key__in=("framing", "rough-in", "insulation"))
    ready.update(state="done", done_on=timezone.localdate())
    HiddenItem.objects.create(
        room=room,
        key="rail",
        wall=room.walls.get(key="A"),
        kind="blocking",
        name="Rail",
        planned=True,
        across_origin="left",
        across_distance=FOOT,
        across_to="near",
        up_origin="floor",
        up_distance=30 * INCH,
        up_to="near",
        width=4 * FOOT,
        height=6 * INCH,
    )
    return room


@pytest.fixture
def client(kitchen: Room, hosted) -> Client:
    return browser(ada())


def url_of(room: Room, name: str = "surface-behind", key: str = "A") -> str:
    return reverse(name, args=[room.pk, key])


def a_photo(color: str = "gray") -> io.BytesIO:
    file = io.BytesIO()
    Image.new("RGB", (40, 30), color).save(file, "JPEG")
    file.seek(0)
    file.name = "wall.jpg"
    return file


def first_board(room: Room) -> tuple[str, dict[str, str]]:
    """The face of the first board of the hanging order, and the press that it hangs."""
    step = next(step for step in hanging_for(room) or () if step.piece)
    press = {"kind": "hung", "item": step.piece, "plan": step.plan, "done": "yes"}
    return step.surface.partition("/")[2], press


def test_the_page_tells_what_is_hidden_from_two_sides(client, kitchen):
    page = client.get(url_of(kitchen)).content.decode()
    assert "1&#x27; 0&quot; to 5&#x27; 0&quot; from Wall D" in page
    assert "2&#x27; 6&quot; to 3&#x27; 0&quot; from the floor" in page
    assert "Studs, centers from Wall D" in page
    assert "Planned, not in yet" in page


def test_a_ceiling_is_told_from_two_walls(client, kitchen, by):
    hidden_add(
        by=by,
        room=kitchen,
        surface="ceiling",
        kind="nail plate",
        name="Plate over the sink",
        across_origin="D",
        across_distance=2 * FOOT,
        up_origin="A",
        up_distance=3 * FOOT,
        width=3 * INCH,
        height=5 * INCH,
    )
    page = client.get(url_of(kitchen, key="ceiling")).content.decode()
    assert "nail plate" in page
    assert "from Wall D" in page
    assert "from Wall A" in page


def test_what_is_marked_as_in_stops_no_board_any_more(client, kitchen):
    rail = HiddenItem.objects.get(room=kitchen)
    missing = [one.rule.id for one in order_of(kitchen).missing(kitchen, "A")]
    assert "blocking-before-board" in missing
    client.post(reverse("hidden-in", args=[rail.pk]), {"key": "A"})
    rail.refresh_from_db()
    assert not rail.planned
    missing = [one.rule.id for one in order_of(kitchen).missing(kitchen, "A")]
    assert "blocking-before-board" not in missing


def test_a_face_is_not_closed_past_what_is_planned_and_not_in(client, kitchen):
    page = client.post(url_of(kitchen, "surface-close")).content.decode()
    assert ASKED in page
    assert "Put in &quot;Rail&quot; before its surface is closed." in page
    assert not ClosedFace.objects.exists()


def test_a_face_closed_without_something_keeps_what_and_why(client, kitchen):
    answers = {"stops-asked": "yes", "stops-why": "No rail after all"}
    client.post(url_of(kitchen, "surface-close"), answers)
    closed = ClosedFace.objects.get(room=kitchen, surface="A")
    assert 'Put in "Rail" before its surface is closed. No rail after all' in closed.without
    page = client.get(url_of(kitchen)).content.decode()
    assert "Closed without:" in page
    assert "by Ada" in page


def test_a_face_that_lacks_nothing_closes_at_one_press_and_is_opened_again(client, kitchen):
    HiddenItem.objects.update(planned=False)
    client.post(url_of(kitchen, "surface-photo"), {"photo": a_photo(), "caption": "Rail"})
    assert Photo.objects.get(room=kitchen).wall.key == "A"
    assert order_of(kitchen).missing(kitchen, "A") == []
    page = client.post(url_of(kitchen, "surface-close"), follow=True).content.decode()
    closed = ClosedFace.objects.get(room=kitchen)
    assert (closed.surface, closed.without) == ("A", "")
    assert "Undo" in page
    client.post(reverse("face-open", args=[closed.pk]))
    assert not ClosedFace.objects.exists()


def test_a_photo_of_one_wall_is_none_of_another(client, kitchen):
    client.post(url_of(kitchen, "surface-photo"), {"photo": a_photo()})
    rules = {key: {one.rule.id for one in order_of(kitchen).missing(kitchen, key)} for key in "AB"}
    assert "photographed-before-closing" not in rules["A"]
    assert "photographed-before-closing" in rules["B"]


def test_a_photo_sent_twice_is_one_and_can_be_removed(client, kitchen):
    url = url_of(kitchen, "surface-photo")
    key = client.get(url).content.decode().partition('name="key" value="')[2].partition('"')[0]
    for _ in range(2):
        client.post(url, {"photo": a_photo(), "key": key})
    photo = Photo.objects.get(room=kitchen)
    assert client.get(url_of(kitchen)).content.decode().count("log-photo") == 1
    client.post(reverse("photo-remove", args=[photo.pk]))
    assert not Photo.objects.exists()


def test_a_photo_that_is_none_is_told_at_its_field(client, kitchen):
    no_photo = io.BytesIO(b"no picture")
    no_photo.name = "x.jpg"
    for sent in ({"photo": no_photo}, {}):
        answer = client.post(url_of(kitchen, "surface-photo"), sent)
        assert answer.status_code == 422
        assert not Photo.objects.exists()


def test_the_first_board_of_an_open_face_asks_once_and_closes_it(client, kitchen):
    face, press = first_board(kitchen)
    page = client.post(reverse("room-tick", args=[kitchen.pk]), press).content.decode()
    assert "it is asked once" in page
    assert not DoneMark.objects.filter(room=kitchen).exists()
    key = "closed-before-board kitchen/close-faces"
    answers = {"stops-asked": "yes", f"stops-done-{key}": "yes"}
    client.post(reverse("room-tick", args=[kitchen.pk]), press | answers)
    assert ClosedFace.objects.get(room=kitchen).surface == face
    assert NO_PHOTO in ClosedFace.objects.get().without
    assert DoneMark.objects.filter(room=kitchen, done=True).exists()


def test_who_goes_on_without_closing_is_not_asked_again(client, kitchen):
    _, press = first_board(kitchen)
    url = reverse("room-tick", args=[kitchen.pk])
    client.post(url, press | {"stops-asked": "yes"})
    assert DoneMark.objects.filter(room=kitchen, done=True).exists()
    assert not ClosedFace.objects.exists()
    assert order_of(kitchen).faces_to_close(kitchen) == frozenset()
    _, other = first_board(kitchen)
    assert ASKED not in client.post(url, other).content.decode()


def test_a_mark_sent_from_another_page_is_never_undone_by_a_question(client, kitchen):
    _, press = first_board(kitchen)
    url = reverse("room-tick", args=[kitchen.pk])
    asked = client.post(url, press, headers={"X-Marks": "yes", "X-Here": "yes"})
    assert asked.status_code == 409
    assert client.post(url, press, headers={"X-Marks": "yes", "X-Here": "no"}).status_code == 200


def test_what_next_lists_the_faces_that_can_be_closed(client, kitchen):
    HiddenItem.objects.all().delete()
    for url in (
        reverse("room-next", args=[kitchen.pk]),
        reverse("house-next", args=[kitchen.house_id]),
    ):
        assert "Before the first board: close the faces" in client.get(url).content.decode()


def test_a_partition_after_board_tells_what_holds_it(client, kitchen):
    wall = with_partition(kitchen, ada(), framed="after")
    page = client.get(reverse("partition-detail", args=[wall.pk])).content.decode()
    assert f"What holds {wall.name}" in page
    assert "Wall A:" in page
    assert "Floor:" in page
    assert (
        "What is to hold a partition"
        in client.get(reverse("room-next", args=[kitchen.pk])).content.decode()
    )


def test_what_is_hidden_is_linked_from_the_surface_and_the_room(client, kitchen):
    ClosedFace.objects.create(room=kitchen, surface="A", person=ada(), at=kitchen.house.made_at)
    for page in (
        client.get(reverse("surface-detail", args=[kitchen.pk, "A"])),
        client.get(reverse("room-boards", args=[kitchen.pk])),
    ):
        assert url_of(kitchen) in page.content.decode()
        assert "by Ada" in page.content.decode()
    assert client.get(url_of(kitchen, key="Z")).status_code == 404
