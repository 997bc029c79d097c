"""One piece as it lies on the floor, with everything that is marked on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from takeoff.cards.card import PieceCard
from takeoff.cards.card_words import hole_check, screw_words
from takeoff.cards.frames import SideUp
from takeoff.cards.marks import CutWhen
from takeoff.cards.tape import tape
from takeoff.drawing.facts import Drawing, Tick, View, scale_for, scale_words
from takeoff.drawing.layout import Box
from takeoff.drawing.metrics import width_of
from takeoff.drawing.on_page import PieceOnPage
from takeoff.drawing.picture import Picture
from takeoff.drawing.piece_shapes import draw_shapes
from takeoff.drawing.piece_words import write_words
from takeoff.drawing.style import PAPER, SMALL, TEXT, Page
from takeoff.units import Nm, UnitSystem

__all__ = ["piece_drawing"]

_MARGIN = 420


def piece_drawing(
    card: PieceCard,
    units: UnitSystem,
    *,
    page: Page = PAPER,
    prefix: str = "piece",
    notes: bool = True,
) -> Drawing:
    """The piece as it lies: what each edge meets, its holes, notches, screw lines and backers.

    Running dimensions start at its left end and its near edge. `notes` adds words below: how the
    piece is laid, the checks of its holes, and its warnings. Raises `BadValue` for a piece with
    more on it than a page takes.
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
        self.scale = scale_for(
            self.lay.long, self.lay.across, across=across, up=min(page.height - 9_000, 9_500)
        )
        size = f"{tape(self.lay.long, units, up=False)} x {tape(self.lay.across, units, up=False)}"
        under = (
            f"{card.goes} · {size} finished · {self.lay.up.value}{scale_words(self.scale, page)}"
        )
        self.picture = Picture(prefix, page.width, title=card.code, under=under, units=units)
        self.picture.scale = self.scale

    def _widest(self, lengths: Iterable[Nm]) -> int:
        readings = (tape(length, self.units, up=up) for length in lengths for up in (None, False))
        return max((width_of(text, SMALL) for text in readings), default=0)

    def draw(self, *, notes: bool) -> Drawing:
        picture = self.picture
        members = self._member_ticks(View(self.lane, 0, self.scale))
        top = picture.y + (320 if members else 520) + self._lane_depth(members)
        probe = View(0, 0, self.scale)
        view = View(self.lane, top + probe.size(self.lay.across), self.scale)
        on = PieceOnPage(
            card=self.card,
            units=self.units,
            picture=picture,
            view=view,
            frame=Box(view.x(0), view.y(self.lay.across), view.x(self.lay.long), view.y(0)),
            shape=tuple(view.spot(corner) for corner in self.card.corners),
            risers=self.risers,
        )
        draw_shapes(on)
        unsaid = write_words(on)
        self._dimensions(on, members)
        if notes:
            self._lying()
        if unsaid:
            picture.note("Edges: " + "; ".join(unsaid) + ".", cls="told")
        if notes:
            self._notes()
        holes = f"{len(self.card.holes)} holes, {len(self.card.notches)} notches"
        says = (
            f"Piece {self.card.code}, {self.card.goes}, {self.lay.up.value}: {holes}. "
            f"{self.card.lying.text}"
        )
        return picture.finish(says=says)

    def _lane_depth(self, ticks: list[Tick]) -> int:
        trial = Picture("trial", self.page.width, title="", under="", units=self.units)
        far = trial.run_across(
            ticks,
            edge=20_000,
            from_y=20_000,
            down=False,
            low=self._low(),
            high=self.page.width,
            kind="",
        )
        return 20_000 - far if ticks else 0

    def _low(self) -> int:
        """How far to the left readings may stand above and below the drawing."""
        return max(0, self.lane - 900)

    def _member_ticks(self, view: View) -> list[Tick]:
        return [
            Tick(
                view.x(line.at),
                line.at,
                f"line of {line.screws} screws, at most {tape(line.spacing, self.units)} apart; "
                "sides of the member at "
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
                yield hole.cut.middle[0], f"center of {hole.name}"
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
                yield hole.cut.middle[1], f"center of {hole.name}"
            else:
                yield hole.cut.near, f"near side of {hole.name}"
                yield hole.cut.far, f"far side of {hole.name}"

    def _dimensions(self, on: PieceOnPage, members: list[Tick]) -> None:
        picture, view, frame = on.picture, on.view, on.frame
        if members:
            picture.run_across(
                members,
                edge=frame.top - 40,
                from_y=frame.top - 60,
                down=False,
                low=self._low(),
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
            [
                Tick(view.y(line.at), line.at, f"line of {line.screws} screws")
                for line in self.levels
            ],
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
            low=self._low(),
            high=self.page.width,
            kind="From the left end",
        )

    def _lying(self) -> None:
        cls = "head" if self.lay.up is SideUp.BACK else "told"
        if self.card.on.turned:
            self.picture.note(
                "On its sheet it lies end for end. Cut it out first, turn it, then mark.",
                cls="head",
                size=TEXT,
            )
        self.picture.note(self.card.lying.text, cls=cls, size=TEXT)

    def _notes(self) -> None:
        picture, card = self.picture, self.card
        for hole in card.holes:
            picture.note("Check " + hole_check(hole, card, self.units), cls="told")
        for text in card.notes:
            picture.note(text, cls="told")
        picture.note(screw_words(card, self.units), cls="told")


def _ordered(readings: Iterable[tuple[Nm, str]]) -> dict[Nm, list[str]]:
    merged: dict[Nm, list[str]] = {}
    for at, says in sorted(readings, key=lambda reading: reading[0]):
        if says not in merged.setdefault(at, []):
            merged[at].append(says)
    return merged
