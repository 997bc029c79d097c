"""What is marked on a piece while it lies: holes, notches, screw lines, backers, each from the
piece's own edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from takeoff.boards.plan import JointKind, Piece, SurfacePlan
from takeoff.cards.frames import Lay, SideUp
from takeoff.cards.tape import tape
from takeoff.choices import CutoutKind, OpeningKind, Runs, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.surface import PlacedCutout, PlacedOpening, Point, Surface
from takeoff.needs.backers import backer_length
from takeoff.needs.fastening import FastenerLine
from takeoff.reference import figures
from takeoff.units import INCH, SIXTEENTH, Nm, UnitSystem

__all__ = [
    "DEFAULT_SETTINGS",
    "Area",
    "BackerMark",
    "CardSettings",
    "CutWhen",
    "HoleMark",
    "NotchMark",
    "ScrewLine",
    "backers_on",
    "holes_on",
    "notches_on",
    "screw_lines_on",
]

# A hole so near an edge leaves board that breaks when the hole is sawn; common practice, no
# published source.
NEAR_EDGE = Nm(2 * INCH)
# A leg of board narrower than this beside a notch breaks when it is carried; common practice, no
# published source.
THIN_LEG = Nm(6 * INCH)
# An opening marked from the wrong end is seen at a glance where it comes out farther off than this;
# common practice, no published source.
SEEN_AT_ONCE = Nm(6 * INCH)


class CutWhen(StrEnum):
    """When a hole is cut: while the sheet lies on the floor, or once the piece hangs. For a hole
    cut in place only its centre is marked on the floor."""

    FLOOR = "cut on the floor"
    IN_PLACE = "cut in place"


@dataclass(frozen=True, slots=True, kw_only=True)
class CardSettings:
    """How sheets are marked.

    `up` is the side of the sheet that is up. `allowance` is added on every side of a hole (1/16 in,
    common practice, no published source). `in_place` holds the ids of boxes that are cut once the
    board hangs. `sawn_later` holds the ids of windows and doors that are left whole until then.
    """

    up: SideUp = SideUp.FACE
    allowance: Nm = SIXTEENTH
    in_place: frozenset[str] = field(default_factory=frozenset)
    sawn_later: frozenset[str] = field(default_factory=frozenset)


DEFAULT_SETTINGS = CardSettings()


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of a piece as it lies: x from its left end, y from its near edge."""

    left: Nm
    near: Nm
    right: Nm
    far: Nm

    @property
    def middle(self) -> Point:
        return Nm((self.left + self.right) // 2), Nm((self.near + self.far) // 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleMark:
    """One hole as it is marked on the lying piece. `cut` is the line to cut: the box with the
    tool's allowance around it.

    Two measures place it in each direction: `left` + hole + `right` is the piece's length, `near` +
    hole + `far` is its width. Together they show a mark that was made from the wrong end. `crosses`
    names the other pieces that the hole runs into. One that is not `is_whole` runs into those, or
    out over the edge of the board. `notes` are warnings.
    """

    id: str
    name: str
    kind: CutoutKind
    round: bool
    box: Area
    cut: Area
    left: Nm
    right: Nm
    near: Nm
    far: Nm
    when: CutWhen
    crosses: tuple[str, ...]
    is_whole: bool
    notes: tuple[str, ...]

    @property
    def by_center(self) -> bool:
        """Whether it is marked by its center: a round one, and one that is cut in place. Of a hole
        that is not whole on its piece the edges of its part are marked instead."""
        return (self.round or self.when is CutWhen.IN_PLACE) and self.is_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class NotchMark:
    """The part of a lying piece that an opening takes out, and how it is cut. `open_sides` are the
    sides of the notch that lie at the edge of the piece. `notes` are warnings."""

    id: str
    name: str
    kind: OpeningKind
    area: Area
    open_sides: tuple[str, ...]
    later: bool
    steps: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewLine:
    """A line of screws into a member behind the lying piece.

    `upright` lines run across the lying piece, at one x; the others run along it. The line is at
    `at` and runs from `low` to `high`. `faces` are the two sides of the member, which are marked at
    both edges of the piece. Screws are at most `spacing` apart.
    """

    upright: bool
    at: Nm
    low: Nm
    high: Nm
    faces: tuple[Nm, Nm]
    screws: int
    spacing: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class BackerMark:
    """A backer behind a floating seam at an end of a piece. `area` is the part of it that this
    piece covers, as the piece lies."""

    area: Area
    meets: tuple[str, ...]
    length: Nm


def _area(lay: Lay, left_edge: Nm, bottom: Nm, right_edge: Nm, top: Nm) -> Area:
    (x0, y0), (x1, y1) = lay.to_lying((left_edge, bottom)), lay.to_lying((right_edge, top))
    return Area(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def _clipped(
    lay: Lay, left_edge: Nm, bottom: Nm, right_edge: Nm, top: Nm
) -> tuple[Nm, Nm, Nm, Nm] | None:
    left_edge, right_edge = max(left_edge, lay.left), min(right_edge, Nm(lay.left + lay.width))
    bottom, top = max(bottom, lay.bottom), min(top, Nm(lay.bottom + lay.height))
    return (left_edge, bottom, right_edge, top) if left_edge < right_edge and bottom < top else None


def holes_on(
    piece: Piece,
    lay: Lay,
    plan: SurfacePlan,
    framed: FramedSurface,
    settings: CardSettings,
    units: UnitSystem,
) -> tuple[HoleMark, ...]:
    """The holes on `piece`, from its left end on. A hole that runs over an edge of the piece is
    marked up to that edge."""
    holes = []
    for cutout in framed.surface.cutouts:
        part = _clipped(lay, cutout.left, cutout.bottom, cutout.right, cutout.top)
        if part is None:
            continue
        box = _area(lay, *part)
        more = settings.allowance
        cut = Area(
            max(Nm(0), Nm(box.left - more)),
            max(Nm(0), Nm(box.near - more)),
            min(lay.long, Nm(box.right + more)),
            min(lay.across, Nm(box.far + more)),
        )
        crosses = tuple(
            other.code
            for other in plan.pieces
            if other.code != piece.code and _overlaps(cutout, other, plan)
        )
        holes.append(
            HoleMark(
                id=cutout.id,
                name=cutout.name,
                kind=cutout.kind,
                round=cutout.is_round,
                box=box,
                cut=cut,
                left=cut.left,
                right=Nm(lay.long - cut.right),
                near=cut.near,
                far=Nm(lay.across - cut.far),
                when=CutWhen.IN_PLACE if cutout.id in settings.in_place else CutWhen.FLOOR,
                crosses=crosses,
                is_whole=part == (cutout.left, cutout.bottom, cutout.right, cutout.top),
                notes=tuple(_notes(cutout, box, crosses, lay, framed, units)),
            )
        )
    return tuple(sorted(holes, key=lambda hole: (hole.box.left, hole.box.near)))


def _overlaps(cutout: PlacedCutout, other: Piece, plan: SurfacePlan) -> bool:
    along = (cutout.left, cutout.right, cutout.bottom, cutout.top)
    start, end, low, high = (
        along if plan.rows_run is Runs.ALONG else (along[2], along[3], along[0], along[1])
    )
    return start < other.end and end > other.start and low < other.high and high > other.low


def _notes(
    cutout: PlacedCutout,
    box: Area,
    crosses: Sequence[str],
    lay: Lay,
    framed: FramedSurface,
    units: UnitSystem,
) -> Iterator[str]:
    if crosses:
        yield (
            f"{cutout.name} lies over a seam: part of it is in {' and '.join(crosses)}. Cut it "
            "in place"
        )
    yield from _nearly_fits(cutout.name, box, lay, units)
    edges = [box.left, box.near, lay.long - box.right, lay.across - box.far]
    nearest = Nm(min(edges))
    if nearest < NEAR_EDGE and not crosses:
        yield (
            f"{cutout.name} is {tape(nearest, units)} from an edge: the strip beside it breaks "
            "easily"
        )
    for opening in framed.surface.openings:
        aside = max(opening.left - cutout.right, cutout.left - opening.right)
        above = max(opening.bottom - cutout.top, cutout.bottom - opening.top)
        if max(aside, above) < 0:
            yield (
                f"{cutout.name} lies in {opening.name}, where there is no board: measure again "
                "where it is"
            )
        elif max(aside, 0) ** 2 + max(above, 0) ** 2 < NEAR_EDGE**2:
            near = f"less than {tape(NEAR_EDGE, units)} from {opening.name}"
            yield f"{cutout.name} is {near}: the strip between them breaks easily"
    for member in framed.members:
        half = member.width // 2
        low, high = Nm(member.centre - half), Nm(member.centre + half)
        across = (low, high, member.low, member.high)
        left_edge, right_edge, bottom, top = (
            across if member.runs is Runs.ACROSS else (across[2], across[3], low, high)
        )
        if (
            cutout.left < right_edge
            and cutout.right > left_edge
            and cutout.bottom < top
            and cutout.top > bottom
        ):
            behind = "stud" if framed.surface.kind is SurfaceKind.WALL else "joist or rafter"
            yield f"{cutout.name} lies on a {behind}: look again where it was measured from"
            break


def _nearly_fits(
    name: str, area: Area, lay: Lay, units: UnitSystem, *, most: Nm | None = None
) -> Iterator[str]:
    """A warning for each way in which a hole that is marked from the wrong end still comes to lie
    over its own place, at most `most` off. One that reaches both ends is the same either way."""
    for low, high, size, way in (
        (area.left, area.right, lay.long, "left and right"),
        (area.near, area.far, lay.across, "near and far"),
    ):
        # measured from the wrong end, the hole comes out this far from where it belongs
        off = abs(low + high - size)
        if 0 < off < (high - low if most is None else min(high - low, most)):
            yield (
                f"{name} turned {way} would still nearly fit: only {tape(Nm(off), units)} off. "
                "Check which end is which before cutting"
            )


def notches_on(
    piece: Piece, lay: Lay, surface: Surface, settings: CardSettings, units: UnitSystem
) -> tuple[NotchMark, ...]:
    """The notches that the openings of `surface` cut into `piece`, from its left end on."""
    notches = []
    for opening in surface.openings:
        part = _clipped(lay, opening.left, opening.bottom, opening.right, opening.top)
        if part is None:
            continue
        area = _area(lay, *part)
        open_sides = tuple(
            side
            for side, at_edge in (
                ("left", area.left == 0),
                ("near", area.near == 0),
                ("right", area.right == lay.long),
                ("far", area.far == lay.across),
            )
            if at_edge
        )
        later = opening.id in settings.sawn_later
        steps = (
            _later_steps(opening) if later else tuple(_steps(opening, area, open_sides, lay, units))
        )
        notches.append(
            NotchMark(
                id=opening.id,
                name=opening.name,
                kind=opening.kind,
                area=area,
                open_sides=open_sides,
                later=later,
                steps=steps,
                notes=tuple(_nearly_fits(opening.name, area, lay, units, most=SEEN_AT_ONCE)),
            )
        )
    return tuple(sorted(notches, key=lambda notch: (notch.area.left, notch.area.near)))


def _later_steps(opening: PlacedOpening) -> tuple[str, ...]:
    whole = f"{opening.name}: hang the board whole over it, screw round it"
    return (f"{whole}, then saw it out along the framing from inside the opening",)


def _steps(
    opening: PlacedOpening, area: Area, open_sides: Sequence[str], lay: Lay, units: UnitSystem
) -> Iterator[str]:
    if not open_sides:
        yield f"{opening.name}: drill or stab the corners, saw all four sides"
    elif len(open_sides) == 1:
        from_end = open_sides[0] in ("left", "right")
        long, wide = Nm(area.right - area.left), Nm(area.far - area.near)
        deep, third = (long, wide) if from_end else (wide, long)
        yield (
            f"{opening.name}: saw in from the {open_sides[0]} {'end' if from_end else 'edge'} "
            f"twice, {tape(deep, units)} deep, then score the third side ({tape(third, units)}) "
            "and fold it out"
        )
    elif len(open_sides) == 2:
        yield f"{opening.name}: saw the shorter side, then score the longer one and fold it out"
    else:
        yield f"{opening.name}: one cut straight across takes it off"
    legs = [
        leg
        for leg, side in (
            (area.left, "left"),
            (Nm(lay.long - area.right), "right"),
            (area.near, "near"),
            (Nm(lay.across - area.far), "far"),
        )
        if side not in open_sides and 0 < leg < THIN_LEG
    ]
    if legs and min(legs) < figures.length("HL-core"):
        yield (
            f"A tongue of {tape(min(legs), units)} is left beside it: it breaks easily, so cut it "
            "off and fill the strip where a casing covers it"
        )
    elif legs:
        yield f"A leg of {tape(min(legs), units)} stays beside it: do not lift the board by it"


def screw_lines_on(
    piece: Piece, lay: Lay, lines: Sequence[FastenerLine], spacing: Nm
) -> tuple[ScrewLine, ...]:
    """The lines of screws on `piece` as it lies: those across it from its left end on, then those
    along it from its near edge on."""
    screw_lines = []
    for line in lines:
        if line.piece != piece.code or line.backer:
            continue
        along = line.runs is Runs.ACROSS
        corners = [
            (line.at, line.low),
            (line.at, Nm(line.low + line.length)),
            (line.face[0], line.low),
            (line.face[1], line.low),
        ]
        spots = [lay.to_lying((at, low) if along else (low, at)) for at, low in corners]
        # both ends of the line, then a spot on each face of the member
        (x0, y0), (x1, y1), (f0, g0), (f1, g1) = spots
        upright = x0 == x1
        low, high, at = (
            (min(y0, y1), max(y0, y1), x0) if upright else (min(x0, x1), max(x0, x1), y0)
        )
        sides = (f0, f1) if upright else (g0, g1)
        screw_lines.append(
            ScrewLine(
                upright=upright,
                at=at,
                low=low,
                high=high,
                faces=(min(sides), max(sides)),
                screws=line.screws,
                spacing=spacing,
            )
        )
    return tuple(sorted(screw_lines, key=lambda line: (not line.upright, line.at, line.low)))


def backers_on(piece: Piece, lay: Lay, plan: SurfacePlan) -> tuple[BackerMark, ...]:
    """The backers behind the floating seams at the ends of `piece`, from its left end on."""
    half = Nm(figures.length("BB-width") // 2)
    backers = []
    for joint in plan.joints:
        if (
            joint.kind is not JointKind.FLOATING
            or joint.row != piece.row
            or joint.at not in (piece.start, piece.end)
        ):
            continue
        long = backer_length(Nm(piece.high - piece.low))
        middle = (piece.low + piece.high) // 2
        start, end = max(piece.start, joint.at - half), min(piece.end, joint.at + half)
        low, high = middle - long // 2, middle + long // 2
        box = (start, low, end, high) if plan.rows_run is Runs.ALONG else (low, start, high, end)
        others = tuple(
            other.code
            for other in plan.pieces
            if other.row == joint.row
            and other.code != piece.code
            and joint.at in (other.start, other.end)
        )
        backers.append(
            BackerMark(area=_area(lay, *(Nm(side) for side in box)), meets=others, length=long)
        )
    return tuple(sorted(backers, key=lambda mark: mark.area.left))
