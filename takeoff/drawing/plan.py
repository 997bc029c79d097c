"""A room from above: its walls by name, and what stands in them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import cos, hypot, pi, sin

from takeoff.cards.frames import SurfaceFrame, measured_room, room_frames
from takeoff.cards.lookup import names_of, room_of
from takeoff.cards.tape import tape
from takeoff.choices import CeilingKind, OpeningKind, SurfaceKind
from takeoff.drawing.canvas import Spot
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.layout import Box, inside
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.errors import BadValue
from takeoff.geometry.polygon import bounds, length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.shapes import PlanSide
from takeoff.geometry.surface import PlacedOpening, Point
from takeoff.job import Takeoff
from takeoff.reference.lumber import lumber
from takeoff.units import Nm

__all__ = ["plan_drawing"]

# Beside the plan, in hundredths of a millimetre: the deepest wall, the lead of a reading, a name.
_WALL_LANE = 420
_READING = 350
_NAME = 560
# Which way a wall runs, clockwise, by the side of the room it is on: right, left, down, up.
_OUTWARDS = {
    "top": (True, False, False, False),
    "bottom": (False, True, False, False),
    "right": (False, False, True, False),
    "left": (False, False, False, True),
}


def plan_drawing(
    takeoff: Takeoff,
    room: str,
    *,
    page: Page = PAPER,
    prefix: str = "plan",
    least_scale: int = 0,
) -> Drawing:
    """The plan of that room as seen from above, first wall along the top: walls as thick as their
    framing, by name and length; doors with the floor that a leaf sweeps, windows, passages; boxes
    on walls and ceiling with their heights. Running dimensions from the top left go to the corners
    and to both sides of each opening. It is drawn no larger than at 1:`least_scale`.

    Raises `BadValue` for no such room, and for one given as a plain list of surfaces, which has no
    plan.
    """
    geometry = room_of(takeoff, room)
    if not geometry.plan:
        raise BadValue(
            f"{geometry.name} is a plain list of surfaces: nobody knows how they meet, so it has "
            "no plan"
        )
    return _Plan(takeoff, geometry, page, prefix, least_scale).draw()


class _Plan:
    def __init__(
        self,
        takeoff: Takeoff,
        room: RoomGeometry,
        page: Page,
        prefix: str,
        least_scale: int,
    ) -> None:
        self.takeoff, self.room, self.page = takeoff, room, page
        self.units = takeoff.house.units
        self._assumed = False
        measured = measured_room(takeoff.house, room.room)
        # the rooms that were measured as one, whichever of them a partition gives a surface to
        self.connected = [
            room for room in takeoff.rooms if measured_room(takeoff.house, room.room) == measured
        ]
        self.frames: dict[str, SurfaceFrame] = {}
        for connected_room in self.connected:
            self.frames |= room_frames(connected_room, takeoff.house)
        self.names = names_of(takeoff)
        self.left, self.top, self.right, self.bottom = bounds(room.plan)
        lengths = [Nm(self.bottom - self.top), Nm(self.right - self.left)]
        reading = max(width_of(tape(length, self.units), SMALL) for length in lengths)
        self.sides = {side: list(self._openings_on(side)) for side in _OUTWARDS}
        # beside the room: the wall, a row of readings, and the name of the wall
        at_left = self._corners_down() or self.sides["left"]
        self.lane = _WALL_LANE + _NAME + (_READING + reading if at_left else 0)
        self.right_lane = _WALL_LANE + _NAME + (_READING + reading if self.sides["right"] else 0)
        strip_and_gap = page.strip + 500 if page.strip else 0
        across = page.width - strip_and_gap - self.lane - self.right_lane
        up = min(page.height - 7_000, 13_000)
        if page.strip:  # the readings and names above and below, and the walls
            up = page.height - 2 * (_WALL_LANE + _READING + _NAME) - reading
        scale = scale_for(
            self.right - self.left,
            self.bottom - self.top,
            across=across,
            up=up,
        )
        scale = max(scale, least_scale)
        first = room.plan_sides[0].name
        under = (
            f"Plan, seen from above, {first} at the top · at the framing{scale_words(scale, page)}"
        )
        self.picture = Picture(
            prefix, page.width, title=room.name, under=under, units=self.units, strip=page.strip
        )
        self.picture.scale = scale
        probe = View(0, 0, scale)
        # y runs down the page as it does in the plan, so the view is fed the plan turned over
        self.view = View(self.lane - probe.size(self.left), 0, scale)
        self.heading = 0 if page.strip else self.picture.y
        self.wall = probe.size(self._deepest()) + 60
        drop = self.heading + self.wall + self._lane_above() + _NAME + 120
        drop += probe.size(self.bottom - self.top)
        self.view = View(self.lane - probe.size(self.left), drop, scale)

    def spot(self, point: tuple[int, int]) -> tuple[int, int]:
        return self.view.x(point[0]), self.view.y(self.bottom - point[1])

    def _slopes(self) -> bool:
        return self.takeoff.house.room(self.room.room).ceiling.kind is not CeilingKind.FLAT

    def draw(self) -> Drawing:
        picture, sketch = self.picture, self.picture.sketch
        shape = [self.spot(corner) for corner in self.room.plan]
        sketch.polygon([self.spot(corner) for corner in self._outer()], "masonry")
        sketch.polygon(shape, "floor")
        sides = list(zip(shape, (*shape[1:], shape[0]), strict=True))
        for (x0, y0), (x1, y1) in sides:
            picture.places.lines.append(
                Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(90)
            )
        openings = self._openings()
        self._boxes()
        frame = Box(
            min(x for x, _ in shape),
            min(y for _, y in shape),
            max(x for x, _ in shape),
            max(y for _, y in shape),
        )
        picture.datum(frame.left, frame.top)
        beyond = self._dimensions(frame)
        for index in range(len(sides)):
            self._wall_words(index, shape, frame, beyond)
        for opening, ends in openings:
            self._opening_words(opening, ends, shape)
        picture.label(
            self.room.name,
            [
                ((frame.left + frame.right) // 2, (frame.top + frame.bottom) // 2 + off, "middle")
                for off in (0, -700, 700)
            ],
            frame,
            size=TEXT * 12 // 10,
            cls="code",
            kind="Room",
            says=f"{len(sides)} walls",
            shape=shape,
            shorten=False,
            tell=False,
        )
        picture.foot = beyond.bottom + _NAME
        if not self.page.strip:
            picture.y = picture.foot
        picture.scale_bar()
        if self._assumed:
            picture.note(
                f"Walls are drawn as deep as a 2x4, {tape(lumber('2x4').width, self.units)}, where "
                "nobody said how deep they are."
            )
        if any(surface.kind is SurfaceKind.CEILING for surface in self.room.surfaces):
            picture.note(
                "A slope is drawn as seen from below, its lowest wall at the bottom, as it says."
                if self._slopes()
                else f"The ceiling is drawn as seen from below, with "
                f"{self.room.plan_sides[0].name} at the top too: left and right change places."
            )
        names = ", ".join(f"{side.name} ({side.mark})" for side in self.room.plan_sides)
        return picture.finish(
            says=f"Plan of {self.room.name}: walls {names}, clockwise from the top."
        )

    def _lane_above(self) -> int:
        """How deep the row of readings above the plan comes out, drawn on a trial picture."""
        if not self.sides["top"]:
            return 0
        trial = Picture("trial", self.page.width, title="", under="", units=self.units)
        base = 20_000
        far = self._run_across(trial, self.sides["top"], edge=base, below=False)
        return base - far

    def _run_across(
        self, picture: Picture, found: Sequence[tuple[Nm, str]], *, edge: int, below: bool
    ) -> int:
        """Readings from the left end, above the plan or below it, from `edge` on. Gives where they
        end."""
        left = self.view.x(self.left)
        return picture.run_across(
            [Tick(self.view.x(at), Nm(at - self.left), says) for at, says in found],
            edge=edge,
            from_y=edge,
            down=below,
            low=max(0, left - 900),
            high=self.picture.across,
            kind="Across",
        )

    def _dimensions(self, frame: Box) -> Box:
        """Readings from the top left corner on every side: to each corner at the left and at the
        foot, and everywhere to both sides of each opening there. Gives the box round the plan and
        them."""
        picture = self.picture
        down = self._corners_down()
        along = [(x, "corner, from the left") for x, _ in self.room.plan]
        box = frame.grown(self.wall)
        left, top, right, bottom = box.left, box.top, box.right, box.bottom
        for is_left, found in ((True, down + self.sides["left"]), (False, self.sides["right"])):
            if not found:
                continue
            ticks = [
                Tick(self.view.y(self.bottom - at), Nm(at - self.top), says) for at, says in found
            ]
            picture.run_up(
                ticks,
                edge=left if is_left else right,
                from_x=left if is_left else right,
                left=is_left,
                low=frame.top - 200,
                high=frame.bottom + 200,
                kind="Down",
            )
            deep = _READING + max(width_of(tape(t.length, self.units), SMALL) for t in ticks)
            box = Box(
                box.left - (deep if is_left else 0),
                box.top,
                box.right + (0 if is_left else deep),
                box.bottom,
            )
        if self.sides["top"]:
            top = self._run_across(picture, self.sides["top"], edge=top, below=False)
        bottom = self._run_across(picture, along + self.sides["bottom"], edge=bottom, below=True)
        return Box(box.left, top, box.right, bottom)

    def _corners_down(self) -> list[tuple[Nm, str]]:
        """The corners to read from the top down. A plain rectangle has its depth with the names of
        its walls, and needs no row for it."""
        depths = {y for _, y in self.room.plan}
        if len(depths) == 2:
            return []
        return [(y, "corner, down from the top") for _, y in self.room.plan if y > self.top]

    def _openings_on(self, way: str) -> Iterator[tuple[Nm, str]]:
        """Both sides of each opening in the walls that look `way` from the middle of the room, each
        as its place along the page and its words."""
        level = way in ("top", "bottom")
        for opening, ends in self._placed():
            (x0, y0), (x1, y1) = ends
            # walked clockwise, the room is on the right hand
            if (x1 - x0 > 0, x1 - x0 < 0, y1 - y0 > 0, y1 - y0 < 0) != _OUTWARDS[way]:
                continue
            for at in (x0, x1) if level else (y0, y1):
                yield at, f"side of {opening.name}"

    def _outer(self) -> list[Point]:
        """The outline of the far side of the walls."""
        corners = self.room.plan
        count = len(corners)
        lines = []
        for index, side in enumerate(self.room.plan_sides):
            (ax, ay), (bx, by) = corners[index], corners[(index + 1) % count]
            long = length_of((ax, ay), (bx, by))
            depth = self._depth(side)
            # out of the room is to the left of the way round
            off_x, off_y = (by - ay) / long * depth, -(bx - ax) / long * depth
            lines.append(((ax + off_x, ay + off_y), (bx + off_x, by + off_y)))
        return [_crossing(lines[index - 1], lines[index]) for index in range(count)]

    def _depth(self, side: PlanSide) -> Nm:
        """How deep the framing of a wall is: known of a partition by its studs."""
        for partition in self.takeoff.house.partitions:
            if side.of in partition.run_ids:
                return lumber(partition.stud).width
        self._assumed = True
        return lumber("2x4").width

    def _deepest(self) -> int:
        return max(self._depth(side) for side in self.room.plan_sides)

    def _on_side(self, wall: str, ends: list[Point]) -> bool:
        """Whether both ends lie on the room's own part of the wall."""
        for index, side in enumerate(self.room.plan_sides):
            if side.wall == wall:
                a, b = self.room.plan[index], self.room.plan[(index + 1) % len(self.room.plan)]
                if all(_between(a, b, end) for end in ends):
                    return True
        return False

    def _placed(self) -> Iterator[tuple[PlacedOpening, list[Point]]]:
        """Each opening of the room's own walls, with its ends on the plan, clockwise."""
        for surface in self.room.surfaces:
            frame = self.frames.get(surface.id)
            if frame is None or surface.kind is SurfaceKind.CEILING:
                continue
            for opening in surface.openings:
                ends = [_floor(frame, u) for u in (opening.left, opening.right)]
                if self._on_side(surface.id.split("/", 1)[1], ends):
                    yield opening, ends

    def _openings(self) -> list[tuple[PlacedOpening, list[Point]]]:
        """Draw each opening through its wall."""
        openings = list(self._placed())
        for opening, ends in openings:
            (x0, y0), (x1, y1) = (self.spot(end) for end in ends)
            long = hypot(x1 - x0, y1 - y0) or 1
            deep = self.view.size(self._deepest())
            # out of the room: to the left of the way round, and y runs down the page
            out = ((y1 - y0) / long * deep, -(x1 - x0) / long * deep)
            far = [(round(x + out[0]), round(y + out[1])) for x, y in ((x0, y0), (x1, y1))]
            near = [(x0, y0), (x1, y1)]
            sketch = self.picture.sketch
            sketch.polygon([*near, *reversed(far)], "through")
            sketch.lines([[near[0], far[0]], [near[1], far[1]]], "jamb")
            if opening.kind is OpeningKind.WINDOW:
                middle = [
                    ((a + c) // 2, (b + d) // 2) for (a, b), (c, d) in zip(near, far, strict=True)
                ]
                sketch.lines([near, middle, far], "glass")
                self.picture.legend("glass", "window")
            elif opening.kind is OpeningKind.DOOR:
                sketch.lines([_sweep(near)], "swing")
                self._avoid(_sweep(near))
                self.picture.legend("swing", "floor a door may sweep; hinges unknown")
            else:
                sketch.lines([near, far], "swing")
        return openings

    def _avoid(self, run: Sequence[Spot]) -> None:
        for (x0, y0), (x1, y1) in pairwise(run):
            self.picture.places.lines.append(
                Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(40)
            )

    def _boxes(self) -> None:
        """Each box where it is. Where a partition is framed after the board, the wall that runs
        through behind it is of the room that was measured, and its boxes are shown in the room they
        will be in."""
        shape = [self.spot(corner) for corner in self.room.plan]
        # where each is, its words, and what the table says of it
        shown: list[tuple[int, int, str, str]] = []
        for surface in (surface for room in self.connected for surface in room.surfaces):
            frame = self.frames.get(surface.id)
            if frame is None:
                continue
            for cutout in surface.cutouts:
                middle = (
                    Nm((cutout.left + cutout.right) // 2),
                    Nm((cutout.bottom + cutout.top) // 2),
                )
                x, y, z = frame.to_room(middle)
                px, py = self.spot((x, y))
                where = "ceiling" if surface.kind is SurfaceKind.CEILING else self.names[surface.id]
                says = f"{cutout.kind.value} in {where}, {tape(z, self.units)} above the floor"
                if not _is_at(px, py, shape):
                    if surface.room == self.room.room:
                        self.picture.fact(
                            "Hole",
                            cutout.name,
                            f"{says}; behind a partition, not on this plan",
                            drawn=False,
                        )
                    continue
                self.picture.sketch.circle(px, py, 110, "hole")
                self.picture.legend("dot", "box, light or vent")
                self.picture.places.keep(Box(px, py, px, py).grown(170))
                on_wall = surface.kind is not SurfaceKind.CEILING
                up = f", {tape(z, self.units)} up" if on_wall else ""
                shown.append((px, py, f"{cutout.name}{up}", says))
        for px, py, text, says in shown:
            spots = [
                (px, py - 260, "middle"),
                (px, py + 480, "middle"),
                (px + 220, py + 90, "start"),
                (px - 220, py + 90, "end"),
                (px, py + 820, "middle"),
                (px, py - 560, "middle"),
            ]
            self.picture.label(
                text,
                spots,
                Box(0, 0, self.picture.across, 100_000),
                cls="mark",
                kind="Hole",
                says=says,
                widest=self.page.width * 45 // 100,
                shape=shape,
            )

    def _wall_words(
        self, index: int, shape: list[tuple[int, int]], frame: Box, beyond: Box
    ) -> None:
        """The name, mark and length of a wall: beyond the readings where it is an outer one, else
        close to it."""
        side = self.room.plan_sides[index]
        a, b = self.room.plan[index], self.room.plan[(index + 1) % len(shape)]
        (x0, y0), (x1, y1) = shape[index], shape[(index + 1) % len(shape)]
        long = tape(Nm(round(length_of(a, b))), self.units)
        upright = abs(y1 - y0) > abs(x1 - x0)
        span = max(abs(x1 - x0), abs(y1 - y0))
        spots: list[tuple[int, int, str]] = []
        # walked clockwise, the room is on the right hand: outside is on the left
        out_x, out_y = (
            (1 if y1 > y0 else -1 if y1 < y0 else 0),
            (-1 if x1 > x0 else 1 if x1 < x0 else 0),
        )
        slanted = bool(out_x and out_y)
        upright = upright and not slanted
        offs = [self.wall + 60, 300, 640]
        outermost = {
            (0, -1): (y0 == frame.top, frame.top - beyond.top),
            (0, 1): (y0 == frame.bottom, beyond.bottom - frame.bottom),
            (-1, 0): (x0 == frame.left, frame.left - beyond.left),
            (1, 0): (x0 == frame.right, beyond.right - frame.right),
        }.get((out_x, out_y))
        if outermost is not None and outermost[0]:
            offs = [outermost[1] + 110, *offs]
        for off in offs:
            for part in (50, 30, 70):
                x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
                if slanted:
                    spots.append(
                        (
                            x + out_x * off,
                            y + out_y * off + SMALL // 3,
                            "start" if out_x > 0 else "end",
                        )
                    )
                    spots.append(
                        (
                            x - out_x * off,
                            y - out_y * off + SMALL // 3,
                            "end" if out_x > 0 else "start",
                        )
                    )
                elif upright:
                    spots.append(
                        (x + out_x * off + (SMALL * 8 // 10 if out_x > 0 else -60), y, "middle")
                    )
                    spots.append(
                        (x - out_x * off + (0 if out_x > 0 else SMALL * 8 // 10), y, "middle")
                    )
                else:
                    spots.append(
                        (x, y + out_y * off + (SMALL * 6 // 10 if out_y > 0 else 60), "middle")
                    )
                    spots.append(
                        (x, y - out_y * off + (0 if out_y > 0 else SMALL * 6 // 10), "middle")
                    )
        called = f"{side.name} · {side.mark}"
        # Where not even the name fits, what is written on the boards tells the wall.
        texts = [f"{called} · {long}", f"{side.mark} · {long}", side.mark]
        page = Box(0, self.heading, self.picture.across, beyond.bottom + _NAME)
        for text in texts:
            if self.picture.label(
                text,
                spots,
                page,
                cls="meets",
                kind="Wall",
                says=f"{side.name}, {long} at the framing; its boards are marked {side.mark}",
                turn=upright,
                turn_only=upright,
                widest=span + (2_400 if len(offs) > 3 else 400),
                shorten=False,
                tell=text is texts[-1],
            ):
                return

    def _opening_words(
        self, opening: PlacedOpening, ends: list[Point], shape: list[tuple[int, int]]
    ) -> None:
        (x0, y0), (x1, y1) = (self.spot(end) for end in ends)
        x, y = (x0 + x1) // 2, (y0 + y1) // 2
        in_x, in_y = (
            (-1 if y1 > y0 else 1 if y1 < y0 else 0),
            (1 if x1 > x0 else -1 if x1 < x0 else 0),
        )
        upright = abs(y1 - y0) > abs(x1 - x0)
        if upright:
            spots = [
                (x + in_x * off + (SMALL * 8 // 10 if in_x > 0 else 0), y, "middle")
                for off in (180, 560, 940)
            ]
        else:
            spots = [
                (x, y + in_y * off + (SMALL * 8 // 10 if in_y > 0 else 0), "middle")
                for off in (180, 560, 940)
            ]
        size = f"{tape(Nm(opening.right - opening.left), self.units)} wide"
        self.picture.label(
            opening.name,
            spots,
            Box(0, 0, self.picture.across, 100_000),
            kind="Opening",
            says=f"{opening.kind.value}, rough opening {size}, from "
            f"{tape(opening.left, self.units)} along its wall",
            turn=upright,
            turn_only=upright,
            widest=3_400,
            shape=shape,
        )


def _sweep(ends: Sequence[Spot]) -> list[Spot]:
    """The floor that a leaf hinged at the first end sweeps into the room: from where it stands open
    round to the other end, and the leaf."""
    (x0, y0), (x1, y1) = ends
    along, aside = (x1 - x0, y1 - y0), (y0 - y1, x1 - x0)
    arc = [
        (
            round(x0 + cos(turn) * along[0] + sin(turn) * aside[0]),
            round(y0 + cos(turn) * along[1] + sin(turn) * aside[1]),
        )
        for turn in (step * pi / 16 for step in range(9))
    ]
    return [*arc, (x0, y0)]


def _crossing(
    one: tuple[tuple[float, float], tuple[float, float]],
    two: tuple[tuple[float, float], tuple[float, float]],
) -> Point:
    """Where two lines meet; where they are one line, or all but, the start of the second."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = two
    turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    square = hypot(bx - ax, by - ay) * hypot(dx - cx, dy - cy)
    if abs(turn) < square / 1_000:
        return Nm(round(cx)), Nm(round(cy))
    part = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / turn
    return Nm(round(ax + part * (bx - ax))), Nm(round(ay + part * (by - ay)))


def _floor(frame: SurfaceFrame, u: Nm) -> Point:
    x, y, _ = frame.to_room((u, Nm(0)))
    return x, y


def _between(a: Point, b: Point, point: Point) -> bool:
    dx, dy = b[0] - a[0], b[1] - a[1]
    px, py = point[0] - a[0], point[1] - a[1]
    square = dx * dx + dy * dy
    off = Fraction((dx * py - dy * px) ** 2, square)
    return (
        off <= 4
        and Fraction(dx * px + dy * py, 1) >= -2
        and dx * px + dy * py <= square + 2 * max(abs(dx), abs(dy))
    )


def _is_at(x: int, y: int, shape: Sequence[Spot]) -> bool:
    """Whether a spot is in the plan or on its rim."""
    return any(
        inside(Box(x + a - 1, y + b - 1, x + a + 1, y + b + 1), shape)
        for a in (-150, 150)
        for b in (-150, 150)
    )
