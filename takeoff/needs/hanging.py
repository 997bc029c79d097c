"""What hanging the board of a room takes: sheets, screws, adhesive, backers and shims, clips, and
box extenders."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction

from takeoff.boards.first_layers import FirstLayers
from takeoff.boards.plan import JointKind, Sheet, SurfacePlan
from takeoff.catalogue import BoardKind, Catalogue
from takeoff.choices import Action, CutoutKind, Substrate, SurfaceKind
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.framing.members import FramedSurface
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import RoomGeometry
from takeoff.geometry.surface import EdgeKind, Surface
from takeoff.needs.backers import backer_length, panel_share, strips
from takeoff.needs.fastening import (
    FastenerLine,
    Fastening,
    fasteners_along,
    fastening,
    lines,
    screw_length,
)
from takeoff.needs.materials import (
    ADHESIVE,
    BOX_EXTENDER,
    CLIP,
    PANEL,
    SEALANT,
    SHIMS,
    Material,
    is_screw,
    materials,
    screw_material,
    sheet_material,
)
from takeoff.needs.need import Need, Phase
from takeoff.needs.patches import patch_needs
from takeoff.needs.returns import returns_of
from takeoff.needs.shares_of_sheets import sheet_for, sheet_share
from takeoff.needs.tally import Tally
from takeoff.quantities import Amount, from_nm
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm, UnitSystem

__all__ = ["needs", "screw_of", "surface_lines"]

_SCREW_FIGURES = {"coarse": "SC-coarse", "fine": "SC-fine", "tile": "SC-tile"}


def needs(
    room: RoomGeometry,
    framed: Sequence[FramedSurface],
    plans: Sequence[SurfacePlan],
    sheets: Sequence[Sheet],
    unsupported: Sequence[UnsupportedEdge],
    *,
    first: FirstLayers | None = None,
    rules: Rules,
    catalogue: Catalogue,
    units: UnitSystem,
) -> tuple[Need, ...]:
    """Return what hanging `room` takes. `framed`, `plans`, `sheets` and `unsupported` may hold
    those of other rooms too, which are not counted.

    Sheets are those that are cut in this room and are whole, bought or here already. Offcuts, owned
    or of other rooms, are not needed.
    """
    tally = Tally(Phase.HANGING, room.room, units)
    behind = {
        framed_surface.surface.id: framed_surface
        for framed_surface in framed
        if framed_surface.surface.room == room.room
    }
    own = [plan for plan in plans if plan.surface in behind]
    _sheets(tally, [sheet for sheet in sheets if sheet.room == room.room], own, catalogue)
    for plan in own:
        board = catalogue.board(plan.board)
        surface = behind[plan.surface]
        how = fastening(surface, plan, board, rules)
        screw_lines = lines(surface, plan, how.spacing, rules)
        _screws(tally, surface.surface, plan, board, how, screw_lines)
        if how.adhesive:
            _adhesive(tally, surface.surface, screw_lines)
        _edge_screws(tally, surface.surface, plan, board, how, unsupported)
        _returns(tally, surface.surface, plan, board, how, rules, catalogue)
    if first is not None:
        _first_layers(tally, room, behind, first, rules, catalogue)
    for surface_behind in behind.values():
        patch_needs(tally, surface_behind.surface, rules, catalogue)
    if rules.sealant:
        for plan in own:
            _sealant(tally, behind[plan.surface].surface)
    _spare_screws(tally)
    _backers(tally, own, rules)
    for edge in unsupported:
        if edge.surface in behind and edge.support is Support.CLIP and edge.certain:
            _clips(tally, edge, behind[edge.surface].surface)
    for framed_surface in behind.values():
        _box_extenders(tally, framed_surface.surface)
    return tally.needs()


def surface_lines(
    framed: FramedSurface, plan: SurfacePlan, *, rules: Rules, catalogue: Catalogue
) -> tuple[FastenerLine, ...]:
    """Return every line of screws on a surface, as hanging counts them. Taping covers those in the
    field."""
    how = fastening(framed, plan, catalogue.board(plan.board), rules)
    return lines(framed, plan, how.spacing, rules)


def _sheets(
    tally: Tally, sheets: Sequence[Sheet], plans: Sequence[SurfacePlan], catalogue: Catalogue
) -> None:
    surface_of = {piece.code: plan.surface for plan in plans for piece in plan.pieces}
    groups: dict[tuple[Material, str | None], list[Sheet]] = defaultdict(list)
    for sheet in sheets:
        if not sheet.is_whole:
            continue
        placed = [*sheet.crosscuts, *(piece for strip in sheet.strips for piece in strip.pieces)]
        first = next(
            (surface_of[piece.piece] for piece in placed if piece.piece in surface_of), None
        )
        kind = catalogue.board(sheet.board)
        material = sheet_material(kind, sheet.thickness, sheet.width, sheet.length)
        groups[material, first].append(sheet)
    for (material, surface), some in groups.items():
        codes = ", ".join(sheet.code for sheet in some)
        sheets_word = "sheet" if len(some) == 1 else "sheets"
        tally.count(
            material,
            len(some),
            f"{sheets_word} of the board plan begun for this surface: {codes}",
            surface=surface,
        )


def screw_of(surface: Surface, plan: SurfacePlan, board: BoardKind, units: UnitSystem) -> Material:
    """The screws that the boards of `plan` are hung with: long enough for the old lining and the
    first layer under them. Raises `BadValue`, in `units`, where none is."""
    under = Nm(0) if surface.layers == 1 else plan.thickness
    return _screw_through(surface, plan, board, under, units)[0]


def _screw_through(
    surface: Surface, plan: SurfacePlan, board: BoardKind, under: Nm, units: UnitSystem
) -> tuple[Material, tuple[str, str]]:
    """The screws that go through the board and `under` it a first layer, and the figures that
    rests on."""
    steel = surface.framing.substrate is Substrate.STEEL
    figure_id = "GB-28" if steel else "GB-27"
    kind = "tile" if board.tile_backer else "fine" if steel else "coarse"
    thickness = Nm(plan.thickness + under + _old_lining(surface))
    long = screw_length(kind, thickness, penetration=figures.length(figure_id), units=units)
    return screw_material(kind, long), (figure_id, _SCREW_FIGURES[kind])


def _old_lining(surface: Surface) -> Nm:
    return surface.lining if surface.action is Action.BOARD_OVER else Nm(0)


def _screw(
    tally: Tally,
    surface: Surface,
    plan: SurfacePlan,
    board: BoardKind,
    *,
    first_layer: bool = False,
) -> tuple[Material, str, tuple[str, ...]]:
    """The screws, why they are so long, and the figures that rests on."""
    old = _old_lining(surface)
    under = Nm(0) if first_layer or surface.layers == 1 else plan.thickness
    material, rests_on = _screw_through(surface, plan, board, under, tally.units)
    over = f" over {tally.shown(under)} of a first layer" if under else ""
    over += f" over {tally.shown(old)} old lining" if old else ""
    into = "past the steel" if surface.framing.substrate is Substrate.STEEL else "into wood"
    why = (
        f"{tally.shown(plan.thickness)} board{over}, at least "
        f"{tally.shown(figures.length(rests_on[0]))} {into}"
    )
    return material, why, rests_on


def _first_layers(
    tally: Tally,
    room: RoomGeometry,
    behind: Mapping[str, FramedSurface],
    first: FirstLayers,
    rules: Rules,
    catalogue: Catalogue,
) -> None:
    """The sheets and screws of first layers, by plans of their own."""
    sheets: Counter[tuple[Material, str]] = Counter()
    for board_plan in first.plans:
        surface_of = {p.code: plan.surface for plan in board_plan.surfaces for p in plan.pieces}
        for sheet in board_plan.sheets:
            placed = [*sheet.crosscuts, *(p for strip in sheet.strips for p in strip.pieces)]
            if sheet.room == room.room and sheet.is_whole and placed:
                kind = catalogue.board(sheet.board)
                material = sheet_material(kind, sheet.thickness, sheet.width, sheet.length)
                sheets[material, surface_of[placed[0].piece]] += 1
    for (material, surface), count in sheets.items():
        tally.count(
            material,
            count,
            "sheets of the first of two layers, by a plan of its own whose joints keep off those "
            "of the second",
            "SL-base",
            "SL-offset",
            surface=surface,
        )
    for plan in first.surfaces:
        framed = behind.get(plan.surface)
        if framed is None:
            continue
        board = catalogue.board(plan.board)
        how = fastening(framed, plan, board, rules)
        material, why, long_figures = _screw(tally, framed.surface, plan, board, first_layer=True)
        on_members = [line for line in lines(framed, plan, how.spacing, rules) if not line.backer]
        tally.count(
            material,
            sum(line.screws for line in on_members),
            f"first layer: {len(on_members)} lines of framing under {len(plan.pieces)} boards, "
            f"screws at most {tally.shown(how.spacing)} apart ({how.text}); {why}",
            *how.figures,
            "SL-base",
            "HL-01-layout",
            *long_figures,
            surface=plan.surface,
        )


def _screws(
    tally: Tally,
    surface: Surface,
    plan: SurfacePlan,
    board: BoardKind,
    how: Fastening,
    screw_lines: Sequence[FastenerLine],
) -> None:
    material, why, long_figures = _screw(tally, surface, plan, board)
    on_members = [line for line in screw_lines if not line.backer]
    tally.count(
        material,
        sum(line.screws for line in on_members),
        f"{len(on_members)} lines of framing under {len(plan.pieces)} boards, screws at most "
        f"{tally.shown(how.spacing)} apart ({how.text}); {why}",
        *how.figures,
        "HL-01-layout",
        *long_figures,
        surface=surface.id,
    )
    backed = [line for line in screw_lines if line.backer]
    if backed:
        tally.count(
            material,
            sum(line.screws for line in backed),
            f"{len(backed)} board ends screwed to seam backers, at most {tally.shown(how.spacing)} "
            "apart",
            *how.figures,
            "SC-backer",
            surface=surface.id,
        )


def _edge_screws(
    tally: Tally,
    surface: Surface,
    plan: SurfacePlan,
    board: BoardKind,
    how: Fastening,
    unsupported: Sequence[UnsupportedEdge],
) -> None:
    """Screws into nailers that are no member of the layout: along sloping tops and behind standing
    butt ends."""
    for edge in unsupported:
        nailed = edge.surface == surface.id and edge.certain and edge.support is not Support.CLIP
        if nailed and edge.kind in (
            UnsupportedEdgeKind.WALL_TOP,
            UnsupportedEdgeKind.STANDING_BUTT,
            UnsupportedEdgeKind.BRACED_PERIMETER,
        ):
            material, _, long_figures = _screw(tally, surface, plan, board)
            both = 2 if edge.kind is UnsupportedEdgeKind.STANDING_BUTT else 1
            tally.count(
                material,
                both * fasteners_along(edge.length, how.spacing),
                f"along the {edge.support} of an edge ({edge.kind}), at most "
                f"{tally.shown(how.spacing)} apart",
                *how.figures,
                *long_figures,
                surface=surface.id,
            )


def _returns(
    tally: Tally,
    surface: Surface,
    plan: SurfacePlan,
    board: BoardKind,
    how: Fastening,
    rules: Rules,
    catalogue: Catalogue,
) -> None:
    """Board turned into openings: a share of a sheet, and screws into the rough opening."""
    sheet = sheet_for(surface, catalogue, rules)
    for turned in returns_of(surface):
        strips = f"{turned.opening}: {len(turned.sides)} strips {tally.shown(turned.depth)} wide"
        tally.take(
            sheet_material(board, sheet.thickness, sheet.width, sheet.length),
            sheet_share(turned.area, sheet),
            f"{strips}, {tally.run(turned.run)} together, turned into it: their share of a "
            "sheet; an offcut as wide will do",
            "PA-share",
            surface=surface.id,
        )
        two = turned.depth >= figures.length("RT-two-lines")
        material, why, long_figures = _screw(tally, surface, plan, board)
        tally.count(
            material,
            (2 if two else 1) * sum(fasteners_along(side, how.spacing) for side in turned.sides),
            f"{strips}: {'two lines' if two else 'a line'} of screws along each, at most "
            f"{tally.shown(how.spacing)} apart; {why}",
            *how.figures,
            "RT-two-lines",
            "HL-01-layout",
            *long_figures,
            surface=surface.id,
        )


def _sealant(tally: Tally, surface: Surface) -> None:
    """A bead at the plates under the edges of a wall's board, and one round each box."""
    if surface.kind is SurfaceKind.WALL:
        plates = [
            round(length_of(here, there))
            for edge, here, there in zip(
                surface.edges,
                surface.outline,
                surface.outline[1:] + surface.outline[:1],
                strict=True,
            )
            if edge.kind in (EdgeKind.FLOOR, EdgeKind.CEILING)
        ]
        doors = [
            opening.right - opening.left
            for opening in surface.openings
            if opening.bottom <= min(v for _, v in surface.outline)
        ]
        tally.take(
            SEALANT,
            from_nm(Nm(sum(plates) - sum(doors)), "ft"),
            "a bead along the plates at floor and ceiling, doors left out",
            "SE-bead",
            surface=surface.id,
        )
    boxes = [cutout for cutout in surface.cutouts if cutout.kind is CutoutKind.BOX]
    tally.take(
        SEALANT,
        from_nm(Nm(sum(2 * (box.right - box.left + box.top - box.bottom) for box in boxes)), "ft"),
        f"a bead round {len(boxes)} boxes",
        "SE-bead",
        surface=surface.id,
    )


def _spare_screws(tally: Tally) -> None:
    for need in tally.needs():
        if is_screw(need.material):
            spare = -(-need.amount.value * figures.percent("SC-spare") // 1)
            tally.count(
                materials()[need.material],
                int(spare),
                "dropped, stripped or bent, whole screws up",
                "SC-spare",
            )


def _adhesive(tally: Tally, surface: Surface, screw_lines: Sequence[FastenerLine]) -> None:
    on_members = [line for line in screw_lines if not line.backer]
    run = Nm(sum(line.length for line in on_members))
    tally.take(
        ADHESIVE,
        from_nm(run, "ft"),
        f"a bead along each of {len(on_members)} lines of framing under the boards",
        "AD-bead",
        surface=surface.id,
    )


def _backers(tally: Tally, plans: Sequence[SurfacePlan], rules: Rules) -> None:
    lengths: dict[str, list[Nm]] = {}
    for plan in plans:
        heights: Mapping[int, Nm] = {row.index: Nm(row.high - row.low) for row in plan.rows}
        for joint in plan.joints:
            if joint.kind is JointKind.FLOATING:
                lengths.setdefault(plan.surface, []).append(backer_length(heights[joint.row]))
    if not lengths:
        return
    backers = [backer for some in lengths.values() for backer in some]
    share = panel_share(strips(backers, rules.kerf), rules.kerf)
    for surface, some in lengths.items():
        tally.take(
            PANEL,
            Amount(share * Fraction(sum(some), sum(backers)), "each"),
            f"{len(some)} seam backers; the room's {len(backers)} come out of strips cut across "
            "panels",
            "BB-width",
            "BB-length",
            "BB-thickness",
            "BB-panel-length",
            surface=surface,
        )
        tally.take(
            SHIMS,
            from_nm(Nm(figures.count("BB-shims") * sum(some)), "ft"),
            f"along both long edges of {len(some)} seam backers",
            "BB-shim-thickness",
            "BB-shim-width",
            surface=surface,
        )


def _clips(tally: Tally, edge: UnsupportedEdge, surface: Surface) -> None:
    spacing = figures.length("FR-12")
    tally.count(
        CLIP,
        -(-edge.length // spacing) + 1,
        f"{edge.text.removeprefix(f'{surface.name}: ')}: clips at most {tally.shown(spacing)} "
        "apart along "
        f"{tally.run(edge.length)}",
        "FR-12",
        surface=edge.surface,
    )


def _box_extenders(tally: Tally, surface: Surface) -> None:
    if surface.action is not Action.BOARD_OVER or surface.board.thickness <= figures.length(
        "FB-extender"
    ):
        return
    boxes = sum(cutout.kind is CutoutKind.BOX for cutout in surface.cutouts)
    tally.count(
        BOX_EXTENDER,
        boxes,
        f"{tally.shown(surface.board.thickness)} board over the old surface sets every box back by "
        "as much",
        "FB-extender",
        surface=surface.id,
    )
