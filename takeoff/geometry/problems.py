"""Several things wrong at once, so that a person goes back to the tape once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from takeoff.errors import BadValue

__all__ = ["Problems"]


class Problems:
    """Gathers what is wrong with each of several things, in the order they were looked at."""

    def __init__(self) -> None:
        self._found: list[BadValue] = []

    @contextmanager
    def of_each(self) -> Iterator[None]:
        """Keep a `BadValue` raised inside, and go on after it."""
        try:
            yield
        except BadValue as problem:
            self._found.append(problem)

    def refuse(self) -> None:
        """Raise what was found: one problem as it was, several as one `BadValue` with a line each;
        else nothing."""
        if len(self._found) == 1:
            raise self._found[0]
        if self._found:
            raise BadValue("\n".join(dict.fromkeys(str(problem) for problem in self._found)))
