"""The supply list as text: what a person takes to the store, phase by phase, and what to know before buying."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from takeoff.boards.plan import BoardPlan, BoundBasis, JointKind
from takeoff.choices import FramedWhen
from takeoff.framing.edges import LooseEdgeKind
from takeoff.job import PartitionChoice, Takeoff
from takeoff.needs.need import Phase
from takeoff.quantities import from_nm, ratio
from takeoff.report.columns import PAGE_WIDTH, Column, paragraph, rows
from takeoff.report.numbers import amount_text, money
from takeoff.seams import SeamKind
from takeoff.supply import PackCount, SupplyLine, SupplyList
from takeoff.units import FOOT, Nm, UnitSystem, format_length, round_to_tape

__all__ = ["supply_text"]

_NOT_TAPED = (SeamKind.OUTSIDE_CORNER, SeamKind.OPENING_EDGE)

_UNSEEN = {
    LooseEdgeKind.INSIDE_CORNER: "the corners",
    LooseEdgeKind.WALL_TOP: "the sloping top",
    LooseEdgeKind.CEILING_ALONG_JOISTS: "the sides along the joists",
}

_ITEMS = (
    Column("Item", 29),
    Column("Need", 10, right=True),
    Column("On hand", 8, right=True),
    Column("To buy", 23),
    Column("Left over", 9, right=True),
    Column("Cost", 9, right=True),
)


def supply_text(
    takeoff: Takeoff, supply: SupplyList, choices: Sequence[PartitionChoice] = (), *, ask_why: str = "--why ITEM"
) -> str:
    """The whole text for `supply` (all of the takeoff's, or chosen phases and rooms); ends in a newline.

    `choices` are the partitions worked out both ways, shown side by side. `ask_why` says how reasons are asked for.
    """
    return "\n".join(_lines(takeoff, supply, choices, ask_why)) + "\n"


def _lines(takeoff: Takeoff, supply: SupplyList, choices: Sequence[PartitionChoice], ask_why: str) -> Iterator[str]:
    house = takeoff.house
    currency = house.catalogue.currency
    yield house.name
    yield from paragraph(house.note, indent="") if house.note else ()
    if supply.sample_prices:
        yield "Sample prices: invented, not a store's. Put your store's prices in the house file."
    if takeoff.refused:
        yield from _heading("CANNOT BE BOARDED AS IT STANDS (not in the list below)")
        for refusal in takeoff.refused:
            yield from paragraph(refusal.message, hang="  ")
    for phase in Phase:
        yield from _phase([line for line in supply.lines if line.phase is phase], phase, house.units, currency)
    yield ""
    yield _total("All of the above", supply.lines, currency)
    yield from _plans(takeoff, currency)
    yield from _partitions(choices, currency)
    yield from _loose(takeoff)
    yield from _checks(takeoff)
    if supply.unmet or takeoff.warnings:
        yield from _heading("BEFORE YOU BUY")
        for warning in (*supply.unmet, *takeoff.warnings):
            yield from paragraph(f"- {warning}", hang="  ")
    yield from _cautions()
    yield ""
    yield f"Why an amount is what it is: {ask_why}, with the item's name or part of it."


def _heading(text: str) -> Iterator[str]:
    yield ""
    yield text


def _phase(lines: Sequence[SupplyLine], phase: Phase, units: UnitSystem, currency: str) -> Iterator[str]:
    yield from _heading(phase.upper())
    if not lines:
        yield "  Nothing to buy in this phase."
        return
    yield from rows(
        _ITEMS,
        (
            (
                line.name,
                amount_text(line.need, units),
                amount_text(line.on_hand, units) if line.on_hand.value else "",
                line.unmet or _packs(line.packs),
                amount_text(line.left_over, units) if line.left_over.value else "",
                money(line.cost, currency),
            )
            for line in lines
        ),
    )
    yield _total(f"{phase.capitalize()} in all", lines, currency)


def _packs(packs: Sequence[PackCount]) -> str:
    named = (_count(pack.count, "sheet") if pack.name == "sheet" else f"{pack.count} x {pack.name}" for pack in packs)
    return ", ".join(named) or "none: enough on hand"


def _total(label: str, lines: Iterable[SupplyLine], currency: str) -> str:
    cost, pounds, unknown = 0, Fraction(0), False
    for line in lines:
        cost += line.cost
        pounds += Fraction(line.weight or 0)
        unknown |= line.weight is None
    weight = f"{'at least ' if unknown else ''}{round(pounds):,} lb"
    return f"  {label}: {weight}".ljust(PAGE_WIDTH - 14) + money(cost, currency).rjust(14)


def _plans(takeoff: Takeoff, currency: str) -> Iterator[str]:
    if not takeoff.plans:
        return
    yield from _heading("BOARD PLANS (each cut from one pool, rooms in the order listed)")
    names = {kind.id: kind.name for kind in takeoff.house.catalogue.boards}
    for plan in takeoff.plans:
        yield from paragraph(_plan(plan, names, takeoff.house.units, currency), hang="  ")


def _plan(plan: BoardPlan, names: dict[str, str], units: UnitSystem, currency: str) -> str:
    first = plan.surfaces[0]
    bought = [sheet for sheet in plan.sheets if sheet.source is None]
    joints = Counter[JointKind]()
    seams = Nm(0)
    for surface in plan.surfaces:
        for joint in surface.joints:
            joints[joint.kind] += 1
            seams = Nm(seams + joint.length)
    gap = (plan.total - plan.bound.value) / plan.total * 100 if plan.total else Fraction(0)
    basis = "the area alone" if plan.bound.basis is BoundBasis.AREA else plan.bound.basis.value
    return (
        f"{names.get(first.board, first.board)} {_thickness(first.thickness, units)}: "
        f"{sum(len(surface.pieces) for surface in plan.surfaces)} pieces on {_count(len(plan.surfaces), 'surface')} "
        f"out of {_count(len(bought), 'sheet')} bought and {len(plan.sheets) - len(bought)} owned or left over; "
        f"butt seams {joints[JointKind.FRAMING]} on framing, {joints[JointKind.FLOATING]} floating, "
        f"{amount_text(from_nm(seams, 'ft'), units)} in all. "
        f"Sheets, seams and backers {money(plan.total, currency)}; no plan under these rules can cost less than "
        f"{money(plan.bound.value, currency)} (by {basis}), so at most {float(gap):.1f} % could be saved."
    )


def _thickness(thickness: Nm, units: UnitSystem) -> str:
    return format_length(thickness, units, feet=False)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _partitions(choices: Sequence[PartitionChoice], currency: str) -> Iterator[str]:
    if not choices:
        return
    yield from _heading("PARTITIONS: FRAMED BEFORE OR AFTER BOARD (what the whole house takes)")
    columns = (
        Column("Partition", 26),
        Column("Framed", 12),
        Column("Sheets", 7, right=True),
        Column("Taped joint", 12, right=True),
        Column("Weight", 11, right=True),
        Column("Cost", 12, right=True),
    )
    yield from rows(columns, (_choice(choice, currency) for choice in choices))
    yield from paragraph(
        "Framed after: walls and ceiling run through and the partition stands on finished faces, so record blocking "
        "where it will be fastened before those faces are closed."
    )


def _choice(choice: PartitionChoice, currency: str) -> tuple[str, ...]:
    takeoff = choice.takeoff
    shape = next(each for each in takeoff.partitions if each.id == choice.partition)
    as_file = next(each for each in takeoff.house.partitions if each.id == choice.partition).framed
    mark = " (as now)" if choice.framed is as_file else ""
    taped = Nm(sum(seam.length for seam in takeoff.seams if seam.kind not in _NOT_TAPED))
    return (
        shape.name,
        f"{'before' if choice.framed is FramedWhen.BEFORE else 'after'}{mark}",
        str(sum(sheet.source is None for sheet in takeoff.sheets)),
        f"{round(Fraction(taped, FOOT)):,} ft",
        f"{round(takeoff.supply.weight):,} lb",
        money(takeoff.supply.cost, currency),
    )


def _loose(takeoff: Takeoff) -> Iterator[str]:
    edges = takeoff.loose_edges
    if not edges:
        return
    units = takeoff.house.units
    yield from _heading("EDGES TO LOOK AT BEFORE HANGING")
    for edge in edges:
        if edge.certain:
            length = format_length(round_to_tape(edge.length, units, up=True), units)
            yield from paragraph(f"- {edge.text}: {edge.support}, {length}", hang="  ")
    unseen = [edge for edge in edges if not edge.certain]
    if unseen:
        yield "  Nobody has said yet whether there is something to screw to here; look before you hang:"
    for room in takeoff.rooms:
        places: dict[str, list[str]] = {}
        for edge in unseen:
            surface = next((each for each in room.surfaces if each.id == edge.surface), None)
            if surface:
                short = surface.name.removeprefix(f"{room.name}, ")
                known = places.setdefault(_UNSEEN.get(edge.kind, edge.kind.value), [])
                if short not in known:
                    known.append(short)
        for kind, walls in places.items():
            yield from paragraph(f"- {room.name}: {kind} of {_listed(walls)}", hang="  ")


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:-1]) + f" and {names[-1]}" if len(names) > 1 else names[0]


def _checks(takeoff: Takeoff) -> Iterator[str]:
    if not takeoff.cross_checks:
        return
    units = takeoff.house.units
    names = {line.material: line.name for line in takeoff.supply.lines}
    yield from _heading("BESIDE THE HANDBOOK'S FIGURE PER AREA (all phases and rooms)")
    for check in takeoff.cross_checks:
        apart = (ratio(check.ours, check.handbook) - 1) * 100
        line = (
            f"{names.get(check.material, check.material)}: {amount_text(check.ours, units)} here, "
            f"{amount_text(check.handbook, units)} by the handbook [{check.figure}], {round(apart):+d} %"
        )
        yield from paragraph(f"{line}. {check.why}" if check.why else line, hang="  ")


def _cautions() -> Iterator[str]:
    yield from _heading("TAKE CARE")
    yield from paragraph(
        "These are quantities, not a verdict on any floor, wall or ceiling: local code and licensed people decide on "
        "structure, wiring, gas, and fire-rated work. Old paint and old joint compound may hold lead or asbestos: have "
        "them tested before you cut or sand. Board dust holds silica: sand wet or with a vacuum and wear a fitted "
        "respirator. Two people lift a sheet; spread stacks along the walls, never in the middle of a floor. A "
        "floating seam is good practice in many places, but model codes ask for board ends on framing: ask your "
        "inspector, or set joint_mode to framing."
    )
