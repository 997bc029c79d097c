"""What to know of the whole house before buying: plans, partitions, loose edges, the handbook's
amounts, cautions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction

from takeoff.boards.plan import BoardPlan, BoundBasis, JointKind
from takeoff.framing.edges import UnsupportedEdge, UnsupportedEdgeKind
from takeoff.geometry.rooms import RoomGeometry
from takeoff.hours import hours_of_rooms
from takeoff.job import Takeoff
from takeoff.priced.choice import ChoiceKind, choices_of
from takeoff.quantities import from_nm, money, ratio
from takeoff.report.caution import CAUTION
from takeoff.report.numbers import amount_text, count_text, listed
from takeoff.report.text_table import paragraph
from takeoff.units import Nm, format_length, round_to_tape

__all__ = ["before_lines", "cautions"]


_UNSEEN = {
    UnsupportedEdgeKind.INSIDE_CORNER: "the corners of",
    UnsupportedEdgeKind.WALL_TOP: "the sloping top of",
    UnsupportedEdgeKind.CEILING_ALONG_JOISTS: "the edges along the joists of",
}

# A plan's notes of these rules say what is as it should be; they stand in the document, not before
# a person who buys.
_QUIET_RULES = ("largest_floor_gap",)


def before_lines(takeoff: Takeoff, left: Collection[str] = ()) -> Iterator[str]:
    """The lines that follow a list of everything, part by part; a part with nothing to say is left
    out. `left` are the surfaces whose plan was too large for a quick search."""
    yield from _plans(takeoff, left)
    yield from _partitions(takeoff)
    yield from _unsupported(takeoff)
    yield from _handbook(takeoff)
    yield from _warnings(takeoff)


def cautions() -> Iterator[str]:
    """The usual caution, once."""
    yield from ("", "CAUTION")
    yield from paragraph(CAUTION)


def _plans(takeoff: Takeoff, left: Collection[str]) -> Iterator[str]:
    if not takeoff.plans:
        return
    yield from (
        "",
        "BOARD PLANS (each cut from shared sheets, in the order listed; row by row with --plan)",
    )
    for plan in takeoff.plans:
        text = _plan(plan, takeoff)
        if any(surface.surface in left for surface in plan.surfaces):
            text += (
                " Too large for a quick search, so nobody knows how good this plan is: --search 60 "
                "looks for a minute."
            )
        yield from paragraph(text, hang="  ")
    hours = hours_of_rooms(takeoff).values()
    yield from paragraph(
        f"In all about {_whole(sum(one.hanging for one in hours))} to hang and "
        f"{_whole(sum(one.finishing for one in hours))} to finish, for one person: by the minutes "
        "of the rules, common practice with a wide spread and no published source.",
        hang="  ",
    )


def _whole(hours: Fraction | int) -> str:
    return count_text(round(hours), "hour")


def _plan(plan: BoardPlan, takeoff: Takeoff) -> str:
    units, currency = takeoff.house.units, takeoff.house.catalogue.currency
    first = plan.surfaces[0]
    kind = takeoff.house.catalogue.board(first.board).name
    bought = sum(sheet.source is None for sheet in plan.sheets)
    here = sum(sheet.is_whole for sheet in plan.sheets) - bought
    offcuts = len(plan.sheets) - bought - here
    extra = [f"{count_text(here, 'whole sheet')} on hand"] if here else []
    extra += [f"{offcuts} owned or left over"] if offcuts else []
    joints = Counter[JointKind]()
    seams = Nm(0)
    for surface in plan.surfaces:
        for joint in surface.joints:
            joints[joint.kind] += 1
            seams = Nm(seams + joint.length)
    return (
        f"{kind} {format_length(first.thickness, units, feet=False)}: "
        f"{count_text(sum(len(surface.pieces) for surface in plan.surfaces), 'piece')} on "
        f"{count_text(len(plan.surfaces), 'surface')}, out of {count_text(bought, 'sheet')} bought"
        f"{''.join(f' and {one}' for one in extra)}. "
        f"Butt seams: {joints[JointKind.FRAMING]} on framing, {joints[JointKind.FLOATING]} "
        "floating, "
        f"{amount_text(from_nm(seams, 'ft'), units)} in all. "
        f"Sheets, seams and backers {money(plan.money, currency)}{_hours(plan, takeoff)}"
        f"{_bound(plan)}."
    )


def _hours(plan: BoardPlan, takeoff: Takeoff) -> str:
    """The hours that the plan decides: what they are worth is no money, so it is not told."""
    hour = Fraction(takeoff.house.rules.hour)
    if not hour:
        return ""
    return f", and {float(plan.work_cost / 100 / hour):.1f} hours that the plan decides"


def _bound(plan: BoardPlan) -> str:
    """How good the plan is, as far as anybody looked: a bound by area alone says too little to be
    told."""
    if plan.bound.basis is BoundBasis.AREA:
        return ""
    if plan.total == plan.bound.value:
        return f"; no plan under these rules costs less ({plan.bound.basis})"
    gap = (plan.total - plan.bound.value) / plan.total * 100
    return f"; at most {float(gap):.1f}% could still be saved ({plan.bound.basis.value})"


def _partitions(takeoff: Takeoff) -> Iterator[str]:
    """Which partitions could as well be framed the other way. Working that out takes as long as
    the rest of the takeoff, so it is done where it is asked for."""
    house = takeoff.house
    choices = choices_of(house, shapes=takeoff.rooms)
    about = {choice.of for choice in choices if choice.kind is ChoiceKind.PARTITION}
    either = [partition for partition in house.partitions if partition.id in about]
    if not either:
        return
    yield from ("", "PARTITIONS: FRAMED BEFORE OR AFTER BOARD (both ways side by side: --choices)")
    for partition in either:
        yield from paragraph(
            f"- {partition.name}, {house.room(partition.room).name}: now {partition.framed.value} "
            "board",
            hang="  ",
        )
    yield from paragraph(
        "Framed after: walls and ceiling run through and the partition stands on finished faces, "
        "so record blocking where it will be fastened before those faces are closed."
    )


def _unsupported(takeoff: Takeoff) -> Iterator[str]:
    edges = takeoff.unsupported_edges
    if not edges:
        return
    units = takeoff.house.units
    yield from ("", "EDGES TO LOOK AT BEFORE HANGING")
    for edge in edges:
        if edge.certain:
            length = format_length(round_to_tape(edge.length, units, up=True), units)
            yield from paragraph(f"- {edge.text}: {edge.support}, {length}", hang="  ")
    unseen = [edge for edge in edges if not edge.certain]
    if unseen:
        yield (
            "  Nobody has said yet whether there is something to screw to here; look before you "
            "hang:"
        )
    for room in takeoff.rooms:
        for kind, places in _unseen_in(room, unseen).items():
            yield from paragraph(f"- {room.name}: {kind} {listed(places)}", hang="  ")


def _unseen_in(room: RoomGeometry, unseen: Iterable[UnsupportedEdge]) -> dict[str, list[str]]:
    """The surfaces of a room to look at, by what to look for, each once."""
    names = {surface.id: surface.name.removeprefix(f"{room.name}, ") for surface in room.surfaces}
    places_by_lack: dict[str, list[str]] = {}
    for edge in unseen:
        if edge.surface in names:
            places = places_by_lack.setdefault(_UNSEEN.get(edge.kind, f"{edge.kind} of"), [])
            if names[edge.surface] not in places:
                places.append(names[edge.surface])
    return places_by_lack


def _handbook(takeoff: Takeoff) -> Iterator[str]:
    if not takeoff.cross_checks:
        return
    units = takeoff.house.units
    names = {line.material: line.name for line in takeoff.supply.lines}
    yield from ("", "CHECK AGAINST HANDBOOK RATES")
    for check in takeoff.cross_checks:
        apart = round((ratio(check.ours, check.handbook) - 1) * 100)
        line = (
            f"{check.name or names.get(check.material, check.material)}: "
            f"{amount_text(check.ours, units)} here, "
            f"{amount_text(check.handbook, units)} by the handbook (figure {check.figure}), "
            f"{f'{apart:+d}%' if apart else 'the same'}"
        )
        yield from paragraph(f"{line}. {check.why}" if check.why else line, hang="  ")


def _warnings(takeoff: Takeoff) -> Iterator[str]:
    sentences = [*takeoff.supply.unmet, *takeoff.warnings, *_plan_notes(takeoff)]
    if sentences:
        yield from ("", "BEFORE YOU BUY")
        for sentence in sentences:
            yield from paragraph(f"- {sentence}", hang="  ")


def _plan_notes(takeoff: Takeoff) -> Iterator[str]:
    """Each note of the plans once, with the surfaces it is said of, room by room."""
    places_by_note: dict[str, dict[str, list[str]]] = {}
    names = {
        surface.id: (room.name, surface.name) for room in takeoff.rooms for surface in room.surfaces
    }
    for plan in takeoff.surface_plans:
        for note in plan.notes:
            if note.rule not in _QUIET_RULES:
                room, name = names[note.surface]
                places = places_by_note.setdefault(note.text, {}).setdefault(room, [])
                if name not in places:
                    places.append(name)
    for text, by_room in places_by_note.items():
        where = "; ".join(
            f"{room}, {listed([name.removeprefix(f'{room}, ') for name in places])}"
            for room, places in by_room.items()
        )
        yield f"{where}: {text}"
