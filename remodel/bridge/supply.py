"""The needs of chosen phases and rooms, less stock, in packs on sale; and what changed since an
order."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from remodel.bridge.views import NeedLine
from takeoff.catalogue import Catalogue, StockItem
from takeoff.house import House
from takeoff.needs.materials import material_name, materials, paint_kind, sheet_id, sheet_name
from takeoff.needs.need import Need, Phase
from takeoff.needs.paints import missing_paints
from takeoff.quantities import Amount, add, convert, same_kind, subtract
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.supply import SupplyLine, SupplyList, is_tight, order
from takeoff.units import INCH, MM, Nm

__all__ = [
    "Ordered",
    "SinceOrdered",
    "SupplyLine",
    "SupplyList",
    "aisle_of",
    "chosen",
    "is_paint",
    "is_tight",
    "item_name",
    "item_names",
    "missing_colors",
    "sheet_key",
    "sheet_sizes",
    "since_ordered",
    "size_of_sheet",
    "supply_of",
    "tight_percent",
    "total_of",
]


_SHEET = re.compile(
    r"sheet-(?P<board>.+)-(?P<thickness>[0-9.]+)x(?P<width>[0-9.]+)x(?P<length>[0-9.]+)"
    r"(?P<unit>in|mm)",
    re.ASCII,
)


def chosen(
    lines: Iterable[NeedLine], *, phases: Collection[str], rooms: Collection[str]
) -> tuple[Need, ...]:
    """The needs of some phases and rooms."""
    return tuple(line.need for line in lines if line.phase in phases and line.need.room in rooms)


def supply_of(
    needs: Sequence[Need],
    *,
    catalogue: Catalogue,
    rules: Rules,
    stock: Sequence[StockItem] = (),
    coming: Sequence[StockItem] = (),
) -> SupplyList:
    """What to buy for the needs, in the order of the work. Stock is used first, then what is
    ordered and on its way."""
    return order(
        needs, catalogue=catalogue, stock=stock, coming=coming, kerf=rules.kerf, sheets=rules.sheets
    )


def sheet_key(board: str, thickness: int, width: int, length: int) -> str:
    """The key of a sheet as an item of orders and of the ledger."""
    return sheet_id(board, Nm(thickness), Nm(width), Nm(length))


def missing_colors(house: House) -> tuple[tuple[str, str, str], ...]:
    """The colors a house is painted in that its price list has no cans of: the key and name of
    each, and the key of the paint of any color whose cans it comes in."""
    return tuple(
        (paint.id, paint.name, kind.id)
        for paint in missing_paints(house)
        if (kind := paint_kind(paint.id)) is not None
    )


def tight_percent() -> str:
    """Under which part of the need what is left over is called tight, in percent."""
    return f"{figures.number('SU-tight')}"


def is_paint(item: str) -> bool:
    """Whether an item is wall or ceiling paint, of a color or of any."""
    return paint_kind(item) is not None


def sheet_sizes(thickness: int, width: int, length: int) -> tuple[str, str]:
    """A sheet's thickness, and its width by length, in the words of a store: `1/2 in` and `48 in x
    8 ft`."""
    _, *parts = sheet_name("", Nm(thickness), Nm(width), Nm(length)).split(", ")
    if len(parts) == 2:
        return parts[0], parts[1]
    thick, _, rest = parts[0].partition(" x ")
    return f"{thick} mm", rest


# Where a store keeps goods, as one walks through it: heavy ones last, so that they ride on top of
# nothing. Each with what the keys of its goods begin with. Common practice, no published source.
_AISLES = (
    ("Fasteners", ("screw", "nails", "concrete-anchor", "drywall-clip")),
    ("Electrical", ("box-extender",)),
    (
        "Tape, compound and bead",
        ("tape", "compound", "corner-bead", "control-joint", "l-trim", "mortar", "sanding"),
    ),
    ("Paint", ("primer", "paint", "texture")),
    ("Sealant and adhesive", ("sealant", "adhesive")),
    ("Tools and protection", ("knife", "mask", "sheeting", "rubble", "lift-day")),
    ("Insulation", ("batts", "vapor")),
    ("Flooring", ("floor-strip",)),
    ("Lumber and metal framing", ("1x", "2x", "steel", "panel", "shim", "furring", "track")),
)
_ELSE, _BOARD = "Everything else", "Board"


def aisle_of(item: str) -> tuple[int, str]:
    """Where in a store an item stands: its place in the walk and the name of the aisle."""
    if size_of_sheet(item) is not None:
        return len(_AISLES) + 1, _BOARD
    for place, (name, starts) in enumerate(_AISLES):
        if item.startswith(starts):
            return place, name
    return len(_AISLES), _ELSE


def item_names(catalogue: Catalogue, rules: Rules) -> dict[str, str]:
    """Every item by its key as people read it: what is on sale, sheets among it, and every material
    the engine can ask for, by its own name where it is not on sale."""
    names = {material.id: material.name for material in materials().values()}
    names |= {material.id: material.name for material in catalogue.materials}
    kinds = {kind.id: kind.name for kind in catalogue.boards}
    for sheet in catalogue.sheets if rules.sheets is None else rules.sheets:
        key = sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length)
        names[key] = sheet_name(
            kinds.get(sheet.board, sheet.board), sheet.thickness, sheet.width, sheet.length
        )
    return names


def item_name(item: str, catalogue: Catalogue) -> str:
    """The name of an item that is not on sale: a sheet by its size, a material by the engine's own
    name."""
    if _SHEET.fullmatch(item) is None:
        return material_name(item)
    size = size_of_sheet(item)
    if size is None:
        return item
    board, thickness, width, length = size
    kinds = {kind.id: kind.name for kind in catalogue.boards}
    return sheet_name(kinds.get(board, board), thickness, width, length)


def size_of_sheet(item: str) -> tuple[str, Nm, Nm, Nm] | None:
    """The board, thickness, width and length that the key of a sheet says; None for another
    item."""
    match = _SHEET.fullmatch(item)
    if match is None:
        return None
    unit = INCH if match["unit"] == "in" else MM
    try:
        thickness, width, length = (
            Nm(int(Fraction(match[size]) * unit)) for size in ("thickness", "width", "length")
        )
    except ValueError:
        return None
    return match["board"], thickness, width, length


def total_of(needs: Iterable[Need]) -> dict[tuple[str, str], Amount]:
    """The total of the needs by (phase, item)."""
    totals: dict[tuple[str, str], Amount] = {}
    for need in needs:
        key = (need.phase, need.material)
        totals[key] = add(totals[key], need.amount) if key in totals else need.amount
    return totals


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered:
    """What one order has of an item: its packs (name, holds, count), and what was on hand when the
    order was placed."""

    item: str
    packs: tuple[tuple[str, Amount, int], ...]
    on_hand: tuple[StockItem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceOrdered:
    """One item of an order as things stand today: the packs still to buy, and the whole packs that
    can go back."""

    item: str
    name: str
    frozen: Amount | None
    today: Amount | None
    more: tuple[tuple[str, int], ...]
    back: tuple[tuple[str, int], ...]
    unmet: str = ""


def since_ordered(
    frozen: Sequence[Need],
    today: Sequence[Need],
    ordered: Sequence[Ordered],
    *,
    catalogue: Catalogue,
    rules: Rules,
) -> tuple[SinceOrdered, ...]:
    """Each item whose need changed since the order was placed, or of which the order has too little
    or too much. What was used meanwhile makes no difference."""
    then, now = _by_item(frozen), _by_item(today)
    names = item_names(catalogue, rules)
    have = {entry.item: entry for entry in ordered}
    items = []
    for item in dict.fromkeys([*then, *now]):
        before, after = _sum(then.get(item, ())), _sum(now.get(item, ()))
        mine = have.get(item, Ordered(item=item, packs=(), on_hand=()))
        more, unmet = _more(now.get(item, ()), mine, catalogue, rules)
        back = () if more or unmet else _back(now.get(item, ()), after, mine, catalogue, rules)
        if more or back or before != after:
            items.append(
                SinceOrdered(
                    item=item,
                    name=names.get(item, item),
                    frozen=before,
                    today=after,
                    more=more,
                    back=back,
                    unmet=unmet,
                )
            )
    return tuple(items)


def _by_item(needs: Iterable[Need]) -> dict[str, list[Need]]:
    by_item: dict[str, list[Need]] = {}
    for need in needs:
        by_item.setdefault(need.material, []).append(need)
    return by_item


def _sum(needs: Sequence[Need]) -> Amount | None:
    return add(*(need.amount for need in needs)) if needs else None


def _more(
    needs: Sequence[Need], ordered: Ordered, catalogue: Catalogue, rules: Rules
) -> tuple[tuple[tuple[str, int], ...], str]:
    stock = list(ordered.on_hand)
    for _, holds, count in ordered.packs:
        stock += [StockItem(material=ordered.item, amount=holds)] * count
    lines = supply_of(_as_one_phase(needs), catalogue=catalogue, rules=rules, stock=stock).lines
    return tuple((pack.name, pack.count) for line in lines for pack in line.packs), " ".join(
        line.unmet for line in lines if line.unmet
    )


def _back(
    needs: Sequence[Need],
    today: Amount | None,
    ordered: Ordered,
    catalogue: Catalogue,
    rules: Rules,
) -> tuple[tuple[str, int], ...]:
    """The whole packs of the order that today's need does not take, the largest first."""
    if any(need.lengths for need in needs):
        fresh = supply_of(
            _as_one_phase(needs), catalogue=catalogue, rules=rules, stock=ordered.on_hand
        ).lines
        wanted = Counter({pack.name: pack.count for line in fresh for pack in line.packs})
        return tuple(
            (name, count - wanted[name]) for name, _, count in ordered.packs if count > wanted[name]
        )
    if not ordered.packs:
        return ()
    unit = ordered.packs[0][1].unit
    spare = Amount(Fraction(0), unit)
    for stock in ordered.on_hand:
        spare = add(spare, stock.amount)
    for _, holds, count in ordered.packs:
        spare = add(spare, Amount(holds.value * count, holds.unit))
    if today is not None and same_kind(today, spare):
        spare = subtract(spare, today)
    packs = []
    for name, holds, count in sorted(ordered.packs, key=lambda pack: -convert(pack[1], unit).value):
        size = convert(holds, unit).value
        whole = min(count, int(spare.value / size)) if spare.value > 0 else 0
        if whole:
            packs.append((name, whole))
            spare = subtract(spare, Amount(size * whole, unit))
    return tuple(packs)


def _as_one_phase(needs: Sequence[Need]) -> list[Need]:
    return [
        Need(
            phase=Phase.FRAMING,
            room=need.room,
            material=need.material,
            amount=need.amount,
            reasons=need.reasons,
            lengths=need.lengths,
        )
        for need in needs
    ]
