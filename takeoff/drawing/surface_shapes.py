"""The lines, hatches and holes of a surface's drawing."""

from __future__ import annotations

from collections.abc import Collection

from takeoff.cards.behind import seam_backers
from takeoff.cards.tape import tape
from takeoff.choices import HiddenKind, Runs
from takeoff.drawing.canvas import Spot
from takeoff.drawing.layout import Box
from takeoff.drawing.on_page import CLEAR, SurfaceOnPage
from takeoff.drawing.seam_lines import seam_lines
from takeoff.framing.members import MemberKind

__all__ = ["draw_shapes"]

_SEAMS = {
    "tapered": "tapered seam",
    "cut": "cut edge, no taper",
    "butt": "butt seam on framing",
    "floating": "floating butt seam",
}


def draw_shapes(
    on: SurfaceOnPage, *, boards: bool = True, hung: Collection[str] = frozenset()
) -> None:
    """Draw boards, backers, members, what is hidden, seams by kind, openings and holes. Without
    `boards` their pieces and seams are left out, so that what they hide is seen. Boards that are
    `hung`, by their codes, are filled in."""
    sketch, view, surface = on.picture.sketch, on.view, on.surface
    plan = on.seen.plan if boards else None
    boarded = plan is not None or not boards
    sketch.polygon(on.spots(surface.outline), "rest", hatch=None if boarded else "unboarded")
    if plan is not None:
        for piece in plan.pieces:
            is_hung = piece.code in hung
            sketch.polygon(on.spots(piece.outline), "hung" if is_hung else "board")
            if is_hung:
                on.picture.legend("hung", "board that hangs")
                on.picture.fact("Hangs", piece.code, "ticked as hung", drawn=False)
    _backers(on)
    _hidden(on)
    _members(on)
    sketch.polygon(on.spots(surface.outline), "framing")
    if plan is not None:
        sketch.polygon(on.spots(surface.board_area), "edge")
        board = on.seen.house.catalogue.board(plan.board)
        for seam in seam_lines(surface, plan, board):
            runs = [[view.spot(a), view.spot(b)] for a, b in seam.runs]
            if not runs:
                continue
            on.picture.legend(seam.key, _SEAMS[seam.key])
            for (x0, y0), (x1, y1) in runs:
                on.picture.places.lines.append(
                    Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(50)
                )
            if seam.key == "tapered":
                sketch.double_lines(runs, "taper")
            else:
                sketch.lines(runs, seam.key)
    for opening in surface.openings:
        box = view.box(opening.left, opening.bottom, opening.right, opening.top)
        sketch.rectangle(box.left, box.top, box.right, box.bottom, "opening", hatch="opening")
        on.picture.legend("opening", "opening")
    _holes(on)


def _holes(on: SurfaceOnPage) -> None:
    view = on.view
    shapes: list[list[Spot]] = []
    circles: list[tuple[int, int, int]] = []
    crosses: list[list[Spot]] = []
    for cutout in on.surface.cutouts:
        box = view.box(cutout.left, cutout.bottom, cutout.right, cutout.top)
        x, y, reach = on.cross_of(cutout)
        if cutout.is_round:
            circles.append((x, y, max(60, (box.right - box.left) // 2)))
        else:
            shapes.append(
                [
                    (box.left, box.top),
                    (box.right, box.top),
                    (box.right, box.bottom),
                    (box.left, box.bottom),
                ]
            )
        crosses += [[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]]
        on.picture.places.keep(Box(x - reach, y - reach, x + reach, y + reach).grown(CLEAR))
        on.picture.legend("hole", "box, light or vent")
    on.picture.sketch.shapes(shapes, circles, "hole")
    on.picture.sketch.lines(crosses, "centre")


def _members(on: SurfaceOnPage) -> None:
    view = on.view
    there: list[list[Spot]] = []
    to_come: list[list[Spot]] = []
    for member in on.seen.framed.members:
        half = member.width // 2
        into = to_come if member.kind is MemberKind.NAILER else there
        for at in (member.centre - half, member.centre + half):
            upright = member.runs is Runs.ACROSS
            places = [(at, end) if upright else (end, at) for end in (member.low, member.high)]
            into.append([view.spot(place) for place in places])
    on.picture.sketch.lines(there, "member")
    on.picture.sketch.lines(to_come, "nailer")
    if there:
        on.picture.legend("member", "stud or joist behind")
    if to_come:
        on.picture.legend("nailer", "nailer to put in first")


def _backers(on: SurfaceOnPage) -> None:
    for one in seam_backers(on.seen):
        box = on.view.box(one.left, one.bottom, one.right, one.top)
        on.picture.sketch.rectangle(
            box.left, box.top, box.right, box.bottom, "backer", hatch="backer"
        )
        on.picture.legend("backer", "seam backer")
        on.picture.fact(
            "Backer",
            f"row {one.row + 1}",
            f"seam backer, middle at {tape(one.joint, on.units)}, {tape(one.long, on.units)} long",
            drawn=False,
        )


def _hidden(on: SurfaceOnPage) -> None:
    for item in on.surface.hidden:
        box = on.view.box(item.left, item.bottom, item.right, item.top)
        rectangle = (box.left, box.top, box.right, box.bottom)
        if item.kind is HiddenKind.BLOCKING:
            on.picture.sketch.rectangle(*rectangle, "blocking", hatch="blocking")
            on.picture.legend("blocking", "blocking behind")
        else:
            on.picture.sketch.rectangle(*rectangle, "pipe")
            on.picture.legend("pipe", "cable, pipe or duct behind")
