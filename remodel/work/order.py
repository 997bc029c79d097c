"""What to think of before a step of a phase, told where the step is chosen."""

from __future__ import annotations

from decimal import Decimal

from remodel.board.queries import view_of
from remodel.work.models import Phase, PhaseState
from remodel.work.queries import StepWarning, step_warnings

__all__ = ["COLDEST", "warnings_before"]

# °F; GA-216, application and finishing of gypsum panel products (from memory; the maker's sheet
# comes before it)
COLDEST = Decimal(50)
_SOURCE = (
    "GA-216, application and finishing of gypsum panel products (from memory); check the "
    "maker's sheet"
)


def warnings_before(
    phase: Phase, state: str, *, fahrenheit: Decimal | None = None
) -> list[StepWarning]:
    """Every warning of a step, those that stop first. `fahrenheit` is how cold the room gets, where
    the person said."""
    warnings = step_warnings(phase, state)
    if state in (PhaseState.IN_PROGRESS, PhaseState.DONE, PhaseState.READY):
        if phase.key == "taping" and fahrenheit is not None and fahrenheit < COLDEST:
            warnings.insert(0, _cold(fahrenheit))
        if phase.key == "hanging":
            warnings += _ceiling_first(phase)
    order = {"stop": 0, "think": 1, "note": 2}
    return sorted(warnings, key=lambda warning: order.get(warning.severity, 3))


def _cold(fahrenheit: Decimal) -> StepWarning:
    celsius = (fahrenheit - 32) * 5 / 9
    return StepWarning(
        "stop",
        f"The room gets as cold as {fahrenheit:f} °F ({celsius:.0f} °C); warm it to 50 °F (10 °C) "
        "or more first.",
        "Compound that freezes or dries cold shrinks, cracks and loses its bond.",
        _SOURCE,
    )


def _ceiling_first(phase: Phase) -> list[StepWarning]:
    view = view_of(phase.room)
    boarded = (
        {surface.framed.surface.kind.value for surface in view.surfaces if surface.pieces}
        if view
        else set()
    )
    if not {"ceiling", "wall"} <= boarded:
        return []
    return [
        StepWarning(
            "think",
            "Hang the ceiling before the walls: the wall boards are cut to go up against its "
            "board.",
            "A wall board under the ceiling's edge holds it up; hung first, the walls take boards "
            "of another size.",
        )
    ]
