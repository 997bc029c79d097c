"""The sizes that doors, boxes and lights usually have, offered to be pressed in place of typing.

Common practice, no published source: what stores have on the shelf. Each is only a start, and is
checked with a tape: makers differ, in lights most of all.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["UsualSize", "usual_sizes"]


@dataclass(frozen=True)
class UsualSize:
    """A size under the name people ask for it by, and what is put into which field of the form."""

    name: str
    fields: dict[str, str]


def _door(name: str, width: str, height: str) -> UsualSize:
    # The door itself: the form adds what its rough opening takes.
    return UsualSize(name, {"kind": "door", "given": "unit", "width": width, "height": height})


def _box(name: str, width: str, height: str) -> UsualSize:
    return UsualSize(name, {"kind": "box", "width": width, "height": height})


def _round(name: str, width: str) -> UsualSize:
    return UsualSize(name, {"kind": "round", "width": width, "height": ""})


_SIZES: dict[tuple[str, str], tuple[str, tuple[UsualSize, ...]]] = {
    ("opening", "in"): (
        "Usual doors, 80 in high",
        tuple(_door(f"{width} in", f'{width}"', '80"') for width in (30, 32, 34, 36)),
    ),
    ("opening", "mm"): (
        "Usual doors, 2000 mm high",
        tuple(_door(f"{width} mm", str(width), "2000") for width in (700, 800, 900)),
    ),
    ("cutout", "in"): (
        "Usual holes; measure yours, makers differ",
        (
            _box("One gang", '2 1/4"', '3 3/4"'),
            _box("Two gang", '4 1/16"', '3 3/4"'),
            _round("Round box, 4 in", '4 1/8"'),
            _round("Can light, 4 in", '4 1/4"'),
            _round("Can light, 6 in", '6 3/8"'),
        ),
    ),
    ("cutout", "mm"): (
        "Usual holes; measure yours, makers differ",
        (
            _round("Round box, 68 mm", "68"),
            _box("Two round boxes in a row", "139", "68"),
            _round("Light, 75 mm", "75"),
            _round("Light, 90 mm", "90"),
        ),
    ),
}


def usual_sizes(word: str, units: str) -> tuple[str, tuple[UsualSize, ...]] | None:
    """What the sizes are, and the sizes, for a form that adds an `opening` or a `cutout` in a house
    in `units` ("in" or "mm"); None where nothing has a usual size."""
    return _SIZES.get((word, units))
