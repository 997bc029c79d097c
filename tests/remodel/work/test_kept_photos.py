"""A photo of a day that was refused for another field is kept, shown, and saved with the day the
next time."""

import base64
import io
import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.people.rate_limits import PHOTOS
from remodel.work import kept_photos
from remodel.work.kept_photos import KEPT_FOR, find_photo, keep_photo, remove_expired
from remodel.work.models import DayLog, KeptPhoto, Phase, Photo
from remodel.work.photos import Picture
from remodel.work.services import phases_add
from tests.remodel.everything import a_photo
from tests.remodel.factories import RoomFactory, accept_stops, ada, ben, shared_house
from tests.remodel.site import HTMX, browser

pytestmark = pytest.mark.django_db

KEY = "6b0f4ab0-52a5-4f3a-9d2c-1d1f0f5f1c11"


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.HOSTED = True
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def taping():
    """A phase of a house that Ada and Ben share, with nothing on sale: its form is short."""
    room = RoomFactory(house=shared_house()[0])
    phases_add(by=By(ada()), rooms=[room])
    accept_stops(room.house)
    return Phase.objects.get(room=room, key="taping")


@pytest.fixture
def client():
    return browser(ada())


def post(client, phase, *, key=KEY, more=None, **values):
    values.setdefault("day", timezone.localdate().isoformat())
    return client.post(reverse("log-add", args=[phase.pk]), {"key": key, **values}, **more or {})


def refused(client, phase, **values):
    """A day with hours that cannot be read, and a photo; what the page carries from then on."""
    answer = post(
        client, phase, **{"hours": "a lot", "photo": a_photo(), "caption": "Left wall"} | values
    )
    assert answer.status_code == 422
    return answer


def token(answer) -> str:
    kept = answer.context["form"].kept
    assert f'name="kept_photo" value="{kept.pk}"' in answer.content.decode()
    return str(kept.pk)


def a_picture(size: int = 100) -> Picture:
    written = io.BytesIO()
    Image.new("RGB", (8, 6)).save(written, "JPEG")
    return Picture(written.getvalue().ljust(size, b"\0"), 8, 6)


@pytest.mark.parametrize("more", [{}, HTMX])
def test_photo_of_a_refused_day_is_shown_and_saved_with_the_next_post(client, taping, more):
    answer = refused(client, taping, more=more)
    page = answer.content.decode()
    assert "Photo kept." in page
    assert 'src="data:image/jpeg;base64,' in page
    assert 'value="Left wall"' in page
    assert not Photo.objects.exists()

    post(client, taping, more=more, hours="2", caption="Left wall", kept_photo=token(answer))
    photo = Photo.objects.get()
    assert (photo.caption, photo.log, photo.person) == ("Left wall", DayLog.objects.get(), ada())
    assert (photo.width, photo.height) == (40, 30)
    with photo.image.open("rb") as file:
        assert Image.open(file).size == (40, 30)
    assert not KeptPhoto.objects.exists()


def test_photo_outlives_any_number_of_refusals(client, taping):
    kept = token(refused(client, taping))
    for hours in ("still a lot", "-1"):
        answer = post(client, taping, hours=hours, caption="Left wall", kept_photo=kept)
        assert token(answer) == kept
    post(client, taping, hours="2", caption="Left wall", kept_photo=kept)

    assert Photo.objects.get().caption == "Left wall"


def test_photo_is_kept_where_the_day_is_refused_by_what_it_would_write(client, taping):
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    answer = post(client, taping, day=tomorrow, hours="2", photo=a_photo())

    assert answer.status_code == 422
    assert find_photo(ada(), token(answer)) is not None


def test_kept_photo_is_not_written_anew_a_second_time(client, taping, monkeypatch):
    kept = token(refused(client, taping))
    content = bytes(KeptPhoto.objects.get().content)
    monkeypatch.setattr("remodel.work.photos.reencoded", None)
    monkeypatch.setattr("remodel.pages.work.forms.reencoded", None)
    post(client, taping, hours="2", kept_photo=kept)

    with Photo.objects.get().image.open("rb") as file:
        assert file.read() == content


def test_what_was_taken_with_the_photo_is_not_kept_either(client, taping):
    written = io.BytesIO()
    picture = Image.new("RGB", (3000, 20))
    exif = picture.getexif()
    exif[0x010F] = "Camera of Ada"
    picture.save(written, "JPEG", exif=exif)
    refused(
        client,
        taping,
        photo=SimpleUploadedFile("../../x.html", written.getvalue(), content_type="text/html"),
    )
    kept = KeptPhoto.objects.get()

    assert b"Camera of Ada" not in bytes(kept.content) + bytes(kept.small)
    assert (kept.width, Image.open(io.BytesIO(bytes(kept.small))).width) == (2400, 320)


def test_picture_on_the_page_is_small(client, taping):
    noise = Image.effect_noise((2400, 1800), 90).convert("RGB")
    written = io.BytesIO()
    noise.save(written, "JPEG", quality=85)
    page = refused(
        client, taping, photo=SimpleUploadedFile("a.jpg", written.getvalue())
    ).content.decode()
    source = page.partition('src="data:image/jpeg;base64,')[2].partition('"')[0]

    assert len(base64.b64decode(source)) < 60_000
    assert KeptPhoto.objects.get().size > 1_000_000


def test_another_photo_replaces_the_kept_one(client, taping):
    kept = token(refused(client, taping))
    written = io.BytesIO()
    Image.new("RGB", (20, 50)).save(written, "PNG")
    other = SimpleUploadedFile("other.png", written.getvalue())
    answer = post(client, taping, hours="a lot", kept_photo=kept, photo=other)
    assert (KeptPhoto.objects.get().width, token(answer)) == (20, kept)
    other.seek(0)
    post(client, taping, hours="2", kept_photo=kept, photo=other)

    assert Photo.objects.get().width == 20
    assert not KeptPhoto.objects.exists()


def test_kept_photo_can_be_removed_with_its_words_and_all_else_stays(client, taping):
    kept = token(refused(client, taping, hours="2 1/2", day="31.31.31"))
    answer = post(
        client,
        taping,
        hours="2 1/2",
        note="Out of plumb",
        caption="Left wall",
        kept_photo=kept,
        remove_photo="yes",
    )
    page = answer.content.decode()

    assert answer.status_code == 200
    assert not KeptPhoto.objects.exists()
    assert not DayLog.objects.exists()
    assert "Photo kept" not in page
    assert 'value="Left wall"' not in page
    assert 'value="2 1/2"' in page
    assert "Out of plumb" in page
    post(client, taping, hours="2 1/2", note="Out of plumb")
    assert (DayLog.objects.get().note, Photo.objects.count()) == ("Out of plumb", 0)


def test_enter_in_a_field_saves_the_day_and_removes_no_photo(client, taping):
    """A browser presses the first button of a form."""
    page = refused(client, taping).content.decode()
    form = page[page.index('enctype="multipart/form-data"') :]
    first = form[form.index("<button") :].partition(">")[0]

    assert "name=" not in first
    assert "remove_photo" in page


def test_photo_of_another_person_is_not_usable(client, taping):
    """Ben works on the same house; a token he has seen is of no use to him."""
    kept = token(refused(client, taping))
    other = browser(ben())
    answer = post(other, taping, hours="a lot", kept_photo=kept)
    assert "data:image/jpeg" not in answer.content.decode()
    answer = post(other, taping, hours="2", caption="Left wall", kept_photo=kept)
    assert "is gone. Choose it again" in answer.content.decode()
    post(other, taping, hours="2", kept_photo=kept, remove_photo="yes")
    post(other, taping, hours="2", kept_photo=kept, photo=a_photo())

    assert (DayLog.objects.get().person, Photo.objects.count()) == (ben(), 1)
    assert KeptPhoto.objects.get().person == ada()


@pytest.mark.parametrize("of", ["", "x" * 500, "0", KEY, "../../etc/passwd", "' or 1=1 --", "\0"])
def test_token_that_is_none_is_told_and_nothing_is_saved(client, taping, of):
    answer = post(client, taping, hours="2", caption="Left wall", kept_photo=of)

    assert answer.status_code == 422
    assert "photo" in answer.context["form"].errors
    assert not DayLog.objects.exists()


def test_double_press_writes_one_photo(client, taping):
    kept = token(refused(client, taping))
    answers = [
        post(client, taping, hours="2", caption="Left wall", kept_photo=kept) for _ in range(2)
    ]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert (DayLog.objects.count(), Photo.objects.count()) == (1, 1)


def test_refused_twice_by_a_double_press_is_one_kept_photo_under_one_token(client, taping):
    tokens = {token(refused(client, taping)) for _ in range(2)}

    assert len(tokens) == KeptPhoto.objects.count() == 1


def test_day_that_is_refused_after_the_photo_was_taken_up_keeps_it(client, taping, monkeypatch):
    kept = token(refused(client, taping))

    def no(**values):
        raise Refused("Not today", field="day")

    monkeypatch.setattr("remodel.logbook.day_log_add", no)
    answer = post(client, taping, hours="2", kept_photo=kept)

    assert token(answer) == kept
    assert find_photo(ada(), kept) is not None


def test_photo_is_gone_after_a_day_and_the_page_says_so(client, taping):
    kept = token(refused(client, taping))
    KeptPhoto.objects.update(at=timezone.now() - KEPT_FOR)
    for hours in ("a lot", "2"):
        answer = post(client, taping, hours=hours, caption="Left wall", kept_photo=kept)
        assert "is gone. Choose it again" in answer.content.decode()
        assert 'name="kept_photo"' not in answer.content.decode()
    assert not DayLog.objects.exists()


def test_expired_photos_of_everybody_go_with_the_next_day_that_is_saved(client, taping):
    old = keep_photo(ben(), a_picture(), form="")
    new = keep_photo(ben(), a_picture(), form="")
    KeptPhoto.objects.filter(pk=old.pk).update(at=timezone.now() - KEPT_FOR)
    post(client, taping, hours="2")

    assert list(KeptPhoto.objects.all()) == [new]


def test_expired_photos_go_when_one_is_kept_or_on_request():
    old = keep_photo(ada(), a_picture(), form="")
    KeptPhoto.objects.update(at=timezone.now() - KEPT_FOR)
    keep_photo(ben(), a_picture(), form="")
    assert not KeptPhoto.objects.filter(pk=old.pk).exists()
    KeptPhoto.objects.update(at=timezone.now() - KEPT_FOR)
    remove_expired()
    assert not KeptPhoto.objects.exists()


def test_too_many_kept_photos_are_refused_in_words_and_other_people_keep_theirs(client, taping):
    for _ in range(kept_photos.MOST_PHOTOS):
        keep_photo(ada(), a_picture(), form=str(uuid.uuid4()))
    answer = refused(client, taping)
    assert (
        "&quot;Photo&quot; is not kept: 10 photos of days not saved yet are kept already"
        in answer.content.decode()
    )
    assert answer.context["form"].kept is None
    assert refused(browser(ben()), taping).context["form"].kept is not None


def test_bytes_of_kept_photos_are_bounded_too(monkeypatch):
    monkeypatch.setattr(kept_photos, "MOST_BYTES", 25_000)
    keep_photo(ada(), a_picture(10_000), form=KEY)
    keep_photo(ada(), a_picture(12_000), form=KEY)  # in place of the one before
    with pytest.raises(Refused, match="is not kept"):
        keep_photo(ada(), a_picture(14_000), form="another")

    assert [len(bytes(kept_photo.content)) for kept_photo in KeptPhoto.objects.all()] == [12_000]


def test_file_that_is_no_photo_is_refused_and_the_kept_one_stays(client, taping):
    kept = token(refused(client, taping))
    wrong = SimpleUploadedFile("a.jpg", b"<svg xmlns='http://www.w3.org/2000/svg'/>")
    answer = post(client, taping, hours="2", kept_photo=kept, photo=wrong)

    assert "Choose a photo: a JPEG, PNG or WebP file" in answer.content.decode()
    assert token(answer) == kept
    assert not DayLog.objects.exists()


def test_two_photos_at_once_are_refused_in_words(client, taping):
    answer = post(client, taping, hours="2", photo=[a_photo(), a_photo()])

    assert "takes one picture, and several were sent" in answer.content.decode()
    assert not DayLog.objects.exists()


def test_words_of_a_photo_without_a_photo_are_not_dropped_in_silence(client, taping):
    answer = post(client, taping, hours="2", caption="Left wall")

    assert answer.status_code == 422
    assert answer.context["form"].errors["photo"] == [
        '"Photo" is empty. Choose the photo, or empty "What the photo shows"'
    ]
    assert 'value="Left wall"' in answer.content.decode()


def test_photos_of_refused_days_count_against_the_pace_and_kept_ones_do_not(
    client, taping, monkeypatch
):
    monkeypatch.setattr("remodel.pages.work.views.PHOTOS", replace(PHOTOS, person=1))
    kept = token(refused(client, taping))
    too_fast = post(client, taping, hours="2", photo=a_photo(), kept_photo=kept)
    assert too_fast.status_code == 429
    assert token(too_fast) == kept
    assert post(client, taping, hours="2", kept_photo=kept).status_code == 302
    assert Photo.objects.count() == 1
