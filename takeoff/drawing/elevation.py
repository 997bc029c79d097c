"""One surface as a drawing: a wall as seen from inside the room, a ceiling as seen from below."""

from __future__ import annotations

from collections.abc import Iterator

from takeoff.boards.plan import JointKind, Piece
from takeoff.choices import Action, HiddenKind, Runs, SurfaceKind
from takeoff.drawing.layout import Box
from takeoff.drawing.lookup import Seen, see
from takeoff.drawing.picture import Drawing, Picture, Tick, View, scale_for, tape
from takeoff.drawing.seam_lines import seam_lines
from takeoff.drawing.sides import meets_of
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.drawing.svg import Spot
from takeoff.framing.members import MemberKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import PlacedCutout, Point
from takeoff.job import Takeoff
from takeoff.needs.backers import backer_length
from takeoff.reference import length
from takeoff.units import Nm

__all__ = ["surface_drawing"]

_SEAMS = {
    "tapered": "tapered seam",
    "cut": "cut edge, no taper",
    "butt": "butt seam on framing",
    "floating": "floating butt seam",
}
_LEFT_LANE = 1_750
_TOP_LANE = 420
_LABEL_GRID = 7


def surface_drawing(takeoff: Takeoff, surface: str, *, page: Page = PAPER, prefix: str = "surface") -> Drawing:
    """The surface of that id with its boards and their codes, seams by kind, members, openings, boxes, backers and
    what is behind; running dimensions from its left end and from the floor, or from a ceiling's lower left corner.

    Raises `BadValue` for an id that is no surface, and for one too large to draw.
    """
    seen = see(takeoff, surface)
    return _Elevation(seen, page, prefix).draw()


class _Elevation:
    def __init__(self, seen: Seen, page: Page, prefix: str) -> None:
        self.seen = seen
        self.surface = seen.surface
        self.units = seen.house.units
        self.is_wall = seen.surface.kind is SurfaceKind.WALL
        way = "seen from inside the room" if self.is_wall else "seen from below, its first wall at the bottom"
        name = seen.name[:1].upper() + seen.name[1:]
        self.left, self.bottom, self.right, self.top = bounds(self.surface.outline)
        wide, high = self.right - self.left, self.top - self.bottom
        across = page.width - _LEFT_LANE - 500
        scale = scale_for(wide, high, across=across, up=page.height - 7_500)
        size = f"{tape(Nm(wide), self.units)} x {tape(Nm(high), self.units)}"
        under = f"{seen.room.name} · {way} · {size} at the framing · 1:{scale} on paper"
        self.picture = Picture(prefix, page.width, title=name, under=under, units=self.units)
        self.picture.scale = scale
        self.page = page
        self.scale = scale

    def draw(self) -> Drawing:
        picture, surface = self.picture, self.surface
        members = self._member_ticks()
        # the lane of member readings grows upwards from the drawing: try it where nothing is drawn to learn its depth
        top = picture.y + _TOP_LANE + self._lane_depth(members)
        probe = View(0, 0, self.scale)
        self.view = View(_LEFT_LANE, top + probe.size(self.top - self.bottom), self.scale)
        self.view = View(_LEFT_LANE - probe.size(self.left), self.view.bottom + probe.size(self.bottom), self.scale)
        self.frame = Box(
            self.view.x(self.left), self.view.y(self.top), self.view.x(self.right), self.view.y(self.bottom)
        )
        self._shapes()
        self._words()
        bottom = self._dimensions(members)
        picture.y = bottom
        self._edge_words()
        if not self.is_wall:
            picture.note(
                "Left and right are as on the plan; near and far are the other way round, because one looks up. "
                "Hold it over your head, first wall in front of your feet."
                if len(surface.outline) >= 4
                else "Hold it over your head to read it."
            )
        if self.seen.framed.provisional:
            picture.note("Nobody has looked at the members yet: where they stand is assumed.")
        if self.seen.plan is None:
            picture.note(
                f"No board is planned here: this surface is to {surface.action.value}."
                if not surface.action.gets_board
                else "No board plan could be made for this surface; the list of what was refused says why."
            )
        for trouble in self._hidden_notes():
            picture.note(trouble)
        count = len(self.seen.plan.pieces) if self.seen.plan else 0
        says = (
            f"{self.seen.room.name}, {self.seen.name}: {count} boards, {len(surface.openings)} openings, "
            f"{len(surface.cutouts)} holes. Every measure is in the table of this drawing."
        )
        return picture.finish(says=says)

    def _lane_depth(self, ticks: list[Tick]) -> int:
        trial = Picture("trial", self.page.width, title="", under="", units=self.units)
        base = 20_000
        far = trial.run_across(ticks, edge=base, from_y=base, down=False, low=0, high=self.page.width, kind="")
        return base - far

    def _spots(self, outline: tuple[Point, ...]) -> list[Spot]:
        return [self.view.spot(corner) for corner in outline]

    def _shapes(self) -> None:
        canvas, view, surface, plan = self.picture.canvas, self.view, self.surface, self.seen.plan
        boarded = plan is not None
        canvas.polygon(self._spots(surface.outline), "rest", hatch=None if boarded else "unboarded")
        if plan is not None:
            for piece in plan.pieces:
                canvas.polygon(self._spots(piece.outline), "board")
            self._backers()
        self._hidden()
        self._members()
        canvas.polygon(self._spots(surface.outline), "framing")
        if plan is not None:
            canvas.polygon(self._spots(surface.board_area), "edge")
            board = self.seen.house.catalogue.board(plan.board)
            for seam in seam_lines(surface, plan, board):
                runs = [[view.spot(a), view.spot(b)] for a, b in seam.runs]
                if not runs:
                    continue
                self.picture.legend(seam.key, _SEAMS[seam.key])
                if seam.key == "tapered":
                    canvas.lines(runs, "taper-out")
                    canvas.lines(runs, "taper-in")
                else:
                    canvas.lines(runs, seam.key)
        for opening in surface.openings:
            left, top, right, bottom = (
                view.x(opening.left),
                view.y(opening.top),
                view.x(opening.right),
                view.y(opening.bottom),
            )
            canvas.rectangle(left, top, right, bottom, "opening")
            canvas.lines([[(left, top), (right, bottom)], [(left, bottom), (right, top)]], "void")
            self.picture.legend("opening", "opening")
        for cutout in surface.cutouts:
            self._hole(cutout)

    def _hole(self, cutout: PlacedCutout) -> None:
        canvas, view = self.picture.canvas, self.view
        left, right = view.x(cutout.left), view.x(cutout.right)
        top, bottom = view.y(cutout.top), view.y(cutout.bottom)
        x, y = (left + right) // 2, (top + bottom) // 2
        reach = max(right - left, bottom - top) // 2 + 90
        if cutout.is_round:
            canvas.circle(x, y, max(60, (right - left) // 2), "hole")
        else:
            canvas.rectangle(left, top, right, bottom, "hole")
        canvas.lines([[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]], "centre")
        self.picture.places.keep(Box(left, top, right, bottom).grown(70))
        self.picture.legend("hole", "box, light or vent")

    def _members(self) -> None:
        view = self.view
        there: list[list[Spot]] = []
        to_come: list[list[Spot]] = []
        for member in self.seen.framed.members:
            half = member.width // 2
            into = to_come if member.kind is MemberKind.NAILER else there
            for at in (member.centre - half, member.centre + half):
                ends = (at, member.low), (at, member.high)
                if member.runs is Runs.ALONG:
                    ends = (member.low, at), (member.high, at)
                into.append([view.spot(end) for end in ends])
        self.picture.canvas.lines(there, "member")
        self.picture.canvas.lines(to_come, "nailer")
        if there:
            self.picture.legend("member", "member behind")
        if to_come:
            self.picture.legend("nailer", "nailer to put in first")

    def _backers(self) -> None:
        plan, view = self.seen.plan, self.view
        if plan is None:
            return
        half = length("BB-width") // 2
        rows = {row.index: row for row in plan.rows}
        for joint in plan.joints:
            if joint.kind is not JointKind.FLOATING:
                continue
            row = rows[joint.row]
            long = backer_length(Nm(row.high - row.low))
            middle = (row.low + row.high) // 2
            low, high = (joint.at - half, middle - long // 2), (joint.at + half, middle + long // 2)
            if plan.rows_run is Runs.ACROSS:
                low, high = (low[1], low[0]), (high[1], high[0])
            (left, bottom), (right, top) = view.spot(low), view.spot(high)
            self.picture.canvas.rectangle(left, top, right, bottom, "backer", hatch="backer")
            self.picture.legend("backer", "seam backer")
            self.picture.fact(
                "Backer",
                f"row {joint.row + 1}",
                f"seam backer, middle at {tape(joint.at, self.units)}, {tape(long, self.units)} long",
                drawn=False,
            )

    def _hidden(self) -> None:
        for item in self.surface.hidden:
            left, top = self.view.x(item.left), self.view.y(item.top)
            right, bottom = self.view.x(item.right), self.view.y(item.bottom)
            if item.kind is HiddenKind.BLOCKING:
                self.picture.canvas.rectangle(left, top, right, bottom, "blocking", hatch="blocking")
                self.picture.legend("blocking", "blocking behind")
            else:
                self.picture.canvas.rectangle(left, top, right, bottom, "pipe")
                self.picture.legend("pipe", "cable, pipe or duct behind")

    def _hidden_notes(self) -> Iterator[str]:
        for item in self.surface.hidden:
            if item.planned:
                yield f"Before the first sheet: {item.name} ({item.lumber} {item.kind.value}) must be in."

    # words

    def _words(self) -> None:
        picture, view = self.picture, self.view
        for opening in self.surface.openings:
            box = Box(view.x(opening.left), view.y(opening.top), view.x(opening.right), view.y(opening.bottom))
            middle = (box.left + box.right) // 2
            size = f"{tape(Nm(opening.right - opening.left), self.units)} x " + tape(
                Nm(opening.top - opening.bottom), self.units
            )
            says = (
                f"{opening.kind.value}, rough opening {size}, left side at {tape(opening.left, self.units)}, "
                f"sill at {tape(opening.bottom, self.units)}"
            )
            heights = [box.top + (box.bottom - box.top) * k // 8 for k in (4, 3, 5, 2, 6, 1, 7)]
            inner = Box(box.left + 60, box.top + 60, box.right - 60, box.bottom - 60)
            picture.label(
                opening.name,
                [(middle, y, "middle") for y in heights],
                inner,
                kind="Opening",
                says=says,
                widest=box.right - box.left - 160,
            )
            picture.places.keep(box)
        plan = self.seen.plan
        for piece in plan.pieces if plan else ():
            self._piece_words(piece)
        for cutout in self.surface.cutouts:
            self._hole_words(cutout)
        for item in self.surface.hidden:
            box = Box(view.x(item.left), view.y(item.top), view.x(item.right), view.y(item.bottom))
            x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + SMALL // 3
            spots = [(x, y, "middle"), (x, box.top - 110, "middle"), (x, box.bottom + SMALL, "middle")]
            picture.label(
                item.name,
                spots,
                self.frame,
                kind="Behind the board",
                says=f"{item.lumber + ' ' if item.kind is HiddenKind.BLOCKING else ''}{item.kind.value} from "
                f"{tape(item.left, self.units)} to {tape(item.right, self.units)}, "
                f"{tape(item.bottom, self.units)} to {tape(item.top, self.units)} up",
                widest=3_200,
            )

    def _piece_words(self, piece: Piece) -> None:
        picture = self.picture
        left, bottom, right, top = bounds(piece.outline)
        box = Box(self.view.x(left), self.view.y(top), self.view.x(right), self.view.y(bottom))
        inner = Box(box.left + 50, box.top + 50, box.right - 50, box.bottom - 50)
        long, high = Nm(piece.end - piece.start), Nm(piece.high - piece.low)
        size = f"{tape(long, self.units, up=False)} x {tape(high, self.units, up=False)}"
        code_size = TEXT * 12 // 10 if box.bottom - box.top > 900 else SMALL
        spots = list(_grid(inner, code_size))
        drawn = picture.label(
            piece.code, spots, inner, size=code_size, cls="code", kind="Board", says=f"{size}, finished", turn=True
        )
        if not drawn:
            # a strip too thin for its code has it beside, within the drawing
            x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2
            beside = [(x, y + off, "middle") for off in (-260, 480, -620, 800)]
            picture.label(piece.code, beside, self.frame, cls="code", kind="Board", says=f"{size}, finished")
        elif box.bottom - box.top > 900:
            last = picture.places.taken[-1]
            x = (last.left + last.right) // 2
            below = [(x, last.bottom + SMALL, "middle"), (x, last.top - 110, "middle")]
            picture.label(size, below, inner, cls="size", kind="Board", says=f"finished size of {piece.code}")

    def _hole_words(self, cutout: PlacedCutout) -> None:
        view = self.view
        left, right = view.x(cutout.left) - 130, view.x(cutout.right) + 130
        top, bottom = view.y(cutout.top) - 130, view.y(cutout.bottom) + 130
        x, y = (left + right) // 2, (top + bottom) // 2 + SMALL // 3
        spots = [
            (right, y, "start"),
            (left, y, "end"),
            (x, top - 40, "middle"),
            (x, bottom + SMALL, "middle"),
            (right, top, "start"),
            (left, top, "end"),
            (right, bottom + SMALL * 8 // 10, "start"),
            (left, bottom + SMALL * 8 // 10, "end"),
            (right, y - 400, "start"),
            (left, y - 400, "end"),
            (right, y + 400, "start"),
            (left, y + 400, "end"),
        ]
        across, up = Nm((cutout.left + cutout.right) // 2), Nm((cutout.bottom + cutout.top) // 2)
        size = tape(Nm(cutout.right - cutout.left), self.units)
        if not cutout.is_round:
            size += f" x {tape(Nm(cutout.top - cutout.bottom), self.units)}"
        self.picture.label(
            cutout.name,
            spots,
            self.frame,
            cls="mark",
            kind="Hole",
            says=f"{cutout.kind.value} {size}, middle {tape(across, self.units)} across, {tape(up, self.units)} up",
            widest=3_400,
        )

    # dimensions

    def _member_ticks(self) -> list[Tick]:
        scale = View(_LEFT_LANE, 0, self.scale)
        shift = scale.size(self.left)
        return [
            Tick(scale.x(m.centre) - shift, m.centre, f"centre of a member ({m.kind.value}), from the left end")
            for m in self.seen.framed.members
            if m.runs is Runs.ACROSS
        ]

    def _dimensions(self, members: list[Tick]) -> int:
        picture, view, frame, surface, plan = self.picture, self.view, self.frame, self.surface, self.seen.plan
        if members:
            picture.run_across(
                members,
                edge=frame.top,
                from_y=frame.top - 60,
                down=False,
                low=frame.left - 900,
                high=self.page.width,
                kind="Member",
            )
        level = [Tick(view.x(self.right), self.right, "right end")]
        upright = [Tick(view.y(self.top), self.top, "top")]
        ends = "left end" if self.is_wall else "left side of the drawing"
        if plan is not None:
            for joint in plan.joints:
                says = f"{joint.kind.value} butt seam, row {joint.row + 1}"
                if plan.rows_run is Runs.ALONG:
                    level.append(Tick(view.x(joint.at), joint.at, f"{says}, from the {ends}"))
                else:
                    upright.append(Tick(view.y(joint.at), joint.at, says))
            for row in plan.rows:
                for at in (row.low, row.high):
                    if plan.rows_run is Runs.ALONG:
                        upright.append(Tick(view.y(at), at, f"edge of row {row.index + 1}"))
                    else:
                        level.append(Tick(view.x(at), at, f"edge of row {row.index + 1}"))
        for opening in surface.openings:
            level += [
                Tick(view.x(opening.left), opening.left, f"left side of {opening.name}"),
                Tick(view.x(opening.right), opening.right, f"right side of {opening.name}"),
            ]
            upright += [
                Tick(view.y(opening.bottom), opening.bottom, f"sill of {opening.name}"),
                Tick(view.y(opening.top), opening.top, f"head of {opening.name}"),
            ]
        for corner in surface.outline:
            level.append(Tick(view.x(corner[0]), corner[0], "corner"))
            upright.append(Tick(view.y(corner[1]), corner[1], "corner"))
        for member in self.seen.framed.members:
            if member.runs is Runs.ALONG:
                picture.fact("Member", tape(member.centre, self.units), "centre of a member, up", drawn=False)
        holes = [
            Tick(view.x((c.left + c.right) // 2), Nm((c.left + c.right) // 2), f"middle of {c.name}")
            for c in surface.cutouts
        ]
        for c in surface.cutouts:
            middle = Nm((c.bottom + c.top) // 2)
            upright.append(Tick(view.y(middle), middle, f"middle of {c.name}"))
        picture.datum(frame.left, frame.bottom)
        level = [tick for tick in level if tick.length != self.left]
        upright = [tick for tick in upright if tick.length != self.bottom]
        picture.run_up(
            upright,
            edge=frame.left,
            from_x=frame.left,
            left=True,
            low=frame.top - 300,
            high=frame.bottom + 160,
            kind="Height" if self.is_wall else "Up the drawing",
        )
        lane = frame.bottom + 60
        far = picture.run_across(
            level + holes,
            edge=frame.bottom,
            from_y=lane,
            down=True,
            low=frame.left - 900,
            high=self.page.width,
            kind="Across",
        )
        return far

    def _edge_words(self) -> None:
        """What the two ends (and on a ceiling every side) go to, as a line of words under the drawing."""
        said = []
        corners = self.surface.outline
        for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
            level = start[1] == end[1]
            side = (
                ("bottom" if end[0] > start[0] else "top")
                if level
                else ("right" if end[1] > start[1] else "left")
                if start[0] == end[0]
                else "slope"
            )
            if self.is_wall and side in ("bottom", "top", "slope"):
                continue
            _, text = meets_of(start, end, self.surface, self.seen.names)
            if f"{side}: {text}" not in said:
                said.append(f"{side}: {text}")
        self.picture.note(" · ".join(said))
        if self.surface.action is Action.BOARD_OVER:
            self.picture.note("Board goes over the old lining; members are behind it.")


def _grid(box: Box, size: int) -> Iterator[tuple[int, int, str]]:
    """Places in a box for a text, the middle first."""
    steps = sorted(range(1, 2 * _LABEL_GRID), key=lambda k: abs(k - _LABEL_GRID))
    lift = size * 28 // 100
    for up in (_LABEL_GRID, _LABEL_GRID - 3, _LABEL_GRID + 3, _LABEL_GRID - 5, _LABEL_GRID + 5):
        for across in steps:
            x = box.left + (box.right - box.left) * across // (2 * _LABEL_GRID)
            y = box.top + (box.bottom - box.top) * up // (2 * _LABEL_GRID) + lift
            yield x, y, "middle"
