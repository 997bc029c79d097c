"""Paint by color and sheen: what a surface is painted with, and the cans of it on a price list."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from hashlib import sha256

from takeoff.choices import Sheen
from takeoff.errors import BadValue

__all__ = ["Paint", "paint_id", "paint_name"]

_LONGEST = 80
_SLUG = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """The paint of a surface: the name of its color, as the can has it, and its sheen."""

    color: str
    sheen: Sheen

    def __post_init__(self) -> None:
        if not self.color.strip():
            raise BadValue(
                "Paint color has no name; enter the one on the can or the chip, for example "
                "'Harbor Fog'"
            )
        if len(self.color) > _LONGEST:
            raise BadValue(
                f"Paint color takes at most {_LONGEST} characters; enter the name on the can, for "
                "example "
                "'Harbor Fog'"
            )


def paint_id(item: str, paint: Paint) -> str:
    """Return the id of a paint of one color and sheen, where `item` is that of paint of any color.

    Names that differ in case, spaces or signs alone are one color.

    >>> paint_id("paint-wall", Paint(color="Harbor  fog", sheen=Sheen.EGGSHELL))
    'paint-wall-harbor-fog-eggshell'
    """
    plain = unicodedata.normalize("NFKD", paint.color.casefold())
    slug = re.sub("[^a-z0-9]+", "-", plain.encode("ascii", "ignore").decode()).strip("-")
    bare = "".join(sign for sign in plain if sign.isalnum())
    if not slug or len(slug) > _SLUG or not bare.isascii():
        # Names that only differ in what is cut off or left out must not become one.
        slug = f"{slug[: _SLUG - 9]}-{sha256(bare.encode()).hexdigest()[:8]}".lstrip("-")
    return f"{item}-{slug}-{paint.sheen.value}"


def paint_name(name: str, paint: Paint) -> str:
    """Return what a store reads for it: `Wall paint, Harbor Fog, eggshell`."""
    return f"{name}, {paint.color.strip()}, {paint.sheen.value}"
