"""Patches: board let into a surface that stays, with the strips or shims that hold it flush."""

from __future__ import annotations

from fractions import Fraction

from takeoff.catalogue import Catalogue, SheetOnSale
from takeoff.choices import PatchHeld, Substrate, SurfaceKind
from takeoff.geometry.surface import Surface
from takeoff.house import Patch
from takeoff.needs.fastening import fasteners_along, screw_length
from takeoff.needs.materials import SHIMS, lumber_material, screw_material, sheet_material
from takeoff.needs.shares_of_sheets import sheet_for, sheet_share
from takeoff.needs.tally import Tally
from takeoff.quantities import from_nm
from takeoff.reference import Place, figures, row_for
from takeoff.rules import Rules
from takeoff.units import INCH, Nm

__all__ = ["patch_edges", "patch_needs", "primed_round_patches"]

_STRIP = lumber_material("1x3")


def patch_edges(surface: Surface) -> Nm:
    """Return the length of the edges of a surface's patches, which are taped to what stays."""
    return Nm(sum(2 * (one.width + one.height) * one.count for one in surface.patches))


def primed_round_patches(surface: Surface) -> Fraction:
    """Return the area that the patches of a surface are primed on: their own, and the compound
    round them (PA-prime). In square nanometres."""
    beyond = 2 * figures.length("PA-prime")
    return Fraction(
        sum((one.width + beyond) * (one.height + beyond) * one.count for one in surface.patches)
    )


def patch_needs(tally: Tally, surface: Surface, rules: Rules, catalogue: Catalogue) -> None:
    """Add what the patches of a surface take before they are taped: board, strips or shims, and
    screws."""
    for patch in surface.patches:
        thick = patch.thickness or surface.lining or figures.length("HL-old-lining")
        sheet = sheet_for(surface, catalogue, rules, thickest=thick)
        named = _named(tally, patch)
        kind = catalogue.board(sheet.board)
        area = Fraction(patch.width * patch.height * patch.count)
        tally.take(
            sheet_material(kind, sheet.thickness, sheet.width, sheet.length),
            sheet_share(area, sheet),
            f"{named}: their share of a sheet {tally.shown(sheet.thickness)} thick, beside "
            f"{tally.shown(thick)} that stays",
            "PA-share",
            surface=surface.id,
        )
        if patch.held is PatchHeld.STRIPS:
            _strips(tally, surface, patch, thick, sheet, named)
        else:
            _on_framing(tally, surface, patch, thick, sheet, rules, named)


def _named(tally: Tally, patch: Patch) -> str:
    many = "1 patch" if patch.count == 1 else f"{patch.count} patches"
    return f"{many} {tally.shown(patch.width)} by {tally.shown(patch.height)}"


def _strips(
    tally: Tally, surface: Surface, patch: Patch, thick: Nm, sheet: SheetOnSale, named: str
) -> None:
    """Strips behind the old board along the longer sides of a hole, and between them where it is
    wide."""
    long, short = max(patch.width, patch.height), min(patch.width, patch.height)
    strips = -(-short // figures.length("PA-strips")) + 1
    length = Nm(long + 2 * figures.length("PA-beyond"))
    tally.cut(
        _STRIP,
        [length] * (strips * patch.count),
        f"{named}: {strips} backing strips each, {tally.stick(length)} long",
        "PA-beyond",
        "PA-strips",
        surface=surface.id,
    )
    _shims(tally, surface, thick, sheet, Nm(long * strips * patch.count), named)
    long_enough = screw_length(
        "coarse", thick, penetration=figures.length("GB-27"), units=tally.units
    )
    ends = 2 * figures.count("PA-strip-screws") * strips
    along = strips * fasteners_along(long, figures.length("PA-screws"))
    tally.count(
        screw_material("coarse", long_enough),
        (ends + along) * patch.count,
        f"{named}: {ends} each through the old board into the ends of the strips, and {along} "
        f"through the patch, at most {tally.shown(figures.length('PA-screws'))} apart",
        "PA-screws",
        "PA-strip-screws",
        "HL-01-layout",
        "GB-27",
        surface=surface.id,
    )


def _on_framing(
    tally: Tally,
    surface: Surface,
    patch: Patch,
    thick: Nm,
    sheet: SheetOnSale,
    rules: Rules,
    named: str,
) -> None:
    """A part of a surface on its framing, both side edges on a member, shimmed out flush."""
    wall = surface.kind is SurfaceKind.WALL
    spacing = surface.framing.spacing or (
        rules.assumed_wall_spacing if wall else rules.assumed_ceiling_spacing
    )
    lines = -(-patch.width // spacing) + 1
    _shims(tally, surface, thick, sheet, Nm(lines * patch.height * patch.count), named)
    row = row_for(
        thickness=sheet.thickness,
        place=Place.WALL if wall else Place.CEILING,
        across=True,
        spacing=Nm(16 * INCH) if spacing < 16 * INCH else spacing,
    )
    apart, rests_on = (row.screws, row.id) if row else (figures.length("PA-screws"), "PA-screws")
    steel = surface.framing.substrate is Substrate.STEEL
    kind, penetration = ("fine", "GB-28") if steel else ("coarse", "GB-27")
    long = screw_length(kind, thick, penetration=figures.length(penetration), units=tally.units)
    tally.count(
        screw_material(kind, long),
        lines * fasteners_along(patch.height, apart) * patch.count,
        f"{named}, flush on framing: {lines} lines of screws each, at most {tally.shown(apart)} "
        f"apart, through {tally.shown(thick)} of board and shim",
        rests_on,
        "HL-01-layout",
        penetration,
        surface=surface.id,
    )


def _shims(
    tally: Tally, surface: Surface, thick: Nm, sheet: SheetOnSale, run: Nm, named: str
) -> None:
    """Shims that bring board out to the face of a thicker lining."""
    behind = thick - sheet.thickness
    layer = figures.length("FR-shim-thickness")
    layers = behind // layer
    if layers > 0:
        tally.take(
            SHIMS,
            from_nm(Nm(layers * run), "ft"),
            f"{named}: {layers} layers of {tally.shown(layer)} shim along {tally.run(run)}, to "
            f"bring {tally.shown(sheet.thickness)} board out to {tally.shown(thick)}",
            "FR-shim-thickness",
            surface=surface.id,
        )
