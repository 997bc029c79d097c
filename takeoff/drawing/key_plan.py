"""Where a piece hangs: a small plan of its room, with the words beside it."""

from __future__ import annotations

from takeoff.cards.card import PieceCard
from takeoff.cards.card_words import where_words
from takeoff.cards.key_plan import KeyPlan
from takeoff.drawing.canvas import Spot
from takeoff.drawing.facts import Drawing
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.units import MM, UnitSystem

__all__ = ["draw_where", "key_plan_drawing"]

_WIDE, _HIGH = 2_400, 1_900
_MOST_LETTERS = 8  # of a room with more walls, only the letter of the wall at hand comes in


def draw_where(picture: Picture, card: PieceCard) -> None:
    """The room from above with the piece's place in it, and beside it in words where it hangs."""
    top, words = picture.y + picture.small * 6 // 10, where_words(card, picture.units)
    aside, foot = 0, top
    if card.key_plan is not None:
        foot = _plan(picture, card, card.key_plan, top)
        aside = _WIDE + 2 * picture.small
    picture.y = top
    for line in picture.broken(words, picture.small, picture.width - aside) if words else ():
        picture.y += picture.small * 130 // 100
        picture.words(aside, picture.y, line, cls="told", kind="Note", says=words)
    picture.y = max(picture.y, foot) + 90


def key_plan_drawing(card: PieceCard, units: UnitSystem, *, prefix: str = "key") -> Drawing | None:
    """The room from above with the piece's place in it, as a small drawing of its own; None for a
    room that has no plan."""
    if card.key_plan is None:
        return None
    title = f"Where {card.code} hangs"
    picture = Picture(prefix, _WIDE, title=title, under="", units=units, heading=False)
    picture.y = _plan(picture, card, card.key_plan, 0)
    return picture.finish(says=f"{title}: {where_words(card, units)}, in a plan of the room.")


def _plan(picture: Picture, card: PieceCard, plan: KeyPlan, top: int) -> int:
    """Draw the plan and return where it ends."""
    lane = picture.small * 9 // 10
    xs, ys = [x for x, _ in plan.outline], [y for _, y in plan.outline]
    unit = max(
        -(-(max(xs) - min(xs)) // (_WIDE - 2 * lane)), -(-(max(ys) - min(ys)) // (_HIGH - 2 * lane))
    )
    unit = max(unit, MM // 100)
    wide, high = (max(xs) - min(xs)) // unit, (max(ys) - min(ys)) // unit
    left = lane + (_WIDE - 2 * lane - wide) // 2

    def spot(point: tuple[int, int]) -> Spot:
        return left + (point[0] - min(xs)) // unit, top + lane + (point[1] - min(ys)) // unit

    sketch = picture.sketch
    sketch.polygon([spot(corner) for corner in plan.outline], "face")
    if len(plan.here) == 2:
        sketch.lines([[spot(end) for end in plan.here]], "wall")
    else:
        sketch.polygon([spot(corner) for corner in plan.here], "bar")
    # the letter of the piece's own wall comes first, and one that finds no room beside it goes
    own = [wall for wall in plan.walls if f"-{wall[2]}" in card.code]
    others = [wall for wall in plan.walls if wall not in own]
    for start, end, letter in (*own, *(others if len(plan.walls) <= _MOST_LETTERS else ())):
        (x0, y0), (x1, y1) = spot(start), spot(end)
        # walls are walked clockwise, so the outside is on the left hand
        far = max(abs(x1 - x0), abs(y1 - y0)) or 1
        x = (x0 + x1) // 2 + (y1 - y0) * lane * 6 // (10 * far)
        y = (y0 + y1) // 2 - (x1 - x0) * lane * 6 // (10 * far)
        picture.words(
            max(x, width_of(letter, picture.small) // 2 + 60),
            y + picture.small * 35 // 100,
            letter,
            cls="side",
            anchor="middle",
            kind="Wall",
            says=f"wall {letter} in the small plan of the room",
        )
    return top + high + 2 * lane
