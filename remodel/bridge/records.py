"""Rows to engine values and back, without loss.

`house_value` reads a house and all that hangs on it (see `house.queries.whole_house`);
`columns_of_*` say which columns a value fills. Nothing here reads or writes the database by itself,
but for following the relations it is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, TypeAlias

from remodel.bridge import built as built_ins
from remodel.bridge import let_in
from remodel.bridge.on_sale import in_use, pack_content, sheet_size
from takeoff import codec
from takeoff.catalogue import (
    BoardEdges,
    BoardKind,
    Catalogue,
    Cutting,
    MaterialOnSale,
    OwnedSheet,
    Pack,
    SheetOnSale,
    StockItem,
)
from takeoff.choices import (
    Above,
    Action,
    CeilingKind,
    Compound,
    CountedBy,
    CutoutKind,
    Found,
    FramedWhen,
    HiddenKind,
    JointMode,
    MeasuredTo,
    MeasureTo,
    OldLining,
    OpeningEdge,
    OpeningGiven,
    OpeningKind,
    Orientation,
    Sheen,
    Side,
    SurfaceKind,
    Tape,
)
from takeoff.house import (
    AddedNeed,
    BehindPartition,
    Ceiling,
    Cutout,
    Finish,
    Framing,
    HiddenItem,
    House,
    Leg,
    Measure,
    Opening,
    Outline,
    OwnPhase,
    Paint,
    Partition,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceChoice,
    SurfaceList,
    Wall,
)
from takeoff.quantities import Amount, Cents, format_amount, parse_amount
from takeoff.rules import BoardChoice, Rules
from takeoff.units import Nm, UnitSystem

__all__ = [
    "USUAL_RULES",
    "Catalogue",
    "House",
    "OwnedSheet",
    "Partition",
    "Room",
    "Rules",
    "StockItem",
    "board_kinds_value",
    "catalogue_value",
    "changed_rules",
    "check_row",
    "columns_of_added",
    "columns_of_board",
    "columns_of_choice",
    "columns_of_cutout",
    "columns_of_hidden",
    "columns_of_opening",
    "columns_of_partition",
    "columns_of_room",
    "framing_columns",
    "house_value",
    "rules_columns",
    "rules_of",
    "rules_with",
    "stock_items",
    "thing_value",
    "walls_of",
]

# A row is anything with the columns of its table in `house`, `work` or `supply`. These apps stand
# on this package, so it cannot name their models.
AddedNeedRow: TypeAlias = Any
CutoutRow: TypeAlias = Any
HiddenItemRow: TypeAlias = Any
HouseRow: TypeAlias = Any
OpeningRow: TypeAlias = Any
OwnedSheetRow: TypeAlias = Any
PartitionRow: TypeAlias = Any
RoomRow: TypeAlias = Any
SurfaceChoiceRow: TypeAlias = Any


def house_value(
    house: HouseRow,
    *,
    stock: Sequence[StockItem] = (),
    catalogue: Catalogue | None = None,
    only_here: bool = False,
) -> House:
    """The engine's value of a house. `stock` is what the ledger says is on hand.

    Offcuts that were cut up are among the owned sheets, for the plan they were cut by goes on
    taking them; with `only_here` they are not, as in a file that tells what is here.
    """
    rooms = list(house.rooms.all())
    return House(
        id=house.key,
        name=house.name,
        units=UnitSystem(house.units),
        rooms=tuple(_room(room) for room in rooms),
        partitions=_partitions(house, rooms),
        rules=replace(
            codec.read(Rules, {**codec.write(Rules()), **house.rules}),
            owned=tuple(
                replace(_owned(owned_sheet), count=count)
                for owned_sheet in house.owned_sheets.all()
                if (count := owned_sheet.here if only_here else _not_spoiled(owned_sheet))
            ),
        ),
        catalogue=catalogue_value(house) if catalogue is None else catalogue,
        stock=tuple(stock),
        note=house.note,
    )


def board_kinds_value(house: HouseRow) -> Catalogue:
    """A catalogue of the kinds of board alone, which is all that the shapes of rooms need."""
    return Catalogue(
        currency=house.currency,
        boards=tuple(
            BoardKind(
                id=board_kind.key,
                name=board_kind.name,
                edges=BoardEdges(board_kind.edges),
                cutting=Cutting(board_kind.cutting),
                sag_resistant=board_kind.sag_resistant,
                tile_backer=board_kind.tile_backer,
                moisture_resistant=board_kind.moisture_resistant,
                fire_rated=board_kind.fire_rated,
                weights=tuple(
                    (Nm(thickness), Decimal(psf)) for thickness, psf in board_kind.weights
                ),
            )
            for board_kind in house.board_kinds.all()
        ),
    )


def catalogue_value(house: HouseRow) -> Catalogue:
    """What is on sale, as the engine takes it: of what several stores sell, the one that is bought
    (`on_sale.in_use`). A material without a pack is not on sale and is left out."""
    return replace(
        board_kinds_value(house),
        sheets=tuple(
            SheetOnSale(
                board=sheet.board,
                thickness=Nm(sheet.thickness),
                width=Nm(sheet.width),
                length=Nm(sheet.length),
                price=Cents(sheet.price),
            )
            for sheet in in_use(house.sheets.all(), sheet_size)
        ),
        materials=tuple(
            MaterialOnSale(
                id=material.key,
                name=material.name,
                cut=material.cut,
                packs=tuple(
                    Pack(
                        name=pack.name,
                        holds=pack.amount,
                        price=Cents(pack.price),
                        weight=pack.weight,
                    )
                    for pack in packs
                ),
            )
            for material in house.materials.all()
            if (packs := in_use(material.packs.all(), pack_content))
        ),
        sample=house.sample_prices,
    )


def _room(room: RoomRow) -> Room:
    phases = list(room.phases.all())
    added = [need for phase in phases for need in phase.added.all()]
    return Room(
        id=room.key,
        name=room.name,
        shape=_shape(room),
        ceiling=_ceiling(room),
        measured_to=MeasuredTo(room.measured_to),
        openings=tuple(_opening(opening) for opening in room.openings.all()),
        cutouts=tuple(_cutout(cutout) for cutout in room.cutouts.all()),
        hidden=tuple(_hidden(hidden_item) for hidden_item in room.hidden_items.all()),
        surfaces=tuple(_choice(choice) for choice in room.choices.all()),
        wall_framing=_framing(room.wall_framing),
        ceiling_framing=_framing(room.ceiling_framing),
        wall_board=_board(room, "wall_board"),
        ceiling_board=_board(room, "ceiling_board"),
        finish=_finish(room),
        hang_first=tuple(room.hang_first),
        longest_board=_nm(room.longest_board),
        heaviest_lift=room.heaviest_lift,
        pile=room.pile,
        finished=room.finished,
        code=room.code,
        garage=room.garage,
        slab=room.slab,
        built=built_ins.built_of(room.built),
        taken_out=built_ins.taken_out_of(room.taken_out),
        phases=tuple(OwnPhase(id=phase.key, name=phase.name) for phase in phases if phase.own),
        added=tuple(
            _added(need) for need in sorted(added, key=lambda need: (need.position, need.key))
        ),
    )


def _added(row: AddedNeedRow) -> AddedNeed:
    return AddedNeed(
        id=row.key,
        phase=row.phase.key,
        material=row.material,
        amount=parse_amount(row.amount),
        goes_by=CountedBy(row.goes_by),
        per=parse_amount(row.per) if row.per else None,
        waste=row.waste,
        note=row.note,
    )


def columns_of_added(need: AddedNeed) -> dict[str, Any]:
    """The columns of what was added to a phase. The phase is told by its key, and has a row of its
    own."""
    return {
        "key": need.id,
        "material": need.material,
        "amount": format_amount(need.amount),
        "goes_by": need.goes_by.value,
        "per": "" if need.per is None else format_amount(need.per),
        "waste": need.waste,
        "note": need.note,
    }


def _ceiling(room: RoomRow) -> Ceiling:
    return Ceiling(
        kind=CeilingKind(room.ceiling_kind),
        height=Nm(room.ceiling_height),
        low_wall=room.ceiling_low_wall or None,
        high=_nm(room.ceiling_high),
        ridge_at=_nm(room.ceiling_ridge_at),
        far_height=_nm(room.ceiling_far_height),
        flat_at=_nm(room.ceiling_flat_at),
        flat_width=_nm(room.ceiling_flat_width),
    )


def _finish(room: RoomRow) -> Finish:
    return Finish(
        wall_level=room.wall_level,
        ceiling_level=room.ceiling_level,
        compound=Compound(room.compound),
        tape=Tape(room.tape),
        primer_coats=room.primer_coats,
        paint_coats=room.paint_coats,
        texture=room.texture,
        wall_paint=_paint(room, "wall_paint"),
        ceiling_paint=_paint(room, "ceiling_paint"),
    )


def _paint(row: Any, name: str) -> Paint | None:
    color, sheen = getattr(row, f"{name}_color"), getattr(row, f"{name}_sheen")
    # A sheen without a color is refused by the paint itself.
    return Paint(color=color, sheen=Sheen(sheen)) if color or sheen else None


def _paint_columns(name: str, paint: Paint | None) -> dict[str, Any]:
    return {
        f"{name}_color": paint.color if paint else "",
        f"{name}_sheen": paint.sheen.value if paint else "",
    }


def _shape(room: RoomRow) -> QuickRoom | Outline | SurfaceList | BehindPartition:
    if room.shape == "behind":
        assert room.behind is not None
        return BehindPartition(partition=room.behind.key)
    walls = list(room.walls.all())
    letters: set[str] = set()
    if room.shape == "quick":
        return QuickRoom(length=Nm(walls[0].length), width=Nm(walls[1].length))
    if room.shape == "walls":
        return Outline(
            walls=tuple(
                Wall(
                    id=wall.key,
                    name=wall.name,
                    length=Nm(wall.length),
                    turn=wall.turn,
                    letter=_once(wall.letter, letters),
                )
                for wall in walls
            )
        )
    return SurfaceList(
        surfaces=tuple(
            PlainSurface(
                id=wall.key,
                name=wall.name,
                kind=SurfaceKind(wall.kind),
                width=Nm(wall.length),
                height=Nm(wall.height or 0),
                letter=_once(wall.letter, letters),
            )
            for wall in walls
        )
    )


def _once(letter: str, letters: set[str]) -> str:
    """The letter, noted among `letters`; none where it is there already. Two walls have one letter
    where a wall that was removed is put back, and then the second gets another."""
    if letter in letters:
        return ""
    letters.add(letter)
    return letter


def walls_of(room: Room) -> list[dict[str, Any]]:
    """The columns of the wall rows a room's shape needs; none for a room behind a partition."""
    match room.shape:
        case QuickRoom(length=length, width=width):
            sides = (("A", length), ("B", width), ("C", length), ("D", width))
            return [
                {"key": key, "name": f"Wall {key}", "length": side, "letter": key}
                for key, side in sides
            ]
        case Outline(walls=walls):
            return [
                {
                    "key": wall.id,
                    "name": wall.name,
                    "length": wall.length,
                    "turn": wall.turn,
                    "letter": wall.letter,
                }
                for wall in walls
            ]
        case SurfaceList(surfaces=surfaces):
            return [
                {
                    "key": surface.id,
                    "name": surface.name,
                    "length": surface.width,
                    "height": surface.height,
                    "kind": surface.kind.value,
                    "letter": surface.letter,
                }
                for surface in surfaces
            ]
    return []


_SHAPES = {QuickRoom: "quick", Outline: "walls", SurfaceList: "surfaces", BehindPartition: "behind"}


def columns_of_room(room: Room) -> dict[str, Any]:
    """The columns of a room's own row."""
    ceiling, finish = room.ceiling, room.finish
    return {
        "key": room.id,
        "name": room.name,
        "shape": _SHAPES[type(room.shape)],
        "ceiling_kind": ceiling.kind.value,
        "ceiling_height": ceiling.height,
        "ceiling_low_wall": ceiling.low_wall or "",
        "ceiling_high": ceiling.high,
        "ceiling_ridge_at": ceiling.ridge_at,
        "ceiling_far_height": ceiling.far_height,
        "ceiling_flat_at": ceiling.flat_at,
        "ceiling_flat_width": ceiling.flat_width,
        "measured_to": room.measured_to.value,
        "wall_framing": framing_columns(room.wall_framing),
        "ceiling_framing": framing_columns(room.ceiling_framing),
        **columns_of_board("wall_board", room.wall_board),
        **columns_of_board("ceiling_board", room.ceiling_board),
        "wall_level": finish.wall_level,
        "ceiling_level": finish.ceiling_level,
        "compound": finish.compound.value,
        "tape": finish.tape.value,
        "primer_coats": finish.primer_coats,
        "paint_coats": finish.paint_coats,
        "texture": finish.texture,
        **_paint_columns("wall_paint", finish.wall_paint),
        **_paint_columns("ceiling_paint", finish.ceiling_paint),
        "hang_first": list(room.hang_first),
        "longest_board": room.longest_board,
        "heaviest_lift": room.heaviest_lift,
        "pile": room.pile,
        "finished": room.finished,
        "code": room.code,
        "garage": room.garage,
        "slab": room.slab,
        "built": built_ins.built_column(room.built),
        "taken_out": built_ins.taken_out_column(room.taken_out),
    }


def _board(row: Any, name: str) -> BoardChoice | None:
    kind = getattr(row, f"{name}_kind")
    if not kind:
        return None
    return BoardChoice(
        kind=kind,
        thickness=Nm(getattr(row, f"{name}_thickness")),
        width=_nm(getattr(row, f"{name}_width")),
    )


def columns_of_board(name: str, board: BoardChoice | None) -> dict[str, Any]:
    """The board kind and size in three columns; empty where the default stands."""
    return {
        f"{name}_kind": board.kind if board else "",
        f"{name}_thickness": board.thickness if board else None,
        f"{name}_width": board.width if board else None,
    }


def _framing(raw: dict[str, Any] | None) -> Framing | None:
    return None if raw is None else codec.read(Framing, raw)


def framing_columns(framing: Framing | None) -> dict[str, Any] | None:
    """Framing as the JSON its column keeps, with lengths in whole nanometers; None where no field
    holds anything."""
    return None if framing is None else codec.write(framing)


def thing_value(row: Any) -> Opening | Cutout | HiddenItem:
    """What a row on a surface says: an opening, a cut-out, or what is behind the board."""
    if hasattr(row, "sill"):
        return _opening(row)
    return _hidden(row) if hasattr(row, "planned") else _cutout(row)


def _opening(row: OpeningRow) -> Opening:
    return Opening(
        id=row.key,
        name=row.name,
        kind=OpeningKind(row.kind),
        wall=row.surface_key,
        left=Nm(row.left),
        sill=Nm(row.sill),
        width=Nm(row.width),
        height=Nm(row.height),
        given=OpeningGiven(row.given),
        edge=OpeningEdge(row.edge),
        return_depth=_nm(row.return_depth),
        found=Found(row.found),
        nonbearing=row.nonbearing,
    )


def columns_of_opening(opening: Opening) -> dict[str, Any]:
    return {
        "key": opening.id,
        "name": opening.name,
        "kind": opening.kind.value,
        "left": opening.left,
        "sill": opening.sill,
        "width": opening.width,
        "height": opening.height,
        "given": opening.given.value,
        "edge": opening.edge.value,
        "return_depth": opening.return_depth,
        "found": opening.found.value,
        "nonbearing": opening.nonbearing,
    }


def _measure(row: Any, name: str) -> Measure:
    return Measure(
        origin=getattr(row, f"{name}_origin"),
        distance=Nm(getattr(row, f"{name}_distance")),
        to=MeasureTo(getattr(row, f"{name}_to")),
    )


def _measure_columns(name: str, measure: Measure) -> dict[str, Any]:
    return {
        f"{name}_origin": measure.origin,
        f"{name}_distance": measure.distance,
        f"{name}_to": measure.to.value,
    }


def _cutout(row: CutoutRow) -> Cutout:
    return Cutout(
        id=row.key,
        name=row.name,
        kind=CutoutKind(row.kind),
        surface=row.surface_key,
        across=_measure(row, "across"),
        up=_measure(row, "up"),
        width=Nm(row.width),
        height=_nm(row.height),
        along=row.along or None,
    )


def columns_of_cutout(cutout: Cutout) -> dict[str, Any]:
    return {
        "key": cutout.id,
        "name": cutout.name,
        "kind": cutout.kind.value,
        **_measure_columns("across", cutout.across),
        **_measure_columns("up", cutout.up),
        "width": cutout.width,
        "height": cutout.height,
        "along": cutout.along or "",
    }


def _hidden(row: HiddenItemRow) -> HiddenItem:
    return HiddenItem(
        id=row.key,
        name=row.name,
        kind=HiddenKind(row.kind),
        surface=row.surface_key,
        across=_measure(row, "across"),
        up=_measure(row, "up"),
        width=Nm(row.width),
        height=Nm(row.height),
        planned=row.planned,
        lumber=row.lumber,
    )


def columns_of_hidden(item: HiddenItem) -> dict[str, Any]:
    return {
        "key": item.id,
        "name": item.name,
        "kind": item.kind.value,
        **_measure_columns("across", item.across),
        **_measure_columns("up", item.up),
        "width": item.width,
        "height": item.height,
        "planned": item.planned,
        "lumber": item.lumber,
    }


def _choice(row: SurfaceChoiceRow) -> SurfaceChoice:
    return SurfaceChoice(
        of=row.surface_key,
        action=Action(row.action) if row.action else None,
        lining=_nm(row.lining),
        old_lining=OldLining(row.old_lining) if row.old_lining else None,
        board=_board(row, "board"),
        orientation=Orientation(row.orientation) if row.orientation else None,
        joint_mode=JointMode(row.joint_mode) if row.joint_mode else None,
        framing=_framing(row.framing),
        rated=row.rated or None,
        wet=row.wet,
        braces=row.braces,
        insulated=row.insulated,
        tiled=row.tiled,
        above=Above(row.above) if row.above else None,
        insulation=let_in.insulation_of(row.insulation),
        patches=let_in.patches_of(row.patches),
        layers=row.layers,
        paint=_paint(row, "paint"),
        most_load=row.most_load,
    )


def columns_of_choice(choice: SurfaceChoice) -> dict[str, Any]:
    return {
        "action": choice.action.value if choice.action else "",
        "lining": choice.lining,
        "old_lining": choice.old_lining.value if choice.old_lining else "",
        **columns_of_board("board", choice.board),
        "orientation": choice.orientation.value if choice.orientation else "",
        "joint_mode": choice.joint_mode.value if choice.joint_mode else "",
        "framing": framing_columns(choice.framing),
        "rated": choice.rated or "",
        "wet": choice.wet,
        "braces": choice.braces,
        "insulated": choice.insulated,
        "tiled": choice.tiled,
        "above": choice.above.value if choice.above else "",
        "insulation": let_in.insulation_columns(choice.insulation),
        "patches": let_in.patch_columns(choice.patches),
        "layers": choice.layers,
        **_paint_columns("paint", choice.paint),
        "most_load": choice.most_load,
    }


def _partitions(house: HouseRow, rooms: Sequence[RoomRow]) -> tuple[Partition, ...]:
    letters = {room.pk: {wall.letter for wall in room.walls.all()} for room in rooms}
    return tuple(
        _partition(partition, letters.setdefault(partition.room_id, set()))
        for partition in house.partitions.all()
    )


def _partition(row: PartitionRow, letters: set[str]) -> Partition:
    letter = _once(row.letter, letters)
    legs = [codec.read(Leg, leg) for leg in row.legs_now]
    return Partition(
        id=row.key,
        name=row.name,
        room=row.room.key,
        wall=row.surface_key,
        at=Nm(row.at),
        side=Side(row.side),
        length=_nm(row.length),
        legs=tuple(replace(leg, letter=_once(leg.letter, letters)) for leg in legs),
        framed=FramedWhen(row.framed),
        bearing=row.bearing,
        stud=row.stud,
        spacing=Nm(row.spacing),
        openings=tuple(_opening(opening) for opening in row.openings.all()),
        blocking_recorded=row.blocking_recorded,
        letter=letter,
    )


def columns_of_partition(partition: Partition) -> dict[str, Any]:
    return {
        "key": partition.id,
        "name": partition.name,
        "at": partition.at,
        "side": partition.side.value,
        "length": partition.length,
        "legs": [codec.write(leg) for leg in partition.legs],
        "framed": partition.framed.value,
        "bearing": partition.bearing,
        "stud": partition.stud,
        "spacing": partition.spacing,
        "blocking_recorded": partition.blocking_recorded,
        "letter": partition.letter,
    }


def _owned(row: OwnedSheetRow) -> OwnedSheet:
    """All offcuts of a row that were ever made or found."""
    return OwnedSheet(
        id=row.key,
        board=row.board,
        thickness=Nm(row.thickness),
        width=Nm(row.width),
        length=Nm(row.length),
        count=row.count,
        factory_edges=row.factory_edges,
    )


def _not_spoiled(row: OwnedSheetRow) -> int:
    count: int = row.count - row.spoiled
    return count


USUAL_RULES = Rules()  # of a house that says nothing else


def rules_columns(rules: Rules) -> dict[str, Any]:
    """The rules that differ from their default, as their column keeps them. Owned sheets have rows
    of their own."""
    written, default = codec.write(replace(rules, owned=())), codec.write(Rules())
    return {name: value for name, value in written.items() if value != default[name]}


def stock_items(balances: Iterable[tuple[str, Amount, int]]) -> tuple[StockItem, ...]:
    """What is on hand, as the engine takes it: each amount as often as it is there (sticks are
    given one by one)."""
    return tuple(
        StockItem(material=item, amount=amount)
        for item, amount, count in balances
        for _ in range(count)
    )


def _nm(value: int | None) -> Nm | None:
    return None if value is None else Nm(value)


def changed_rules(kept: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """The rules column with some rules changed (lengths in nanometers, words and decimals as text).

    Raises `BadValue` with the name of a rule whose value is impossible, and `KeyError` for an
    unknown rule.
    """
    full = {**codec.write(Rules()), **kept}
    for name, value in changes.items():
        if name == "owned" or name not in full:
            raise KeyError(name)
        full[name] = value if isinstance(value, dict) else codec.write(value)
    return rules_columns(codec.read(Rules, full))


def rules_of(house: HouseRow) -> Rules:
    """The house's rules without the owned sheets, which have rows of their own."""
    return rules_with(house.rules)


def rules_with(kept: Mapping[str, Any]) -> Rules:
    """The rules that a column of a house's rules stands for."""
    rules: Rules = codec.read(Rules, {**codec.write(Rules()), **kept})
    return rules


def check_row(row: Any) -> None:
    """Raise `BadValue` where a row cannot become a value of the engine, like a cut-out without a
    height."""
    checks: dict[str | None, Callable[[Any], object]] = {
        "room": _room_alone,
        "wall": lambda wall: Wall(
            id=wall.key, name=wall.name, length=Nm(wall.length), turn=wall.turn
        ),
        "opening": _opening,
        "cutout": _cutout,
        "hiddenitem": _hidden,
        "surfacechoice": _choice,
        "addedneed": _added,
        "ownedsheet": _owned,
    }
    check = checks.get(row._meta.model_name)
    if check is not None:
        check(row)


def _room_alone(row: RoomRow) -> None:
    """The value of a room's own columns: its ceiling, finish, framing and boards."""
    _ceiling(row)
    _finish(row)
    _framing(row.wall_framing)
    _framing(row.ceiling_framing)
    _board(row, "wall_board")
    _board(row, "ceiling_board")
