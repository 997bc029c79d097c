"""One surface as a drawing: a wall as seen from inside the room, a ceiling as seen from below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from takeoff.boards.plan import JointKind, Piece
from takeoff.choices import Action, HiddenKind, Runs, SurfaceKind
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, tape
from takeoff.drawing.layout import Box, inside, text_box
from takeoff.drawing.lookup import Seen, see
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.readings import heights, risers, stations
from takeoff.drawing.seam_lines import seam_lines
from takeoff.drawing.sides import Meeting, meets_of
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.drawing.svg import Spot
from takeoff.drawing.troubles import troubles
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
_LANE_LEAD = 420
_TOP_LANE = 420
_LABEL_GRID = 7


def surface_drawing(takeoff: Takeoff, surface: str, *, page: Page = PAPER, prefix: str = "surface") -> Drawing:
    """The surface of that id with its boards and their codes, seams by kind, members, openings, boxes, backers and
    what is behind; running dimensions from its left end and from the floor, or from a ceiling's lower left corner.

    Raises `BadValue` for an id that is no surface, and for one too large to draw.
    """
    told = [trouble.text.split(": ", 1)[1] for trouble in troubles(takeoff, surface)]
    return _Elevation(see(takeoff, surface), page, prefix).draw(told)


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
        self.lane = _LANE_LEAD + self._widest(heights(self.seen))
        level = risers(self.seen)
        self.right_lane = _LANE_LEAD + self._widest(level) if level else 620
        across = page.width - self.lane - self.right_lane
        scale = scale_for(wide, high, across=across, up=page.height - 7_500)
        size = f"{tape(Nm(wide), self.units)} x {tape(Nm(high), self.units)}"
        under = f"{seen.room.name} · {way} · {size} at the framing · 1:{scale} on paper"
        self.picture = Picture(prefix, page.width, title=name, under=under, units=self.units)
        self.picture.scale = scale
        self.page = page
        self.scale = scale

    def _widest(self, lengths: Iterable[Nm]) -> int:
        return max((width_of(tape(each, self.units), SMALL) for each in lengths), default=0)

    def draw(self, troubled: Iterable[str]) -> Drawing:
        picture, surface = self.picture, self.surface
        members = self._member_ticks()
        # the lane of member readings grows upwards from the drawing: try it where nothing is drawn to learn its depth
        top = picture.y + _TOP_LANE + self._lane_depth(members)
        probe = View(0, 0, self.scale)
        self.view = View(self.lane, top + probe.size(self.top - self.bottom), self.scale)
        self.view = View(self.lane - probe.size(self.left), self.view.bottom + probe.size(self.bottom), self.scale)
        self.frame = Box(
            self.view.x(self.left), self.view.y(self.top), self.view.x(self.right), self.view.y(self.bottom)
        )
        self._shapes()
        self._words()
        bottom = self._dimensions(members)
        picture.y = bottom
        if self.surface.action is Action.BOARD_OVER:
            picture.note("Board goes over the old lining; the members are behind it.")
        if not self.is_wall:
            picture.note("As one looks up: left and right are as on the plan from above, near and far change places.")
        if self.seen.framed.provisional:
            picture.note("Nobody has looked at the members yet: where they stand is assumed.")
        if self.seen.plan is None:
            picture.note(
                f"No board is planned here: this surface is to {surface.action.value}."
                if not surface.action.gets_board
                else "No board plan could be made for this surface; the list of what was refused says why."
            )
        for text in self._hidden_notes():
            picture.note(text, cls="told")
        for text in troubled:
            picture.note(f"Look: {text}.", cls="told", kind="Trouble")
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
                for (x0, y0), (x1, y1) in runs:
                    self.picture.places.lines.append(Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(50))
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
        self._holes()

    def _holes(self) -> None:
        view = self.view
        shapes: list[list[Spot]] = []
        circles: list[tuple[int, int, int]] = []
        crosses: list[list[Spot]] = []
        for cutout in self.surface.cutouts:
            left, right = view.x(cutout.left), view.x(cutout.right)
            top, bottom = view.y(cutout.top), view.y(cutout.bottom)
            x, y = (left + right) // 2, (top + bottom) // 2
            reach = max(right - left, bottom - top) // 2 + 90
            if cutout.is_round:
                circles.append((x, y, max(60, (right - left) // 2)))
            else:
                shapes.append([(left, top), (right, top), (right, bottom), (left, bottom)])
            crosses += [[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]]
            self.picture.places.keep(Box(left, top, right, bottom).grown(70))
            self.picture.legend("hole", "box, light or vent")
        self.picture.canvas.shapes(shapes, circles, "hole")
        self.picture.canvas.lines(crosses, "centre")

    def _members(self) -> None:
        view = self.view
        there: list[list[Spot]] = []
        to_come: list[list[Spot]] = []
        for member in self.seen.framed.members:
            half = member.width // 2
            into = to_come if member.kind is MemberKind.NAILER else there
            for at in (member.centre - half, member.centre + half):
                upright = member.runs is Runs.ACROSS
                places = [(at, end) if upright else (end, at) for end in (member.low, member.high)]
                into.append([view.spot(place) for place in places])
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
            picture.label_in(opening.name, [(middle, y, "middle") for y in heights], inner, kind="Opening", says=says)
            picture.places.keep(box)
        self._side_words()
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
                widest=4_600,
            )

    def _piece_words(self, piece: Piece) -> None:
        picture = self.picture
        left, bottom, right, top = bounds(piece.outline)
        box = Box(self.view.x(left), self.view.y(top), self.view.x(right), self.view.y(bottom))
        inner = box.grown(-40)
        shape = self._spots(piece.outline)
        long, high = Nm(piece.end - piece.start), Nm(piece.high - piece.low)
        sizes = tape(long, self.units, up=False), tape(high, self.units, up=False)
        says = f"{sizes[0]} x {sizes[1]}, finished"
        big = box.bottom - box.top > 900 and box.right - box.left > 900
        size = TEXT * 12 // 10 if big else SMALL
        spots = list(_grid(box, size))
        if picture.label(
            piece.code, spots, inner, size=size, cls="code", kind="Board", says=says, turn=True, shorten=False,
            shape=shape, tell=False,
        ):  # fmt: skip
            if big:
                self._size_words(piece.code, sizes, inner, shape)
            return
        # a strip too thin for its code has it beside, within the drawing
        x, y = (box.left + box.right) // 2, (box.top + box.bottom) // 2 + SMALL * 28 // 100
        beside = [(x + aside, y + off, "middle") for off in (-330, 330, -620, 620) for aside in (0, -900, 900)]
        picture.label(piece.code, beside, self.frame, cls="code", kind="Board", says=says, shorten=False)

    def _size_words(self, code: str, sizes: tuple[str, str], inner: Box, shape: list[Spot]) -> None:
        """The finished size under the code just written, on one line or on two, never cut short."""
        picture = self.picture
        last = picture.places.taken[-1]
        x = (last.left + last.right) // 2
        below, above = last.bottom + SMALL, last.top - 90
        whole = f"{sizes[0]} x {sizes[1]}"
        says = f"finished size of {code}"
        spots = [(x + aside, y, "middle") for y in (below, above) for aside in (0, -250, 250)]
        if picture.label(
            whole, spots, inner, cls="size", kind="Board", says=says, shorten=False, shape=shape, tell=False
        ):
            return
        step = SMALL * 11 // 10
        first, second = (x, below, "middle"), (x, below + step, "middle")
        boxes = [
            text_box(at[0], at[1], text, SMALL, anchor=at[2])
            for at, text in ((first, sizes[0]), (second, f"x {sizes[1]}"))
        ]
        if all(picture.places.is_free(box, inner) and inside(box, shape) for box in boxes):
            picture.words(*first[:2], sizes[0], anchor="middle", kind="Board", says=f"length of {code}")
            picture.words(*second[:2], f"x {sizes[1]}", anchor="middle", kind="Board", says=f"width of {code}")

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
        scale = View(self.lane, 0, self.scale)
        shift = scale.size(self.left)
        return [
            Tick(scale.x(m.centre) - shift, m.centre, f"centre of a member ({m.kind.value}), from the left end")
            for m in self.seen.framed.members
            if m.runs is Runs.ACROSS
        ]

    def _dimensions(self, members: list[Tick]) -> int:
        picture, view, frame = self.picture, self.view, self.frame
        if members:
            picture.run_across(
                members,
                edge=frame.top,
                from_y=frame.top - 60,
                down=False,
                low=max(0, frame.left - 900),
                high=self.page.width,
                kind="Member",
            )
        picture.run_up(
            [Tick(view.y(at), at, "; ".join(says)) for at, says in heights(self.seen).items()],
            edge=frame.left,
            from_x=frame.left,
            left=True,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="Height" if self.is_wall else "Up the drawing",
        )
        level = [Tick(view.y(at), at, "centre of a member, from the bottom") for at in risers(self.seen)]
        picture.run_up(
            level,
            edge=frame.right,
            from_x=frame.right,
            left=False,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="Member",
        )
        picture.datum(frame.left, frame.bottom)
        return picture.run_across(
            [Tick(view.x(at), at, "; ".join(says)) for at, says in stations(self.seen).items()],
            edge=frame.bottom,
            from_y=frame.bottom + 60,
            down=True,
            low=max(0, frame.left - 900),
            high=self.page.width,
            kind="Across",
        )

    def _side_words(self) -> None:
        """Along each side of the surface, inside it, what is there in the room."""
        corners = self.surface.outline
        for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
            meeting, text = meets_of(start, end, self.surface, self.seen.names)
            upright = start[0] == end[0]
            if meeting is Meeting.FREE or (self.is_wall and not upright):
                continue
            (x0, y0), (x1, y1) = self.view.spot(start), self.view.spot(end)
            spots = []
            for part in (50, 35, 65, 25, 75, 15, 85):
                x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
                for off in (130, 520, 900):
                    if upright:
                        spots.append((x + (off + SMALL * 8 // 10 if y1 > y0 else -off), y, "middle"))
                    elif y0 == y1:
                        spots.append((x, y - off if x1 > x0 else y + off + SMALL * 8 // 10, "middle"))
                    else:
                        spots += [(x - off * 2, y + off, "middle"), (x - off * 2, y - off, "middle")]
            self.picture.label(
                text.removeprefix("toward "),
                spots,
                self.frame,
                cls="side",
                kind="Side",
                says="what this side goes to",
                turn=upright,
                turn_only=upright,
                shape=[self.view.spot(corner) for corner in corners],
                widest=max(abs(x1 - x0), abs(y1 - y0)) * 9 // 10,
            )


def _grid(box: Box, size: int) -> Iterator[tuple[int, int, str]]:
    """Places in a box for a text, the middle first."""
    steps = sorted(range(1, 2 * _LABEL_GRID), key=lambda k: abs(k - _LABEL_GRID))
    lift = size * 28 // 100
    for up in (_LABEL_GRID, _LABEL_GRID - 3, _LABEL_GRID + 3, _LABEL_GRID - 5, _LABEL_GRID + 5):
        for across in steps:
            x = box.left + (box.right - box.left) * across // (2 * _LABEL_GRID)
            y = box.top + (box.bottom - box.top) * up // (2 * _LABEL_GRID) + lift
            yield x, y, "middle"
