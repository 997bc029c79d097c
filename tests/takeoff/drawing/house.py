"""A small house with everything a drawing shows: a gabled room with a door, a window, boxes,
blocking, boards standing on one wall and floating seams on another, and a flat room with odd
names."""

from functools import cache
from pathlib import Path

from takeoff.choices import (
    CeilingKind,
    CutoutKind,
    HiddenKind,
    JointMode,
    MeasureTo,
    OpeningKind,
    Orientation,
    Runs,
)
from takeoff.house import (
    Ceiling,
    Cutout,
    Framing,
    HiddenItem,
    House,
    Measure,
    Opening,
    QuickRoom,
    Room,
    SurfaceChoice,
)
from takeoff.housefile import read_catalogue
from takeoff.job import Takeoff, take_off
from takeoff.rules import Rules
from takeoff.units import INCH, Nm, UnitSystem

CATALOGUE = read_catalogue(
    (Path(__file__).parents[3] / "fixtures" / "catalogue.json").read_text(encoding="utf-8")
)

HOSTILE = '<script>alert("1")</script> & \u202egnp.exe\u202c \x07' + "very long " * 18
HEBREW = "שקע ליד הדלת"


def inches(value) -> Nm:
    return Nm(round(value * INCH))


def box(
    id_,
    surface,
    across,
    up,
    *,
    name=None,
    kind=CutoutKind.BOX,
    width=2,
    height=4,
    across_from="left",
    up_from="floor",
):
    is_round = kind in (CutoutKind.ROUND, CutoutKind.PIPE)
    return Cutout(
        id=id_,
        name=name or id_.capitalize(),
        kind=kind,
        surface=surface,
        across=Measure(origin=across_from, distance=inches(across), to=MeasureTo.NEAR),
        up=Measure(origin=up_from, distance=inches(up), to=MeasureTo.NEAR),
        width=inches(width),
        height=None if is_round else inches(height),
    )


def opening(id_, wall, at, sill, width, height, kind=OpeningKind.DOOR, name=None):
    return Opening(
        id=id_,
        name=name or id_.capitalize(),
        kind=kind,
        wall=wall,
        left=inches(at),
        sill=inches(sill),
        width=inches(width),
        height=inches(height),
    )


GABLED = Room(
    id="loft",
    name="Loft",
    shape=QuickRoom(length=inches(190), width=inches(150)),
    ceiling=Ceiling(kind=CeilingKind.GABLE, height=inches(97), high=inches(130), low_wall="A"),
    openings=(
        opening("door", "A", 100, 0, 38, 82),
        opening("window", "B", 40, 36, 48, 40, OpeningKind.WINDOW),
    ),
    cutouts=(
        box("switch", "A", 30.25, 60),
        box(
            "lamp",
            "ceiling-near",
            50,
            20,
            kind=CutoutKind.ROUND,
            width=6,
            across_from="D",
            up_from="A",
        ),
        box("vent", "C", 20, 70, kind=CutoutKind.VENT, width=12, height=6),
    ),
    hidden=(
        HiddenItem(
            id="rail",
            name="Rail blocking",
            kind=HiddenKind.BLOCKING,
            surface="D",
            across=Measure(origin="left", distance=inches(30), to=MeasureTo.NEAR),
            up=Measure(origin="floor", distance=inches(33), to=MeasureTo.NEAR),
            width=inches(40),
            height=inches(5.5),
            planned=True,
        ),
    ),
    surfaces=(
        SurfaceChoice(of="C", orientation=Orientation.ALONG),
        SurfaceChoice(of="A", joint_mode=JointMode.FLOATING),
    ),
    wall_framing=Framing(
        spacing=inches(16), first=inches(0.75), start_backed=True, end_backed=True
    ),
    ceiling_framing=Framing(spacing=inches(16), first=inches(0.75), runs=Runs.ACROSS),
)

ODD = Room(
    id="odd",
    name=HOSTILE[:60],
    shape=QuickRoom(length=inches(140), width=inches(110)),
    openings=(opening("gap", "A", 60, 0, 36, 80, OpeningKind.PASSAGE, name=HOSTILE[:200]),),
    cutouts=(
        box("hebrew", "A", 20, 30, name=HEBREW),
        box("in-door", "A", 70, 40, name="Box in the door"),
        box("seam", "B", 40, 46.5, name="Box on the seam"),
        box("one", "C", 40, 20, name="One"),
        box("two", "C", 41, 21, name="Two"),
        box("low", "D", 40, 0, name="Low box"),
    ),
    ceiling_framing=Framing(spacing=inches(16), runs=Runs.ALONG),
)


@cache
def takeoff(units=UnitSystem.INCH, **rules) -> Takeoff:
    return take_off(
        House(
            id="h",
            name="House",
            rooms=(GABLED, ODD),
            catalogue=CATALOGUE,
            rules=Rules(**rules),
            units=units,
        )
    )
