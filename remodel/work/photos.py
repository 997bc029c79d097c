"""Photos: opened, turned upright, made smaller and written anew as JPEG, so that nothing else came
in with them."""

from __future__ import annotations

import io
import warnings
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
    file: Any,
    phase: Phase | None = None,
    wall: Wall | None = None,
    log: DayLog | None = None,
    caption: str = "",
) -> Photo:
    """Add a photo to a room. It is written anew, unless `file` is a `Picture` already. Raises
    `Refused` as `reencoded` does."""
    picture = file if isinstance(file, Picture) else reencoded(file)
    photo = Photo(
        width=picture.width,
        height=picture.height,
        room=room,
        phase=phase,
        wall=wall,
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
    """The picture in `file`, at most 2400 pixels on a side. Raises `Refused` for a file that is no
    picture or is too large."""
    if getattr(file, "size", 0) > settings.UPLOAD_MAX_BYTES:
        raise Refused(
            f"A photo may have at most {settings.UPLOAD_MAX_BYTES // 10**6} MB", field="file"
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(file, formats=_FORMATS)
            if picture.width * picture.height > settings.PHOTO_MAX_PIXELS:
                raise Refused(
                    f"A photo may have at most {settings.PHOTO_MAX_PIXELS // 10**6} million pixels",
                    field="file",
                )
            picture.draft("RGB", (_LONGEST_SIDE, _LONGEST_SIDE))
            upright = ImageOps.exif_transpose(picture).convert("RGB")
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
    upright.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE))
    written = io.BytesIO()
    upright.save(written, "JPEG", quality=85)
    return Picture(written.getvalue(), upright.width, upright.height)
