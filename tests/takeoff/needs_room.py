"""One wall or ceiling boarded by hand, as a room of its own, for the tests of needs.

Members stand 16 in on center from the left end unless a test says otherwise; rows are 48 in high
from the bottom.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from takeoff.boards.plan import Course, Joint, JointKind, Piece, PlacedPiece, Sheet, SurfacePlan
from takeoff.choices import Runs, SurfaceKind
from takeoff.framing.members import FramedSurface, frame
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Edge, EdgeKind, Surface
from takeoff.house import Framing
from takeoff.housefile import read_catalogue
from takeoff.needs.need import Need
from takeoff.quantities import Cents, add
from takeoff.rules import BoardChoice, Rules
from takeoff.units import INCH, Nm

CATALOGUE = read_catalogue((Path(__file__).parents[2] / "fixtures" / "catalogue.json").read_text())
RULES = Rules()


def inches(value: Fraction | int | str) -> Nm:
    return Nm(int(Fraction(value) * INCH))


def face(kind: str = "wall", width: int = 144, height: int = 96, **changes) -> Surface:
    """A rectangle that meets its neighbours as a wall or a ceiling of a room does; members
    upright."""
    outline = tuple(
        (inches(u), inches(v)) for u, v in ((0, 0), (width, 0), (width, height), (0, height))
    )
    around = {
        "wall": (EdgeKind.FLOOR, EdgeKind.INSIDE_CORNER, EdgeKind.CEILING, EdgeKind.INSIDE_CORNER),
        "ceiling": (EdgeKind.WALL,) * 4,
    }[kind]
    framing = Framing(spacing=inches(16), runs=Runs.ACROSS, start_backed=True, end_backed=True)
    given = {
        "id": f"room/{kind}",
        "room": "room",
        "name": kind,
        "kind": SurfaceKind(kind),
        "outline": outline,
        "edges": tuple(Edge(edge_kind) for edge_kind in around),
        "board_area": outline,
        "board": BoardChoice(kind="regular", thickness=inches("1/2")),
        "framing": framing,
    }
    return Surface(**(given | changes))


def framing_of(surface: Surface, **changes) -> Surface:
    return replace(surface, framing=replace(surface.framing, **changes))


def framed(surface: Surface, rules: Rules = RULES) -> FramedSurface:
    return frame(surface, rules)


def boarded(
    surface: Surface, joints: Mapping[int, Sequence[int]] | None = None, floating: bool = False
) -> SurfacePlan:
    """Rows of 48 in from the bottom, cut at `joints` by row, in inches."""
    wide, high = surface.outline[2]
    rows, cuts, pieces = [], [], []
    low = 0
    while low < high:
        top = min(low + 48 * INCH, high)
        index = len(rows)
        rows.append(
            Course(
                index=index,
                low=Nm(low),
                high=Nm(top),
                sheet_width=inches(48),
                factory_low=True,
                factory_high=True,
                segments=((Nm(0), wide),),
            )
        )
        at = [inches(joint) for joint in (joints or {}).get(index, ())]
        kind = JointKind.FLOATING if floating else JointKind.FRAMING
        cuts += [Joint(row=index, at=joint, kind=kind, length=Nm(top - low)) for joint in at]
        ends = [Nm(0), *at, wide]
        for start, end in pairwise(ends):
            pieces.append(
                Piece(
                    code=f"P{len(pieces) + 1}",
                    surface=surface.id,
                    row=index,
                    start=start,
                    end=end,
                    low=Nm(low),
                    high=Nm(top),
                    outline=((start, Nm(low)), (end, Nm(low)), (end, Nm(top)), (start, Nm(top))),
                )
            )
        low = top
    return SurfacePlan(
        surface=surface.id,
        room=surface.room,
        board=surface.board.kind,
        thickness=surface.board.thickness,
        rows_run=Runs.ALONG,
        along_framing=False,
        rows=tuple(rows),
        joints=tuple(cuts),
        pieces=tuple(pieces),
    )


def sheet(
    code: str, piece: str, feet: int = 12, *, source: str | None = None, room: str = "room"
) -> Sheet:
    return Sheet(
        code=code,
        room=room,
        board="regular",
        thickness=inches("1/2"),
        width=inches(48),
        length=inches(12 * feet),
        factory_edges=2,
        price=Cents(0),
        source=source,
        crosscuts=(PlacedPiece(piece=piece, start=Nm(0), end=inches(12 * feet), width=inches(48)),),
        rip_at=None,
        strips=(),
        offcuts=(),
    )


def room_of(*surfaces: Surface) -> RoomGeometry:
    return RoomGeometry(
        room="room",
        name="Room",
        plan=(),
        closing_error=Nm(0),
        floor_area=0,
        surfaces=surfaces,
        corners=(),
        hang_order=tuple(surface.id for surface in surfaces),
    )


def by_material(needs: Sequence[Need]) -> dict[str, Need]:
    return {need.material: need for need in needs}


def assert_reasons_add_up(needs: Sequence[Need]) -> None:
    for need in needs:
        assert add(*(reason.amount for reason in need.reasons)) == need.amount, need.material
