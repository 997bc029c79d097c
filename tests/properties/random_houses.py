"""Rooms of many shapes from fixed seeds: gables, slopes, slanted walls, Ls, boards that stand,
boxes, round lights and vents, doors and windows, in inches or in millimeters."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

from takeoff.choices import (
    CeilingKind,
    CutoutKind,
    JointMode,
    MeasureTo,
    OpeningKind,
    Orientation,
)
from takeoff.house import (
    BoardChoice,
    Ceiling,
    Cutout,
    Framing,
    House,
    Measure,
    Opening,
    Outline,
    QuickRoom,
    Room,
    SurfaceChoice,
    Wall,
)
from takeoff.housefile import read_catalogue
from takeoff.rules import Rules
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["harder_house", "random_house"]

CATALOGUE = read_catalogue(
    (Path(__file__).parents[2] / "fixtures" / "catalogue.json").read_text(encoding="utf-8")
)
EIGHTH = INCH // 8


def random_house(seed: int) -> House:
    """A house of one room, the same for the same seed. Some of these cannot be made or boarded:
    a box may come to stand past its wall, for one."""
    dice = Random(seed)
    form = dice.choice(("plain", "gable", "slope", "corner", "slant"))
    shape, lengths = _shape(form, dice)
    low = _between(dice, 84, 102)
    ceiling = Ceiling(height=low)
    if form in ("gable", "slope"):
        ceiling = Ceiling(
            kind=CeilingKind.GABLE if form == "gable" else CeilingKind.SLOPE,
            height=low,
            high=Nm(low + _between(dice, 14, 60)),
            low_wall=dice.choice("ABCD"),
        )
    openings, cutouts = [], []
    for wall, length in lengths.items():
        free = length - 24 * INCH
        if free > 40 * INCH and dice.random() < 0.5:
            openings.append(_opening(dice, wall, Nm(free)))
        if free > 0 and dice.random() < 0.8:
            cutouts.append(_on_wall(dice, wall, length))
    if form not in ("gable", "slope"):
        cutouts += [_overhead(dice, number, lengths) for number in range(dice.choice((0, 1, 1, 2)))]
    framing = Framing(spacing=Nm(16 * INCH), first=_between(dice, 0, 12))
    room = Room(
        id="r",
        name="Room",
        shape=shape,
        ceiling=ceiling,
        openings=tuple(openings),
        cutouts=tuple(cutouts),
        surfaces=tuple(
            SurfaceChoice(
                of=wall,
                orientation=dice.choice((Orientation.ACROSS, Orientation.ALONG)),
                joint_mode=dice.choice(tuple(JointMode)),
            )
            for wall in lengths
            if dice.random() < 0.6
        ),
        wall_framing=framing,
        ceiling_framing=Framing(spacing=Nm(16 * INCH), first=_between(dice, 0, 12)),
    )
    return House(
        id="h",
        name="House",
        rooms=(room,),
        catalogue=CATALOGUE,
        rules=Rules(),
        units=dice.choice((UnitSystem.INCH, UnitSystem.INCH, UnitSystem.MILLIMETRE)),
    )


def _between(dice: Random, low: int, high: int) -> Nm:
    """A length in whole eighths between two of whole inches."""
    return Nm(dice.randint(low * 8, high * 8) * EIGHTH)


def _shape(form: str, dice: Random) -> tuple[QuickRoom | Outline, dict[str, Nm]]:
    long, wide = _between(dice, 90, 290), _between(dice, 80, 230)
    if form == "corner":
        jog, deep = _between(dice, 10, 60), _between(dice, 10, 60)
        sides = (long, Nm(wide - deep), jog, deep, Nm(long - jog), wide)
        turns = (90, 90, -90, 90, 90, 90)
    elif form == "slant":
        # a corner cut off at 45 degrees; its wall is as long as the tape says, to the sixteenth
        off = _between(dice, 20, 60)
        slant = Nm(round(off * 2**0.5 / (INCH // 16)) * (INCH // 16))
        sides = (Nm(long - off), slant, Nm(wide - off), long, wide)
        turns = (45, 45, 90, 90, 90)
    else:
        return (
            QuickRoom(length=long, width=wide),
            {"A": long, "B": wide, "C": long, "D": wide},
        )
    walls = tuple(
        Wall(id=letter, name=f"Wall {letter}", length=side, turn=turn)
        for letter, side, turn in zip("ABCDEF", sides, turns, strict=False)
    )
    return Outline(walls=walls), {wall.id: wall.length for wall in walls}


def _opening(dice: Random, wall: str, free: Nm) -> Opening:
    window = dice.random() < 0.5
    width = Nm(dice.randint(26, min(60, free // INCH)) * INCH)
    return Opening(
        id=f"o{wall}",
        name=f"{'Window' if window else 'Door'} {wall}",
        kind=OpeningKind.WINDOW if window else OpeningKind.DOOR,
        wall=wall,
        left=Nm(12 * INCH + dice.randint(0, (free - width) // EIGHTH) * EIGHTH),
        sill=_between(dice, 30, 40) if window else Nm(0),
        width=width,
        height=_between(dice, 24, 40) if window else _between(dice, 78, 81),
    )


def _on_wall(dice: Random, wall: str, length: Nm) -> Cutout:
    kind = dice.choice((CutoutKind.BOX, CutoutKind.ROUND))
    width = _between(dice, 2, 6)
    return Cutout(
        id=f"c{wall}",
        name=f"Box {wall}",
        kind=kind,
        surface=wall,
        across=Measure(
            origin=dice.choice(("left", "right")),
            distance=Nm(6 * INCH + dice.randint(0, (length - 16 * INCH) // EIGHTH) * EIGHTH),
            to=MeasureTo.CENTRE,
        ),
        up=Measure(origin="floor", distance=_between(dice, 10, 76), to=MeasureTo.CENTRE),
        width=width,
        height=None if kind is CutoutKind.ROUND else _between(dice, 3, 8),
    )


def _overhead(dice: Random, number: int, lengths: dict[str, Nm]) -> Cutout:
    kind = dice.choice((CutoutKind.VENT, CutoutKind.ROUND))
    return Cutout(
        id=f"v{number}",
        name=f"Vent {number}",
        kind=kind,
        surface="ceiling",
        across=Measure(
            origin=list(lengths)[-1], distance=_between(dice, 10 + 30 * number, 34 + 30 * number)
        ),
        up=Measure(origin="A", distance=_between(dice, 10, 40)),
        width=_between(dice, 4, 14),
        height=None if kind is CutoutKind.ROUND else _between(dice, 4, 8),
    )


def harder_house(seed: int) -> House:
    """The house of that seed with what makes cards hard: members that are missing, doubled or at
    odd spacings, boards in two layers, wet walls in cement board, and a rated wall. `random_house`
    has gables, slants, Ls, standing boards, floating seams and houses in millimeters already."""
    house = random_house(seed)
    (room,) = house.rooms
    dice = Random(f"harder {seed}")
    chosen = {choice.of: choice for choice in room.surfaces}
    for of in "ABCD":
        choice = chosen.get(of, SurfaceChoice(of=of))
        kind = dice.choice(("wet", "rated", "odd", "odd", "layers", "plain"))
        if kind == "wet":
            board = BoardChoice(kind="cement", thickness=Nm(INCH // 2))
            choice = replace(choice, wet=True, tiled=True, board=board)
        elif kind == "rated":
            choice = replace(choice, rated="one-hour wall, as its permit drawing says")
        elif kind == "layers":
            choice = replace(choice, layers=2)
        elif kind == "odd":
            first = _between(dice, 0, 14)
            spacing = Nm(dice.choice((12, 16, 24)) * INCH)
            missing = Nm(first + dice.randint(1, 4) * spacing)
            framing = Framing(
                spacing=spacing,
                first=first,
                missing=(missing,) if dice.random() < 0.5 else (),
                extra=tuple(_between(dice, 3, 70) for _ in range(dice.randint(1, 3))),
            )
            choice = replace(choice, framing=framing)
        chosen[of] = choice
    room = replace(room, surfaces=tuple(chosen.values()))
    return replace(house, rooms=(room,))
