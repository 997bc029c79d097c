"""The lines, hatches and marks of a lying piece's drawing."""

from __future__ import annotations

from takeoff.cards.marks import CutWhen, HoleMark, NotchMark
from takeoff.cards.sides import Finish
from takeoff.drawing.canvas import Spot
from takeoff.drawing.layout import Box
from takeoff.drawing.on_page import CLEAR, PieceOnPage, hole_reach
from takeoff.reference import figures
from takeoff.units import INCH

__all__ = ["draw_shapes"]

_LINES = {
    Finish.TAPERED: "tapered",
    Finish.FACTORY: "factory",
    Finish.END: "factory",
    Finish.CUT: "cut",
}


def draw_shapes(on: PieceOnPage) -> None:
    """Draw backers, screw lines, notches, edges by kind, and holes."""
    sketch = on.picture.sketch
    sketch.polygon(on.shape, "board")
    for backer in on.card.backers:
        area = backer.area
        (x0, y0), (x1, y1) = (
            on.view.spot((area.left, area.near)),
            on.view.spot((area.right, area.far)),
        )
        sketch.rectangle(x0, y1, x1, y0, "backer", hatch="backer")
    _screw_lines(on)
    for notch in on.card.notches:
        _notch(on, notch)
    _sides(on)
    for hole in on.card.holes:
        _hole(on, hole)


def _screw_lines(on: PieceOnPage) -> None:
    view, sketch = on.view, on.picture.sketch
    runs: list[list[Spot]] = []
    faces: list[list[Spot]] = []
    dots: list[tuple[int, int, int]] = []
    inset = figures.length("HL-01-layout")
    for line in on.card.screw_lines:
        ends = (line.low, line.high)
        runs.append([view.spot((line.at, end) if line.upright else (end, line.at)) for end in ends])
        for face in line.faces:
            for end, inward in ((line.low, 1), (line.high, -1)):
                to = end + inward * min(3 * INCH, (line.high - line.low) // 3)
                faces.append(
                    [view.spot((face, at) if line.upright else (at, face)) for at in (end, to)]
                )
        if line.screws:
            low, high = line.low + inset, line.high - inset
            for k in range(line.screws):
                at = (
                    low + (high - low) * k // (line.screws - 1)
                    if line.screws > 1
                    else (low + high) // 2
                )
                x, y = view.spot((line.at, at) if line.upright else (at, line.at))
                dots.append((x, y, 38))
    sketch.lines(runs, "screws")
    sketch.lines(faces, "face")
    sketch.shapes((), dots, "screw")


def _sides(on: PieceOnPage) -> None:
    grouped: dict[str, list[list[Spot]]] = {}
    corners = on.shape
    for side, start, end in zip(on.card.sides, corners, (*corners[1:], corners[0]), strict=True):
        grouped.setdefault(_LINES[side.finish], []).append([start, end])
        box = Box(
            min(start[0], end[0]),
            min(start[1], end[1]),
            max(start[0], end[0]),
            max(start[1], end[1]),
        )
        if start[0] == end[0] or start[1] == end[1]:
            on.picture.places.lines.append(box.grown(50))
    for key, runs in grouped.items():
        if key == "tapered":
            on.picture.sketch.double_lines(runs, "taper")
        else:
            on.picture.sketch.lines(runs, key)


def _notch(on: PieceOnPage, notch: NotchMark) -> None:
    sketch = on.picture.sketch
    (x0, y0), (x1, y1) = (
        on.view.spot((notch.area.left, notch.area.near)),
        on.view.spot((notch.area.right, notch.area.far)),
    )
    if notch.later:
        sketch.rectangle(x0, y1, x1, y0, "later")
        return
    sketch.rectangle(x0, y1, x1, y0, "opening")
    sketch.lines([[(x0, y0), (x1, y1)], [(x0, y1), (x1, y0)]], "void")
    on.picture.places.keep(Box(x0, y1, x1, y0))


def _hole(on: PieceOnPage, hole: HoleMark) -> None:
    sketch, view = on.picture.sketch, on.view
    (x0, y0), (x1, y1) = (
        view.spot((hole.cut.left, hole.cut.near)),
        view.spot((hole.cut.right, hole.cut.far)),
    )
    x, y = (x0 + x1) // 2, (y0 + y1) // 2
    reach = hole_reach(x1 - x0, y0 - y1)
    key = "later" if hole.when is CutWhen.IN_PLACE else "hole"
    if hole.round and hole.is_whole:
        sketch.circle(x, y, max(70, (x1 - x0) // 2), key)
    else:
        sketch.rectangle(x0, y1, x1, y0, key)
    sketch.lines([[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]], "centre")
    on.picture.places.keep(Box(x - reach, y - reach, x + reach, y + reach).grown(CLEAR))
