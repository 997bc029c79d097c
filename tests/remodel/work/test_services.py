"""Phases go on in allowed steps; notes, photos and days are kept."""

import io
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from PIL import Image

from remodel.bridge.lengths import amount
from remodel.history.errors import Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.logbook import day_log_add
from remodel.supply.ledger import move, on_hand
from remodel.supply.models import Movement
from remodel.work import photos, services
from remodel.work.models import Phase, Photo
from remodel.work.queries import hours_of, progress_of
from tests.remodel.factories import HouseFactory, RoomFactory, ada

pytestmark = pytest.mark.django_db


@pytest.fixture
def room(by):
    room = RoomFactory(house=HouseFactory(owner=by.person))
    services.phases_add(by=by, rooms=[room])
    return room


def phase(room, key):
    return Phase.objects.get(room=room, key=key)


def picture(form="PNG", size=(40, 30), **options):
    written = io.BytesIO()
    Image.new("RGB", size, "red").save(written, form, **options)
    return SimpleUploadedFile("../../evil name.php", written.getvalue())


def test_phase_goes_from_not_started_to_done_and_notes_the_days(by, room):
    framing = phase(room, "framing")
    services.phase_set_state(by=by, phase=framing, state="in progress", day=date(2026, 3, 7))
    services.phase_set_state(by=by, phase=framing, state="done", day=date(2026, 3, 8))
    framing.refresh_from_db()
    assert (framing.started_on, framing.done_on) == (date(2026, 3, 7), date(2026, 3, 8))


def test_blocked_phase_says_what_it_waits_for_and_is_not_done_next(by, room):
    hanging = phase(room, "hanging")
    with pytest.raises(Refused) as refused:
        services.phase_set_state(by=by, phase=hanging, state="blocked")
    assert refused.value.field == "waits_for"
    services.phase_set_state(by=by, phase=hanging, state="blocked", waits_for="Sign-off")
    with pytest.raises(Refused, match="not started or ready"):
        services.phase_set_state(by=by, phase=hanging, state="done")


def test_phase_changed_from_an_old_page_is_stale(by, room):
    framing = phase(room, "framing")
    stale = By(by.person, seen=Seen.of(framing))
    services.phase_set_state(by=stale, phase=framing, state="ready")
    with pytest.raises(Stale):
        services.phase_set_state(by=stale, phase=framing, state="in progress")


def test_undo_puts_a_phase_back(by, room):
    framing = phase(room, "framing")
    services.phase_set_state(by=by, phase=framing, state="done")
    undo(by=by, group=last_group(framing.pk))
    assert phase(room, "framing").state == "not started"


def test_own_phase_stands_where_it_was_put_and_can_be_removed(by, room):
    added = services.phase_add(by=by, room=room, name="Second fix", after=phase(room, "taping"))
    names = [phase.name for phase in room.phases.order_by("position")]
    assert names[names.index("Taping") + 1] == "Second fix"
    services.phase_remove(by=by, phase=added)
    assert not room.phases.filter(own=True).exists()
    with pytest.raises(Refused):
        services.phase_remove(by=by, phase=phase(room, "taping"))


def test_many_own_phases_at_one_place_keep_their_order(by, room):
    for number in range(8):
        services.phase_add(by=by, room=room, name=f"Step {number}", after=phase(room, "taping"))
    names = [phase.name for phase in room.phases.order_by("position")]
    at = names.index("Taping")
    assert names[at + 1 : at + 9] == [f"Step {number}" for number in reversed(range(8))]
    assert names[-1] == "Finishing"


def test_phase_moves_up_and_down(by, room):
    services.phase_move(by=by, phase=phase(room, "insulation"), up=True)
    keys = list(room.phases.order_by("position").values_list("key", flat=True))
    assert keys.index("insulation") < keys.index("rough-in")


def test_progress_counts_phases_and_names_those_that_wait(by, room):
    services.phase_set_state(by=by, phase=phase(room, "strip-out"), state="done")
    services.phase_set_state(
        by=by, phase=phase(room, "framing"), state="blocked", waits_for="Lumber"
    )
    progress = progress_of(room)
    assert (progress.done, progress.of) == (1, 8)
    assert [phase.waits_for for phase in progress.waiting] == ["Lumber"]


def test_blocked_phase_without_a_reason_cannot_be_stored(room):
    with pytest.raises(IntegrityError), transaction.atomic():
        Phase.objects.filter(room=room).update(state="blocked")


@pytest.mark.parametrize("state", ["not started", "ready"])
def test_day_of_a_phase_that_was_not_begun_begins_it(by, room, state):
    services.phase_set_state(by=by, phase=phase(room, "taping"), state=state)
    day_log_add(by=by, room=room, phase=phase(room, "taping"), day=date(2026, 3, 7), minutes=60)
    taping = phase(room, "taping")
    assert (taping.state, taping.started_on) == ("in progress", date(2026, 3, 7))


@pytest.mark.parametrize("state", ["blocked", "done"])
def test_day_of_a_phase_that_waits_or_is_done_leaves_it_there(by, room, state):
    services.phase_set_state(
        by=by, phase=phase(room, "taping"), state=state, waits_for="the inspector"
    )
    day_log_add(by=by, room=room, phase=phase(room, "taping"), minutes=60)
    assert phase(room, "taping").state == state


def test_undo_of_a_logged_day_puts_its_phase_back(by, room):
    log = day_log_add(by=by, room=room, phase=phase(room, "taping"), minutes=60)
    undo(by=by, group=last_group(log.pk))
    taping = phase(room, "taping")
    assert (taping.state, taping.started_on) == ("not started", None)


def test_day_writes_hours_use_and_spoilage_into_the_ledger(by, room):
    move(by=by, house=room.house, item="tape-paper", kind="received", amount=amount(500, "ft"))
    day_log_add(
        by=by,
        room=room,
        phase=phase(room, "taping"),
        minutes=150,
        used=[("tape-paper", amount(120, "ft"), 1)],
        spoiled=[("tape-paper", amount(10, "ft"), 1)],
    )
    assert on_hand(room.house, "tape-paper", "ft") == amount(370, "ft")
    assert hours_of(room.house) == {(room.pk, "taping"): 150}
    assert set(Movement.objects.exclude(log=None).values_list("phase", flat=True)) == {"taping"}


def test_counting_what_is_left_writes_what_was_used(by, room):
    move(by=by, house=room.house, item="tape-paper", kind="received", amount=amount(500, "ft"))
    day_log_add(by=by, room=room, phase=None, remaining=[("tape-paper", amount(380, "ft"))])
    used = Movement.objects.get(kind="used")
    assert used.amount == amount(-120, "ft")


def test_day_logged_twice_with_one_key_is_one_day(room):
    once = By(ada(), "posted-twice")
    for _ in range(2):
        day_log_add(by=once, room=room, phase=None, minutes=60, used=[("x", amount(1, "each"), 1)])
    assert room.logs.count() == 1
    assert Movement.objects.count() == 1


def test_day_in_the_future_is_refused_with_nothing_written(by, room):
    with pytest.raises(Refused):
        day_log_add(by=by, room=room, phase=None, day=timezone.localdate() + timedelta(days=1))
    assert not room.logs.exists()


def test_photo_is_written_anew_under_a_name_of_ours(by, room, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    exif = Image.Exif()
    exif[0x010E] = "secret place"
    photo = photos.photo_add(
        by=by, room=room, picture=photos.reencoded(picture("JPEG", exif=exif)), caption="Left wall"
    )
    assert photo.image.name == f"photos/{room.house_id}/{photo.pk}.jpg"
    stored = (tmp_path / photo.image.name).read_bytes()
    assert b"secret place" not in stored
    assert (photo.width, photo.height) == (40, 30)


def test_photo_lying_on_its_side_is_turned_upright(by, room, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    exif = Image.Exif()
    exif[0x0112] = 6
    photo = photos.photo_add(by=by, room=room, picture=photos.reencoded(picture("JPEG", exif=exif)))
    assert (photo.width, photo.height) == (30, 40)


@pytest.mark.parametrize(
    "content", [b"", b"no picture", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a"]
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(Refused) as refused:
        photos.reencoded(SimpleUploadedFile("photo.jpg", content))
    assert refused.value.field == "file"


def test_photo_of_too_many_pixels_is_refused_before_it_is_unpacked(by, room, settings):
    settings.PHOTO_MAX_PIXELS = 1000
    with pytest.raises(Refused, match="pixels"):
        photos.reencoded(picture())


def test_photo_of_a_phone_with_48_megapixels_is_taken():
    read = photos.reencoded(picture("JPEG", size=(8064, 6048)))
    assert (read.width, read.height) == (2400, 1800)


def test_photos_that_come_at_once_are_read_one_at_a_time(monkeypatch):
    at_once, most = 0, 0

    def slow(_file):
        nonlocal at_once, most
        at_once += 1
        most = max(most, at_once)
        time.sleep(0.02)
        at_once -= 1
        return Image.new("RGB", (4, 3))

    monkeypatch.setattr(photos, "_upright", slow)
    with ThreadPoolExecutor(4) as readers:
        assert len(list(readers.map(photos.reencoded, [picture() for _ in range(4)]))) == 4
    assert most == 1


def test_photo_for_which_no_place_is_free_is_refused_at_its_field(monkeypatch):
    monkeypatch.setattr(photos, "_places", threading.BoundedSemaphore(1))
    with photos._turn_to_read(), pytest.raises(Refused, match="several photos") as refused:
        photos.reencoded(picture())
    assert refused.value.field == "file"


def test_removed_photo_comes_back(by, room, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    photo = photos.photo_add(by=by, room=room, picture=photos.reencoded(picture()))
    photos.photo_remove(by=by, photo=photo)
    undo(by=by, group=last_group(photo.pk))
    assert (tmp_path / Photo.objects.get().image.name).read_bytes()[:3] == b"\xff\xd8\xff"
