"""The supply list as text: what a person takes to the store, phase by phase."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from fractions import Fraction

from takeoff.job import Takeoff
from takeoff.needs.need import Phase, in_phase_order, phase_label
from takeoff.quantities import Amount, convert, money
from takeoff.reference import figures
from takeoff.report.before_text import before_lines, cautions
from takeoff.report.numbers import amount_text, count_text
from takeoff.report.text_table import PAGE_WIDTH, TextColumn, paragraph, table_lines
from takeoff.rules import Rules
from takeoff.supply import PackCount, SupplyLine, SupplyList, is_tight
from takeoff.units import UnitSystem

__all__ = ["supply_text"]

_ITEMS = (
    TextColumn("Item", 29),
    TextColumn("Need", 10, right=True),
    TextColumn("On hand", 8, right=True),
    TextColumn("To buy", 20),
    TextColumn("Left over", 10, right=True),
    TextColumn("Cost", 11, right=True),
)


def supply_text(
    takeoff: Takeoff,
    supply: SupplyList,
    *,
    phases: Collection[str] = (),
    rooms: Collection[str] = (),
    left: Collection[str] = (),
) -> str:
    """The whole text for `supply`; ends in a newline.

    `phases` and `rooms` are those asked for, all where none is named. Only a list of everything is
    followed by what to know of the whole house: its plans, its partitions, edges to look
    at, the handbook's amounts. `left` are the surfaces whose plan was not searched, too large for a
    quick search.
    """
    return "\n".join(_lines(takeoff, supply, phases, rooms, left)) + "\n"


def _lines(
    takeoff: Takeoff,
    supply: SupplyList,
    phases: Collection[str],
    rooms: Collection[str],
    left: Collection[str],
) -> Iterator[str]:
    house = takeoff.house
    currency = house.catalogue.currency
    yield house.name
    yield from paragraph(house.note, indent="") if house.note else ()
    if rooms:
        yield (
            f"Only {', '.join(house.room(room).name for room in rooms)}, out of the plans of the "
            "whole house."
        )
    if supply.sample_prices:
        yield "Sample prices: invented, not a store's. Put your store's prices in the house file."
    if not house.rooms:
        yield "This house has no rooms yet: add one under rooms in the house file."
        return
    if takeoff.refused:
        yield from ("", "CANNOT BE BOARDED AS IT STANDS (its board is not in the list below)")
        for refusal in takeoff.refused:
            yield from paragraph(f"{refusal.message}{_key(refusal.rule)}", hang="  ")
    # Of rough-in nothing is counted but what people add.
    given = [phase.value for phase in Phase if phase is not Phase.ROUGH_IN]
    known = in_phase_order((*given, *(line.phase for line in supply.lines), *phases))
    asked = [phase for phase in known if not phases or phase in phases]
    labels = {phase: phase_label(phase, house.own_phases) for phase in known}
    for phase in asked:
        yield from _phase(phase, labels, supply.lines, house.units, currency, takeoff.unframed)
    if len(asked) > 1:
        yield from ("", _total("All of the above", supply.lines, house.units, currency))
    if phases or rooms:
        for sentence in supply.unmet:
            yield from paragraph(f"- {sentence}", hang="  ")
        yield ""
        yield "Plans, edges and warnings of the whole house: leave out --phase and --room."
    else:
        yield from before_lines(takeoff, left)
    yield from cautions()
    yield from ("", "Why an amount is what it is: --why, then the item's name or a part of it.")


def _phase(
    phase: str,
    labels: Mapping[str, str],
    lines: Sequence[SupplyLine],
    units: UnitSystem,
    currency: str,
    unframed: Sequence[str],
) -> Iterator[str]:
    own = [line for line in lines if line.phase == phase]
    label = labels[phase]
    left_out = unframed if phase == Phase.PARTITIONS else ()
    yield from ("", label.upper())
    for sentence in left_out:
        yield from paragraph(sentence, hang="  ")
    if not own:
        if not left_out:
            yield "  This phase takes nothing."
        return
    places = {phase: place for place, phase in enumerate(labels)}
    earlier = {
        line.material: line.phase
        for line in lines
        if line.left_over.value and places[line.phase] < places[phase]
    }
    yield from table_lines(
        _ITEMS, (_row(line, line.material in earlier, units, currency) for line in own)
    )
    for phase_before in dict.fromkeys(
        earlier[line.material] for line in own if line.material in earlier
    ):
        yield f"  * with what is left over from {labels[phase_before]}"
    if any(_is_tight(line) for line in own):
        least = figures.number("SU-tight")
        yield f"  tight: less than {least}% over; one more package is the safer buy"
    yield _total(f"{label[:1].upper()}{label[1:]} in all", own, units, currency)


def _key(rule: str) -> str:
    """The key of a house file that a refusal is about; pages say it without."""
    keys = {*(field.name for field in fields(Rules)), "joint_mode", "orientation"}
    return f" ({rule} in the house file)" if rule in keys else ""


def _row(line: SupplyLine, carried: bool, units: UnitSystem, currency: str) -> tuple[str, ...]:
    on_hand = amount_text(line.on_hand, units) if line.on_hand.value else ""
    left_over = amount_text(line.left_over, units) if line.left_over.value else ""
    return (
        line.name,
        amount_text(line.need, units),
        f"{on_hand}*" if on_hand and carried else on_hand,
        line.unmet or _packs(line.packs),
        f"{left_over} tight".strip() if _is_tight(line) else left_over,
        money(line.cost, currency),
    )


def _is_tight(line: SupplyLine) -> bool:
    """Whether what comes in packs is bought with next to nothing over. Sticks are cut to a list
    that says what is over."""
    if not line.packs or line.unmet or line.bound is not None:
        return False
    return is_tight(line.need, line.left_over, (pack.holds for pack in line.packs))


def _packs(packs: Sequence[PackCount]) -> str:
    """Packs from large to small; sheets are named by their item already."""
    named = (
        count_text(pack.count, "sheet") if pack.name == "sheet" else f"{pack.count} x {pack.name}"
        for pack in sorted(packs, key=lambda pack: -pack.holds.value)
    )
    return ", ".join(named) or "none: enough on hand"


def _total(label: str, lines: Iterable[SupplyLine], units: UnitSystem, currency: str) -> str:
    """One line: weight and room taken, `at least` where some line's are not known, and cost."""
    cost, pounds, space, unknown = 0, Fraction(0), Fraction(0), False
    for line in lines:
        cost += line.cost
        pounds += Fraction(line.weight or 0)
        space += convert(line.volume, "cu ft").value if line.volume else 0
        unknown |= line.weight is None
    weight = amount_text(Amount(Fraction(round(pounds)), "lb"), units)
    room = (
        f", about {amount_text(Amount(Fraction(round(space)), 'cu ft'), units)}"
        if round(space)
        else ""
    )
    words = f"  {label}: {'at least ' if unknown else ''}{weight}{room}"
    return words.ljust(PAGE_WIDTH - 14) + money(cost, currency).rjust(14)
