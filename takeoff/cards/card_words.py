"""The sentences of a card that stand beside its drawing, on paper and on the phone."""

from __future__ import annotations

from takeoff.cards.card import PieceCard
from takeoff.cards.marks import HoleMark
from takeoff.cards.tape import tape
from takeoff.reference import figures
from takeoff.units import Nm, UnitSystem, format_length, round_to_tape

__all__ = ["hole_check", "screw_words"]


def hole_check(hole: HoleMark, card: PieceCard, units: UnitSystem) -> str:
    """The measures of a hole from both ends and both edges of its piece.

    A person who adds them up sees, before cutting, that a hole is marked from the wrong end.
    """
    lay = card.on.lay
    across = _check(
        hole.cut.left, hole.cut.right, lay.long, units, ("left end", "right end", "wide")
    )
    up = _check(hole.cut.near, hole.cut.far, lay.across, units, ("near edge", "far edge", "high"))
    return f"{hole.name}: {across}; {up}"


def _check(low: Nm, high: Nm, whole: Nm, units: UnitSystem, words: tuple[str, str, str]) -> str:
    """Both distances and the size of a hole in one direction, as the tape reads them.

    The last distance is worked out from the rounded others, so that the sum is right on the tape
    too.
    """
    first, size = round_to_tape(low, units, up=None), round_to_tape(Nm(high - low), units, up=None)
    all_ = round_to_tape(whole, units, up=False)
    last = Nm(max(0, all_ - first - size))
    return (
        f"{format_length(first, units)} from the {words[0]}, {format_length(last, units)} from the "
        f"{words[1]}, "
        f"{format_length(size, units)} {words[2]}, together "
        f"{format_length(Nm(first + size + last), units)}"
    )


def screw_words(card: PieceCard, units: UnitSystem) -> str:
    """How many screws a piece takes, on how many lines, and how far apart they are at most."""
    if not card.screw_lines:
        return "No member lies behind this piece"
    spacing = tape(max(line.spacing for line in card.screw_lines), units)
    edge = tape(figures.length("HL-01"), units)
    count = len(card.screw_lines)
    return (
        f"{card.screws} screws on {count} line{'s' if count > 1 else ''}, at most {spacing} apart, "
        "from the middle "
        f"outward, {edge} or more from every edge"
    )
