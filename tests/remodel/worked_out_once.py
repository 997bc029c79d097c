"""What houses take, worked out once in a process: many tests come to the same house by the same
steps, and what it takes follows from its value alone. The engine has tests of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

import pytest

from remodel.bridge import piles

__all__ = ["worked_out_once"]

_MOST = 200  # the houses of a few dozen tests


@pytest.fixture(autouse=True, scope="session")
def worked_out_once() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        for name in ("take_off", "renew"):
            patch.setattr(piles, name, _once(getattr(piles, name)))
        yield


def _once(work_out: Callable[..., Any]) -> Callable[..., Any]:
    @lru_cache(maxsize=_MOST)
    def known(*given: Any, **named: Any) -> Any:
        return work_out(*given, **named)

    def once(*given: Any, **named: Any) -> Any:
        return known(
            *map(_as_key, given), **{name: _as_key(value) for name, value in named.items()}
        )

    return once


def _as_key(value: Any) -> Any:
    if isinstance(value, set):
        return frozenset(value)
    return tuple(value) if isinstance(value, list) else value
