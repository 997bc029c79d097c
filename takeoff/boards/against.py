"""What speaks against boards that hang once their surface is another: measured anew, framed anew,
with a window elsewhere.

Only what is new is told. A board that reached past a corner before may go on doing so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations

from takeoff.boards.check.shape import box, measure
from takeoff.boards.hung import on_surface
from takeoff.boards.plan import JointKind, PlacedBoard
from takeoff.framing.members import FramedSurface
from takeoff.geometry.polygon import bounds
from takeoff.geometry.surface import PlacedCutout, PlacedOpening
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = ["Clash", "ClashKind", "clashes"]


class ClashKind(StrEnum):
    """What speaks against a board.

    A box (`HOLE`) or a window or door (`OPENING`) that came or moved is cut into it where it hangs;
    where a window or door was before, its hole is `LEFT`. Nothing can be cut where the board
    reaches past the `OUTLINE` or has not its shape, lies over another board (`OVERLAP`), is of
    another `BOARD` than was chosen, hangs where none goes up (`BARE`) or where no surface is
    (`GONE`), or has an end that nothing holds any more (`FRAMING`).
    """

    HOLE = "hole"
    OPENING = "opening"
    LEFT = "left"
    OUTLINE = "outline"
    OVERLAP = "overlap"
    BOARD = "board"
    BARE = "bare"
    GONE = "gone"
    FRAMING = "framing"

    @property
    def can_be_cut(self) -> bool:
        return self in (ClashKind.HOLE, ClashKind.OPENING, ClashKind.LEFT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """One thing that speaks against one board: its mark and its surface, the kind, the name of the
    thing or the mark of the other board, and by how much it reaches too far."""

    mark: str
    surface: str
    kind: ClashKind
    name: str = ""
    by: Nm = Nm(0)


# What tells one clash from another, and the clash.
_Found = Iterator[tuple[tuple[object, ...], Clash]]
_Openings = dict[tuple[object, ...], Clash]


def clashes(
    boards: Sequence[PlacedBoard],
    before: Mapping[str, FramedSurface],
    after: Mapping[str, FramedSurface],
) -> tuple[Clash, ...]:
    """What speaks against boards that hang on the surfaces `after` a change and did not `before`
    it, in the order of the boards. Both are surfaces by their ids."""
    found: list[Clash] = []
    for surface in dict.fromkeys(board.surface for board in boards):
        old, new = before.get(surface), after.get(surface)
        if old == new:
            continue
        mine = [board for board in boards if board.surface == surface]
        known = dict(_on(mine, old))
        found += [
            clash for key, clash in _on(mine, new) if key not in known or clash.by > known[key].by
        ]
        if new is not None and new.surface.board_area:
            then = _openings(mine, old) if old is not None else {}
            now = _openings(mine, new)
            found += [clash for key, clash in now.items() if key not in then]
            # Where a window was there is a hole now that nobody wants.
            found += [
                replace(clash, kind=ClashKind.LEFT) for key, clash in then.items() if key not in now
            ]
    place = {board.mark: number for number, board in enumerate(boards)}
    ordered = sorted(dict.fromkeys(found), key=lambda clash: place[clash.mark])
    return tuple(ordered)


def _on(boards: Sequence[PlacedBoard], framed: FramedSurface | None) -> _Found:
    """Everything that speaks against boards on a surface as it is, but for openings."""
    if framed is None:
        yield from _each(boards, ClashKind.GONE)
        return
    surface = framed.surface
    if not surface.action.gets_board or not surface.board_area:
        yield from _each(boards, ClashKind.BARE)
        return
    here = on_surface(boards, surface)
    for board in here:
        clash = Clash(mark=board.mark, surface=board.surface, kind=ClashKind.BOARD)
        if (board.board, board.thickness) != (surface.board.kind, surface.board.thickness):
            yield (board.mark, ClashKind.BOARD), clash
        yield from _outline(board, framed)
        yield from _ends(board, framed)
        for cutout in surface.cutouts:
            if _touches(board, cutout):
                yield (
                    (board.mark, ClashKind.HOLE, _seen_from(board, cutout)),
                    Clash(
                        mark=board.mark,
                        surface=board.surface,
                        kind=ClashKind.HOLE,
                        name=cutout.name,
                    ),
                )
    for one, other in combinations(here, 2):
        if measure((one.outline, other.outline), lambda inside: inside == 3) > 0:
            for board, over in ((one, other), (other, one)):
                yield (
                    (board.mark, ClashKind.OVERLAP, over.mark),
                    Clash(
                        mark=board.mark,
                        surface=board.surface,
                        kind=ClashKind.OVERLAP,
                        name=over.mark,
                    ),
                )


def _each(boards: Sequence[PlacedBoard], kind: ClashKind) -> _Found:
    for board in boards:
        yield (board.mark, kind), Clash(mark=board.mark, surface=board.surface, kind=kind)


def _outline(board: PlacedBoard, framed: FramedSurface) -> _Found:
    """The board covers the surface's part in its rectangle and reaches past no edge, or not."""
    surface = framed.surface
    left, bottom, right, top = bounds(board.outline)
    rectangle = box(left, right, bottom, top)
    off = measure((board.outline, surface.outer), lambda inside: inside == 1)
    off += measure((board.outline, surface.inner, rectangle), lambda inside: inside == 6)
    # On a slope each height was rounded once, which leaves a strip one rounding wide.
    slack = 1 if framed.surface.sloped else 0
    if off > 4 * slack * (right - left + top - bottom):
        edges = bounds(surface.outer)
        over = max(edges[0] - left, edges[1] - bottom, right - edges[2], top - edges[3], 0)
        yield (
            (board.mark, ClashKind.OUTLINE),
            Clash(
                mark=board.mark,
                surface=board.surface,
                kind=ClashKind.OUTLINE,
                name=framed.surface.name,
                by=Nm(over),
            ),
        )


def _ends(board: PlacedBoard, framed: FramedSurface) -> _Found:
    """The ends that meet other boards on framing, and nothing bears them."""
    reach = figures.length("HL-01")
    ends = (
        (board.start, board.start_joint, -1),
        (board.end, board.end_joint, 1),
    )
    for at, kind, hand in ends:
        if kind is not JointKind.FRAMING:
            continue
        held = any(
            # The end lies on the member, and far enough over it for a fastener.
            member.runs is not board.rows_run
            and hand * (2 * at - 2 * member.centre) <= member.width
            and hand * (2 * at - 2 * member.centre) + member.width >= 2 * reach
            and member.low < board.high
            and member.high > board.low
            for member in framed.members
        )
        if not held:
            yield (
                (board.mark, ClashKind.FRAMING, hand),
                Clash(mark=board.mark, surface=board.surface, kind=ClashKind.FRAMING),
            )


def _openings(boards: Sequence[PlacedBoard], framed: FramedSurface) -> _Openings:
    """The openings that boards lie over, each by where it is seen from the board."""
    return {
        (board.mark, _seen_from(board, opening)): Clash(
            mark=board.mark,
            surface=board.surface,
            kind=ClashKind.OPENING,
            name=opening.name,
        )
        for board in on_surface(boards, framed.surface)
        for opening in framed.surface.openings
        if _touches(board, opening)
    }


def _touches(board: PlacedBoard, thing: PlacedOpening | PlacedCutout) -> bool:
    rectangle = box(thing.left, thing.right, thing.bottom, thing.top)
    return measure((board.outline, rectangle), lambda inside: inside == 3) > 0


def _seen_from(board: PlacedBoard, thing: PlacedOpening | PlacedCutout) -> tuple[int, ...]:
    """Where a thing is as the board has it: a board that moved with its corner has it elsewhere."""
    left, bottom, _, _ = bounds(board.outline)
    return (
        thing.left - left,
        thing.bottom - bottom,
        thing.right - left,
        thing.top - bottom,
    )
