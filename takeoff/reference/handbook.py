"""Quantities by area and by rule, as handbooks and estimating texts work them out. Our own amounts
are held against them.

Nothing is bought by these where a board plan says better. Each function rounds up once, where
people buy; its docstring says at which step, for sources differ.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from takeoff.quantities import Amount
from takeoff.reference import figures
from takeoff.units import Nm

__all__ = [
    "bags",
    "board_area_of_house",
    "by_area",
    "control_joints",
    "paint_gallons",
    "paint_quarts",
    "plate_sticks",
    "roll_insulation",
    "rolls",
    "sheets_for_area",
    "standing_sheets",
    "studs_by_foot",
    "with_waste",
]

_SPACES_A_FOOT = {16: Fraction(3, 4), 24: Fraction(1, 2)}


def sheets_for_area(square_feet: Fraction | int, sheet: Fraction | int) -> int:
    """Return whole sheets of `sheet` square feet for an area, rounded up once. The caller takes
    openings off the area, or does not.

    >>> sheets_for_area(1060, 32)
    34
    """
    return ceil(Fraction(square_feet) / sheet)


def with_waste(count: Fraction | int, waste: Fraction | None = None) -> int:
    """A count with waste, rounded up to whole pieces; 5 % (WS-board) where `waste` is not given."""
    return ceil(count * (1 + (figures.percent("WS-board") if waste is None else waste)))


def standing_sheets(run: Fraction | int, width: Fraction | int, faces: int) -> int:
    """Return the sheets set upright along a run of wall: whole sheets for each face, with waste
    (WS-board) on all of them."""
    return with_waste(ceil(Fraction(run) / width) * faces)


def board_area_of_house(floor_area: Fraction | int) -> Fraction:
    """Board of a whole house from its floor area (HB-floor-factor), in the floor's unit."""
    return floor_area * figures.number("HB-floor-factor")


def by_area(figure: str, square_feet: Fraction | int) -> Amount:
    """What an area takes by a per-area figure, exact.

    >>> by_area("CN-screws", 7000).value
    Fraction(7000, 1)
    """
    return figures.rate(figure).of(Amount(Fraction(square_feet), "sq ft"))


def rolls(feet: Fraction | int, roll: Fraction | int, waste: Fraction | None = None) -> int:
    """Return rolls of `roll` feet for a run of tape with waste (TP-waste where not given), rounded
    up once."""
    return ceil(
        feet * (1 + (figures.percent("TP-waste") if waste is None else waste)) / Fraction(roll)
    )


def studs_by_foot(
    run: Fraction | int, inches: int, *, corners: int = 0, tees: int = 0, openings: int = 0
) -> Fraction:
    """Return studs by the foot of wall, at 16 or 24 in, and two more for each corner, tee and
    opening. No stud is added to close the run."""
    return run * _SPACES_A_FOOT[inches] + 2 * (corners + tees + openings)


def plate_sticks(run: Fraction | int, plates: int, stick: Fraction | int) -> tuple[Fraction, int]:
    """Return the feet of plate with waste (WS-plates), and the sticks of `stick` feet for it,
    rounded up once."""
    feet = run * plates * (1 + figures.percent("WS-plates"))
    return feet, ceil(feet / Fraction(stick))


def paint_gallons(
    square_feet: Fraction | int,
    *,
    doors: int = 0,
    windows: int = 0,
    coats: int = 1,
    figure: str = "PT-paint",
    coverage: int | None = None,
) -> Fraction:
    """Return the gallons for an area, exact, after a painter's deduction for each door and window
    (PT-door, PT-window). `coverage` is in square feet a gallon, and `figure`'s where it is left
    out."""
    net = (
        Fraction(square_feet)
        - doors * figures.number("PT-door")
        - windows * figures.number("PT-window")
    )
    if coverage is not None:
        return net * coats / coverage
    return figures.rate(figure).inverse.of(Amount(net * coats, "sq ft")).value


def paint_quarts(gallons: Fraction) -> int:
    """Return gallons as quarts, rounded up to whole ones."""
    return ceil(gallons * 4)


def roll_insulation(square_feet: Fraction | int, *, spacing: int, roll: Fraction | int) -> int:
    """Return rolls of `roll` feet for bays `spacing` inches on center. A foot of roll covers a foot
    of bay, its framing counted in."""
    return ceil(Fraction(square_feet) / (Fraction(spacing, 12) * roll))


def bags(figure: str, square_feet: Fraction | int) -> int:
    """Return the bags for an area by a figure of bags per area, rounded up to whole ones."""
    return ceil(by_area(figure, square_feet).value)


def control_joints(figure: str, run: Nm) -> int:
    """Return the control joints of a surface `run` long, by a figure that says how far board goes
    without one: none up to that, one up to twice that, and so on."""
    return max(0, -(-run // figures.length(figure)) - 1)
