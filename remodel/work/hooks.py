"""What the apps above `work` do before a phase is done. They register here what is to be called,
inside the same write; `remodel/apps.py` shows who does."""

from __future__ import annotations

from collections.abc import Callable

from remodel.history.services import By
from remodel.work.models import Phase

__all__ = ["before_phase_done", "tell_done"]

_listeners: list[Callable[[By, Phase], object]] = []


def before_phase_done(listener: Callable[[By, Phase], object]) -> None:
    """Have `listener` called with every phase that is about to be done, inside that write."""
    if listener not in _listeners:
        _listeners.append(listener)


def tell_done(by: By, phase: Phase) -> None:
    """Call all that was registered for a phase that is about to be done."""
    for listener in _listeners:
        listener(by, phase)
