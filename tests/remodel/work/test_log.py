"""The log: a day written down, what it does to the ledger, and use held against the estimate."""

import io
import re
import uuid
from datetime import timedelta
from fractions import Fraction

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from remodel.bridge.lengths import Amount
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house_files.new import house_add
from remodel.logbook import day_log_add, stuff_of
from remodel.pages.work.forms import HoursField
from remodel.people.models import Membership, Role
from remodel.supply.ledger import balances, move, on_hand
from remodel.supply.models import Movement, OrderLine, Pack
from remodel.supply.orders import order_make, order_place, order_receive_all
from remodel.work.models import DayLog, Phase, Photo
from tests.remodel.everything import a_photo
from tests.remodel.factories import PersonFactory, accept_stops, ada, cy, room_add_line

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


@pytest.fixture
def by(settings):
    settings.HOSTED = True
    return By(ada())


@pytest.fixture
def taping(by, client):
    house = house_add(by=by, name="Hollow Lane")
    room = room_add_line(by=by, house=house, name="Kitchen", line="12' x 10' x 8'")
    accept_stops(house)
    client.force_login(by.person)
    return Phase.objects.select_related("room__house", "room__behind").get(room=room, key="taping")


def here(by, phase, item, value, unit, pieces=1):
    move(
        by=by,
        house=phase.room.house,
        item=item,
        kind="received",
        amount=Amount(Fraction(value), unit),
        pieces=pieces,
    )


def named(phase, name):
    return next(item for item in stuff_of(phase) if name in item.full_name)


def sticks(phase):
    return phase.room.house.materials.filter(cut=True).first().key


def post(client, phase, **values):
    values.setdefault("day", TODAY().isoformat())
    return client.post(reverse("log-add", args=[phase.pk]), values)


def boxes(stuff, **kinds):
    return {f"{kind}-{stuff.slug}": value for kind, value in kinds.items()}


def test_form_starts_with_what_the_phase_takes(client, taping):
    page = client.get(reverse("log-add", args=[taping.pk])).content.decode()
    assert "What was used of" in page
    assert "Paper joint tape" in page
    assert "None on hand by the ledger; this phase takes" in " ".join(page.split())
    assert f'value="{TODAY().isoformat()}"' in page


def test_count_of_what_is_left_works_out_the_use(client, by, taping):
    compound = named(taping, "Ready-mix")
    here(by, taping, compound.item, 9, "gal")
    compound = named(taping, "Ready-mix")
    answer = post(client, taping, **boxes(compound, left="2 1/2", of="1 gal"))
    assert answer.status_code == 302
    moved = Movement.objects.get(kind="used")
    assert (moved.value, moved.unit, moved.phase, moved.room) == (
        Fraction(-13, 2),
        "gal",
        "taping",
        taping.room,
    )
    assert on_hand(taping.room.house, compound.item, "gal").value == Fraction(5, 2)


def test_what_was_spoiled_is_not_counted_as_used_again(client, by, taping):
    compound = named(taping, "Ready-mix")
    here(by, taping, compound.item, 9, "gal")
    post(client, taping, **boxes(compound, left="4", spoiled="1", of="1 gal"))
    assert {
        movement.kind: movement.value for movement in Movement.objects.exclude(kind="received")
    } == {
        "spoiled": -1,
        "used": -4,
    }


def test_packs_are_counted_as_what_they_hold(client, by, taping):
    compound = named(taping, "Ready-mix")
    pail = next(value for value, words in compound.measures if "4.5" in words)
    post(client, taping, **boxes(compound, used="1 1/2", of=pail))
    assert Movement.objects.get().value == Fraction(-27, 4)


def test_use_far_over_what_is_here_or_needed_is_asked_about(client, by, taping):
    here(by, taping, "compound-drying", 9, "gal")
    compound = named(taping, "compound")
    answer = post(
        client,
        taping,
        **boxes(
            compound,
            used="60",
            of=next(value for value, words in compound.measures if "4.5" in words),
        ),
    )

    assert answer.status_code == 422
    assert "counted in 4.5 gal pail that is 270 gal" in answer.content.decode()
    assert not DayLog.objects.exists()


def test_sticks_left_are_counted_length_by_length(client, by, taping):
    bead = sticks(taping)
    for feet, pieces in ((8, 5), (10, 2)):
        here(by, taping, bead, feet, "ft", pieces)
    eight = named(taping, "sticks of 8")
    post(client, taping, **boxes(eight, left="2", spoiled="1"))
    moved = {
        movement.kind: (movement.value, movement.pieces)
        for movement in Movement.objects.exclude(kind="received")
    }
    assert moved == {"used": (-8, 2), "spoiled": (-8, 1)}
    assert [count for item, _, count in balances(taping.room.house) if item == bead] == [2, 2]


def test_more_sticks_than_the_ledger_knows_are_counted_in(client, by, taping):
    bead = sticks(taping)
    here(by, taping, bead, 8, "ft", 2)
    post(client, taping, **boxes(named(taping, "sticks of 8"), left="5"))
    assert [count for item, _, count in balances(taping.room.house) if item == bead] == [5]
    assert not Movement.objects.filter(kind="used").exists()


def test_hours_note_and_photo_are_kept_with_the_day(client, taping):
    post(client, taping, hours="3:30", note="Out of plumb", photo=a_photo(), caption="Left wall")
    log = DayLog.objects.get()
    assert (log.minutes, log.note, log.phase) == (210, "Out of plumb", taping)
    photo = log.photos.get()
    assert (photo.caption, photo.room, photo.phase) == ("Left wall", taping.room, taping)
    page = client.get(reverse("log-list", args=[taping.room.house_id])).content.decode()
    assert "3 h 30 min" in page
    assert "Out of plumb" in page
    assert reverse("photo-image", args=[photo.pk]) in page


def test_photo_is_written_anew_and_shown_to_the_house_alone(client, taping):
    written = io.BytesIO()
    picture = Image.new("RGB", (3000, 20), (200, 10, 10))
    exif = picture.getexif()
    exif[0x010F] = "Camera of Ada"
    picture.save(written, "JPEG", exif=exif)
    post(
        client,
        taping,
        photo=SimpleUploadedFile("../../x.html", written.getvalue(), content_type="text/html"),
    )
    photo = Photo.objects.get()
    url = reverse("photo-image", args=[photo.pk])
    answer = client.get(url)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == f'inline; filename="photo-{photo.pk}.jpg"'
    assert b"Camera of Ada" not in answer.content
    assert Image.open(io.BytesIO(answer.content)).width == 2400
    client.force_login(cy())
    assert client.get(url).status_code == 404


@pytest.mark.parametrize(
    "content", [b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", b"not a picture"]
)
def test_what_is_no_photo_is_refused_and_nothing_is_logged(client, taping, content):
    answer = post(
        client, taping, hours="2", note="Kept", photo=SimpleUploadedFile("a.jpg", content)
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Choose a photo" in page
    assert 'value="2"' in page
    assert "Kept" in page
    assert not DayLog.objects.exists()


def test_photo_over_the_limit_is_refused(client, taping, settings):
    settings.UPLOAD_MAX_BYTES = 100
    settings.MIDDLEWARE = [
        middleware
        for middleware in settings.MIDDLEWARE
        if not middleware.endswith("RequestMiddleware")
    ]
    answer = post(client, taping, photo=a_photo())
    assert answer.status_code == 422
    assert "at most" in answer.content.decode()


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"hours": "many"}, "&quot;Hours&quot; must be from 0 to 480"),
        ({"hours": "481"}, "&quot;Hours&quot; must be from 0 to 480"),
        ({"hours": "1", "day": "yesterday"}, "&quot;Day&quot; must be a day"),
        ({"hours": "1", "day": ""}, "&quot;Day&quot; is empty"),
        ({}, "There is nothing to log yet"),
        ({"hours": "1", "note": "x" * 4001}, "&quot;Note&quot; takes at most 4000 characters"),
    ],
)
def test_bad_input_comes_back_as_typed_with_what_to_mend(client, taping, values, says):
    answer = post(client, taping, **values)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Error: " in page
    assert says in page
    for value in values.values():
        assert value in page
    assert not DayLog.objects.exists()


def test_day_to_come_is_refused(client, taping):
    answer = post(client, taping, hours="1", day=(TODAY() + timedelta(days=1)).isoformat())
    assert answer.status_code == 422
    assert "must not be in the future" in answer.content.decode()


def test_used_and_left_together_are_asked_about(client, by, taping):
    tape = named(taping, "Paper joint tape")
    answer = post(client, taping, **boxes(tape, used="1", left="2"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "enter what was used or what is left, not both" in page
    assert re.search(rf'name="left-{tape.slug}" value="2"', page)
    assert not Movement.objects.exists()


@pytest.mark.parametrize("bad", ["two", "-1", "1e9", "nan"])
def test_number_that_is_none_is_refused_at_its_box(client, taping, bad):
    tape = named(taping, "Paper joint tape")
    page = post(client, taping, **boxes(tape, used=bad)).content.decode()
    assert "must be a number, zero or more" in page
    assert f'value="{bad}"' in page


def test_half_a_stick_is_refused(client, by, taping):
    bead = sticks(taping)
    here(by, taping, bead, 8, "ft", 2)
    assert (
        "count sticks in whole numbers"
        in post(client, taping, **boxes(named(taping, "sticks of 8"), used="1/2")).content.decode()
    )


def test_what_was_typed_for_sticks_that_are_gone_meanwhile_is_not_lost(client, by, taping):
    bead = sticks(taping)
    here(by, taping, bead, 8, "ft", 2)
    eight = named(taping, "sticks of 8")
    move(
        by=by,
        house=taping.room.house,
        item=bead,
        kind="used",
        amount=Amount(Fraction(8), "ft"),
        pieces=2,
    )
    answer = post(client, taping, row=eight.token, **boxes(eight, used="1"))
    assert answer.status_code == 302
    assert Movement.objects.filter(kind="used", pieces=1).exists()


def test_second_press_logs_once(client, taping):
    key = str(uuid.uuid4())
    for _ in range(2):
        assert post(client, taping, hours="2", key=key).status_code == 302
    assert DayLog.objects.count() == 1


def test_htmx_gets_the_part_and_leaves_by_its_own_redirect(client, taping):
    url = reverse("log-add", args=[taping.pk])
    wrong = client.post(url, {"day": ""}, HTTP_HX_REQUEST="true")
    assert wrong.status_code == 422
    assert wrong.content.lstrip().startswith(b'<div id="body">')
    right = client.post(url, {"day": TODAY().isoformat(), "hours": "1"}, HTTP_HX_REQUEST="true")
    assert right["HX-Redirect"] == reverse("log-list", args=[taping.room.house_id])


def test_log_is_changed_and_a_stale_change_shows_both_values(client, by, taping):
    post(client, taping, hours="1", note="First")
    log = DayLog.objects.get()
    url = reverse("log-change", args=[log.pk])
    assert 'value="1:00"' in client.get(url).content.decode()
    given = {"day": log.day.isoformat(), "hours": "2", "note": "Second", "seen": str(Seen.of(log))}
    assert client.post(url, given).status_code == 302
    stale = client.post(url, {**given, "note": "Third"})
    page = stale.content.decode()
    assert stale.status_code == 409
    assert re.search(r"<td>Third</td>\s*<td>Second</td>", page)
    log.refresh_from_db()
    assert (log.minutes, log.note) == (120, "Second")


def test_bad_change_comes_back_as_typed(client, taping):
    post(client, taping, hours="1")
    answer = client.post(
        reverse("log-change", args=[DayLog.objects.get().pk]), {"day": "x", "hours": "2"}
    )
    assert answer.status_code == 422
    assert 'value="x"' in answer.content.decode()


def test_removed_log_can_be_undone_from_the_bar(client, by, taping):
    tape = named(taping, "Paper joint tape")
    post(client, taping, **boxes(tape, used="1"))
    page = client.post(
        reverse("log-remove", args=[DayLog.objects.get().pk]), follow=True
    ).content.decode()
    assert "What it took from stock stays taken" in page
    assert not DayLog.objects.exists()
    undo = re.search(r'action="(/undo/[^"]+)"', page)[1]
    client.post(undo)
    assert DayLog.objects.exists()
    assert Movement.objects.count() == 1


def test_empty_log_says_what_belongs_here(client, taping):
    page = client.get(reverse("log-list", args=[taping.room.house_id])).content.decode()
    assert "No day is logged yet" in page
    assert reverse("log-pick", args=[taping.room.house_id]) in page


def test_phase_in_progress_stands_first_when_a_day_is_logged(client, taping):
    Phase.objects.filter(pk=taping.pk).update(state="in progress")
    page = client.get(reverse("log-pick", args=[taping.room.house_id])).content.decode()
    assert page.index("Taping, Kitchen") < page.index("All its phases".lower())


def test_packages_that_were_bought_are_the_unit_that_is_offered_first(client, by, taping):
    house = taping.room.house
    order = order_make(by=by, house=house, phases=["taping"], rooms=[taping.room])
    order = order_place(by=by, order=order, without_prices=True)
    line = order.lines.filter(name__startswith="Ready-mix").first()
    pack = Pack.objects.filter(material__key=line.item).order_by("-numerator").first()
    OrderLine.objects.filter(pk=line.pk).update(pack=pack.name)
    order_receive_all(by=by, order=order, receipts=[(line, 1, 999)], day=timezone.localdate())
    stuff = next(one for one in stuff_of(taping) if one.item == line.item)

    assert stuff.measures[0][1] == pack.name


def test_use_and_photo_are_added_later_to_the_day_they_belong_to(client, by, taping):
    day = timezone.localdate() - timedelta(days=3)
    day_log_add(by=by, room=taping.room, phase=taping, day=day, minutes=60)
    page = client.get(reverse("log-list", args=[taping.room.house_id])).content.decode()
    link = f"{reverse('log-add', args=[taping.pk])}?day={day.isoformat()}"

    assert f'href="{link}"' in page
    form = client.get(link).content.decode()
    assert f'value="{day.isoformat()}"' in form
    assert "What was used of" in form
    assert form.index("Hours") < form.index("Note") < form.index("What was used of")


def test_log_of_one_room_and_of_none_known(client, by, taping):
    post(client, taping, hours="1", note="In the kitchen")
    other = room_add_line(by=by, house=taping.room.house, name="Bath", line="6' x 5' x 8'")
    url = reverse("log-list", args=[taping.room.house_id])
    assert "In the kitchen" in client.get(url, {"room": taping.room.key}).content.decode()
    assert "Nothing is logged for Bath yet" in client.get(url, {"room": other.key}).content.decode()
    assert client.get(url, {"room": "attic"}).status_code == 404


def test_log_asks_as_often_for_many_days_as_for_one(client, by, taping):
    url = reverse("log-list", args=[taping.room.house_id])

    def asked():
        with CaptureQueriesContext(connection) as queries:
            client.get(url)
        return len(queries)

    post(
        client,
        taping,
        hours="1",
        photo=a_photo(),
        **boxes(named(taping, "Paper joint tape"), used="1"),
    )
    client.get(url)
    one = asked()
    for _ in range(5):
        post(
            client,
            taping,
            hours="1",
            photo=a_photo(),
            **boxes(named(taping, "Paper joint tape"), used="1"),
        )
    client.get(url)
    assert one > 5
    assert asked() == one


def test_estimate_is_frozen_by_the_order_and_use_is_held_against_it(client, by, taping):
    house = taping.room.house
    order = order_make(by=by, house=house, phases=["taping"], rooms=[taping.room])
    order_place(by=by, order=order, without_prices=True, unseen_framing=True)
    tape = named(taping, "Paper joint tape")
    estimate = tape.need
    post(client, taping, **boxes(tape, used="100", spoiled="20", of="1 ft"))
    for view in ("house", "phase", "room"):
        page = client.get(reverse("use-list", args=[house.pk]), {"by": view}).content.decode()
        row = page[
            page.index("Paper joint tape</") if view != "house" else page.index('id="use-going"') :
        ]
        row = row[row.index("Paper joint tape") :].split("</tr>")[0]
        assert f">{estimate}<" in row
        assert ">120 ft<" in row
        assert ">20 ft<" in row
        assert " not used yet (" in row


def test_use_without_an_order_says_there_is_no_estimate(client, taping):
    tape = named(taping, "Paper joint tape")
    post(client, taping, **boxes(tape, used="1"))
    page = client.get(reverse("use-list", args=[taping.room.house_id])).content.decode()
    assert "No order is placed" in page
    assert "None ordered" in page


def test_nothing_used_says_what_belongs_here(client, taping):
    url = reverse("use-list", args=[taping.room.house_id])
    assert "No work that was ordered for is begun" in client.get(url).content.decode()
    assert client.get(url, {"by": "colour"}).status_code == 404


def test_stranger_missing_and_looking_only(client, by, taping):
    post(client, taping, hours="1")
    log = DayLog.objects.get()
    urls = [
        reverse("log-list", args=[taping.room.house_id]),
        reverse("use-list", args=[taping.room.house_id]),
        reverse("log-pick", args=[taping.room.house_id]),
        reverse("log-add", args=[taping.pk]),
        reverse("log-change", args=[log.pk]),
    ]
    viewer = PersonFactory(name="Vi")
    Membership.objects.create(house=taping.room.house, person=viewer, role=Role.VIEWER)
    client.force_login(viewer)
    assert [client.get(url).status_code for url in urls] == [200, 200, 404, 404, 404]
    assert post(client, taping, hours="1").status_code == 404
    client.force_login(cy())
    assert {client.get(url).status_code for url in urls} == {404}
    assert client.post(reverse("log-remove", args=[log.pk])).status_code == 404
    assert client.get(reverse("log-change", args=[uuid.uuid4()])).status_code == 404


def test_wrong_verbs_are_refused(client, taping):
    post(client, taping, hours="1")
    log = DayLog.objects.get()
    assert client.get(reverse("log-remove", args=[log.pk])).status_code == 405
    assert client.post(reverse("log-list", args=[taping.room.house_id])).status_code == 405
    assert client.post(reverse("use-list", args=[taping.room.house_id])).status_code == 405


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("6", 360),
        ("3.5", 210),
        ("3,5", 210),
        ("3 1/2", 210),
        ("3:30", 210),
        ("0:05", 5),
        ("480", 28800),
    ],
)
def test_hours_are_read_as_people_write_them(text, minutes):
    assert HoursField(label="Hours").clean(text) == minutes
