"""Why an amount is what it is: every reason, by room, down to the trade figure with its source and
status."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.errors import BadValue
from takeoff.job import Takeoff
from takeoff.needs.need import Need, in_phase_order, phase_label
from takeoff.quantities import Amount, add
from takeoff.reference import Figure, figures
from takeoff.report.before_text import cautions
from takeoff.report.numbers import amount_text, decimal_text
from takeoff.report.text_table import paragraph
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
    materials = [
        material
        for material, name in names.items()
        if wanted and (wanted in name.casefold() or wanted in material.casefold())
    ]
    if not materials:
        there = ", ".join(sorted(names.values())) or "nothing"
        raise BadValue(f"No item here has {item!r} in its name. There are: {there}")
    lines: list[str] = []
    for material in materials:
        lines += _item(
            takeoff, [need for need in needs if need.material == material], names[material]
        )
    return "\n".join([*lines, *cautions()]) + "\n"


def _item(takeoff: Takeoff, needs: Sequence[Need], name: str) -> Iterator[str]:
    units = takeoff.house.units
    rooms = {room.room: room.name for room in takeoff.rooms}
    surfaces = {surface.id: surface.name for room in takeoff.rooms for surface in room.surfaces}
    yield f"{name}: {_sum(needs, units)} in all"
    used: dict[str, Figure] = {}
    own = takeoff.house.own_phases
    for phase in in_phase_order(need.phase for need in needs):
        label = phase_label(phase, own)
        for need in (need for need in needs if need.phase == phase):
            yield (
                f"  {label[:1].upper()}{label[1:]}, {rooms.get(need.room, need.room)}: "
                f"{amount_text(need.amount, units)}"
            )
            for reason in need.reasons:
                used |= {id_: figures.figure(id_) for id_ in reason.figures}
                where = (
                    f"{surfaces.get(reason.surface, reason.surface)}: " if reason.surface else ""
                )
                marks = f" ({_named(reason.figures)})" if reason.figures else ""
                text = f"{amount_text(reason.amount, units)}  {where}{reason.text}{marks}"
                yield from paragraph(text, indent="    ", hang="  ")
    if used:
        yield "  Figures these rest on:"
        for trade_figure in sorted(used.values(), key=lambda entry: entry.id):
            yield from paragraph(_figure(trade_figure), indent="    ", hang="  ")
    yield ""


def _sum(needs: Sequence[Need], units: UnitSystem) -> str:
    first, *others = (need.amount for need in needs)
    total: Amount = add(first, *others)
    return amount_text(total, units)


def _named(ids: Sequence[str]) -> str:
    return f"figure{'' if len(ids) == 1 else 's'} {', '.join(ids)}"


def _figure(trade_figure: Figure) -> str:
    status = trade_figure.status.caution or trade_figure.status.value
    edition = f", {trade_figure.edition}" if trade_figure.edition else ""
    value = (
        trade_figure.value
        if isinstance(trade_figure.value, str)
        else decimal_text(trade_figure.value)
    )
    spread = ""
    if trade_figure.low is not None and trade_figure.high is not None:
        spread = (
            f" Sources range from {decimal_text(trade_figure.low)} to "
            f"{decimal_text(trade_figure.high)}."
        )
    reason = (
        f" {trade_figure.reason[:1].upper()}{trade_figure.reason[1:].rstrip('.')}."
        if trade_figure.reason
        else ""
    )
    return (
        f"Figure {trade_figure.id}, {trade_figure.what}: {value} {trade_figure.unit}".rstrip()
        + f" ({status}; {trade_figure.source}{edition}).{spread}{reason}"
    )
