"""One surface as a drawing: a wall as seen from inside the room, a ceiling as seen from below."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from takeoff.cards.frames import room_frames
from takeoff.cards.lookup import Seen, see
from takeoff.cards.readings import behind_readings, heights, risers, stations
from takeoff.cards.sides import Meeting, meets_of
from takeoff.cards.tape import tape
from takeoff.cards.troubles import troubles
from takeoff.choices import Action, Runs, SurfaceKind
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.metrics import width_of
from takeoff.drawing.on_page import SurfaceOnPage
from takeoff.drawing.picture import Picture
from takeoff.drawing.style import PAPER, SMALL, Page
from takeoff.drawing.surface_in_plan import draw_in_plan
from takeoff.drawing.surface_shapes import draw_shapes
from takeoff.drawing.surface_words import with_letters, write_words
from takeoff.geometry.polygon import bounds
from takeoff.job import Takeoff
from takeoff.units import Nm

__all__ = ["behind_drawing", "surface_drawing"]

_LANE_LEAD = 420
_TOP_LANE = 420
_OVERALL_LANE = 480  # of the string of the whole height
_OVERALL_UNDER = 620  # that of the whole width


def surface_drawing(
    takeoff: Takeoff,
    surface: str,
    *,
    page: Page = PAPER,
    prefix: str = "surface",
    hung: Collection[str] = (),
    least_scale: int = 0,
) -> Drawing:
    """The surface of that id: boards with their codes, seams by kind, members, openings, boxes,
    backers and what is hidden behind the board. Boards whose codes are `hung` are filled in. It
    is drawn no larger than at 1:`least_scale`.

    Running dimensions start at the left end and the floor; on a slope at the lower left corner, and
    on a level ceiling at the upper right one, where its first wall begins.
    Raises `BadValue` for an id that is no surface, and for a surface too large to draw.
    """
    trouble_texts = [trouble.text.split(": ", 1)[1] for trouble in troubles(takeoff, surface)]
    seen = see(takeoff, surface)
    return _Elevation(seen, page, prefix, hung=hung, least_scale=least_scale).draw(trouble_texts)


def behind_drawing(
    takeoff: Takeoff, surface: str, *, page: Page = PAPER, prefix: str = "behind"
) -> Drawing:
    """What the surface of that id hides, without its boards: members, backers, blocking, cables,
    pipes and what else is noted, with openings and boxes.

    Running dimensions start at the left end and the bottom, and go to both edges of everything
    hidden. Raises `BadValue` as `surface_drawing` does.
    """
    return _Elevation(see(takeoff, surface), page, prefix, behind=True).draw(())


class _Elevation:
    def __init__(
        self,
        seen: Seen,
        page: Page,
        prefix: str,
        *,
        behind: bool = False,
        hung: Collection[str] = (),
        least_scale: int = 0,
    ) -> None:
        self.seen = seen
        self.hung = frozenset(hung)
        self.behind = behind
        readings = behind_readings(seen) if behind else (stations(seen), heights(seen))
        self.stations, self.heights = readings
        self.surface = seen.surface
        self.units = seen.house.units
        self.is_wall = seen.surface.kind is SurfaceKind.WALL
        way = (
            "seen from inside the room" if self.is_wall else f"seen from below{self._first_side()}"
        )
        name = f"{seen.name[:1].upper()}{seen.name[1:]} · {self.surface.mark}"
        name += " · behind the board" if behind else ""
        # the two sides that are measured from, as they are on the page
        turned = self.surface.read_turned
        self._ends = ("the right end", "the top") if turned else ("the left end", "the bottom")
        self.left, self.bottom, self.right, self.top = bounds(self.surface.outline)
        wide, high = self.right - self.left, self.top - self.bottom
        # a phone has no room for a string of the whole height beside the others
        self.overall = _OVERALL_LANE if page.strip else 0
        self.lane = self.overall + _LANE_LEAD + self._widest(self.heights)
        level = risers(self.seen)
        self.right_lane = _LANE_LEAD + self._widest(level) if level else 420
        strip_and_gap = page.strip + 500 if page.strip else 0
        self.page, self.units = page, seen.house.units
        across = page.width - strip_and_gap - self.lane - self.right_lane
        up = page.height - 7_500
        if page.strip:
            up = page.height - _TOP_LANE - self._deepest_lanes() - _OVERALL_UNDER - 200
        scale = max(scale_for(wide, high, across=across, up=up), least_scale)
        size = f"{tape(Nm(wide), self.units)} x {tape(Nm(high), self.units)}"
        under = f"{seen.room.name} · {way} · {size} at the framing{scale_words(scale, page)}"
        self.picture = Picture(
            prefix, page.width, title=name, under=under, units=self.units, strip=page.strip
        )
        self.picture.scale = scale
        self.scale = scale

    def _view(self, top: int) -> View:
        """Where the surface comes on the page when its upper rim is at `top`."""
        size = View(0, 0, self.scale).size
        if self.surface.read_turned:
            return View(
                self.lane + size(self.right), top - size(self.bottom), self.scale, turned=True
            )
        return View(self.lane - size(self.left), top + size(self.top), self.scale)

    def _first_side(self) -> str:
        """What stands along the side of a ceiling that it is measured from, with its letter, and
        where that is on the page."""
        corners, low = self.surface.outline, bounds(self.surface.outline)[1]
        names = with_letters(self.seen)
        sides = zip(corners, (*corners[1:], corners[0]), strict=True)
        lowest = [side for side in sides if side[0][1] == side[1][1] == low]
        if not lowest:
            return ""
        longest = max(lowest, key=lambda side: abs(side[1][0] - side[0][0]))
        meeting, text = meets_of(*longest, self.surface, names)
        if meeting is not Meeting.SURFACE:
            return ""
        place = "top" if self.surface.read_turned else "bottom"
        return f", {text.removeprefix('toward ')} at the {place}"

    def _against_plan(self) -> str:
        """How a ceiling seen from below lies against the plan of its room, which is seen from
        above."""
        frame = room_frames(self.seen.room, self.seen.house).get(self.surface.id)
        if frame is None or not self.seen.room.plan:
            return ""
        if self.surface.read_turned:
            return (
                "Hold the page overhead, its top toward that wall. As you look up, left and right "
                "change places with the plan from above. The tape starts at the dot, at the upper "
                "right."
            )
        along = (round(frame.right[0], 3), round(frame.right[1], 3))
        if along == (1, 0):
            return (
                "As you look up: left and right are as on the plan from above, near and far "
                "change places."
            )
        if along == (-1, 0):
            return (
                "As you look up: near and far are as on the plan from above, left and right "
                "change places."
            )
        return "It is turned against the plan from above: go by the names of its sides."

    def _widest(self, lengths: Iterable[Nm]) -> int:
        return max((width_of(tape(length, self.units), SMALL) for length in lengths), default=0)

    def _deepest_lanes(self) -> int:
        """How deep the readings above and below the drawing come out at most, all turned."""
        members = [m.centre for m in self.seen.framed.members if m.runs is Runs.ACROSS]
        above = 420 + self._widest(members) if members else 0
        return above + 420 + self._widest(self.stations)

    def draw(self, troubled: Iterable[str]) -> Drawing:
        picture, surface = self.picture, self.surface
        members = self._member_ticks()
        # The lane of member readings grows upward from the drawing, and how deep it gets is known
        # only once it is drawn. So it is drawn once on a trial picture, and the drawing is set that
        # much lower.
        head = 0 if self.page.strip else picture.y
        top = head + _TOP_LANE + self._lane_depth(members)
        view = self._view(top)
        frame = view.box(self.left, self.bottom, self.right, self.top)
        on = SurfaceOnPage(seen=self.seen, picture=picture, view=view, frame=frame)
        draw_shapes(on, boards=not self.behind, hung=self.hung)
        write_words(on, boards=not self.behind)
        picture.foot = self._dimensions(on, members)
        if self.page.strip:
            draw_in_plan(picture, self.seen.room, surface, top=picture.y)
            picture.scale_bar()
        else:
            picture.y = picture.foot
            picture.scale_bar()
            draw_in_plan(picture, self.seen.room, surface, top=picture.foot)
        if self.surface.action is Action.BOARD_OVER:
            picture.note("The board goes over the old surface; the framing is behind that.")
        if not self.is_wall and (against := self._against_plan()):
            picture.note(against)
        if self.seen.framed.provisional:
            picture.note("Nobody has looked at the framing yet: where it stands is assumed.")
        if self.seen.plan is None and not self.behind:
            picture.note(
                f"No board is planned here: this surface is to {surface.action.value}."
                if not surface.action.gets_board
                else "No board plan could be made for this surface; the list of what was refused "
                "says why."
            )
        for text in self._hidden_notes():
            picture.note(text, cls="told")
        for text in troubled:
            picture.note(f"Look: {text}.", cls="told", kind="Trouble")
        count = len(self.seen.plan.pieces) if self.seen.plan else 0
        shown = (
            f"{len(surface.hidden)} things behind the board" if self.behind else f"{count} boards"
        )
        says = (
            f"{self.seen.room.name}, {self.seen.name}: {shown}, {len(surface.openings)} openings, "
            f"{len(surface.cutouts)} holes. Every measure is in the table of this drawing."
        )
        return picture.finish(says=says)

    def _lane_depth(self, ticks: list[Tick]) -> int:
        trial = Picture("trial", self.page.width, title="", under="", units=self.units)
        base = 20_000
        far = trial.run_across(
            ticks,
            edge=base,
            from_y=base,
            down=False,
            low=self._low(),
            high=self.picture.across,
            kind="",
        )
        return base - far

    def _low(self) -> int:
        """How far to the left readings may stand above and below the drawing."""
        return max(0, self.lane - 900, self.overall)

    def _hidden_notes(self) -> Iterator[str]:
        for item in self.surface.hidden:
            if item.planned:
                yield (
                    f"Before the first sheet: {item.name} ({item.lumber} {item.kind.value}) must "
                    "be in."
                )

    def _member_ticks(self) -> list[Tick]:
        view = self._view(0)
        return [
            Tick(
                view.x(m.centre),
                m.centre,
                f"center of a stud or joist ({m.kind.value}), from {self._ends[0]}",
            )
            for m in self.seen.framed.members
            if m.runs is Runs.ACROSS
        ]

    def _dimensions(self, on: SurfaceOnPage, members: list[Tick]) -> int:
        picture, view, frame = on.picture, on.view, on.frame
        if members:
            picture.run_across(
                members,
                edge=frame.top,
                from_y=frame.top - 60,
                down=False,
                low=self._low(),
                high=picture.across,
                kind="Stud or joist",
            )
        picture.run_up(
            [Tick(view.y(at), at, "; ".join(says)) for at, says in self.heights.items()],
            edge=frame.left,
            from_x=frame.left,
            left=True,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="Height" if self.is_wall else "Up the drawing",
        )
        level = [
            Tick(view.y(at), at, f"center of a stud or joist, from {self._ends[1]}")
            for at in risers(self.seen)
        ]
        picture.run_up(
            level,
            edge=frame.right,
            from_x=frame.right,
            left=False,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="Stud or joist",
        )
        picture.datum(view.x(self.left), view.y(self.bottom))
        foot = picture.run_across(
            [Tick(view.x(at), at, "; ".join(says)) for at, says in self.stations.items()],
            edge=frame.bottom,
            from_y=frame.bottom + 60,
            down=True,
            low=self._low(),
            high=picture.across,
            kind="Across",
        )
        at = "from end to end, at the framing"
        if self.overall:
            high, x = Nm(self.top - self.bottom), frame.left - self.lane + self.overall - 60
            picture.overall_up(frame.bottom, frame.top, x, high, "from the bottom to the top")
        wide = Nm(self.right - self.left)
        return picture.overall_across(frame.left, frame.right, foot, wide, at)
