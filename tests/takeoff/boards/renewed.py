"""Plans that are half done and edits of their house, for tests of what is kept of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from random import Random
from typing import Any

from takeoff.boards.check import examine_plan
from takeoff.boards.house_plan import with_rests
from takeoff.boards.hung import on_surface, place, recut
from takeoff.boards.plan import BoardPlan, Sheet
from takeoff.boards.renewal import Done, Renewal
from takeoff.choices import Action
from takeoff.house import Ceiling, Framing, House, QuickRoom, Room, SurfaceChoice
from takeoff.job import Takeoff
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.takeoff.boards.half_hung import pieces_on
from tests.takeoff.boards.hand import CATALOGUE, SHEETS

__all__ = [
    "assert_sound",
    "done_of",
    "edited",
    "marks_of",
    "measured",
    "sheet_of",
    "small_house",
    "told",
    "with_room",
]


def done_of(takeoff: Takeoff, hung: Collection[str], cut: Collection[str] = ()) -> Done:
    """Those pieces of a takeoff hung, and others cut, each from its sheet."""
    surfaces = {surface.id: surface for room in takeoff.rooms for surface in room.surfaces}
    marks = {*hung, *cut}
    boards = [
        board
        for plan in takeoff.surface_plans
        for board in place(plan, surfaces[plan.surface], marks)
    ]
    begun = [sheet for sheet in takeoff.sheets if marks.intersection(pieces_on(sheet))]
    made_by = {offcut.id: sheet for sheet in takeoff.sheets for offcut in sheet.offcuts}
    for sheet in begun:
        # A sheet whose offcut is cut is begun itself.
        parent = made_by.get(sheet.source or "")
        if parent is not None and parent not in begun:
            begun.append(parent)
    return Done(
        boards=tuple(boards), hung=frozenset(hung), sheets=tuple(begun), cut=frozenset(marks)
    )


def told(done: Done, mark: str, inches: float) -> Done:
    """What is done, with a board told to be so much shorter."""
    boards = tuple(
        recut(board, end=Nm(board.end - round(inches * INCH))) if board.mark == mark else board
        for board in done.boards
    )
    return replace(done, boards=boards)


def with_room(house: House, change: Callable[[Room], Room], at: int = 0) -> House:
    """The house with one of its rooms changed."""
    rooms = list(house.rooms)
    rooms[at] = change(rooms[at])
    return replace(house, rooms=tuple(rooms))


def measured(
    house: House, *, longer: int = 0, wider: int = 0, higher: int = 0, at: int = 0
) -> House:
    """The house with a room measured so many sixteenths larger."""

    def change(room: Room) -> Room:
        assert isinstance(room.shape, QuickRoom)
        shape = QuickRoom(
            length=Nm(room.shape.length + longer * INCH // 16),
            width=Nm(room.shape.width + wider * INCH // 16),
        )
        height = Nm(room.ceiling.height + higher * INCH // 16)
        return replace(room, shape=shape, ceiling=replace(room.ceiling, height=height))

    return with_room(house, change, at)


def edited(house: House, random: Random) -> House:
    """The house with some room measured up to 2 in otherwise, or its studs told elsewhere."""
    at = random.randrange(len(house.rooms))
    what = random.choice(["length", "width", "height", "both", "studs"])
    off = random.choice([-32, -16, -8, -1, 1, 8, 9, 16, 32])
    if what == "studs":

        def moved(room: Room) -> Room:
            choices = tuple(
                replace(
                    one,
                    framing=replace(one.framing, first=Nm(one.framing.first + 3 * INCH)),
                )
                if one.framing is not None and random.random() < 0.5
                else one
                for one in room.surfaces
            )
            return replace(room, surfaces=choices)

        return with_room(house, moved, at)
    return measured(
        house,
        longer=off if what in ("length", "both") else 0,
        wider=off if what == "width" else 0,
        higher=off if what in ("height", "both") else 0,
        at=at,
    )


def marks_of(plans: Sequence[BoardPlan]) -> set[str]:
    """Every mark that the pieces, sheets and offcuts of plans have."""
    marks = {piece.code for plan in plans for one in plan.surfaces for piece in one.pieces}
    marks |= {sheet.code for plan in plans for sheet in plan.sheets}
    return marks | {o.id for plan in plans for sheet in plan.sheets for o in sheet.offcuts}


def sheet_of(plans: Sequence[BoardPlan], mark: str) -> Sheet:
    """The sheet that a piece is cut from."""
    (sheet,) = [one for plan in plans for one in plan.sheets if mark in pieces_on(one)]
    return sheet


def assert_sound(renewal: Renewal, before: Sequence[BoardPlan], done: Done) -> None:
    """The checker passes every plan, no board that hangs moved, and no mark came twice."""
    takeoff = renewal.takeoff
    rules = with_rests(takeoff.house, takeoff.built).rules
    for plan in takeoff.plans:
        planned = {surface.surface for surface in plan.surfaces}
        framed = [one for one in takeoff.framed if one.surface.id in planned]
        found = examine_plan(plan, framed, rules, takeoff.house.catalogue, built=takeoff.built)
        assert found.broken == ()

    pieces = {piece.code: piece for one in takeoff.surface_plans for piece in one.pieces}
    surfaces = {surface.id: surface for room in takeoff.rooms for surface in room.surfaces}
    planned = {one.surface for one in takeoff.surface_plans}
    stays: set[str] = set()
    for board in done.boards:
        if board.surface in planned and (board.mark in done.hung or board.mark in pieces):
            (lies,) = on_surface((board,), surfaces[board.surface])
            assert _place(pieces[board.mark]) == _place(lies)
            stays.add(board.mark)
    assert done.hung & {b.mark for b in done.boards if b.surface in planned} <= stays

    codes = [piece.code for one in takeoff.surface_plans for piece in one.pieces]
    codes += [sheet.code for sheet in takeoff.sheets]
    codes += [offcut.id for sheet in takeoff.sheets for offcut in sheet.offcuts]
    assert len(codes) == len(set(codes))
    old_places = {
        piece.code: _size(piece) for plan in before for one in plan.surfaces for piece in one.pieces
    }
    for code, piece in pieces.items():
        if code in old_places and code not in done.hung | done.cut:
            assert _size(piece) == old_places[code]
    old_sheets = {sheet.code: sheet for plan in before for sheet in plan.sheets}
    begun = {sheet.code for sheet in done.sheets}
    for sheet in takeoff.sheets:
        if sheet.code in old_sheets and sheet.code not in begun:
            assert sheet == old_sheets[sheet.code]
    # A begun sheet stays, as long as anything is planned of its board.
    kinds = {(sheet.board, sheet.thickness) for sheet in takeoff.sheets}
    there = {sheet.code for sheet in takeoff.sheets}
    for sheet in done.sheets:
        assert sheet.code in there or (sheet.board, sheet.thickness) not in kinds
    assert not set(renewal.struck) & (set(codes) | done.cut)
    assert not set(renewal.dissolved) & set(codes)
    owned = {one.id: one.count for one in takeoff.house.rules.owned}
    offcuts = {offcut.id for sheet in takeoff.sheets for offcut in sheet.offcuts}
    used = Counter(sheet.source for sheet in takeoff.sheets if sheet.source is not None)
    still = Counter(sheet.source for sheet in takeoff.sheets if sheet.code not in begun)
    for source, count in used.items():
        assert count <= 1 if source in offcuts else still[source] <= owned.get(source, 0)


def _place(piece: Any) -> tuple[object, ...]:
    return (piece.surface, piece.start, piece.end, piece.low, piece.high, piece.outline)


def _size(piece: Any) -> tuple[object, ...]:
    return (piece.surface, piece.end - piece.start, piece.high - piece.low)


def small_house(*sizes: tuple[int, int], **rules: Any) -> House:
    """Rooms with studs at 16 in all round, boarded on their walls alone, 8 ft high; two of them
    where no sizes are given."""

    def room(name: str, length: int, width: int) -> Room:
        backed = Framing(spacing=Nm(16 * INCH), start_backed=True, end_backed=True)
        choices = [SurfaceChoice(of=wall, framing=backed) for wall in "ABCD"]
        choices.append(SurfaceChoice(of="ceiling", action=Action.LEAVE))
        return Room(
            id=name,
            name=name,
            shape=QuickRoom(length=Nm(length * INCH), width=Nm(width * INCH)),
            ceiling=Ceiling(height=Nm(96 * INCH)),
            surfaces=tuple(choices),
        )

    settings: dict[str, Any] = {"sheets": SHEETS, "floor_gap": Nm(0), "fitting": Nm(0)} | rules
    return House(
        id="small",
        name="Small house",
        rooms=tuple(
            room(f"r{number}", *size)
            for number, size in enumerate(sizes or ((168, 128), (112, 128)), start=1)
        ),
        rules=Rules(**settings),
        catalogue=CATALOGUE,
    )
