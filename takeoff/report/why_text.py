"""Why an amount is what it is: every reason, by room, down to the trade figure with its source and
status."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.errors import BadValue
from takeoff.job import Takeoff
from takeoff.needs.need import Need, Phase
from takeoff.quantities import Amount, add
from takeoff.reference import Figure, figures
from takeoff.report.columns import paragraph
from takeoff.report.numbers import amount_text, decimal_text
from takeoff.units import UnitSystem

__all__ = ["why_text"]


def why_text(takeoff: Takeoff, needs: Sequence[Need], item: str) -> str:
    """The reasons behind every need whose item's id or name holds `item`, upper or lower case; ends
    in a newline.

    Raises `BadValue` that lists what there is where nothing matches.
    """
    wanted = item.strip().casefold()
    called = {line.material: line.name for line in takeoff.supply.lines}
    names = {need.material: called.get(need.material, need.material) for need in needs}
    found = [
        material
        for material, name in names.items()
        if wanted and (wanted in name.casefold() or wanted in material.casefold())
    ]
    if not found:
        there = ", ".join(sorted(names.values())) or "nothing"
        raise BadValue(f"No item here has {item!r} in its name. There are: {there}")
    lines: list[str] = []
    for material in found:
        lines += _item(
            takeoff, [need for need in needs if need.material == material], names[material]
        )
    return "\n".join(lines) + "\n"


def _item(takeoff: Takeoff, needs: Sequence[Need], name: str) -> Iterator[str]:
    units = takeoff.house.units
    rooms = {room.room: room.name for room in takeoff.rooms}
    surfaces = {surface.id: surface.name for room in takeoff.rooms for surface in room.surfaces}
    yield f"{name}: {_sum(needs, units)} in all"
    used: dict[str, Figure] = {}
    for phase in Phase:
        for need in (need for need in needs if need.phase is phase):
            yield (
                f"  {phase.capitalize()}, {rooms.get(need.room, need.room)}: "
                f"{amount_text(need.amount, units)}"
            )
            for reason in need.reasons:
                used |= {each: figures.figure(each) for each in reason.figures}
                where = (
                    f"{surfaces.get(reason.surface, reason.surface)}: " if reason.surface else ""
                )
                marks = f" [{', '.join(reason.figures)}]" if reason.figures else ""
                text = f"{amount_text(reason.amount, units)}  {where}{reason.text}{marks}"
                yield from paragraph(text, indent="    ", hang="  ")
    if used:
        yield "  Figures these rest on:"
        for each in sorted(used.values(), key=lambda one: one.id):
            yield from paragraph(_figure(each), indent="    ", hang="  ")
    yield ""


def _sum(needs: Sequence[Need], units: UnitSystem) -> str:
    first, *others = (need.amount for need in needs)
    total: Amount = add(first, *others)
    return amount_text(total, units)


def _figure(each: Figure) -> str:
    status = each.status.caution or each.status.value
    edition = f", {each.edition}" if each.edition else ""
    value = each.value if isinstance(each.value, str) else decimal_text(each.value)
    spread = ""
    if each.low is not None and each.high is not None:
        spread = f" Sources range from {decimal_text(each.low)} to {decimal_text(each.high)}."
    reason = f" {each.reason[:1].upper()}{each.reason[1:].rstrip('.')}." if each.reason else ""
    return (
        f"[{each.id}] {each.what}: {value} {each.unit}".rstrip()
        + f" ({status}; {each.source}{edition}).{spread}{reason}"
    )
