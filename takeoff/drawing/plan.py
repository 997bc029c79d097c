"""A room from above: its walls by name, and what stands in them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from takeoff.cards.frames import SurfaceFrame, measured_room, room_frames
from takeoff.cards.lookup import names_of, room_of
from takeoff.cards.tape import tape
from takeoff.choices import SurfaceKind
from takeoff.drawing.canvas import Spot
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.layout import Box, inside
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.errors import BadValue
from takeoff.geometry.polygon import bounds, length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import PlacedOpening, Point
from takeoff.job import Takeoff
from takeoff.units import Nm

__all__ = ["plan_drawing"]


def plan_drawing(
    takeoff: Takeoff, room: str, *, page: Page = PAPER, prefix: str = "plan"
) -> Drawing:
    """The plan of that room as seen from above, first wall along the top: named walls with their
    lengths, openings, boxes on walls and ceiling, running dimensions of its corners from the top
    left.

    Raises `BadValue` for no such room, and for one given as a plain list of surfaces, which has no
    plan.
    """
    geometry = room_of(takeoff, room)
    if not geometry.plan:
        raise BadValue(
            f"{geometry.name} is a plain list of surfaces: nobody knows how they meet, so it has "
            "no plan"
        )
    return _Plan(takeoff, geometry, page, prefix).draw()


class _Plan:
    def __init__(self, takeoff: Takeoff, room: RoomGeometry, page: Page, prefix: str) -> None:
        self.takeoff, self.room, self.page = takeoff, room, page
        self.units = takeoff.house.units
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
        heights = [Nm(y - self.top) for _, y in room.plan]
        self.lane = 1_150 + max(width_of(tape(y, self.units), SMALL) for y in heights)
        across = page.width - self.lane - 1_300
        scale = scale_for(
            self.right - self.left,
            self.bottom - self.top,
            across=across,
            up=min(page.height - 7_000, 13_000),
        )
        first = room.plan_sides[0].name
        under = (
            f"Plan, seen from above, {first} at the top · at the framing{scale_words(scale, page)}"
        )
        self.picture = Picture(prefix, page.width, title=room.name, under=under, units=self.units)
        self.picture.scale = scale
        probe = View(0, 0, scale)
        # y runs down the page as it does in the plan, so the view is fed the plan turned over
        drop = self.picture.y + 900 + probe.size(self.bottom - self.top)
        self.view = View(self.lane - probe.size(self.left), drop, scale)

    def spot(self, point: tuple[int, int]) -> tuple[int, int]:
        return self.view.x(point[0]), self.view.y(self.bottom - point[1])

    def draw(self) -> Drawing:
        picture, sketch = self.picture, self.picture.sketch
        shape = [self.spot(corner) for corner in self.room.plan]
        sketch.polygon(shape, "floor")
        sides = list(zip(shape, (*shape[1:], shape[0]), strict=True))
        for (x0, y0), (x1, y1) in sides:
            picture.places.lines.append(
                Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(90)
            )
        sketch.polygon(shape, "wall")
        openings = self._openings()
        self._boxes()
        for index in range(len(sides)):
            self._wall_words(index, shape)
        for opening, ends in openings:
            self._opening_words(opening, ends, shape)
        frame = Box(
            min(x for x, _ in shape),
            min(y for _, y in shape),
            max(x for x, _ in shape),
            max(y for _, y in shape),
        )
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
        )
        picture.datum(frame.left, frame.top)
        picture.run_up(
            [
                Tick(self.spot((x, y))[1], Nm(y - self.top), "corner, down from the top")
                for x, y in self.room.plan
                if y > self.top
            ],
            edge=frame.left - 80,
            from_x=frame.left - 700,
            left=True,
            low=frame.top - 200,
            high=frame.bottom + 200,
            kind="Down",
        )
        picture.y = picture.run_across(
            [
                Tick(self.spot((x, y))[0], Nm(x - self.left), "corner, from the left")
                for x, y in self.room.plan
            ],
            edge=frame.bottom + 80,
            from_y=frame.bottom + 620,
            down=True,
            low=max(0, frame.left - 900),
            high=self.page.width,
            kind="Across",
        )
        if any(surface.kind is SurfaceKind.CEILING for surface in self.room.surfaces):
            picture.note(
                f"The ceiling is drawn as seen from below, with {self.room.plan_sides[0].name} at "
                "the bottom: left and "
                "right as here, top and bottom changed."
            )
        names = ", ".join(f"{side.name} ({side.mark})" for side in self.room.plan_sides)
        return picture.finish(
            says=f"Plan of {self.room.name}: walls {names}, clockwise from the top."
        )

    def _on_side(self, wall: str, ends: list[Point]) -> bool:
        """Whether both ends lie on the room's own part of the wall."""
        for index, side in enumerate(self.room.plan_sides):
            if side.wall == wall:
                a, b = self.room.plan[index], self.room.plan[(index + 1) % len(self.room.plan)]
                if all(_between(a, b, end) for end in ends):
                    return True
        return False

    def _openings(self) -> list[tuple[PlacedOpening, list[Point]]]:
        openings = []
        for surface in self.room.surfaces:
            frame = self.frames.get(surface.id)
            if frame is None or surface.kind is SurfaceKind.CEILING:
                continue
            for opening in surface.openings:
                ends = [_floor(frame, u) for u in (opening.left, opening.right)]
                if not self._on_side(surface.id.split("/", 1)[1], ends):
                    continue
                spots = [self.spot(end) for end in ends]
                self.picture.sketch.lines([spots], "gap")
                self.picture.sketch.lines([spots], "opening-line")
                self.picture.legend("opening-line", "door, window or passage")
                openings.append((opening, ends))
        return openings

    def _boxes(self) -> None:
        """Each box where it is. Where a partition is framed after the board, the wall that runs
        through behind it is of the room that was measured, and its boxes are shown in the room they
        will be in."""
        shape = [self.spot(corner) for corner in self.room.plan]
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
                spots = [
                    (px, py - 260, "middle"),
                    (px, py + 480, "middle"),
                    (px + 220, py + 90, "start"),
                ]
                spots += [
                    (px - 220, py + 90, "end"),
                    (px, py + 820, "middle"),
                    (px, py - 560, "middle"),
                ]
                self.picture.label(
                    cutout.name,
                    spots,
                    Box(0, 0, self.page.width, 100_000),
                    cls="mark",
                    kind="Hole",
                    says=says,
                    widest=4_400,
                    shape=shape,
                )

    def _wall_words(self, index: int, shape: list[tuple[int, int]]) -> None:
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
        for off in (300, 640):
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
        texts = [f"{called} · {long}", called, side.mark]
        page = Box(0, self.picture.y, self.page.width, 100_000)
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
                widest=span + 400,
                shorten=text is texts[-1],
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
            Box(0, 0, self.page.width, 100_000),
            kind="Opening",
            says=f"{opening.kind.value}, rough opening {size}, from "
            f"{tape(opening.left, self.units)} along its wall",
            turn=upright,
            turn_only=upright,
            widest=3_400,
            shape=shape,
        )


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
