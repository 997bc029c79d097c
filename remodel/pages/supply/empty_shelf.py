"""The shelf is empty: what else the store may have, and what another size does to the plan."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from remodel.bridge.lengths import Amount, convert, same_kind, show_length
from remodel.bridge.records import catalogue_value, rules_of
from remodel.bridge.supply import sheet_sizes, size_of_sheet
from remodel.supply.models import OrderLine, Pack, SheetOnSale
from remodel.supply.queries import with_catalogue
from remodel.web.templatetags.halfbay import money

__all__ = ["Instead", "Shelf", "other_packs", "other_sizes", "shelf_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Instead:
    """Something else to take: what it is, how many of it, and what that does."""

    name: str
    count: int
    costs: str
    does: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What there is instead of a line of an order: what every piece or use of it can come out of,
    `fits`, and what needs another plan; whether something else can be taken at all."""

    fits: tuple[Instead, ...]
    smaller: tuple[str, ...] = ()
    can_plan: bool = False


def shelf_of(line: OrderLine) -> Shelf:
    """What else can be bought for a line."""
    size = size_of_sheet(line.item)
    return _other_packs(line) if size is None else _other_sizes(line, size)


def _other_sizes(line: OrderLine, size: tuple[str, int, int, int]) -> Shelf:
    board, thickness, width, length = size
    house = line.order.house
    longest = rules_of(house).longest_board
    sizes: dict[tuple[int, int], SheetOnSale] = {}
    others = SheetOnSale.objects.filter(house=house, board=board, thickness=thickness)
    for sheet in others.order_by("width", "length", "price"):
        if (sheet.width, sheet.length) != (width, length) and (
            longest is None or sheet.length <= longest
        ):
            sizes.setdefault((sheet.width, sheet.length), sheet)
    fits, smaller = [], []
    for (wide, long), sheet in sizes.items():
        name = sheet_sizes(thickness, wide, long)[1]
        if wide < width or long < length:
            smaller.append(name)
            continue
        more = [
            f"{show_length(over, house.units)} of its {what}"
            for over, what in ((long - length, "length"), (wide - width, "width"))
            if over
        ]
        fits.append(
            Instead(
                name=name,
                count=line.packs,
                costs=_dearer(line, sheet.price * line.packs),
                does="The plan stays: cut the same pieces. Left over of each sheet: "
                + " and ".join(more),
            )
        )
    return Shelf(fits=tuple(fits), smaller=tuple(smaller), can_plan=bool(other_sizes(line)))


def other_sizes(line: OrderLine) -> dict[tuple[int, int], str]:
    """The other sizes that the board of a line is on sale in, by width and length, with their
    names; none that does not get into the house."""
    size = size_of_sheet(line.item)
    if size is None:
        return {}
    board, thickness, width, length = size
    house = line.order.house
    rules = rules_of(house)
    sheets = catalogue_value(with_catalogue(house.pk)).sheets
    return {
        (sheet.width, sheet.length): sheet_sizes(thickness, sheet.width, sheet.length)[1]
        for sheet in sorted(
            sheets if rules.sheets is None else rules.sheets,
            key=lambda sheet: (sheet.width, sheet.length),
        )
        if (sheet.board, sheet.thickness) == (board, thickness)
        and (sheet.width, sheet.length) != (width, length)
        and (rules.longest_board is None or sheet.length <= rules.longest_board)
    }


def _other_packs(line: OrderLine) -> Shelf:
    """The other packages of a material, as many as hold what was to be bought."""
    fits = []
    for pack, count, _ in other_packs(line):
        fits.append(
            Instead(
                name=pack.name,
                count=count,
                costs=_dearer(line, pack.price * count),
                does="Holds as much as was to be bought",
            )
        )
    return Shelf(fits=tuple(fits), can_plan=bool(fits))


def other_packs(line: OrderLine) -> list[tuple[Pack, int, str]]:
    """The other packages of a material, with how many of each hold what was to be bought, and both
    in words."""
    packs = Pack.objects.filter(material__house=line.order.house, material__key=line.item)
    wanted = Amount(line.pack_amount.value * line.packs, line.pack_amount.unit)
    found = []
    for pack in packs.select_related("material", "store").exclude(name=line.pack):
        if not same_kind(pack.amount, wanted) or pack.material.cut:
            continue
        count = ceil(wanted.value / convert(pack.amount, wanted.unit).value)
        costs = _dearer(line, pack.price * count)
        found.append((pack, count, f"{count} × {pack.name}. {costs}"))
    return found


def _dearer(line: OrderLine, cost: int) -> str:
    """How much more or less than planned something costs, in words."""
    gap = cost - line.price * line.packs
    if not gap:
        return "Costs the same"
    words = money(abs(gap), line.order.house.currency)
    return f"Costs {words} {'more' if gap > 0 else 'less'}"
