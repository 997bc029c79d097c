"""Photos of refused forms, kept for a day, because a browser never fills in a file input again."""

from __future__ import annotations

import base64
import io
from datetime import timedelta
from uuid import UUID, uuid4

from django.db.models import Count, QuerySet, Sum
from django.utils import timezone
from PIL import Image

from remodel.history.errors import Refused
from remodel.history.turns import write_turn
from remodel.people.models import Person
from remodel.work.models import KeptPhoto
from remodel.work.photos import Picture

__all__ = [
    "GONE",
    "find_photo",
    "keep_photo",
    "photo_source",
    "remove_expired",
    "remove_photo",
    "take_photo",
]

KEPT_FOR = timedelta(days=1)
MOST_PHOTOS = 10  # of one person; a form keeps one
MOST_BYTES = 20_000_000
_SMALL_SIDE = 320

GONE = '"Photo" was kept for a day and is gone. Choose it again'


def keep_photo(person: Person, picture: Picture, *, form: str) -> KeptPhoto:
    """Keep a picture under the key of the form it came with, in place of an earlier one.

    Raises `Refused` where the person has too many kept photos already.
    """
    small = _small(picture)
    with write_turn():
        remove_expired()
        mine = KeptPhoto.objects.filter(person=person)
        before = mine.filter(form=form).values_list("pk", flat=True).first() if form else None
        if before is not None:
            mine.filter(pk=before).delete()
        kept = mine.aggregate(photos=Count("pk"), size=Sum("size"))
        size = len(picture.content) + len(small)
        if kept["photos"] >= MOST_PHOTOS or (kept["size"] or 0) + size > MOST_BYTES:
            raise Refused(
                f'"Photo" is not kept: {kept["photos"]} photos of days not saved yet are kept '
                "already, the most "
                "there may be. Save or remove those, or fix the rest first and then choose the "
                "photo again",
                field="file",
            )
        return KeptPhoto.objects.create(
            # A form sent twice at once is answered twice; either answer names the photo that
            # stands.
            id=before or uuid4(),
            person=person,
            form=form,
            content=picture.content,
            small=small,
            size=size,
            width=picture.width,
            height=picture.height,
            at=timezone.now(),
        )


def find_photo(person: Person, token: str) -> KeptPhoto | None:
    """The photo of that `token`, without its content; None where this person has no such photo."""
    try:
        key = UUID(token)
    except ValueError:
        return None
    return _standing(person).defer("content").filter(pk=key).first()


def take_photo(person: Person | None, token: str) -> Picture:
    """The kept picture, which is then kept no longer. To be called inside the write that saves it.

    Raises `Refused` where it is gone.
    """
    photo = find_photo(person, token) if person is not None else None
    if photo is None:
        raise Refused(GONE, field="file")
    picture = Picture(bytes(photo.content), photo.width, photo.height)
    photo.delete()
    return picture


def remove_photo(person: Person | None, token: str) -> None:
    """Remove a photo that is kept for this person, if there is one."""
    with write_turn():
        if person is not None and (photo := find_photo(person, token)) is not None:
            photo.delete()


def photo_source(photo: KeptPhoto) -> str:
    """The small picture as an image's source. It travels with the page and has no address."""
    return f"data:image/jpeg;base64,{base64.b64encode(bytes(photo.small)).decode()}"


def _standing(person: Person) -> QuerySet[KeptPhoto]:
    return KeptPhoto.objects.filter(person=person, at__gt=timezone.now() - KEPT_FOR)


def remove_expired() -> None:
    """Remove the photos of everybody whose time is over."""
    KeptPhoto.objects.filter(at__lte=timezone.now() - KEPT_FOR).delete()


def _small(picture: Picture) -> bytes:
    image = Image.open(io.BytesIO(picture.content), formats=("JPEG",))
    image.draft("RGB", (_SMALL_SIDE, _SMALL_SIDE))
    image.thumbnail((_SMALL_SIDE, _SMALL_SIDE))
    written = io.BytesIO()
    image.save(written, "JPEG", quality=75)
    return written.getvalue()
