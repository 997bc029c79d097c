"""The supply list: needs less stock on hand, rounded up to packs on sale, with price and weight."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from takeoff.catalogue import Catalogue, MaterialOnSale, Pack, SheetOnSale, StockItem
from takeoff.cutting.sticks import StickPlan, StickStock, cut_sticks
from takeoff.errors import BadValue, TakeoffError
from takeoff.needs.materials import BEAD, PAPER_BEAD, TRIM, material_name, sheet_id, sheet_name
from takeoff.needs.need import Need, in_phase_order
from takeoff.packs import cheapest_mix
from takeoff.quantities import Amount, Cents, add, convert, same_kind, subtract
from takeoff.reference import figures
from takeoff.reference.lumber import lumber
from takeoff.units import FOOT, INCH, Nm

__all__ = [
    "SNIPPED",
    "PackCount",
    "Shelf",
    "SupplyLine",
    "SupplyList",
    "counted",
    "cut_for",
    "is_tight",
    "order",
    "stick_length",
    "sticks_of",
]


# Cut with snips, which take nothing where a saw takes its kerf.
SNIPPED = frozenset({BEAD.id, PAPER_BEAD.id, TRIM.id})


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCount:
    """So many of one pack."""

    name: str
    count: int
    price: Cents
    holds: Amount
    weight: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLine:
    """One item of a phase: what it takes, what is on hand, the packs to buy, what is left over.

    `on_hand` is what is there when the phase begins: stock, and what packs bought for an earlier
    phase left over. `coming` is what is ordered already and not here yet; it is used up after what
    is on hand. `cost` is cents, `weight` pounds (None where a pack's weight is not known). `bound`
    is the proven least cost of the cutting where the item is cut from sticks. `volume` is the room
    it takes in cubic feet, None where not known. `unmet` says why nothing is bought where it cannot
    be; it is empty otherwise.
    """

    phase: str
    material: str
    name: str
    need: Amount
    on_hand: Amount
    coming: Amount
    packs: tuple[PackCount, ...]
    left_over: Amount
    cost: Cents
    weight: Decimal | None
    bound: Cents | None = None
    volume: Amount | None = None
    unmet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyList:
    """Every line in the order of the work, and the totals; `sample_prices` where no price is the
    person's own.

    `weight` is pounds, of the lines whose weight is known. `unmet` are sentences on what cannot be
    bought.
    """

    lines: tuple[SupplyLine, ...]
    cost: Cents
    weight: Decimal
    sample_prices: bool
    unmet: tuple[str, ...] = ()


def order(
    needs: Sequence[Need],
    *,
    catalogue: Catalogue,
    stock: Sequence[StockItem] = (),
    coming: Sequence[StockItem] = (),
    kerf: Nm,
    sheets: Sequence[SheetOnSale] | None = None,
    phases: Collection[str] | None = None,
) -> SupplyList:
    """Return what to buy for `needs`: one line for each phase and material, in the order of the
    work, then of `Shelf.place`.

    Needs of all rooms are added before anything is rounded. Stock is used up in the order of the
    phases, and so is what the packs of an earlier phase leave over; then comes what is `coming`,
    ordered already and not here yet. Things that are poured or counted come in the cheapest mix of
    packs. Sticks are cut from lengths on sale, with `kerf` between them (none in bead). Stock of
    sticks is given one by one, each by its length. `sheets` replaces the catalogue's sheets on
    sale, and `phases` takes only the needs of some phases. A need that no pack on sale can meet has
    a line with `unmet`; nothing is raised.
    """
    shelf = Shelf(catalogue, catalogue.sheets if sheets is None else sheets)
    hand = _Hand(stock, coming)
    lines = []
    for phase in in_phase_order(need.phase for need in needs):
        if phases is not None and phase not in phases:
            continue
        by_material: dict[str, list[Need]] = {}
        for need in needs:
            if need.phase == phase:
                by_material.setdefault(need.material, []).append(need)
        for item in sorted(by_material, key=shelf.place):
            lines.append(_line(phase, item, by_material[item], shelf, hand, kerf))
    return SupplyList(
        lines=tuple(lines),
        cost=Cents(sum(line.cost for line in lines)),
        weight=sum((line.weight for line in lines if line.weight is not None), Decimal(0)),
        sample_prices=catalogue.sample,
        unmet=tuple(line.unmet for line in lines if line.unmet),
    )


class Shelf:
    """What a store sells, by material id, sheets among it."""

    def __init__(self, catalogue: Catalogue, sheets: Sequence[SheetOnSale]) -> None:
        self._catalogue = catalogue
        self._sheets = {
            sheet_id(sheet.board, sheet.thickness, sheet.width, sheet.length): sheet
            for sheet in sheets
        }
        boards = {kind.id: number for number, kind in enumerate(catalogue.boards)}
        by_size = sorted(
            self._sheets.items(),
            key=lambda item: (
                boards.get(item[1].board, 0),
                -item[1].thickness,
                -item[1].width,
                -item[1].length,
            ),
        )
        ids = [item for item, _ in by_size] + [material.id for material in catalogue.materials]
        self._places = {item: place for place, item in enumerate(ids)}

    def place(self, item: str) -> int:
        """Where an item stands in a list: sheets first, by kind and from long to short, the rest as
        catalogued."""
        return self._places.get(item, len(self._places))

    def sheet(self, item: str) -> SheetOnSale | None:
        return self._sheets.get(item)

    def sells(self, item: str) -> bool:
        return item in self._places

    def name(self, item: str) -> str:
        """The name people read: the catalogue's, or the material's own where none is on sale."""
        try:
            return self.material(item).name
        except BadValue:
            return material_name(item)

    def material(self, item: str) -> MaterialOnSale:
        """A sheet as a material of one pack, or the catalogue's own; raises `BadValue` where there
        is none."""
        sheet = self._sheets.get(item)
        if sheet is None:
            return self._catalogue.material(item)
        board = self._catalogue.board(sheet.board)
        psf = board.weight(sheet.thickness)
        weight = (
            None if psf is None else _decimal(Fraction(psf) * sheet.width * sheet.length / FOOT**2)
        )
        pack = Pack(
            name="sheet", holds=Amount(Fraction(1), "each"), price=sheet.price, weight=weight
        )
        return MaterialOnSale(
            id=item,
            name=sheet_name(board.name, sheet.thickness, sheet.width, sheet.length),
            packs=(pack,),
        )


class _Hand:
    """What is on hand, and what is coming, while phases use it up: amounts of what is poured or
    counted, single sticks of what is cut. What is on hand goes first."""

    def __init__(self, stock: Sequence[StockItem], coming: Sequence[StockItem]) -> None:
        self._here = _by_material(stock)
        self._coming = _by_material(coming)

    def amounts(self, item: str, unit: str) -> tuple[Amount, Amount]:
        """All there is of a material, here and coming, in `unit`; raises `WrongUnit` where it is
        not measured so."""
        none = Amount(Fraction(0), unit)
        return add(none, *self._here.get(item, ())), add(none, *self._coming.get(item, ()))

    def keep(self, item: str, remaining: Amount) -> None:
        """What is left of a material, what was bought included, in place of all there was. What was
        coming and is left over is still coming: it was touched last."""
        _, coming = self.amounts(item, remaining.unit)
        still = Amount(max(Fraction(0), min(coming.value, remaining.value)), remaining.unit)
        self._coming[item] = [still]
        self._here[item] = [subtract(remaining, still)]

    def sticks(self, item: str) -> tuple[list[Nm], list[Nm]]:
        """Sticks here and coming; raises `BadValue` where stock of them is not given by length."""
        return self._sticks(item, self._here), self._sticks(item, self._coming)

    def _sticks(self, item: str, items: dict[str, list[Amount]]) -> list[Nm]:
        return sticks_of(item, items.get(item, ()))

    def use_sticks(self, item: str, used: Sequence[Nm]) -> None:
        here, coming = (Counter(stick) for stick in self.sticks(item))
        later = Counter(used) - here
        self._here[item] = _as_sticks(here - Counter(used))
        self._coming[item] = _as_sticks(coming - later)


def sticks_of(item: str, amounts: Iterable[Amount]) -> list[Nm]:
    """The lengths of sticks given one by one; raises `BadValue` for an amount of another kind."""
    sticks = []
    for amount in amounts:
        if not same_kind(amount, Amount(Fraction(1), "ft")):
            raise BadValue(
                f"Stock of {item} must be given stick by stick, each its length, for example 8 ft"
            )
        sticks.append(Nm(int(convert(amount, "mm").value * 1_000_000)))
    return sticks


def _by_material(stock: Sequence[StockItem]) -> dict[str, list[Amount]]:
    items: dict[str, list[Amount]] = {}
    for item in stock:
        items.setdefault(item.material, []).append(item.amount)
    return items


def _as_sticks(sticks: Counter[Nm]) -> list[Amount]:
    return [Amount(Fraction(stick, FOOT), "ft") for stick in sticks.elements()]


def _line(
    phase: str, item: str, needs: Sequence[Need], shelf: Shelf, hand: _Hand, kerf: Nm
) -> SupplyLine:
    need = add(*(need.amount for need in needs))
    try:
        if not shelf.sells(item) and (line := _line_of_hand(phase, item, need, shelf, hand)):
            return line
        material = shelf.material(item)
        if material.cut:
            return _cut_line(
                phase,
                material,
                need,
                [Nm(length) for one in needs for length in one.lengths],
                hand,
                kerf,
            )
        return _pack_line(phase, material, need, shelf, hand)
    except TakeoffError as error:
        nothing = Amount(Fraction(0), need.unit)
        name = shelf.name(item)
        return SupplyLine(
            phase=phase,
            material=item,
            name=name,
            need=need,
            on_hand=nothing,
            coming=nothing,
            packs=(),
            left_over=nothing,
            cost=Cents(0),
            weight=None,
            unmet=f"{name}: {error}",
        )


def _line_of_hand(
    phase: str, item: str, need: Amount, shelf: Shelf, hand: _Hand
) -> SupplyLine | None:
    """The line of an item that is no longer sold, where what is on hand or coming is enough."""
    on_hand, coming = hand.amounts(item, need.unit)
    left_over = subtract(add(on_hand, coming), need)
    if left_over.value < 0:
        return None
    hand.keep(item, left_over)
    return SupplyLine(
        phase=phase,
        material=item,
        name=shelf.name(item),
        need=need,
        on_hand=on_hand,
        coming=coming,
        packs=(),
        left_over=left_over,
        cost=Cents(0),
        weight=Decimal(0),
    )


def _pack_line(
    phase: str, material: MaterialOnSale, need: Amount, shelf: Shelf, hand: _Hand
) -> SupplyLine:
    on_hand, coming = hand.amounts(material.id, need.unit)
    missing = subtract(need, add(on_hand, coming))
    counts = cheapest_mix(missing, material.packs)
    packs = tuple(
        counted(pack, count) for pack, count in zip(material.packs, counts, strict=True) if count
    )
    bought = add(
        Amount(Fraction(0), need.unit),
        *(Amount(pack.holds.value * pack.count, pack.holds.unit) for pack in packs),
    )
    left_over = subtract(add(on_hand, coming, bought), need)
    hand.keep(material.id, left_over)
    sheet = shelf.sheet(material.id)
    return SupplyLine(
        phase=phase,
        material=material.id,
        name=material.name,
        need=need,
        on_hand=on_hand,
        packs=packs,
        left_over=left_over,
        coming=coming,
        cost=Cents(sum(pack.price * pack.count for pack in packs)),
        weight=_weight(packs),
        volume=_sheet_volume(sheet, packs) if sheet else _poured_volume(bought),
    )


def _cut_line(
    phase: str,
    material: MaterialOnSale,
    need: Amount,
    lengths: Sequence[Nm],
    hand: _Hand,
    kerf: Nm,
) -> SupplyLine:
    by_name = {pack.name: pack for pack in material.packs}
    here, coming = hand.sticks(material.id)
    owned = here + coming
    plan = cut_for(material, lengths, kerf=kerf, owned=owned)
    used = [stick.stock.length for stick in plan.sticks if stick.stock.owned]
    hand.use_sticks(material.id, used)
    counts = Counter(stick.stock.pack for stick in plan.sticks if not stick.stock.owned)
    packs = tuple(counted(by_name[name], count) for name, count in counts.items())
    bought = Nm(sum(stick.stock.length for stick in plan.sticks))
    return SupplyLine(
        phase=phase,
        material=material.id,
        name=material.name,
        need=need,
        on_hand=Amount(Fraction(sum(here), FOOT), "ft"),
        coming=Amount(Fraction(sum(coming), FOOT), "ft"),
        packs=packs,
        left_over=Amount(Fraction(bought - sum(lengths) + sum(owned) - sum(used), FOOT), "ft"),
        cost=plan.cost,
        weight=_weight(packs),
        bound=plan.bound,
        volume=_lumber_volume(material.id, packs),
    )


def cut_for(
    material: MaterialOnSale, lengths: Sequence[Nm], *, kerf: Nm, owned: Sequence[Nm]
) -> StickPlan:
    """The sticks of `material` that `lengths` are cut from, `owned` ones first and the others of
    lengths on sale; raises `BadValue` where none is long enough. What is snipped takes no kerf."""
    stock = [
        StickStock(stick_length(pack, material), pack.price, pack.name) for pack in material.packs
    ]
    return cut_sticks(lengths, stock, kerf=Nm(0) if material.id in SNIPPED else kerf, owned=owned)


def is_tight(need: Amount, left_over: Amount, holds: Iterable[Amount]) -> bool:
    """Return whether packs, each of what it `holds`, leave next to nothing over (SU-tight).

    A thing sold one by one is bought exactly, so it never is.
    """
    if all(size == Amount(Fraction(1), "each") for size in holds):
        return False
    return left_over.value < need.value * figures.percent("SU-tight")


def stick_length(pack: Pack, material: MaterialOnSale) -> Nm:
    """The length of a stick on sale; raises `BadValue` where it is no whole number of 64ths or
    millimeters."""
    inches = convert(pack.holds, "in").value * INCH
    if inches.denominator != 1:
        raise BadValue(
            f"{material.name}: a stick's length must be a whole number of 64ths or millimeters, "
            "for example 8 ft"
        )
    return Nm(inches.numerator)


def counted(pack: Pack, count: int) -> PackCount:
    """So many of a pack on sale."""
    return PackCount(
        name=pack.name, count=count, price=pack.price, holds=pack.holds, weight=pack.weight
    )


def _weight(packs: Sequence[PackCount]) -> Decimal | None:
    total = Decimal(0)
    for pack in packs:
        if pack.weight is None:
            return None
        total += pack.weight * pack.count
    return total


def _sheet_volume(sheet: SheetOnSale, packs: Sequence[PackCount]) -> Amount:
    one = Fraction(sheet.thickness * sheet.width * sheet.length, FOOT**3)
    return Amount(one * sum(pack.count for pack in packs), "cu ft")


def _poured_volume(bought: Amount) -> Amount | None:
    return convert(bought, "cu ft") if same_kind(bought, Amount(Fraction(1), "cu ft")) else None


def _lumber_volume(item: str, packs: Sequence[PackCount]) -> Amount | None:
    try:
        size = lumber(item)
    except BadValue:
        return None
    run = sum((convert(pack.holds, "ft").value * pack.count for pack in packs), Fraction(0))
    return Amount(run * size.thickness * size.width / FOOT**2, "cu ft")


def _decimal(value: Fraction) -> Decimal:
    """To a thousandth, half to even: weights of metric sheets do not end in decimals."""
    return Decimal(round(value * 1000)) / 1000
