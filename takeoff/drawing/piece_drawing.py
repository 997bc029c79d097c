"""One piece as it lies on the floor before the one who marks it: the side that is up, where its top
or its end goes, what each edge meets, and where every hole is from both ends."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.cards.card import PieceCard
from takeoff.cards.card_words import where_words
from takeoff.cards.marks import ScrewLine
from takeoff.cards.sides import PieceSide
from takeoff.cards.tape import eighths, tape
from takeoff.drawing.facts import Drawing, Tick, View, scale_for
from takeoff.drawing.key_plan import draw_where
from takeoff.drawing.layout import Box
from takeoff.drawing.metrics import width_of
from takeoff.drawing.on_page import PieceOnPage, hole_reach
from takeoff.drawing.picture import Picture
from takeoff.drawing.piece_shapes import draw_shapes
from takeoff.drawing.piece_strings import draw_strings
from takeoff.drawing.piece_words import bare, edge_words, end_words, sides_by_place, write_words
from takeoff.drawing.style import COLUMN, PHONE, Page
from takeoff.units import UnitSystem

__all__ = ["piece_drawing"]

# Words of 10 pt on paper, and of 16 px where a phone shows the drawing across its width.
_ON_PAPER, _ON_PHONE = 355, 430
# how far a board may come up the page: on paper three pieces stand one above the other
_MOST_HIGH, _MOST_ON_PAPER, _MOST_WITH_SLOPE = 6_000, 3_000, 3_600
_KNEEL = "you kneel here"


def piece_drawing(
    card: PieceCard,
    units: UnitSystem,
    *,
    page: Page = COLUMN,
    prefix: str = "piece",
    alone: bool = True,
) -> Drawing:
    """The piece as it lies: what each edge meets, its holes, notches, screw lines and backers; and
    (`alone`) the bar that says which side is up, and its place in its room, which otherwise stand
    beside it.

    Every hole and opening has its distances from both ends under the board. Its heading and its
    sentences stand beside it. Raises `BadValue` for a piece with more on it than a page takes.
    """
    return _Lying(card, units, page, prefix).draw(alone=alone)


class _Lying:
    def __init__(self, card: PieceCard, units: UnitSystem, page: Page, prefix: str) -> None:
        self.card, self.units, self.page = card, units, page
        self.lay = card.on.lay
        self.small = _ON_PHONE if page == PHONE else _ON_PAPER
        self.levels = [line for line in card.screw_lines if not line.upright]
        self.over = 0
        self.knelt = False
        self.lane = self.small * 16 // 10
        self.right_lane = self.lane
        if self.levels:
            self.right_lane += 420 + max(
                width_of(tape(line.at, units), self.small) for line in self.levels
            )
        across = page.width - self.lane - self.right_lane
        up = _MOST_HIGH if page == PHONE else _MOST_ON_PAPER
        if card.last_cuts and page != PHONE:
            up = _MOST_WITH_SLOPE
        self.scale = scale_for(self.lay.long, self.lay.across, across=across, up=up, even=False)
        self.beside = self._arrow_beside()
        self.picture = Picture(
            prefix,
            page.width,
            title=card.code,
            under="",
            units=units,
            small=self.small,
            heading=False,
        )
        self.picture.scale = self.scale

    def draw(self, *, alone: bool) -> Drawing:
        picture, card = self.picture, self.card
        if alone:
            self._bar()
        sides = sides_by_place(card)
        self._above(sides)
        members = self._member_ticks(View(self.lane, 0, self.scale))
        deep = View(0, 0, self.scale).size(self.lay.across)
        # readings of lines along the board need not fit beside a narrow one
        self.over = max(0, (len(self.levels) * self.small * 116 // 100 - deep) // 2 + 60)
        above = max(self._lane_depth(members), self._crosses_above() - self.over)
        if self.beside:  # a line of its own between the words above and the board
            above = max(above, self.small * 16 // 10)
        top = picture.y + 90 + above + self.over
        view = View(self.lane, top + deep, self.scale)
        on = PieceOnPage(
            card=card,
            units=self.units,
            picture=picture,
            view=view,
            frame=Box(view.x(0), view.y(self.lay.across), view.x(self.lay.long), view.y(0)),
            shape=tuple(view.spot(corner) for corner in card.corners),
        )
        draw_shapes(on)
        if self.beside:
            self._arrow(card.lying.arrow_text, card.lying.arrow, on.frame.top - 200 - self.over)
        self.knelt = self._kneel_beside(on.frame)
        self._screw_readings(on, members)
        below = write_words(on)
        aside = self._beside(on.frame, below)
        picture.y = on.frame.bottom + 60 + self.over
        ends = []
        margins = {
            "left end": Box(0, 0, on.frame.left, 0),
            "right end": Box(picture.width - self.lane, 0, picture.width, 0)
            if self.levels
            else Box(on.frame.right, 0, on.frame.right + self.lane, 0),
        }
        for end, margin in margins.items():
            if end in sides and not end_words(on, end, sides[end], margin):
                ends.append(end)
        draw_strings(on)
        self._under(sides, ends)
        for text in below if not aside else ():
            picture.note(text, cls="told", kind="Note")
        if alone:
            draw_where(picture, card)
        holes = f"{len(card.holes)} holes, {len(card.notches)} notches"
        says = f"Piece {card.code}, {card.goes}. {card.lying.bar}. {holes}. {card.lying.text}"
        if words := where_words(card, self.units):
            says += f" {words}."
        return picture.finish(says=says)

    def _bar(self) -> None:
        """The side that is up, and where the top or the named end goes, across the page."""
        picture = self.picture
        size = self.small
        lines = picture.broken(self.card.lying.bar, size, picture.width, bold=True)
        height = len(lines) * size * 130 // 100 + size * 4 // 10
        picture.sketch.rectangle(0, picture.y, picture.width, picture.y + height, "bar")
        for line in lines:
            picture.y += size * 130 // 100
            picture.words(
                picture.width // 2,
                picture.y,
                line,
                size=size,
                cls="bar-words",
                anchor="middle",
                kind="Note",
                says=self.card.lying.bar,
            )
        picture.y += size * 4 // 10 + 60

    def _above(self, sides: dict[str, list[PieceSide]]) -> None:
        """What the far edge meets, and the arrow with its words where it points away or to the
        right."""
        way, words = self.card.lying.arrow, self.card.lying.arrow_text
        if way == "near" or self.beside:
            words = ""
        arrow = self.page.width - self._arrow_from(words) if words else 0
        far = self._named("far edge", sides, beside=arrow)
        self._rows([far] if far else [], words, way)

    def _arrow_beside(self) -> bool:
        """Whether the arrow has room at the right of a short board, beside the readings over it."""
        lying = self.card.lying
        end = self.lane + View(0, 0, self.scale).size(self.lay.long)
        return lying.arrow != "near" and self._arrow_from(lying.arrow_text) > end + 500

    def _arrow_from(self, words: str) -> int:
        """How far from the left an arrow with its words at the right begins."""
        return self.page.width - width_of(words, self.small, bold=True) - 560

    def _under(self, sides: dict[str, list[PieceSide]], ends: Sequence[str]) -> None:
        """What the near edge meets, and the ends that have no room beside the board; and where one
        kneels."""
        way, words = self.card.lying.arrow, self.card.lying.arrow_text
        arrow = words if way == "near" else ""
        beside = 0 if self.knelt or ends or arrow else width_of(_KNEEL, self.small)
        near = self._named("near edge", sides, beside=beside)
        rows = [near, *(self._named(where, sides) for where in ends)]
        self._rows([row for row in rows if row], arrow, way)
        picture, small = self.picture, self.small
        if self.knelt:
            return
        # beside the last line under the board where that leaves room
        taken = [box.right for box in picture.places.taken if box.bottom > picture.y - small]
        wide = width_of(_KNEEL, small)
        beside_last = max(taken, default=0) + small + wide <= picture.width
        if not beside_last:
            picture.y += small * 125 // 100
        picture.words(
            picture.width if beside_last else (self.lane + picture.width - self.right_lane) // 2,
            picture.y - 60 if beside_last else picture.y,
            _KNEEL,
            anchor="end" if beside_last else "middle",
            cls="side",
            kind="Note",
            says=_KNEEL,
        )
        picture.y += 40

    def _kneel_beside(self, board: Box) -> bool:
        """Write where one kneels at the right of a short board, at its near edge."""
        picture, small = self.picture, self.small
        if self.levels or board.right + self.lane + small + width_of(_KNEEL, small) > picture.width:
            return False
        return picture.words(
            picture.width,
            board.bottom,
            _KNEEL,
            anchor="end",
            cls="side",
            kind="Note",
            says=_KNEEL,
        )

    def _beside(self, board: Box, texts: Sequence[str]) -> bool:
        """Write what numbers on the board stand for at the right of a short one; False where they
        have no room there."""
        picture, small = self.picture, self.small
        left = board.right + self.lane + small
        step = small * 130 // 100
        room = picture.width - left
        high = board.bottom - board.top - (step if self.knelt else 0)
        if self.levels or len(texts) * step > high:
            return False
        if any(width_of(text, small) > room for text in texts):
            return False
        for line, text in enumerate(texts, start=1):
            picture.words(left, board.top + line * step, text, cls="told", kind="Note", says=text)
        return True

    def _named(self, where: str, sides: dict[str, list[PieceSide]], *, beside: int = 0) -> str:
        """What an edge meets and how it is made, in fewer words where only these come on one line
        with what stands `beside` it."""
        if where not in sides:
            return ""
        words = edge_words(sides[where], made=True)
        long, short = f"{where}: {words}", f"{where}: {bare(words)}"
        room = self.page.width - beside - self.small
        fits = [width_of(text, self.small, bold=True) <= room for text in (long, short)]
        return short if fits == [False, True] else long

    def _rows(self, texts: Sequence[str], arrow: str, way: str) -> None:
        """Lines of words beside the board, and an arrow with its words at the right: in the last
        line where it comes in, else in one of its own."""
        picture, small = self.picture, self.small
        step = small * 130 // 100
        wide = picture.width - self._arrow_from(arrow) if arrow else 0
        lines: list[tuple[str, str]] = []
        for text in texts:
            lines += [
                (line, text) for line in picture.broken(text, small, picture.width, bold=True)
            ]
        last = width_of(lines[-1][0], small, bold=True) if lines else 0
        if arrow and (not lines or last + wide > picture.width):
            lines += [("", "")] * len(self._arrow_lines(arrow))
        for index, (line, whole) in enumerate(lines):
            picture.y += step
            if line:
                picture.words(0, picture.y, line, cls="meets", kind="Edge", says=whole)
            if arrow and index == len(lines) - 1:
                self._arrow(arrow, way, picture.y)
        if lines:
            picture.y += 60

    def _arrow(self, words: str, way: str, y: int) -> None:
        picture, small = self.picture, self.small
        right, middle = picture.width - 40, y - small * 35 // 100
        sketch = picture.sketch
        if way == "right":
            sketch.lines([[(right - 420, middle), (right - 150, middle)]], "arrow")
            sketch.polygon(
                ((right, middle), (right - 240, middle - 130), (right - 240, middle + 130)),
                "arrow-head",
            )
        else:
            x, up = right - 200, -1 if way == "far" else 1
            tip, tail = middle + up * 190, middle - up * 170
            sketch.lines([[(x, tail), (x, tip - up * 120)]], "arrow")
            sketch.polygon(
                ((x, tip), (x - 140, tip - up * 230), (x + 140, tip - up * 230)), "arrow-head"
            )
        lines, step = self._arrow_lines(words), self.small * 130 // 100
        for above, line in zip(range(len(lines) - 1, -1, -1), lines, strict=True):
            picture.words(
                right - 500,
                y - above * step,
                line,
                anchor="end",
                cls="head",
                kind="Arrow",
                says=self.card.lying.text,
            )

    def _lane_depth(self, ticks: list[Tick]) -> int:
        if not ticks:
            return 0
        trial = Picture(
            "trial", self.page.width, title="", under="", units=self.units, small=self.small
        )
        far = trial.run_across(
            ticks,
            edge=20_000,
            from_y=20_000,
            down=False,
            low=0,
            high=self._readings_end(),
            kind="",
        )
        return 20_000 - far

    def _crosses_above(self) -> int:
        """How far the cross of a hole reaches out over the far edge."""
        size = View(0, 0, self.scale).size
        reaches = []
        for hole in self.card.holes:
            cut = hole.cut
            reach = hole_reach(size(cut.right - cut.left), size(cut.far - cut.near))
            reaches.append(reach - size(self.lay.across - cut.middle[1]))
        return max(reaches, default=0)

    def _arrow_lines(self, words: str) -> list[str]:
        return self.picture.broken(words, self.small, self.page.width - 560, bold=True)

    def _readings_end(self) -> int:
        """How far to the right readings over the board may stand."""
        if self.beside:
            return self._arrow_from(self.card.lying.arrow_text) - 100
        return self.page.width

    def _member_ticks(self, view: View) -> list[Tick]:
        return [
            Tick(view.x(line.at), eighths(line.at, self.units), self._line_words(line))
            for line in self.card.screw_lines
            if line.upright
        ]

    def _line_words(self, line: ScrewLine) -> str:
        spacing = tape(line.spacing, self.units, feet=False)
        faces = " and ".join(tape(eighths(face, self.units), self.units) for face in line.faces)
        return f"line of {line.screws} screws, at most {spacing} apart; its framing from {faces}"

    def _screw_readings(self, on: PieceOnPage, members: list[Tick]) -> None:
        picture, frame = on.picture, on.frame
        if members:
            picture.run_across(
                members,
                edge=frame.top - 40,
                from_y=frame.top - 60,
                down=False,
                low=0,
                high=self._readings_end(),
                kind="Screw line",
            )
        picture.run_up(
            [
                Tick(on.view.y(line.at), eighths(line.at, self.units), self._line_words(line))
                for line in self.levels
            ],
            edge=frame.right + 40,
            from_x=frame.right + 40,
            left=False,
            low=frame.top - self.over - 60,
            high=frame.bottom + self.over + 60,
            kind="Screw line",
        )
