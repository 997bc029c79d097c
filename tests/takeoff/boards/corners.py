"""Rooms with corners as the engine makes them of measures, and first plans of them: for tests of
how boards end in corners and at the floor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import BoardPlan, Piece, SurfacePlan
from takeoff.boards.problem import Pool, formulate
from takeoff.choices import Runs
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import house_geometry
from takeoff.house import Ceiling, Framing, House, Opening, QuickRoom, Room
from takeoff.rules import Rules
from takeoff.units import INCH, Nm
from tests.takeoff.needs_room import CATALOGUE

# Which faces are hung first decides which corners are covered: here the ceiling, then A and C.
RULES = Rules()


def room(
    length: Nm, width: Nm, height: Nm, *, openings: Sequence[Opening] = (), runs: Runs = Runs.ACROSS
) -> Room:
    """A room of right angles by its framing; studs and joists at 16 in from each corner."""
    framing = Framing(spacing=Nm(16 * INCH), first=Nm(0), start_backed=False, end_backed=False)
    return Room(
        id="room",
        name="Room",
        code="K",
        shape=QuickRoom(length=length, width=width),
        ceiling=Ceiling(height=height),
        openings=tuple(openings),
        hang_first=("A", "C"),
        wall_framing=framing,
        ceiling_framing=Framing(
            spacing=framing.spacing, first=Nm(0), runs=runs, start_backed=False, end_backed=False
        ),
    )


def planned(
    of: Room, only: str, rules: Rules = RULES
) -> tuple[BoardPlan, SurfacePlan, FramedSurface]:
    """The first plan of one surface of a room by itself, like `ceiling` or `A`."""
    house = House(id="h", name="House", rooms=(of,), rules=rules, catalogue=CATALOGUE)
    (surface,) = (
        surface
        for surface in house_geometry(house).rooms[0].surfaces
        if surface.id == f"room/{only}"
    )
    framed = frame(surface, rules)
    problem = formulate(framed, rules, CATALOGUE)
    plan = plan_pool(
        Pool(
            board=surface.board.kind,
            thickness=surface.board.thickness,
            kerf=Nm(0),
            surfaces=(problem,),
            owned=(),
            rules=rules,
        )
    )
    return plan, plan.surfaces[0], framed


def has_core(piece: Piece, framed: FramedSurface, size: Nm) -> bool:
    """Whether a square of `size` lies somewhere in a piece of a rectangle, clear of openings.

    If one does, one does whose left side lies at the piece's own or at an opening's right, or whose
    right side lies at the piece's or at an opening's left; and so up and down.
    """
    us, vs = zip(*piece.outline, strict=True)
    left, right, bottom, top = min(us), max(us), min(vs), max(vs)
    openings = framed.surface.openings
    starts = {left, right - size, *(o.right for o in openings), *(o.left - size for o in openings)}
    rises = {bottom, top - size, *(o.top for o in openings), *(o.bottom - size for o in openings)}
    return any(
        left <= u <= right - size
        and bottom <= v <= top - size
        and not any(
            o.left < u + size and o.right > u and o.bottom < v + size and o.top > v
            for o in openings
        )
        for u, v in product(starts, rises)
    )


def off_sheets(surface: SurfacePlan) -> Iterator[int]:
    """What is ripped off the sheet of each row, where anything is."""
    for row in surface.rows:
        if row.high - row.low < row.sheet_width:
            yield row.sheet_width - (row.high - row.low)
