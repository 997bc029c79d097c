"""The order in which a room is hung: steps to tick off, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.boards.fillers import fillers
from takeoff.boards.plan import Course, JointKind, Piece, SurfacePlan
from takeoff.cards.frames import SurfaceFrame, room_frames
from takeoff.cards.lookup import names_of, room_of
from takeoff.cards.poses import row_words
from takeoff.cards.sides import Side, ahead, beyond, sides_on_page
from takeoff.cards.tape import tape
from takeoff.choices import HiddenKind, Runs, SurfaceKind
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Edge, EdgeKind, Point, Surface
from takeoff.job import Takeoff
from takeoff.reference import figures
from takeoff.units import INCH, MM, Nm, UnitSystem, format_length

__all__ = ["HangKind", "HangStep", "hanging_order"]


_PUT = {
    Support.NAILER: "put in a nailer",
    Support.STUD: "put in a stud",
    Support.CLIP: "put on clips",
}


class HangKind(StrEnum):
    """What a step is about. The values are no words for people: ticks are kept by keys that are
    made of them, so they stay as they are."""

    BEFORE = "before the first sheet"
    SHEETS = "where the sheets lean"
    LIFT = "the lift"
    PIECE = "a board"
    BACKER = "a seam backer"
    SCREWS = "screws"
    AFTER = "after the last board"


@dataclass(frozen=True, slots=True, kw_only=True)
class HangStep:
    """One step: what is done and why. `pieces` are the codes of the pieces that it hangs on
    `surface`.

    `lift` is the place on the floor under the middle of a ceiling's piece: how far it is from the
    two walls that its surface is measured from, along it and across it. `place` is where a piece
    goes, in few words from a wall by name: on a ceiling where the lift stands. Other steps have
    neither.
    """

    number: int
    kind: HangKind
    what: str
    reason: str
    surface: str | None = None
    pieces: tuple[str, ...] = ()
    lift: tuple[Nm, Nm] | None = None
    place: str = ""


@dataclass(frozen=True, slots=True)
class _Step:
    kind: HangKind
    what: str
    reason: str
    surface: str | None = None
    pieces: tuple[str, ...] = ()
    lift: tuple[Nm, Nm] | None = None
    place: str = ""


def hanging_order(takeoff: Takeoff, room: str) -> tuple[HangStep, ...]:
    """The steps of hanging a room: first what must be in the framing, then ceilings, then each wall
    from the top down, then a last look.

    There are no steps where no surface of the room has a plan. Raises `BadValue` for a room that is
    not there.
    """
    geometry = room_of(takeoff, room)
    plans = {plan.surface: plan for plan in takeoff.surface_plans}
    hung = [surface_id for surface_id in geometry.hang_order if surface_id in plans]
    if not hung:
        return ()
    return tuple(
        HangStep(
            number=number,
            kind=step.kind,
            what=step.what,
            reason=step.reason,
            surface=step.surface,
            pieces=step.pieces,
            lift=step.lift,
            place=step.place,
        )
        for number, step in enumerate(_Order(takeoff, geometry, plans, hung).steps(), start=1)
    )


class _Order:
    def __init__(
        self,
        takeoff: Takeoff,
        room: RoomGeometry,
        plans: dict[str, SurfacePlan],
        hung: Sequence[str],
    ) -> None:
        self.takeoff, self.room, self.plans = takeoff, room, plans
        self.units: UnitSystem = takeoff.house.units
        self.names = names_of(takeoff)
        self.surfaces = {surface.id: surface for surface in room.surfaces}
        self.frames = room_frames(room, takeoff.house)
        self.ceilings = [
            surface_id
            for surface_id in hung
            if self.surfaces[surface_id].kind is SurfaceKind.CEILING
        ]
        self.walls = [
            surface_id for surface_id in hung if self.surfaces[surface_id].kind is SurfaceKind.WALL
        ]

    def steps(self) -> Iterator[_Step]:
        yield from self._before()
        yield from self._sheets()
        edge = tape(figures.length("HL-01"), self.units)
        yield _Step(
            HangKind.SCREWS,
            f"Every board: screws from the middle outward, {edge} or more from edges and ends, "
            "driven just below the surface; do not break the paper",
            "a board held at its rim first keeps a bow in its middle, and a broken paper holds "
            "nothing",
        )
        for surface in self.ceilings:
            yield from self._ceiling(surface)
        if self.ceilings:
            yield _Step(
                HangKind.LIFT,
                "Take the lift down and out of the room",
                "the ceiling is up; walls go up by hand, and the floor is free to lay sheets on",
            )
        for surface in self.walls:
            yield from self._wall(surface)
        for surface in (*self.ceilings, *self.walls):
            yield from self._fillers(surface)
        yield _Step(
            HangKind.AFTER,
            "Cut what was left to be cut in place; set the screws left out near those holes; look "
            "for screws that "
            "broke the paper and set another beside each",
            "a hole cut with the board up is cut once, and a screw through the paper holds nothing",
        )

    def _before(self) -> Iterator[_Step]:
        hung = {*self.ceilings, *self.walls}
        corners: dict[tuple[Support, bool], list[UnsupportedEdge]] = {}
        others: dict[str, list[UnsupportedEdge]] = {}
        for edge in self.takeoff.unsupported_edges:
            if edge.surface in hung and edge.kind is UnsupportedEdgeKind.INSIDE_CORNER:
                corners.setdefault((edge.support, edge.certain), []).append(edge)
            elif edge.surface in hung:
                others.setdefault(edge.text, []).append(edge)
        for same in others.values():
            yield self._support(same)
        for alike in corners.values():
            yield self._support(alike) if len(alike) == 1 else self._corners(alike)
        for surface in (*self.ceilings, *self.walls):
            place = self.names[surface]
            for item in self.surfaces[surface].hidden:
                if item.planned:
                    lumber = f"{item.lumber} " if item.kind is HiddenKind.BLOCKING else ""
                    yield _Step(
                        HangKind.BEFORE,
                        f"{place}: put in {item.name} ({lumber}{item.kind.value}), "
                        f"{tape(item.bottom, self.units)} to {tape(item.top, self.units)} up",
                        "once the board is up nobody gets at it",
                        surface=surface,
                    )
            if self.surfaces[surface].wet and not any(
                item.kind is HiddenKind.BLOCKING for item in self.surfaces[surface].hidden
            ):
                yield _Step(
                    HangKind.BEFORE,
                    f"{place}: is blocking wanted for grab bars, a screen or a vanity? Put it in "
                    "now",
                    "a wet wall is hard to open again",
                    surface=surface,
                )
        floating = sum(
            joint.kind is JointKind.FLOATING
            for ceiling in (*self.ceilings, *self.walls)
            for joint in self.plans[ceiling].joints
        )
        if floating:
            yield _Step(
                HangKind.BEFORE,
                f"Cut {floating} seam backer{'s' if floating > 1 else ''} and glue their shims on",
                "each goes up as soon as the first board of its seam hangs",
            )
        if self.walls:
            yield _Step(
                HangKind.BEFORE,
                "Mark every stud on the floor and on the ceiling plates; photograph each wall "
                "with a tape in it",
                "boards hide what the screws must find",
            )

    def _corners(self, edges: Sequence[UnsupportedEdge]) -> _Step:
        """Corners with the same to be done, as one step: a room has up to two a wall, and one goes
        round them once."""
        long = {edge.length for edge in edges}
        each_length = f", {tape(edges[0].length, self.units)} each" if len(long) == 1 else ""
        # an edge tells its neighbour in its text alone
        corner = " at the corner with "
        sides = {
            (self.names[it.surface], it.text.partition(corner)[2].partition(";")[0]): it.length
            for it in edges
        }
        places = []
        for (wall, other), length_ in sides.items():
            if (other, wall) in sides and wall > other:
                continue  # told with the other side
            both = (
                f"{wall} and {other}, both sides"
                if (other, wall) in sides
                else f"{wall} at {other}"
            )
            places.append(both if each_length else f"{both}, {tape(length_, self.units)}")
        put = _PUT[edges[0].support]
        what = (
            f"Nothing to screw to in corners: {put}"
            if edges[0].certain
            else f"Look in the corners for something to screw to, and {put} where there is nothing"
        )
        return _Step(
            HangKind.BEFORE,
            f"{what}{each_length}: {'; '.join(places)}",
            "the edge of a board with nothing behind it cracks its tape",
        )

    def _support(self, edges: Sequence[UnsupportedEdge]) -> _Step:
        """What is to be put in behind an edge; places that read the same are one step, with the
        length of each."""
        edge = edges[0]
        what = _PUT[edge.support]
        put = what if edge.certain else f"look, and {what} where there is nothing"
        lengths = " and ".join(tape(one.length, self.units) for one in edges)
        return _Step(
            HangKind.BEFORE,
            f"{edge.text}: {put}, {lengths}",
            "the edge of a board with nothing behind it cracks its tape",
            surface=edge.surface,
        )

    def _sheets(self) -> Iterator[_Step]:
        if not self.walls:
            return
        last = self.walls[-1]
        plain = [wall for wall in self.walls if not self.surfaces[wall].openings]
        lean = plain[-1] if plain else last
        yield _Step(
            HangKind.SHEETS,
            f"Stand the sheets for the walls on edge against {self.names[lean]}, a few deep at "
            "most, clear of doors",
            "it is hung late and they need not be moved; a leaning stack is heavy and falls",
            surface=lean,
        )

    def _ceiling(self, surface: str) -> Iterator[_Step]:
        plan = self.plans[surface]
        rows = sorted(plan.rows, key=lambda row: (not _is_whole(row), row.low))
        first = _is_whole(rows[0])
        start = next((row for row in rows if row.factory_low and row.factory_high), rows[0])
        far = 2 * start.low > min(row.low for row in plan.rows) + max(row.high for row in plan.rows)
        order = sorted(plan.rows, key=lambda row: row.low, reverse=far)
        for place, row in enumerate(order):
            for index, piece in enumerate(_in_row(plan, row)):
                lift = self._lift(surface, piece)
                if place == 0 and index == 0:
                    why = "the ceiling goes first, so that the walls hold up its edges"
                    if first:
                        why += "; a whole width against the wall keeps the rows after it straight"
                elif index == 0:
                    why = "next to the row that is up, tapered edge to tapered edge"
                else:
                    why = "end to end, without force"
                yield self._hang(surface, piece, row, why, lift)
                yield from self._backer(surface, plan, piece)

    def _wall(self, surface: str) -> Iterator[_Step]:
        plan = self.plans[surface]
        if plan.rows_run is Runs.ACROSS:
            rows = sorted(plan.rows, key=lambda row: row.low)
        else:
            rows = sorted(plan.rows, key=lambda row: -row.low)
        for place, row in enumerate(rows):
            for index, piece in enumerate(_in_row(plan, row)):
                if index:
                    why = "end to end, without force"
                elif place == 0:
                    why = self._first_reason(surface, plan)
                elif plan.rows_run is Runs.ACROSS:
                    why = "beside the board that stands"
                else:
                    why = (
                        "raised tight to the row above with a foot lift, so that the gap is at "
                        "the floor, where baseboard covers it"
                    )
                yield self._hang(surface, piece, row, why, None)
                yield from self._backer(surface, plan, piece)

    def _fillers(self, surface: str) -> Iterator[_Step]:
        """The strips beside openings that get no board, as one step."""
        plan = self.plans[surface]
        strips = fillers(self.surfaces[surface], plan.rows_run, plan.rows, plan.pieces)
        if not strips:
            return
        told = "; ".join(
            f"{strip.opening.name}, {strip.where}: {tape(strip.width, self.units)} by "
            f"{tape(strip.run, self.units)}"
            for strip in strips
        )
        yield _Step(
            HangKind.AFTER,
            f"{self.names[surface]}: hang no board in the strips beside openings. Fill them before "
            f"taping ({told})",
            "so narrow a strip of board breaks at its screws",
            surface=surface,
        )

    def _first_reason(self, surface: str, plan: SurfacePlan) -> str:
        why = "tight to the ceiling, to hold its edge up" if self.ceilings else "from the top down"
        if plan.rows_run is Runs.ACROSS:
            why = "plumb, so that the ones after it are"
        later = [self.names[other] for other in self._lapped_by(surface)]
        if later:
            why += f"; before {' and '.join(later)}, whose board laps its ends"
        return why

    def _lapped_by(self, surface: str) -> Iterator[str]:
        """The walls whose board comes later and covers this one's ends."""
        place = {wall: index for index, wall in enumerate(self.walls)}
        for edge in self.surfaces[surface].edges:
            other = edge.neighbour
            if (
                edge.kind is EdgeKind.INSIDE_CORNER
                and other in place
                and place[other] > place[surface]
            ):
                yield other

    def _hang(
        self, surface: str, piece: Piece, row: Course, why: str, lift: tuple[Nm, Nm] | None
    ) -> _Step:
        what = f"Hang {piece.code} on {self.names[surface]}"
        place = self._place(surface, piece)
        if lift is not None:
            plan, shape = self.plans[surface], self.surfaces[surface]
            middle = _middle(piece, plan)
            first, _, low, _ = sides_on_page(shape)
            walls = (
                beyond(middle, Side.LEFT, shape, self.names) or f"the {first} as you look up",
                beyond(middle, Side.BOTTOM, shape, self.names) or f"the {low} side of the drawing",
            )
            spots = " and ".join(
                f"{_about(distance, self.units)} from {wall}"
                for distance, wall in zip(lift, walls, strict=True)
            )
            what += f": center the drywall lift {spots}"
            place = f"lift {spots}"
        return _Step(
            HangKind.PIECE,
            what,
            why,
            surface=surface,
            pieces=(piece.code,),
            lift=lift,
            place=place,
        )

    def _place(self, surface: str, piece: Piece) -> str:
        """Where a piece of a wall goes: its left side from the wall that meets its left end, and
        its row where there are several."""
        plan, shape = self.plans[surface], self.surfaces[surface]
        end = min(x for x, _ in shape.outline)
        along = plan.rows_run is Runs.ALONG
        off = Nm((piece.start if along else piece.low) - end)
        corner = next(
            (
                self.names[edge.neighbour]
                for edge, here, there in _edges(shape)
                if here[0] == there[0] == end and edge.neighbour in self.names
            ),
            "its left end",
        )
        place = f"at {corner}" if off <= INCH else f"{tape(off, self.units)} from {corner}"
        if along and len(plan.rows) > 1:
            place += f", {row_words(piece, plan, shape, self.names)}"
        return place

    def _lift(self, surface: str, piece: Piece) -> tuple[Nm, Nm] | None:
        """Where the middle of a ceiling's piece is over the floor: how far from the walls that its
        surface is measured from, along it and across it."""
        frame: SurfaceFrame | None = self.frames.get(surface)
        shape = self.surfaces[surface]
        middle = _middle(piece, self.plans[surface])
        aside, out = ahead(middle, Side.LEFT, shape), ahead(middle, Side.BOTTOM, shape)
        left = middle[0] if aside is None else aside[0]
        down = middle[1] if out is None else out[0]
        if frame is None:
            return left, down
        x, y, _ = frame.to_room(middle)
        foot_x, foot_y, _ = frame.to_room((middle[0], Nm(middle[1] - down)))
        # straight across the floor: on a slope shorter than up the slope
        return left, Nm(round(length_of((foot_x, foot_y), (x, y))))

    def _backer(self, surface: str, plan: SurfacePlan, piece: Piece) -> Iterator[_Step]:
        for joint in plan.joints:
            if (
                joint.row == piece.row
                and joint.at == piece.end
                and joint.kind is JointKind.FLOATING
            ):
                yield _Step(
                    HangKind.BACKER,
                    f"Screw the backer behind the end of {piece.code}, half of it showing",
                    "the next board's end is drawn into it",
                    surface=surface,
                    pieces=(piece.code,),
                )


def _edges(shape: Surface) -> Iterator[tuple[Edge, Point, Point]]:
    """The edges of a surface, each with its two ends."""
    outline = shape.outline
    return zip(shape.edges, outline, (*outline[1:], outline[0]), strict=True)


def _middle(piece: Piece, plan: SurfacePlan) -> Point:
    along, square = Nm((piece.start + piece.end) // 2), Nm((piece.low + piece.high) // 2)
    return (along, square) if plan.rows_run is Runs.ALONG else (square, along)


def _about(length_: Nm, units: UnitSystem) -> str:
    """A length to the nearest inch or centimetre, close enough to stand a lift by."""
    unit = INCH if units is UnitSystem.INCH else Nm(10 * MM)
    return format_length(Nm(round(Fraction(length_, unit)) * unit), units)


def _is_whole(row: Course) -> bool:
    return row.high - row.low == row.sheet_width


def _in_row(plan: SurfacePlan, row: Course) -> list[Piece]:
    return sorted(
        (piece for piece in plan.pieces if piece.row == row.index), key=lambda piece: piece.start
    )
