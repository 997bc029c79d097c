"""One piece as it lies on the floor, with everything that is marked on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from takeoff.drawing.card import PieceCard
from takeoff.drawing.card_words import hole_check, screw_words
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, tape
from takeoff.drawing.frames import SideUp
from takeoff.drawing.layout import Box
from takeoff.drawing.marks import CutWhen, HoleMark, NotchMark
from takeoff.drawing.metrics import width_of
from takeoff.drawing.picture import Picture
from takeoff.drawing.sides import Finish
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.drawing.svg import Spot
from takeoff.reference import length
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["piece_drawing"]

_LINES = {Finish.TAPERED: "tapered", Finish.FACTORY: "factory", Finish.END: "factory", Finish.CUT: "cut"}
_LEGEND = {"tapered": "tapered edge", "factory": "factory end", "cut": "cut edge"}
_MARGIN = 420


def piece_drawing(
    card: PieceCard, units: UnitSystem, *, page: Page = PAPER, prefix: str = "piece", notes: bool = True
) -> Drawing:
    """The piece as it lies: what each edge meets, its holes, notches, screw lines and backers, with running dimensions
    from its left end and its near edge. `notes` adds below how it is laid, the checks of its holes and its warnings.

    Raises `BadValue` for a piece with more on it than a page takes.
    """
    return _Lying(card, units, page, prefix).draw(notes=notes)


class _Lying:
    def __init__(self, card: PieceCard, units: UnitSystem, page: Page, prefix: str) -> None:
        self.card, self.units, self.page = card, units, page
        self.lay = card.on.lay
        self.levels = [line for line in card.screw_lines if not line.upright]
        self.heights = _ordered(self._heights())
        self.lane = _MARGIN + self._widest(self.heights)
        self.risers = _MARGIN + self._widest(line.at for line in self.levels) if self.levels else 0
        self.right_lane = 900 + self.risers
        across = page.width - self.lane - self.right_lane
        self.scale = scale_for(self.lay.long, self.lay.across, across=across, up=min(page.height - 9_000, 9_500))
        size = f"{tape(self.lay.long, units, up=False)} x {tape(self.lay.across, units, up=False)}"
        under = f"{card.goes} · {size} finished · {self.lay.up.value} · 1:{self.scale} on paper"
        self.picture = Picture(prefix, page.width, title=card.code, under=under, units=units)
        self.picture.scale = self.scale

    def _widest(self, lengths: Iterable[Nm]) -> int:
        readings = (tape(each, self.units, up=up) for each in lengths for up in (None, False))
        return max((width_of(text, SMALL) for text in readings), default=0)

    def draw(self, *, notes: bool) -> Drawing:
        picture = self.picture
        members = self._member_ticks(View(self.lane, 0, self.scale))
        top = picture.y + (320 if members else 520) + self._lane_depth(members)
        probe = View(0, 0, self.scale)
        self.view = view = View(self.lane, top + probe.size(self.lay.across), self.scale)
        self.frame = Box(view.x(0), view.y(self.lay.across), view.x(self.lay.long), view.y(0))
        self.shape = [view.spot(corner) for corner in self.card.corners]
        self._shapes()
        self._words()
        self._dimensions(members)
        if notes:
            self._notes()
        holes = f"{len(self.card.holes)} holes, {len(self.card.notches)} notches"
        says = f"Piece {self.card.code}, {self.card.goes}, {self.lay.up.value}: {holes}. {self.card.lying.text}"
        return picture.finish(says=says)

    def _lane_depth(self, ticks: list[Tick]) -> int:
        trial = Picture("trial", self.page.width, title="", under="", units=self.units)
        far = trial.run_across(ticks, edge=20_000, from_y=20_000, down=False, low=0, high=self.page.width, kind="")
        return 20_000 - far if ticks else 0

    # shapes

    def _shapes(self) -> None:
        canvas = self.picture.canvas
        canvas.polygon(self.shape, "board")
        for backer in self.card.backers:
            area = backer.area
            (x0, y0), (x1, y1) = self.view.spot((area.left, area.near)), self.view.spot((area.right, area.far))
            canvas.rectangle(x0, y1, x1, y0, "backer", hatch="backer")
            self.picture.legend("backer", "seam backer")
        self._screw_lines()
        for notch in self.card.notches:
            self._notch(notch)
        self._sides()
        for hole in self.card.holes:
            self._hole(hole)
        self._arrow()

    def _screw_lines(self) -> None:
        view, canvas = self.view, self.picture.canvas
        runs: list[list[Spot]] = []
        faces: list[list[Spot]] = []
        dots: list[tuple[int, int, int]] = []
        inset = length("HL-01-layout")
        for line in self.card.screw_lines:
            ends = (line.low, line.high)
            runs.append([view.spot((line.at, end) if line.upright else (end, line.at)) for end in ends])
            for face in line.faces:
                for end, inward in ((line.low, 1), (line.high, -1)):
                    to = end + inward * min(3 * INCH, (line.high - line.low) // 3)
                    faces.append([view.spot((face, at) if line.upright else (at, face)) for at in (end, to)])
            if line.screws:
                low, high = line.low + inset, line.high - inset
                for k in range(line.screws):
                    at = low + (high - low) * k // (line.screws - 1) if line.screws > 1 else (low + high) // 2
                    x, y = view.spot((line.at, at) if line.upright else (at, line.at))
                    dots.append((x, y, 38))
        canvas.lines(runs, "screws")
        canvas.lines(faces, "face")
        canvas.shapes((), dots, "screw")
        if runs:
            self.picture.legend("screws", "screws; the member's two sides")

    def _sides(self) -> None:
        grouped: dict[str, list[list[Spot]]] = {}
        corners = self.shape
        for side, start, end in zip(self.card.sides, corners, (*corners[1:], corners[0]), strict=True):
            grouped.setdefault(_LINES[side.finish], []).append([start, end])
            box = Box(min(start[0], end[0]), min(start[1], end[1]), max(start[0], end[0]), max(start[1], end[1]))
            if start[0] == end[0] or start[1] == end[1]:
                self.picture.places.lines.append(box.grown(50))
        for key, runs in grouped.items():
            if key == "tapered":
                self.picture.canvas.lines(runs, "taper-out")
                self.picture.canvas.lines(runs, "taper-in")
            else:
                self.picture.canvas.lines(runs, key)
            self.picture.legend(key, _LEGEND[key])

    def _notch(self, notch: NotchMark) -> None:
        canvas = self.picture.canvas
        (x0, y0), (x1, y1) = (
            self.view.spot((notch.area.left, notch.area.near)),
            self.view.spot((notch.area.right, notch.area.far)),
        )
        if notch.later:
            canvas.rectangle(x0, y1, x1, y0, "later")
            self.picture.legend("later", "left whole, cut once it hangs")
            return
        canvas.rectangle(x0, y1, x1, y0, "opening")
        canvas.lines([[(x0, y0), (x1, y1)], [(x0, y1), (x1, y0)]], "void")
        self.picture.legend("opening", "cut out for an opening")
        self.picture.places.keep(Box(x0, y1, x1, y0))

    def _hole(self, hole: HoleMark) -> None:
        canvas, view = self.picture.canvas, self.view
        (x0, y0), (x1, y1) = view.spot((hole.cut.left, hole.cut.near)), view.spot((hole.cut.right, hole.cut.far))
        x, y = (x0 + x1) // 2, (y0 + y1) // 2
        reach = max(x1 - x0, y0 - y1) // 2 + 120
        key = "later" if hole.when is CutWhen.IN_PLACE else "hole"
        if hole.round and not hole.crosses:
            canvas.circle(x, y, max(70, (x1 - x0) // 2), key)
        else:
            canvas.rectangle(x0, y1, x1, y0, key)
        canvas.lines([[(x - reach, y), (x + reach, y)], [(x, y - reach), (x, y + reach)]], "centre")
        self.picture.legend(
            key, "cut in place, its centre marked" if key == "later" else "hole, with the tool's allowance"
        )
        self.picture.places.keep(Box(x0, y1, x1, y0).grown(70))

    def _arrow(self) -> None:
        """The arrow in the right margin: out of the top of a wall's piece, to the right end of a ceiling's."""
        canvas, frame = self.picture.canvas, self.frame
        x, y = frame.right + self.risers + 480, (frame.top + frame.bottom) // 2
        reach = min(700, (frame.bottom - frame.top) // 2 - 60)
        way = self.card.lying.arrow
        self.picture.fact("Arrow", self.card.lying.arrow_text, self.card.lying.text, drawn=way != "right")
        if way == "right":
            x0, x1 = x - 300, x + 280
            canvas.lines([[(x0, y), (x1 - 150, y)]], "arrow")
            canvas.polygon(((x1, y), (x1 - 260, y - 150), (x1 - 260, y + 150)), "arrow-head")
            return
        reach = max(reach, 320)
        tip, tail = (y - reach, y + reach) if way == "far" else (y + reach, y - reach)
        back = 260 if way == "far" else -260
        canvas.lines([[(x, tail), (x, tip + back // 2)]], "arrow")
        canvas.polygon(((x, tip), (x - 150, tip + back), (x + 150, tip + back)), "arrow-head")
        self.picture.label(
            self.card.lying.arrow_text,
            [(x - 190, y, "middle"), (x + 400, y, "middle")],
            Box(frame.right + self.risers, 0, self.page.width, 100_000),
            cls="head",
            kind="Arrow",
            says=self.card.lying.text,
            turn=True,
            turn_only=True,
        )

    # words

    def _words(self) -> None:
        picture, view = self.picture, self.view
        for notch in self.card.notches:
            area = notch.area
            (x0, y0), (x1, y1) = view.spot((area.left, area.near)), view.spot((area.right, area.far))
            x = (x0 + x1) // 2
            spots = [(x, y1 + (y0 - y1) * k // 8 + SMALL // 4, "middle") for k in (4, 3, 5, 2, 6)]
            size = f"{tape(Nm(area.right - area.left), self.units)} x {tape(Nm(area.far - area.near), self.units)}"
            kept = picture.places.kept
            picture.places.kept = []  # the notch itself is kept clear of other words, not of its own
            says = f"{size} as it lies; {notch.steps[0]}"
            picture.label_in(notch.name, spots, Box(x0, y1, x1, y0).grown(-60), kind="Notch", says=says)
            picture.places.kept = kept
        self._code()
        for hole in self.card.holes:
            self._hole_words(hole)
        self._side_words()

    def _code(self) -> None:
        frame = self.frame
        size = TEXT * 16 // 10 if frame.bottom - frame.top > 1_800 else SMALL
        spots = [
            (
                frame.left + (frame.right - frame.left) * k // 16,
                frame.top + (frame.bottom - frame.top) * up // 8 + size * 28 // 100,
                "middle",
            )
            for up in (4, 3, 5)
            for k in (8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14)
        ]
        self.picture.label(
            self.card.code,
            spots,
            frame,
            size=size,
            cls="code",
            kind="Piece",
            says=self.card.goes,
            shape=self.shape,
            shorten=False,
        )

    def _side_words(self) -> None:
        corners = self.shape
        for side, (x0, y0), (x1, y1) in zip(self.card.sides, corners, (*corners[1:], corners[0]), strict=True):
            upright = x0 == x1
            spots: list[tuple[int, int, str]] = []
            middle_x = (self.frame.left + self.frame.right) // 2
            middle_y = (self.frame.top + self.frame.bottom) // 2
            for part in (50, 36, 64, 22, 78, 12, 88):
                x, y = x0 + (x1 - x0) * part // 100, y0 + (y1 - y0) * part // 100
                for off in (150, 560):
                    if upright:
                        spots.append((x + off + SMALL * 8 // 10 if x < middle_x else x - off, y, "middle"))
                    elif y0 == y1:
                        spots.append((x, y + off + SMALL * 8 // 10 if y < middle_y else y - off, "middle"))
                    else:
                        spots += [(x, y + off * 3, "middle"), (x, y - off * 2, "middle")]
            texts = [(side.text, False), (side.text.removeprefix("toward "), False), (side.text, True)]
            if side.codes:
                texts.insert(1, (", ".join(side.codes), False))
            for text, last in texts:
                if self.picture.label(
                    text,
                    spots,
                    self.frame,
                    cls="meets",
                    kind="Edge",
                    says=f"{side.side.value} as it hangs, {side.finish.value}",
                    turn=upright,
                    turn_only=upright,
                    shape=self.shape,
                    shorten=last,
                    tell=last,
                ):
                    break

    def _hole_words(self, hole: HoleMark) -> None:
        view, frame = self.view, self.frame
        (x0, y0), (x1, y1) = view.spot((hole.cut.left, hole.cut.near)), view.spot((hole.cut.right, hole.cut.far))
        left, right, top, bottom = x0 - 140, x1 + 140, y1 - 140, y0 + 140
        x, y = (x0 + x1) // 2, (y0 + y1) // 2 + SMALL // 3
        spots = [(right, y + off, "start") for off in (0, -380, 380)] + [
            (left, y + off, "end") for off in (0, -380, 380)
        ]
        spots += [(x, top - 20, "middle"), (x, bottom + SMALL, "middle")]
        spots += [(x + aside, top - off, "middle") for off in (420, 820) for aside in (0, -700, 700)]
        wide, high = Nm(hole.cut.right - hole.cut.left), Nm(hole.cut.far - hole.cut.near)
        size = (
            f"{tape(wide, self.units)} round" if hole.round else f"{tape(wide, self.units)} x {tape(high, self.units)}"
        )
        self.picture.label(
            hole.name,
            spots,
            frame,
            cls="mark",
            kind="Hole",
            says=f"{hole.kind.value}, cut {size}; {hole.when.value}; {hole_check(hole, self.card, self.units)}",
            widest=3_600,
        )

    # dimensions

    def _member_ticks(self, view: View) -> list[Tick]:
        return [
            Tick(
                view.x(line.at),
                line.at,
                f"line of {line.screws} screws, at most {tape(line.spacing, self.units)} apart; sides of the member at "
                f"{tape(line.faces[0], self.units)} and {tape(line.faces[1], self.units)}",
            )
            for line in self.card.screw_lines
            if line.upright
        ]

    def _stations(self) -> Iterator[tuple[Nm, str]]:
        yield Nm(0), "left end, where the tape is hooked"
        yield self.lay.long, "right end"
        for x, _ in self.card.corners:
            yield x, "corner"
        for notch in self.card.notches:
            yield notch.area.left, f"left side of {notch.name}"
            yield notch.area.right, f"right side of {notch.name}"
        for hole in self.card.holes:
            if hole.round or hole.when is CutWhen.IN_PLACE:
                yield hole.cut.middle[0], f"centre of {hole.name}"
            else:
                yield hole.cut.left, f"left of {hole.name}"
                yield hole.cut.right, f"right of {hole.name}"
        for backer in self.card.backers:
            yield backer.area.left, "edge of the seam backer"
            yield backer.area.right, "edge of the seam backer"

    def _heights(self) -> Iterator[tuple[Nm, str]]:
        yield Nm(0), "near edge"
        yield self.lay.across, "far edge"
        for _, y in self.card.corners:
            yield y, "corner"
        for notch in self.card.notches:
            yield notch.area.near, f"near side of {notch.name}"
            yield notch.area.far, f"far side of {notch.name}"
        for hole in self.card.holes:
            if hole.round or hole.when is CutWhen.IN_PLACE:
                yield hole.cut.middle[1], f"centre of {hole.name}"
            else:
                yield hole.cut.near, f"near side of {hole.name}"
                yield hole.cut.far, f"far side of {hole.name}"

    def _dimensions(self, members: list[Tick]) -> None:
        picture, view, frame = self.picture, self.view, self.frame
        if members:
            picture.run_across(
                members,
                edge=frame.top - 40,
                from_y=frame.top - 60,
                down=False,
                low=max(0, frame.left - 900),
                high=self.page.width,
                kind="Screw line",
            )
        picture.run_up(
            [
                Tick(view.y(at), at, "; ".join(says), False if at == self.lay.across else None)
                for at, says in self.heights.items()
                if at
            ],
            edge=frame.left - 40,
            from_x=frame.left - 40,
            left=True,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="From the near edge",
        )
        picture.run_up(
            [Tick(view.y(line.at), line.at, f"line of {line.screws} screws") for line in self.levels],
            edge=frame.right + 40,
            from_x=frame.right + 40,
            left=False,
            low=frame.top - 300,
            high=frame.bottom + 260,
            kind="Screw line",
        )
        picture.datum(frame.left, frame.bottom)
        picture.y = picture.run_across(
            [
                Tick(view.x(at), at, "; ".join(says), False if at == self.lay.long else None)
                for at, says in _ordered(self._stations()).items()
            ],
            edge=frame.bottom + 40,
            from_y=frame.bottom + 60,
            down=True,
            low=max(0, frame.left - 900),
            high=self.page.width,
            kind="From the left end",
        )

    def _notes(self) -> None:
        picture, card = self.picture, self.card
        picture.note(card.lying.text, cls="head" if self.lay.up is SideUp.BACK else "told", size=TEXT)
        for hole in card.holes:
            picture.note("Check " + hole_check(hole, card, self.units), cls="told")
        for text in card.notes:
            picture.note(text, cls="told")
        picture.note(screw_words(card, self.units), cls="told")


def _ordered(found: Iterable[tuple[Nm, str]]) -> dict[Nm, list[str]]:
    told: dict[Nm, list[str]] = {}
    for at, says in sorted(found, key=lambda each: each[0]):
        if says not in told.setdefault(at, []):
            told[at].append(says)
    return told
