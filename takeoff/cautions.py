"""What to know before board is bought and stacked: where a long surface wants a control joint, what
is heavier than a surface may carry, and how many sheets a flat stack may hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from takeoff.boards.plan import Sheet
from takeoff.choices import SurfaceKind
from takeoff.geometry.polygon import bounds
from takeoff.geometry.shapes import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import House
from takeoff.loads import dead_load, flat_stack
from takeoff.needs.control_joints import joints_of
from takeoff.reference import figures
from takeoff.units import Nm, UnitSystem, format_length, tape_reading

__all__ = ["control_joint_notes", "load_notes", "stack_notes"]


def control_joint_notes(room: RoomGeometry, units: UnitSystem) -> Iterator[str]:
    """A sentence for each surface that gets board and is longer than board goes without a control
    joint."""
    for surface in room.surfaces:
        if not surface.action.gets_board:
            continue
        if surface.kind is SurfaceKind.WALL:
            yield from _wall_note(surface, units)
        else:
            yield from _ceiling_note(surface, units)


def _wall_note(surface: Surface, units: UnitSystem) -> Iterator[str]:
    left_edge, _, right_edge, _ = bounds(surface.outline)
    run = Nm(right_edge - left_edge)
    joints = len(joints_of(surface))
    if joints:
        many = "a control joint" if joints == 1 else f"{joints} control joints"
        yield (
            f"{surface.name} is {tape_reading(run, units)} long: plan {many}, "
            f"so that no run of board is over {tape_reading(figures.length('HL-16'), units)} "
            f"({figures.figure('HL-16').source}). They are on the list of what taping takes, and a "
            "stud more for each on that of framing: part the board and the framing there"
        )


def _ceiling_note(surface: Surface, units: UnitSystem) -> Iterator[str]:
    left_edge, bottom, right_edge, top = bounds(surface.outline)
    longest = Nm(max(right_edge - left_edge, top - bottom))
    most, most_area = figures.length("HL-18"), figures.number("HL-18-area")
    if not joints_of(surface):
        return
    yield (
        f"{surface.name} is {tape_reading(longest, units)} long: without relief along its edges, "
        f"plan control joints so that no run of board is over {tape_reading(most, units)} and no "
        f"part over {most_area} sq ft ({figures.figure('HL-18-area').status.caution}). They are "
        "on the list of what taping takes"
    )


def load_notes(room: RoomGeometry, house: House) -> Iterator[str]:
    """A sentence for each surface whose board weighs more than somebody said it may carry.

    Board counts by its design load (DL-01), which sheets of today do not reach, and new board of a
    kind that is heavier, like cement board, by its own weight. Old lining that stays counts as
    board of its thickness. Insulation is not in it.
    """
    for surface in room.surfaces:
        if surface.most_load is None:
            continue
        load = Fraction(0)
        if surface.action.keeps_lining:
            load += dead_load(surface.lining)
        if surface.action.gets_board:
            thickness = surface.board.thickness
            own = Fraction(house.catalogue.board(surface.board.kind).weight(thickness) or 0)
            load += surface.layers * max(own, dead_load(thickness))
        metric = house.units is UnitSystem.MILLIMETRE
        unit = "kg/m2" if metric else "lb per sq ft"
        # Pounds on square feet as kilograms on square meters, both exact.
        per_unit = Fraction(45359237, 100_000_000) / Fraction(3048, 10000) ** 2 if metric else 1
        carried = load * per_unit
        if carried > Fraction(surface.most_load):
            yield (
                f"{surface.name}: its board counts {float(carried):.1f} {unit} "
                f"({figures.figure('DL-01').source}), and you said that it may carry "
                f"{surface.most_load.normalize():f}. Insulation comes on top. Choose thinner board "
                "or one layer, or ask whoever set that limit"
            )


def stack_notes(house: House, sheets: Sequence[Sheet]) -> Iterator[str]:
    """A sentence for each kind and size of sheet of which more are used than one flat stack may
    hold, by the weight of the board on the live load of a floor."""
    whole = Counter(
        (sheet.board, sheet.thickness, sheet.width, sheet.length)
        for sheet in sheets
        if sheet.is_whole
    )
    for (board, thickness, width, length), count in whole.items():
        kind = house.catalogue.board(board)
        psf = kind.weight(thickness)
        if psf is None:
            continue
        most, asleep = (flat_stack(figure, Fraction(psf)) for figure in ("HF-07", "HF-08"))
        if count <= asleep:
            continue
        size = " x ".join(format_length(side, house.units) for side in (width, length))
        yield (
            f"{count} sheets of {kind.name}, {size}: put no more than {asleep} in one flat stack "
            f"on the floor of a bedroom and no more than {most} in another room. A floor's live "
            f"load carries no more on the area of the stack ({figures.figure('HF-07').source}); "
            "whether your floor does, ask your building department or an engineer"
        )
