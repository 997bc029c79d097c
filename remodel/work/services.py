"""Writes to the work on a room: its phases, notes and the daily log."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db.models import Max
from django.utils import timezone

from remodel.bridge import records
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, create_all, recorded, remove
from remodel.house.checks import refusing
from remodel.house.models import House, Room, Wall
from remodel.house.queries import new_key
from remodel.work.hooks import tell_done
from remodel.work.models import GIVEN_PHASES, AddedNeed, DayLog, Note, Phase, PhaseState

__all__ = [
    "ALLOWED_STEPS",
    "added_need_add",
    "added_need_change",
    "added_need_remove",
    "day_log_change",
    "day_log_remove",
    "note_add",
    "note_change",
    "note_remove",
    "phase_add",
    "phase_change",
    "phase_move",
    "phase_remove",
    "phase_set_state",
    "phases_add",
    "room_close",
]

# Which state may follow which. Done can be opened again; nothing goes straight from blocked to
# done.
ALLOWED_STEPS: dict[str, tuple[str, ...]] = {
    PhaseState.NOT_STARTED: (
        PhaseState.READY,
        PhaseState.BLOCKED,
        PhaseState.IN_PROGRESS,
        PhaseState.DONE,
    ),
    PhaseState.BLOCKED: (PhaseState.NOT_STARTED, PhaseState.READY),
    PhaseState.READY: (
        PhaseState.NOT_STARTED,
        PhaseState.BLOCKED,
        PhaseState.IN_PROGRESS,
        PhaseState.DONE,
    ),
    PhaseState.IN_PROGRESS: (PhaseState.READY, PhaseState.BLOCKED, PhaseState.DONE),
    PhaseState.DONE: (PhaseState.IN_PROGRESS,),
}


@recorded("set up the phases")
def phases_add(*, by: By, rooms: Sequence[Room]) -> list[Phase]:
    """Give new rooms the given phases. In a room that is already finished they are done."""
    done = {"state": PhaseState.DONE, "done_on": timezone.localdate()}
    return create_all(
        Phase(
            room=room,
            key=key,
            name=name,
            position=(index + 1) * 10,
            **(done if room.finished else {}),
        )
        for room in rooms
        for index, (key, name) in enumerate(GIVEN_PHASES)
    )


@recorded("moved a phase on")
def phase_set_state(
    *, by: By, phase: Phase, state: str, waits_for: str = "", day: date | None = None
) -> Phase:
    """Put a phase into another state. A blocked phase says what it waits for. A done phase gets the
    day.

    Raises `Refused` for a step that is not allowed, with the steps that are.
    """
    day = day or timezone.localdate()
    if state == phase.state and state != PhaseState.BLOCKED:
        return phase
    if state not in PhaseState.values:
        raise Refused(f"Choose one of {', '.join(PhaseState.values)}", field="state")
    if state != phase.state and state not in ALLOWED_STEPS[phase.state]:
        steps = " or ".join(PhaseState(step).label.lower() for step in ALLOWED_STEPS[phase.state])
        raise Refused(
            f"{phase.name} is {phase.get_state_display().lower()}; it can go to {steps}",
            field="state",
        )
    if state == PhaseState.BLOCKED and not waits_for.strip():
        raise Refused(
            "Say what it waits for, for example the electrician's sign-off", field="waits_for"
        )
    if state == PhaseState.DONE:
        tell_done(by, phase)
    started = phase.started_on or (
        day if state in (PhaseState.IN_PROGRESS, PhaseState.DONE) else None
    )
    return change(
        phase,
        state=state,
        waits_for=waits_for.strip() if state == PhaseState.BLOCKED else "",
        started_on=started,
        done_on=day if state == PhaseState.DONE else None,
    )


@recorded("closed a room")
def room_close(*, by: By, room: Room) -> Room:
    """Set every phase of a room to done, so that it takes nothing any more. Its hours and what was
    used stay. Raises `Refused` where a phase still waits for something."""
    phases = list(room.phases.filter(left_out=False).order_by("position", "key"))
    for phase in phases:
        if phase.state == PhaseState.BLOCKED:
            raise Refused(
                f"{phase.name} waits for {phase.waits_for}. Change where it stands first, then "
                "close the room"
            )
    for phase in phases:
        phase_set_state(by=by, phase=phase, state=PhaseState.DONE)
    return room


@recorded("added a phase")
def phase_add(*, by: By, room: Room, name: str, after: Phase | None = None) -> Phase:
    """Add a phase of the person's own, after another or at the end."""
    if not name.strip():
        raise Refused("Name the phase, for example Trim", field="name")
    taken = Phase.all_objects.filter(room=room).values_list("key", flat=True)
    others = list(room.phases.order_by("position"))
    if after is None or after not in others:
        position = others[-1].position + 10 if others else 10
    else:
        rest = others[others.index(after) + 1 :]
        position = (after.position + rest[0].position) // 2 if rest else after.position + 10
        if rest and position == after.position:
            for step, later in enumerate(rest, start=2):
                change(later, position=after.position + 10 * step)
            position = after.position + 10
    return create(
        Phase(
            room=room,
            key=new_key(name, taken, prefix="own", fallback="phase")[:40],
            name=name.strip(),
            own=True,
            position=position,
        )
    )


@recorded("changed a phase")
def phase_change(*, by: By, phase: Phase, **values: Any) -> Phase:
    """Change `name` (of an own phase) or `left_out`."""
    if "name" in values and not phase.own:
        raise Refused("A given phase keeps its name; add one of your own beside it", field="name")
    return change(phase, **values)


@recorded("moved a phase")
def phase_move(*, by: By, phase: Phase, up: bool) -> Phase:
    """Swap a phase with the one before or after it. At either end nothing happens."""
    others = list(phase.room.phases.order_by("position", "key"))
    index = next(at for at, other in enumerate(others) if other.pk == phase.pk)
    swap = index - 1 if up else index + 1
    if not 0 <= swap < len(others):
        return phase
    mine, theirs = others[index].position, others[swap].position
    change(others[swap], position=mine)
    return change(phase, position=theirs)


@recorded("removed a phase")
def phase_remove(*, by: By, phase: Phase) -> Phase:
    """Remove a phase of the person's own, with what was added to it. A given phase can only be left
    out."""
    if not phase.own:
        raise Refused("A given phase can be left out of a room, not removed")
    for need in phase.added.all():
        remove(need)
    return remove(phase)


@recorded("added to a phase")
def added_need_add(*, by: By, phase: Phase, **values: Any) -> AddedNeed:
    """Add a material that a phase takes: material, amount, goes_by, per, waste, note (see
    `AddedNeed`).

    Raises `Refused` for what is no amount, or goes by another kind of measure.
    """
    room = phase.room
    taken = AddedNeed.all_objects.filter(phase__room__house=room.house_id)
    last = AddedNeed.all_objects.filter(phase__room=room).aggregate(last=Max("position"))["last"]
    row = AddedNeed(
        phase=phase,
        key=new_key(
            values["material"],
            taken.values_list("key", flat=True),
            prefix=room.key[:25].rstrip("-"),
            fallback="need",
        ),
        position=0 if last is None else last + 1,
        **values,
    )
    with refusing():
        records.check_row(row)
    return create(row)


@recorded("changed what a phase takes")
def added_need_change(*, by: By, need: AddedNeed, **values: Any) -> AddedNeed:
    """Change any column of what was added to a phase."""
    change(need, **values)
    with refusing():
        records.check_row(need)
    return need


@recorded("removed what was added to a phase")
def added_need_remove(*, by: By, need: AddedNeed) -> AddedNeed:
    return remove(need)


@recorded("wrote a note")
def note_add(
    *,
    by: By,
    house: House,
    text: str,
    room: Room | None = None,
    phase: Phase | None = None,
    wall: Wall | None = None,
) -> Note:
    if not text.strip():
        raise Refused("Write the note, for example Left wall is out of plumb", field="text")
    return create(
        Note(
            house=house,
            room=room,
            phase=phase,
            wall=wall,
            text=text.strip(),
            person=by.person,
            at=timezone.now(),
        )
    )


@recorded("changed a note")
def note_change(*, by: By, note: Note, text: str) -> Note:
    if not text.strip():
        raise Refused("Write the note, or remove it", field="text")
    return change(note, text=text.strip())


@recorded("removed a note")
def note_remove(*, by: By, note: Note) -> Note:
    return remove(note)


@recorded("changed a day's log")
def day_log_change(*, by: By, log: DayLog, **values: Any) -> DayLog:
    """Change the day, minutes or note of a log. Its movements are taken back one by one
    (`supply.ledger.reverse`)."""
    return change(log, **values)


@recorded("removed a day's log")
def day_log_remove(*, by: By, log: DayLog) -> DayLog:
    """Remove a log. What it took from stock stays taken, because the ledger is corrected only by
    another movement (`supply.ledger.reverse`)."""
    return remove(log)
