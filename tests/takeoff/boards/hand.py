"""Framed surfaces and rules made by hand, all allowances zero unless a test says otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from takeoff.boards.problem import Pool, SurfaceProblem, formulate
from takeoff.catalogue import BoardKind, Catalogue, SheetOnSale
from takeoff.choices import OpeningEdge, OpeningKind, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface, Member, MemberKind
from takeoff.geometry.surface import Edge, EdgeKind, PlacedOpening, Point, Surface
from takeoff.house import Framing
from takeoff.quantities import Cents
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.aims import SHEETS_AND_SEAMS

HALF = Nm(INCH // 2)


def inches(value: float) -> Nm:
    """Exact for the eighths the tests use."""
    return Nm(round(value * 64) * INCH // 64)


def sheet(
    feet: int, cents: int, *, width: int = 48, board: str = "regular", thickness: Nm = HALF
) -> SheetOnSale:
    return SheetOnSale(
        board=board,
        thickness=thickness,
        width=Nm(width * INCH),
        length=Nm(feet * FOOT),
        price=Cents(cents),
    )


SHEETS = (sheet(8, 1200), sheet(10, 1500), sheet(12, 1800))
CATALOGUE = Catalogue(boards=(BoardKind(id="regular", name="regular board"),), sheets=SHEETS)
PLAIN = Rules(floor_gap=Nm(0), fitting=Nm(0))
CUTTING = replace(PLAIN, **SHEETS_AND_SEAMS)


def opening(
    start: float, bottom: float, end: float, top: float, kind: OpeningKind = OpeningKind.WINDOW
) -> PlacedOpening:
    return PlacedOpening(
        id=f"o{start}",
        name="opening",
        kind=kind,
        left=inches(start),
        bottom=inches(bottom),
        right=inches(end),
        top=inches(top),
        edge=OpeningEdge.CASED,
    )


def outline(*corners: tuple[float, float]) -> tuple[Point, ...]:
    return tuple((inches(u), inches(v)) for u, v in corners)


def room_code(room: str) -> str:
    """A code of letters alone: R for the room `r1`, S for `r2` and so on."""
    return chr(ord("Q") + int(room[1:])) if room[1:].isdigit() else room.upper()


def framed(
    width: float,
    height: float,
    *,
    spacing: float = 16,
    kind: SurfaceKind = SurfaceKind.WALL,
    runs: Runs = Runs.ACROSS,
    shape: tuple[Point, ...] = (),
    id: str = "r1/a",  # noqa: A002
    members: tuple[Member, ...] | None = None,
    **fields: Any,
) -> FramedSurface:
    """A surface with members at whole spacings from 0, both ends in, each as long as the
    surface."""
    area = shape or outline((0, 0), (width, 0), (width, height), (0, height))
    surface = Surface(
        id=id,
        room=id.partition("/")[0],
        name=id,
        kind=kind,
        outline=area,
        edges=tuple(Edge(EdgeKind.FREE) for _ in area),
        board_area=area,
        board=fields.pop("board", BoardChoice(kind="regular", thickness=HALF)),
        framing=Framing(spacing=inches(spacing), runs=runs),
        code=room_code(id.partition("/")[0]),
        letter=id.partition("/")[2].upper().replace("CEILING", "CL"),
        **fields,
    )
    run, across = (width, height) if runs is Runs.ACROSS else (height, width)
    if members is None:
        centres = sorted({k * spacing for k in range(int(run // spacing) + 1)} | {run})
        members = tuple(member(centre, 0, across, runs=runs) for centre in centres)
    return FramedSurface(
        surface=surface, members=members, provisional=False, start_backed=True, end_backed=True
    )


def member(centre: float, low: float, high: float, *, runs: Runs = Runs.ACROSS) -> Member:
    return Member(
        kind=MemberKind.LAYOUT,
        runs=runs,
        centre=inches(centre),
        width=inches(1.5),
        low=inches(low),
        high=inches(high),
    )


def pool(*problems: SurfaceProblem, rules: Rules = PLAIN, **fields: Any) -> Pool:
    settings = {"board": "regular", "thickness": HALF, "kerf": Nm(0), "owned": rules.owned} | fields
    return Pool(surfaces=problems, rules=rules, **settings)


def stated(
    *surfaces: FramedSurface, rules: Rules = PLAIN, catalogue: Catalogue = CATALOGUE, **fields: Any
) -> Pool:
    return pool(
        *(formulate(surface, rules, catalogue) for surface in surfaces), rules=rules, **fields
    )


def only(problem: SurfaceProblem):
    """The one layout of a problem that has one."""
    (layout,) = problem.layouts
    return layout


__all__ = [
    "CATALOGUE",
    "CUTTING",
    "HALF",
    "PLAIN",
    "SHEETS",
    "framed",
    "inches",
    "member",
    "only",
    "opening",
    "outline",
    "pool",
    "replace",
    "sheet",
    "stated",
]
