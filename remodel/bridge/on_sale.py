"""Which of several prices of one thing is used: a size that several stores sell, or a package of
one content."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Protocol, TypeVar

__all__ = ["in_use", "pack_content", "sheet_size"]


class _Priced(Protocol):
    price: int
    chosen: bool


T = TypeVar("T", bound=_Priced)


def in_use(rows: Iterable[T], same: Callable[[T], Hashable]) -> list[T]:
    """The row that is bought of each thing, in the order of the rows: the one that a person chose,
    else the cheapest. `same` tells which rows are one thing. Of several that are alike the first
    is used."""
    used: dict[Hashable, T] = {}
    for row in rows:
        key = same(row)
        best = used.get(key)
        if best is None or (not row.chosen, row.price) < (not best.chosen, best.price):
            used[key] = row
    return list(used.values())


def sheet_size(sheet: object) -> Hashable:
    """What makes two sheets on sale one thing."""
    return tuple(getattr(sheet, name) for name in ("board", "thickness", "width", "length"))


def pack_content(pack: object) -> Hashable:
    """What makes two packages of one material one thing: how much they hold."""
    return tuple(getattr(pack, name) for name in ("numerator", "denominator", "unit"))
