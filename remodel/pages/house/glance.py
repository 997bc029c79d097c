"""Rooms as list pages show them: outline, phases, what is next, what it costs. Nothing is worked
out here, and the database is not asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from remodel.board.queries import summary_of
from remodel.bridge.views import RoomSummary
from remodel.house.models import Room
from remodel.work.models import Phase, PhaseState
from remodel.work.queries import Progress, progress_of

__all__ = ["Glance", "PhaseCell", "Thumb", "glance_at", "phase_cells", "rooms_at_a_glance"]

_THUMB = 1000  # the widest room of a house, in the units of its drawing


@dataclass(frozen=True, slots=True)
class Thumb:
    """A room's outline, drawn small: the `points` of a polygon in a box of this size. All rooms of
    a house have one scale."""

    points: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class PhaseCell:
    """A phase of a room, drawn as one board of a course. `code` is the state, as a page's CSS
    classes name it."""

    phase: Phase
    code: str
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    room: Room
    summary: RoomSummary | None
    refusal: str
    thumb: Thumb | None
    progress: Progress
    cells: tuple[PhaseCell, ...]
    together: str = ""  # the names of the rooms it is bought with
    to_buy: int = 0  # cents; what the room is still to be bought for
    next: Phase | None = None  # the phase it goes on with, where that was asked for

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do in the room, or it was finished before."""
        return self.room.finished or (
            self.progress.of > 0 and self.progress.done == self.progress.of
        )

    @property
    def going(self) -> tuple[PhaseCell, ...]:
        return tuple(cell for cell in self.cells if cell.phase.state == PhaseState.IN_PROGRESS)


def rooms_at_a_glance(rooms: Sequence[Room]) -> list[Glance]:
    """The glances of rooms that `house.queries.rooms_of` fetched, without a query of its own."""
    summaries = [summary_of(room) for room in rooms]
    widest = max((_reach(summary) for summary in summaries if summary), default=0)
    return [
        replace(_glance(room, summary, widest), together=_bought_with(room, rooms))
        for room, summary in zip(rooms, summaries, strict=True)
    ]


def _bought_with(room: Room, rooms: Sequence[Room]) -> str:
    if not room.pile:
        return ""
    return ", ".join(
        other.name for other in rooms if other.pile == room.pile and other.pk != room.pk
    )


def glance_at(room: Room, summary: RoomSummary | None, next_: Phase | None = None) -> Glance:
    """The glance of one room by itself, with the phase it goes on with."""
    glance = _glance(room, summary, _reach(summary) if summary else 0)
    return replace(glance, next=next_)


def phase_cells(progress: Progress) -> tuple[PhaseCell, ...]:
    return tuple(
        PhaseCell(
            phase=phase,
            code=phase.state.replace(" ", "_"),
            word="Waits" if phase.state == PhaseState.BLOCKED else phase.get_state_display(),
        )
        for phase in progress.phases
    )


def _glance(room: Room, summary: RoomSummary | None, widest: int) -> Glance:
    progress = progress_of(room)
    stored = getattr(room, "result", None)
    return Glance(
        room=room,
        summary=summary,
        refusal=stored.refusal if stored else "",
        thumb=_thumb(summary, widest) if summary and summary.corners and widest else None,
        progress=progress,
        cells=phase_cells(progress),
    )


def _reach(summary: RoomSummary) -> int:
    if not summary.corners:
        return 0
    xs, ys = [x for x, _ in summary.corners], [y for _, y in summary.corners]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def _thumb(summary: RoomSummary, widest: int) -> Thumb:
    leftmost, top = min(x for x, _ in summary.corners), min(y for _, y in summary.corners)
    spots = [
        ((x - leftmost) * _THUMB // widest, (y - top) * _THUMB // widest)
        for x, y in summary.corners
    ]
    return Thumb(
        points=" ".join(f"{x},{y}" for x, y in spots),
        width=max(x for x, _ in spots),
        height=max(y for _, y in spots),
    )
