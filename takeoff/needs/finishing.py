"""What finishing a room takes: sanding paper, primer, paint, texture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from takeoff.choices import Action, SurfaceKind
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import Finish
from takeoff.needs.materials import (
    CEILING_PAINT,
    PRIMER,
    SANDING,
    TEXTURE,
    WALL_PAINT,
    Material,
    paint_material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.patches import primed_round_patches
from takeoff.needs.returns import finished_area
from takeoff.needs.tally import Tally
from takeoff.needs.taping import coated_runs
from takeoff.quantities import Amount, convert, from_nm, scale
from takeoff.reference import figures, level
from takeoff.rules import Rules
from takeoff.seams import Seam
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["needs", "sanded"]


def needs(
    room: RoomGeometry, finish: Finish, seams: Sequence[Seam], *, rules: Rules, units: UnitSystem
) -> tuple[Need, ...]:
    """Return what finishing `room` takes. `seams` may hold those of other rooms too, which are not
    counted.

    New and patched faces are primed. Every face that is not tiled is painted, also one that is left
    as it is; cans of one color and sheen are an item of their own. Openings are not counted. New
    board at level 0 gets no finish at all. Texture is
    counted where the rules have its coverage, which is read off the bag.
    """
    tally = Tally(Phase.FINISHING, room.room, units)
    _sanding(tally, room, [seam for seam in seams if seam.room == room.room])
    for surface in room.surfaces:
        if surface.tiled or (surface.action.gets_board and not level(surface.finish_level).tape):
            continue
        area = _square_feet(surface)
        if surface.patches:
            _coats(
                tally,
                PRIMER,
                _in_square_feet(primed_round_patches(surface)),
                finish.primer_coats,
                "PT-primer",
                surface,
                on="the patches and the compound round them",
                also=("PA-prime",),
            )
        elif surface.action is not Action.LEAVE:
            _coats(tally, PRIMER, area, finish.primer_coats, "PT-primer", surface)
        if surface.water_texture and surface.action.gets_board and rules.texture_coverage:
            tally.take(
                TEXTURE,
                _texture(area, rules.texture_coverage, units),
                f"texture, one coat, {rules.texture_coverage:f} "
                + ("m2 a kg" if units is UnitSystem.MILLIMETRE else "sq ft a lb")
                + " as its bag says",
                "PT-texture",
                surface=surface.id,
            )
        ceiling = surface.kind is SurfaceKind.CEILING
        spread = "PT-textured" if surface.water_texture else "PT-ceiling" if ceiling else "PT-paint"
        _coats(
            tally,
            paint_material(CEILING_PAINT if ceiling else WALL_PAINT, surface.paint),
            area,
            finish.paint_coats,
            spread,
            surface,
        )
    return tally.needs()


def _coats(
    tally: Tally,
    material: Material,
    area: Amount,
    coats: int,
    figure: str,
    surface: Surface,
    *,
    on: str = "the face without its openings",
    also: tuple[str, ...] = (),
) -> None:
    if coats:
        tally.take(
            material,
            scale(figures.rate(figure).inverse.of(area), coats),
            f"{coats} coat{'s' if coats > 1 else ''} on {on}",
            figure,
            *also,
            surface=surface.id,
        )


def sanded(room: RoomGeometry, seams: Sequence[Seam]) -> Iterator[tuple[str, int | None, Amount]]:
    """Return the sanding paper that each surface of `room` takes: for all that is coated in
    compound by its level of finish, then for a face that is skimmed, whose level is given as None.

    `seams` are those of `room`; a seam counts for its first surface.
    """
    runs: dict[tuple[str, int], int] = {}
    for (_, surface_id, number), coated in coated_runs(room, seams).items():
        if level(number).sand:
            runs[surface_id, number] = runs.get((surface_id, number), 0) + coated
    for (surface_id, number), run in runs.items():
        paper = figures.rate("PT-sand").inverse.of(from_nm(Nm(run), "ft"))
        yield surface_id, number, paper
    for surface in room.surfaces:
        if level(surface.finish_level).skim and surface.action.gets_board and not surface.tiled:
            paper = figures.rate("PT-sand-skim").inverse.of(_square_feet(surface))
            yield surface.id, None, paper


def _sanding(tally: Tally, room: RoomGeometry, seams: Sequence[Seam]) -> None:
    for surface_id, number, paper in sanded(room, seams):
        if number is None:
            tally.take(SANDING, paper, "the skimmed face", "PT-sand-skim", surface=surface_id)
        else:
            tally.take(
                SANDING,
                paper,
                f"seams, corners and beads at level {number}",
                "PT-sand",
                level(number).id,
                surface=surface_id,
            )


def _texture(area: Amount, coverage: Decimal, units: UnitSystem) -> Amount:
    """The powder for `area`, by the coverage that was read off the bag."""
    basis, powder = ("m2", "kg") if units is UnitSystem.MILLIMETRE else ("sq ft", "lb")
    return Amount(convert(area, basis).value / Fraction(coverage), powder)


def _square_feet(surface: Surface) -> Amount:
    return _in_square_feet(finished_area(surface))


def _in_square_feet(area: Fraction) -> Amount:
    return convert(Amount(area / Fraction(INCH) ** 2, "sq in"), "sq ft")
