"""Photos: opened, turned upright, made smaller and written anew as JPEG, so that nothing else came
in with them.

A picture is read before anything is written, so that nobody waits for it with the database's lock
held, and one picture at a time: a phone's largest one takes some 200 MB while it is read.
"""

from __future__ import annotations

import io
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from django.conf import settings
from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image, ImageOps, UnidentifiedImageError

from remodel.history.errors import Refused
from remodel.history.services import By, change, create, recorded, remove
from remodel.house.models import Room, Wall
from remodel.work.models import DayLog, Phase, Photo

__all__ = ["Picture", "photo_add", "photo_change", "photo_remove", "reencoded"]

_LONGEST_SIDE = 2400
_FORMATS = ("JPEG", "PNG", "WEBP")
_MODES = ("L", "RGB", "RGBA", "CMYK")  # that can be made smaller as they are
# The picture that is read and the ones in line for it. Each holds a thread of the web server, and
# some threads must stay for everybody else.
_PLACES = 4
_WAIT_SECONDS = 10
_places = threading.BoundedSemaphore(_PLACES)
_turn = threading.Lock()


class Picture(NamedTuple):
    """A picture as we write it: a JPEG with nothing but the picture, and its size in pixels."""

    content: bytes
    width: int
    height: int


@recorded("added a photo")
def photo_add(
    *,
    by: By,
    room: Room,
    picture: Picture,
    phase: Phase | None = None,
    wall: Wall | None = None,
    plane: str = "",
    log: DayLog | None = None,
    caption: str = "",
) -> Photo:
    """Add a photo to a room, of its `wall` or `plane` where it shows one; `reencoded` makes a
    picture of a file."""
    photo = Photo(
        width=picture.width,
        height=picture.height,
        room=room,
        phase=phase,
        wall=wall,
        plane=plane,
        log=log,
        caption=caption.strip()[:300],
        person=by.person,
        at=timezone.now(),
    )
    photo.image.save("photo.jpg", ContentFile(picture.content), save=False)
    return create(photo)


@recorded("changed a photo")
def photo_change(*, by: By, photo: Photo, **values: Any) -> Photo:
    """Change the caption, phase or wall of a photo."""
    return change(photo, **values)


@recorded("removed a photo")
def photo_remove(*, by: By, photo: Photo) -> Photo:
    """Remove a photo. Its file is kept, for an undo."""
    return remove(photo)


def reencoded(file: Any) -> Picture:
    """The picture in `file`, at most 2400 pixels on a side. To be called outside of any write.

    Raises `Refused` for a file that is no picture or is too large, and where too many pictures are
    waiting to be read.
    """
    if getattr(file, "size", 0) > settings.UPLOAD_MAX_BYTES:
        raise Refused(
            f"A photo may have at most {settings.UPLOAD_MAX_BYTES // 10**6} MB", field="file"
        )
    with _turn_to_read():
        upright = _upright(file)
        written = io.BytesIO()
        upright.save(written, "JPEG", quality=85)
    return Picture(written.getvalue(), upright.width, upright.height)


@contextmanager
def _turn_to_read() -> Iterator[None]:
    if not _places.acquire(blocking=False):
        raise _too_many()
    try:
        if not _turn.acquire(timeout=_WAIT_SECONDS):
            raise _too_many()
        try:
            yield
        finally:
            _turn.release()
    finally:
        _places.release()


def _too_many() -> Refused:
    return Refused(
        '"Photo" was not read, because several photos came at once. Choose it again and save in '
        "half a minute",
        field="file",
    )


def _upright(file: Any) -> Image.Image:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture: Image.Image = Image.open(file, formats=_FORMATS)
            if picture.width * picture.height > settings.PHOTO_MAX_PIXELS:
                raise Refused(
                    f"A photo may have at most {settings.PHOTO_MAX_PIXELS // 10**6} million pixels",
                    field="file",
                )
            picture.draft("RGB", (_LONGEST_SIDE, _LONGEST_SIDE))
            if picture.mode not in _MODES:
                picture = picture.convert("RGB")
            # Made smaller first: each step after it would hold the whole picture once more.
            picture.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE))
            return ImageOps.exif_transpose(picture).convert("RGB")
    except Refused:
        raise
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        Image.DecompressionBombError,
        Warning,
    ):
        raise Refused("Choose a photo: a JPEG, PNG or WebP file", field="file") from None
