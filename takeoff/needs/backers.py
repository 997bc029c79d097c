"""Seam backers and shims for floating seams: strips out of structural panels, shims along both long
edges."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["backer_length", "panel_share", "strips"]


def backer_length(row_height: Nm) -> Nm:
    """How long a backer is: as long as a strip is (BB-length), or as the row is high where that is
    less."""
    return min(figures.length("BB-length"), row_height)


def strips(lengths: Iterable[Nm], kerf: Nm) -> int:
    """How many full strips the backers of these lengths are cut from, longest first, each where it
    first fits."""
    full = figures.length("BB-length")
    rests: list[int] = []
    for wanted in sorted(lengths, reverse=True):
        for index, rest in enumerate(rests):
            if wanted <= rest:
                rests[index] = rest - wanted - kerf
                break
        else:
            rests.append(full - wanted - kerf)
    return len(rests)


def panel_share(count: int, kerf: Nm) -> Fraction:
    """The part of structural panels that `count` strips take, exact; whole panels are bought for
    all rooms at once.

    Strips are cut across the panel, so that its width is their length and no cut is lost on it: 10
    of 9 in out of 8 ft.
    """
    a_panel = (figures.length("BB-panel-length") + kerf) // (figures.length("BB-width") + kerf)
    return Fraction(count, int(a_panel))
