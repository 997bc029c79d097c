"""What finishing a room takes: sanding paper, primer, paint, texture."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from takeoff.choices import Action, OpeningEdge, SurfaceKind
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import Surface
from takeoff.house import Finish
from takeoff.needs.areas import face_area
from takeoff.needs.materials import CEILING_PAINT, PRIMER, SANDING, TEXTURE, WALL_PAINT, Material
from takeoff.needs.need import Need, Phase
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount, convert, from_nm, scale
from takeoff.reference import figures, level
from takeoff.seams import Seam
from takeoff.units import INCH, Nm, UnitSystem

__all__ = ["needs", "sanded"]


def needs(
    room: RoomGeometry, finish: Finish, seams: Sequence[Seam], *, units: UnitSystem
) -> tuple[Need, ...]:
    """Return what finishing `room` takes. `seams` may hold those of other rooms too, which are not
    counted.

    New and patched faces are primed. Every face that is not tiled is painted, also one that is left
    as it is. Openings are not counted. New board at level 0 gets no finish at all.
    """
    tally = Tally(Phase.FINISHING, room.room, units)
    _sanding(tally, room, [seam for seam in seams if seam.room == room.room])
    for surface in room.surfaces:
        if surface.tiled or (surface.action.gets_board and not level(surface.finish_level).tape):
            continue
        area = _square_feet(surface)
        if surface.action is not Action.LEAVE:
            _coats(tally, PRIMER, area, finish.primer_coats, "PT-primer", surface)
        if surface.water_texture and surface.action.gets_board:
            tally.take(
                TEXTURE,
                figures.rate("PT-texture").inverse.of(area),
                "texture, one coat",
                "PT-texture",
                surface=surface.id,
            )
        ceiling = surface.kind is SurfaceKind.CEILING
        spread = "PT-textured" if surface.water_texture else "PT-ceiling" if ceiling else "PT-paint"
        _coats(
            tally,
            CEILING_PAINT if ceiling else WALL_PAINT,
            area,
            finish.paint_coats,
            spread,
            surface,
        )
    return tally.needs()


def _coats(
    tally: Tally, material: Material, area: Amount, coats: int, figure: str, surface: Surface
) -> None:
    if coats:
        tally.take(
            material,
            scale(figures.rate(figure).inverse.of(area), coats),
            f"{coats} coat{'s' if coats > 1 else ''} on the face without its openings",
            figure,
            surface=surface.id,
        )


def sanded(room: RoomGeometry, seams: Sequence[Seam]) -> Iterator[tuple[str, int | None, Amount]]:
    """Return the sanding paper that each surface of `room` takes: for its seams by their level of
    finish, then for a face that is skimmed, whose level is given as None.

    `seams` are those of `room`; a seam counts for its first surface.
    """
    runs: Counter[tuple[str, int]] = Counter()
    for seam in seams:
        if not seam.mortar and level(seam.level).sand and seam.edge is not OpeningEdge.CASED:
            runs[seam.surfaces[0], seam.level] += seam.length
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


def _square_feet(surface: Surface) -> Amount:
    return convert(Amount(face_area(surface) / Fraction(INCH) ** 2, "sq in"), "sq ft")
