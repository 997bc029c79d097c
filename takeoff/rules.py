"""Every freedom and allowance of the board plan and the needs, with its default."""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from fractions import Fraction
from typing import ClassVar

from takeoff._checks import check_length
from takeoff.catalogue import OwnedSheet, SheetOnSale
from takeoff.choices import BeadKind, CeilingRows, JointMode, Orientation
from takeoff.errors import BadValue
from takeoff.reference import figures
from takeoff.units import FOOT, INCH, MM, SIXTY_FOURTH, Nm, UnitSystem, format_length

__all__ = [
    "BoardChoice",
    "Minutes",
    "Rules",
]

_MOST_MINUTES = 600
_DEAREST_HOUR = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardChoice:
    """Which board: a kind of the catalogue, its thickness, and its width where only one width will
    do."""

    kind: str
    thickness: Nm
    width: Nm | None = None

    def __post_init__(self) -> None:
        check_length(self.thickness, "Board thickness")
        check_length(self.width, "Board width")


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """How many minutes of one person each part of hanging and finishing takes, on a wall.

    Overhead all but cuts takes longer (HR-overhead). The last three are no work: they say what it
    is worth to keep a butt seam out of a bad place.
    """

    piece: Decimal = figures.minutes("HR-piece")
    short_piece: Decimal = figures.minutes("HR-short")
    square_foot: Decimal = figures.minutes("HR-area")
    crosscut: Decimal = figures.minutes("HR-crosscut")
    rip: Decimal = figures.minutes("HR-rip")
    thin_rip: Decimal = figures.minutes("HR-thin-rip")
    opening: Decimal = figures.minutes("HR-opening")
    backer: Decimal = figures.minutes("HR-backer")
    tapered_foot: Decimal = figures.minutes("HR-tapered")
    butt_foot: Decimal = figures.minutes("HR-butt")
    corner_foot: Decimal = figures.minutes("HR-corner")
    bead_foot: Decimal = figures.minutes("HR-bead")
    finish_square_foot: Decimal = figures.minutes("HR-fasteners")
    middle_butt: Decimal = figures.minutes("HR-middle")
    reentrant_butt: Decimal = figures.minutes("HR-reentrant")
    other_face_butt: Decimal = figures.minutes("HR-other-face")

    def __post_init__(self) -> None:
        for one in fields(self):
            value: Decimal = getattr(self, one.name)
            if not value.is_finite() or not 0 <= value <= _MOST_MINUTES:
                raise BadValue(
                    f"Minutes {one.name} must be from zero to {_MOST_MINUTES}, for example 12"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Every freedom and allowance of the board plan and the needs. A length that is taken off
    something may be zero.

    Prices are exact decimals of the currency. `hour` is what an hour of one person is worth and
    `minutes` what takes how long: a plan's aim is the money it takes and the worth of its hours.
    With `hour` zero hours count for nothing, and `seam_price` is what seams cost. `sheets` replaces
    the catalogue's sheets on sale where given; `widths` narrows them. A default that is a trade
    figure is read from `takeoff/reference/`; see each figure there. `wall_spacing_known` says
    whether somebody has seen how far apart the studs of the house are. Where nobody has, a new room
    is not given `assumed_wall_spacing` as its own: it has no spacing, and its plan is provisional.
    `adhesive_screws` is how far apart screws may be where board is glued (None: as where it is
    not), and `texture_coverage` the square feet that a pound of texture covers, in a house in
    millimeters the square meters of a kilogram (None: none is counted).
    """

    # joints
    joint_mode: JointMode = JointMode.FRAMING
    stagger: Nm = figures.length("HL-09")
    preferred_stagger: Nm = Nm(24 * INCH)  # HL-09, its high end
    preferred_stagger_price: Decimal = Decimal(0)
    opening_clearance: Nm = figures.length("HL-11")
    shortest_piece: Nm = figures.length("HL-piece")
    mid_bay_tolerance: Nm = figures.length("BB-05")
    floating_clear_bay: Nm = figures.length("BB-clear")
    # prices of the plan's aim
    hour: Decimal = Decimal("15.00")
    minutes: Minutes = Minutes()
    seam_price: Decimal = Decimal("0.00")
    backer_price: Decimal = Decimal("3.50")
    shim_price: Decimal = Decimal("0.15")
    # allowances
    floor_gap: Nm = figures.length("HL-20")
    largest_floor_gap: Nm = figures.length("HL-20-largest")
    fitting: Nm = figures.length("HL-fitting")
    thickness_deduction: bool = True
    kerf: Nm = figures.length("HL-kerf")
    closing_tolerance: Nm = Nm(INCH)
    narrow_strip: Nm = figures.length("HL-strip")
    unit_allowance_width: Nm = figures.length("FR-unit-width")
    unit_allowance_height: Nm = figures.length("FR-unit-height")
    # rows
    orientation: Orientation = Orientation.ACROSS
    ceiling_rows: CeilingRows = CeilingRows.EITHER
    shared_edge_rip: bool = False
    split_at_large_openings: bool = False
    # sheets
    wall_board: BoardChoice = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    ceiling_board: BoardChoice = BoardChoice(kind="regular", thickness=Nm(INCH // 2))
    widths: tuple[Nm, ...] = ()
    sheets: tuple[SheetOnSale, ...] | None = None
    owned: tuple[OwnedSheet, ...] = ()
    keep_offcuts: bool = True
    longest_board: Nm | None = None
    heaviest_lift: Decimal | None = None
    # framing and fastening
    assumed_wall_spacing: Nm = figures.length("FR-wall-spacing")
    wall_spacing_known: bool = True
    assumed_ceiling_spacing: Nm = figures.length("FR-ceiling-spacing")
    floating_corners: bool = False
    adhesive: bool = False
    edge_support: str = "nailer"
    bead: BeadKind = BeadKind.METAL
    sealant: bool = False
    hand_goods: bool = False
    # Asked of people, for no source says them: they are on the label of what is bought.
    adhesive_screws: Nm | None = None
    texture_coverage: Decimal | None = None
    partition_slack: Nm = figures.length("FR-slack")
    # One top plate is enough where nothing bears on it.
    partition_top_plates: int = figures.count("FR-03")
    gap_to_prefill: Nm = figures.length("HL-07")

    ZERO_ALLOWED: ClassVar[tuple[str, ...]] = (
        "stagger",
        "preferred_stagger",
        "opening_clearance",
        "shortest_piece",
        "mid_bay_tolerance",
        "floating_clear_bay",
        "floor_gap",
        "largest_floor_gap",
        "fitting",
        "kerf",
        "closing_tolerance",
        "narrow_strip",
        "unit_allowance_width",
        "unit_allowance_height",
        "partition_slack",
        "gap_to_prefill",
    )

    def __post_init__(self) -> None:
        for name in self.ZERO_ALLOWED:
            check_length(getattr(self, name), f"Rule {name}", zero=True)
        if self.texture_coverage is not None and not 0 < self.texture_coverage <= 1000:
            raise BadValue(
                "Rule texture_coverage must be more than zero: the sq ft (m2) that a pound "
                "(kilogram) on the bag covers, for example 10 (2)"
            )
        for name in (
            *("assumed_wall_spacing", "assumed_ceiling_spacing", "longest_board"),
            "adhesive_screws",
        ):
            check_length(getattr(self, name), f"Rule {name}")
        for name in ("seam_price", "backer_price", "shim_price", "preferred_stagger_price"):
            price: Decimal = getattr(self, name)
            if not price.is_finite() or price < 0:
                raise BadValue(f"Rule {name} must be zero or more, for example 1.00")
        if not self.hour.is_finite() or not 0 <= self.hour <= _DEAREST_HOUR:
            raise BadValue(f"Rule hour must be from zero to {_DEAREST_HOUR}, for example 15.00")
        if self.floor_gap > self.largest_floor_gap:
            raise BadValue(
                f"Rule floor_gap is {_said(self.floor_gap)} and must be at most largest_floor_gap, "
                "which is "
                f"{_said(self.largest_floor_gap)}; make the gap smaller, or its limit larger"
            )
        if self.partition_top_plates not in (1, 2):
            raise BadValue("Rule partition_top_plates must be 1 or 2")
        if self.edge_support not in ("nailer", "stud", "clip"):
            raise BadValue("Rule edge_support must be nailer, stud or clip")

    @classmethod
    def metric(cls) -> Rules:
        """The defaults of a house in millimetres: the same allowances on the marks of a metric
        tape, 12.5 mm board, and the framing usual with it.

        Sizes are common practice, no published source, where they differ from the inch defaults by
        more than rounding to a handy number: assumed spacings of 600 mm on walls and 400 mm on
        ceilings.
        """
        board = BoardChoice(kind="regular", thickness=Nm(25 * MM // 2))
        return cls(
            stagger=Nm(400 * MM),
            preferred_stagger=Nm(600 * MM),
            opening_clearance=Nm(200 * MM),
            shortest_piece=Nm(300 * MM),
            mid_bay_tolerance=Nm(50 * MM),
            floating_clear_bay=Nm(270 * MM),
            floor_gap=Nm(12 * MM),
            largest_floor_gap=Nm(38 * MM),
            fitting=Nm(3 * MM),
            kerf=Nm(3 * MM),
            closing_tolerance=Nm(25 * MM),
            narrow_strip=Nm(300 * MM),
            unit_allowance_width=Nm(50 * MM),
            unit_allowance_height=Nm(50 * MM),
            wall_board=board,
            ceiling_board=board,
            assumed_wall_spacing=Nm(600 * MM),
            assumed_ceiling_spacing=Nm(400 * MM),
            partition_slack=Nm(6 * MM),
            gap_to_prefill=Nm(3 * MM),
            # A metric board stands as often as it lies: rooms are as high as sheets are long.
            orientation=Orientation.BEST,
        )

    @property
    def seam_cents_per_nm(self) -> Fraction:
        """The seam price in cents a nanometre, exact."""
        return Fraction(self.seam_price) * 100 / FOOT


def _said(size: Nm) -> str:
    """A length in a refusal, in the units it is whole in: rules stand in houses of either."""
    units = UnitSystem.INCH if size % SIXTY_FOURTH == 0 else UnitSystem.MILLIMETRE
    return format_length(size, units, feet=False)
