"""What the engine says when it cannot go on: one small family under `TakeoffError`.

Every message is a sentence for the person at the tape: what stands where, the limit, and what to
enter.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BadValue",
    "CannotBoard",
    "HouseFileError",
    "LengthError",
    "NeedsEngineer",
    "Problem",
    "TakeoffError",
    "WrongUnit",
]


class TakeoffError(ValueError):
    """Base of everything the engine refuses."""


class BadValue(TakeoffError):
    """A value that cannot exist in a house, such as an opening wider than its wall.

    `about` names the value where a shared check refused it (`Opening Front door width`), and is
    empty otherwise.
    """

    def __init__(self, message: str, *, about: str = "") -> None:
        super().__init__(message)
        self.about = about


class NeedsEngineer(BadValue):
    """Work whose sizes nobody may read off a general table, such as a bearing partition."""


class LengthError(TakeoffError):
    """A text that is not one length, read one way only."""


class WrongUnit(TakeoffError):
    """Amounts of different kinds that were to meet, or a unit nobody measures with here; names
    both."""


class CannotBoard(TakeoffError):
    """No plan is allowed: says the surface, the row where there is one, the rule, and what to
    relax."""

    def __init__(self, *, surface: str, rule: str, message: str, row: int | None = None) -> None:
        super().__init__(message)
        self.surface = surface
        self.row = row
        self.rule = rule


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a house file: where it stands (`rooms[2].openings[0].width`) and what to
    enter."""

    place: str
    message: str

    def __str__(self) -> str:
        return f"{self.place}: {self.message}" if self.place else self.message


class HouseFileError(TakeoffError):
    """A house file that cannot be read; `problems` holds everything found, in the file's order."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems
