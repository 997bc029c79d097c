"""Seeded rooms for the bench and for tests: plausible, ours, the same for a seed on every machine.

Five surfaces each (four walls and a flat ceiling), sizes in odd sixteenths, one or two doors and
windows, boxes, framing 16 or 24 in with its first member anywhere. Prices are invented.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from takeoff.catalogue import BoardKind, Catalogue, SheetOnSale
from takeoff.choices import CutoutKind, JointMode, MeasureTo, OpeningKind, Runs
from takeoff.house import (
    Ceiling,
    Cutout,
    Framing,
    House,
    Measure,
    Opening,
    QuickRoom,
    Room,
    SurfaceChoice,
)
from takeoff.quantities import Cents
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, SIXTEENTH, Nm

__all__ = ["SHEETS_ON_SALE", "seeded_house", "seeded_room", "whole_inch_house"]

WALLS = ("A", "B", "C", "D")

CATALOGUE = Catalogue(boards=(BoardKind(id="regular", name="Regular board"),))

# Invented prices: longer sheets cost a little more a square foot, as they do in stores.
SHEETS_ON_SALE = tuple(
    SheetOnSale(
        board="regular",
        thickness=Nm(INCH // 2),
        width=Nm(48 * INCH),
        length=Nm(feet * FOOT),
        price=Cents(price),
    )
    for feet, price in ((8, 1298), (9, 1489), (10, 1675), (12, 2049))
)

# 8 ft to 9 ft 1 in; precut studs and three plates make 97 1/8 in and 109 in the common ones.
_HEIGHTS = (1536, 1554, 1554, 1554, 1588, 1632, 1697, 1728, 1744, 1744)


def _sixteenths(count: int) -> Nm:
    return Nm(count * SIXTEENTH)


def _odd_sixteenths(random: Random, low_inches: int, high_inches: int) -> Nm:
    return _sixteenths(random.randrange(16 * low_inches + 1, 16 * high_inches, 2))


def _openings(
    random: Random, room: str, wall: str, length: Nm, kinds: tuple[OpeningKind, ...]
) -> list[Opening]:
    """Openings left to right along a wall, at least 6 in from its ends and from each other; those
    that fit."""
    made: list[Opening] = []
    free_from = Nm(6 * INCH)
    for number, kind in enumerate(kinds, start=1):
        if kind is OpeningKind.WINDOW:
            width = Nm(random.choice((26, 30, 38, 50, 62, 74)) * INCH)
            height = Nm(random.choice((38, 50, 62)) * INCH)
            sill = Nm(165 * INCH // 2 - height)
        else:
            width = Nm(random.choice((32, 34, 38, 62)) * INCH)
            height, sill = Nm(165 * INCH // 2), Nm(0)
        clear = length - 6 * INCH - width - free_from
        if clear < 0:
            continue
        start = Nm(free_from + random.randrange(clear // SIXTEENTH + 1) * SIXTEENTH)
        free_from = Nm(start + width + 12 * INCH)
        made.append(
            Opening(
                id=f"{room}-{wall}-{kind}-{number}",
                name=f"{kind} {number} in wall {wall}",
                kind=kind,
                wall=wall,
                left=start,
                sill=sill,
                width=width,
                height=height,
            )
        )
    return made


def _boxes(random: Random, room: str, wall: str, length: Nm) -> list[Cutout]:
    """Outlet boxes 16 in up, about one every 8 ft; a switch box 48 in up on some walls."""
    made = []
    for number in range(1, 2 + length // (8 * FOOT)):
        up = 48 if random.random() < 0.2 else 16
        made.append(
            Cutout(
                id=f"{room}-{wall}-box-{number}",
                name=f"box {number} in wall {wall}",
                kind=CutoutKind.BOX,
                surface=wall,
                across=Measure(
                    origin="left", distance=_odd_sixteenths(random, 8, length // INCH - 8)
                ),
                up=Measure(origin="floor", distance=Nm(up * INCH), to=MeasureTo.CENTRE),
                width=Nm(9 * INCH // 4),
                height=Nm(15 * INCH // 4),
            )
        )
    return made


def seeded_room(random: Random, room: str) -> Room:
    """One room of five surfaces; draws from `random` only."""
    length, width = _odd_sixteenths(random, 96, 240), _odd_sixteenths(random, 96, 240)
    wall_spacing, ceiling_spacing = (Nm(random.choice((16, 16, 24)) * INCH) for _ in range(2))

    def framing(spacing: Nm, runs: Runs) -> Framing:
        first = _sixteenths(random.randrange(int(spacing // SIXTEENTH)))
        return Framing(spacing=spacing, first=first, runs=runs, start_backed=True, end_backed=True)

    door, window = OpeningKind.DOOR, OpeningKind.WINDOW
    by_wall: dict[str, tuple[OpeningKind, ...]] = dict.fromkeys(WALLS, ())
    door_wall = random.choice(WALLS)
    by_wall[door_wall] += (door,)
    outside = random.choice([wall for wall in WALLS if wall != door_wall])
    by_wall[outside] += random.choice(((window,), (window, window)))
    if random.random() < 0.4:
        by_wall[random.choice(WALLS)] += (random.choice((door, window)),)
    openings: list[Opening] = []
    cutouts: list[Cutout] = []
    choices = []
    for wall, wall_length in zip(WALLS, (length, width, length, width), strict=True):
        openings += _openings(random, room, wall, wall_length, by_wall[wall])
        cutouts += _boxes(random, room, wall, wall_length)
        choices.append(SurfaceChoice(of=wall, framing=framing(wall_spacing, Runs.ACROSS)))
    runs = random.choice((Runs.ACROSS, Runs.ALONG))
    choices.append(SurfaceChoice(of="ceiling", framing=framing(ceiling_spacing, runs)))
    return Room(
        id=room,
        name=f"Room {room}",
        shape=QuickRoom(length=length, width=width),
        ceiling=Ceiling(height=_sixteenths(random.choice(_HEIGHTS))),
        openings=tuple(openings),
        cutouts=tuple(cutouts),
        surfaces=tuple(choices),
    )


def seeded_house(seed: int, *, rooms: int = 1, joint_mode: JointMode = JointMode.FRAMING) -> House:
    """A house of `rooms` rooms. The mode changes nothing but the rule, so modes can be held against
    each other."""
    random = Random(seed)
    return House(
        id=f"seeded-{seed}",
        name=f"Seeded house {seed}",
        rooms=tuple(seeded_room(random, f"r{number}") for number in range(1, rooms + 1)),
        rules=Rules(joint_mode=joint_mode, sheets=SHEETS_ON_SALE),
        catalogue=CATALOGUE,
        note="Invented rooms and prices.",
    )


def whole_inch_house(seed: int, *, joint_mode: JointMode = JointMode.FRAMING) -> House:
    """A house of one room of whole inches, 8 x 8 to 24 x 18 ft, studs and joists at 16 in from a
    corner: larger than the seeded ones, and with many joints at the same places in every row."""
    random = Random(10_000 + seed)
    house = seeded_house(20_000 + seed, joint_mode=joint_mode)
    (room,) = house.rooms
    framing = Framing(spacing=Nm(16 * INCH), first=Nm(0), start_backed=True, end_backed=True)
    length, width = (Nm(random.randint(96, most) * INCH) for most in (288, 216))
    wall = {"A": length, "B": width, "C": length, "D": width}
    openings = tuple(
        replace(opening, left=Nm(opening.left // INCH * INCH))
        for opening in room.openings
        if opening.left // INCH * INCH + opening.width + 6 * INCH <= wall[opening.wall]
    )
    cutouts = tuple(
        cutout
        for cutout in room.cutouts
        if cutout.across.distance + 8 * INCH <= wall[cutout.surface]
    )
    runs = random.choice((Runs.ACROSS, Runs.ALONG))
    room = replace(
        room,
        shape=QuickRoom(length=length, width=width),
        ceiling=replace(room.ceiling, height=Nm(random.choice((96, 97, 99, 108)) * INCH)),
        openings=openings,
        cutouts=cutouts,
        surfaces=(
            *(
                SurfaceChoice(of=letter, framing=replace(framing, runs=Runs.ACROSS))
                for letter in WALLS
            ),
            SurfaceChoice(of="ceiling", framing=replace(framing, runs=runs)),
        ),
    )
    return replace(house, id=f"inches-{seed}", rooms=(room,))
