"""Seam backers and shims for floating seams. Backers are strips of structural panel; a shim lies
along each of their long edges."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["backer_length", "panel_share", "strips"]


def backer_length(row_height: Nm) -> Nm:
    """Return the length of a backer: that of a strip (BB-length), or the height of the row where
    that is less."""
    return min(figures.length("BB-length"), row_height)


def strips(lengths: Iterable[Nm], kerf: Nm) -> int:
    """Return how many full strips the backers of these lengths are cut from. The longest comes
    first, and each goes where it first fits."""
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
    """Return the share of structural panels that `count` strips take, exact. Whole panels are
    bought for all rooms at once.

    Strips are cut across the panel, so that their length is its width and nothing is lost on it: 10
    strips of 9 in come out of 8 ft.
    """
    a_panel = (figures.length("BB-panel-length") + kerf) // (figures.length("BB-width") + kerf)
    return Fraction(count, int(a_panel))
