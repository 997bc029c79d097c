"""How much compound a seam, a fastener or a skimmed face takes, coat by coat: width times mean
thickness.

Widths are what makers' sheets give; mean thicknesses have no published source and are said to be
common practice. Together they come to 8.4 to 10.2 gal per 1000 sq ft on five ordinary rooms, three
of them under the 9.4 to 11 that handbooks say. Volumes are wet and mixed, in cubic nanometres
inside and gallons outside; nothing is rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.choices import Compound
from takeoff.quantities import Amount, convert
from takeoff.reference import Level, figures
from takeoff.seams import SeamKind
from takeoff.units import INCH, Nm

__all__ = [
    "Coat",
    "SeamShape",
    "coats",
    "fastener_gallons",
    "gallons",
    "seam_gallons",
    "seam_name",
    "shape_of",
    "skim_gallons",
]


class SeamShape(StrEnum):
    """What a knife sees: a recess, a crown without taper, an angle, a bead, or a trim that is
    filled on one side."""

    TAPERED = "tapered seam"
    CROWN = "butt or cut-edge seam"
    ANGLE = "inside corner"
    BEAD = "corner bead"
    TRIM = "trim"


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """One coat along a seam: its whole width (both legs of a bead, the one of a trim), its mean
    thickness, the figures of both."""

    number: int
    width: Nm
    thickness: Fraction
    figures: tuple[str, ...]

    @property
    def section(self) -> Fraction:
        """Its cross-section in square nanometres."""
        return self.width * self.thickness


_NAMES = {
    SeamKind.TAPERED: "tapered seam",
    SeamKind.CUT_EDGE: "cut-edge seam",
    SeamKind.BUTT_ON_FRAMING: "butt seam on framing",
    SeamKind.FLOATING_BUTT: "floating butt seam",
    SeamKind.OPENING_EDGE: "bead at an opening",
}


def seam_name(kind: SeamKind) -> str:
    """What a reason calls a seam of `kind`."""
    return _NAMES.get(kind, str(kind))


def shape_of(kind: SeamKind) -> SeamShape:
    """What shape a seam of `kind` is filled in; a floating seam is drawn in, so it is a recess like
    a tapered one."""
    if kind in (SeamKind.TAPERED, SeamKind.FLOATING_BUTT):
        return SeamShape.TAPERED
    if kind in (SeamKind.CUT_EDGE, SeamKind.BUTT_ON_FRAMING, SeamKind.PATCH_EDGE):
        return SeamShape.CROWN
    if kind is SeamKind.TRIM:
        return SeamShape.TRIM
    if kind in (SeamKind.OUTSIDE_CORNER, SeamKind.OPENING_EDGE):
        return SeamShape.BEAD
    return SeamShape.ANGLE


def coats(shape: SeamShape, level: Level, compound: Compound) -> tuple[Coat, ...]:
    """The coats of a seam of `shape` at a level of finish, in the order they go on."""
    by_shape = {
        SeamShape.ANGLE: level.angle,
        SeamShape.BEAD: level.bead,
        SeamShape.TRIM: level.bead,
    }
    number = by_shape.get(shape, level.flat)
    return tuple(_coat(shape, place, compound) for place in range(1, number + 1))


def _coat(shape: SeamShape, number: int, compound: Compound) -> Coat:
    beyond = number - 1
    if shape in (SeamShape.BEAD, SeamShape.TRIM):
        legs = 2 if shape is SeamShape.BEAD else 1
        leg = figures.length("CM-bead-width") + beyond * figures.length("CM-bead-step")
        thickness = ("CM-bead-thickness", "CM-second-thickness", "CM-third-thickness")[beyond]
        return _made(number, Nm(legs * leg), thickness, "CM-bead-width", "CM-bead-step")
    if number == 1:
        return _made(1, figures.length("CM-bed-width"), "CM-bed-thickness", "CM-bed-width")
    step = {SeamShape.ANGLE: "CM-angle-step", SeamShape.CROWN: "CM-butt-step"}.get(
        shape, "CM-step-setting" if compound is Compound.SETTING else "CM-step"
    )
    width = Nm(figures.length("CM-bed-width") + 2 * beyond * figures.length(step))
    thicknesses = ("CM-second-thickness", "CM-third-thickness")
    if shape is SeamShape.CROWN:
        thicknesses = ("CM-butt-second-thickness", "CM-butt-third-thickness")
    return _made(number, width, thicknesses[beyond - 1], "CM-bed-width", step)


def _made(number: int, width: Nm, thickness: str, *widths: str) -> Coat:
    return Coat(
        number=number,
        width=width,
        thickness=figures.number(thickness) * INCH,
        figures=(*widths, thickness),
    )


def gallons(cubic_nanometres: Fraction) -> Amount:
    """A volume as gallons, exact."""
    return convert(Amount(cubic_nanometres / INCH**3, "cu in"), "gal")


def seam_gallons(coat: Coat, run: Nm) -> Amount:
    """What one coat takes along a seam of length `run`."""
    return gallons(coat.section * run)


def fastener_gallons(count: int, coats_each: int) -> Amount:
    """What `count` fasteners take at so many coats each."""
    dab = figures.length("CM-dab-side") ** 2 * figures.number("CM-dab-thickness") * INCH
    return gallons(dab * count * coats_each)


def skim_gallons(area: Fraction) -> Amount:
    """What a skim coat over `area` (square nanometres) takes."""
    return gallons(area * figures.number("CM-skim-thickness") * INCH)
