"""Every route of the site as a line, and what its path needs. `python -m tests.remodel.routes`
writes the inventory."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

__all__ = ["INVENTORY", "Route", "inventory", "routes"]

INVENTORY = Path(__file__).with_name("routes.txt")


@dataclass(frozen=True, slots=True)
class Route:
    """`who` is from the inventory: open (nobody has to be known), home, hosted, anybody (who is
    known), house (whoever belongs to it; who may look only reads), owner (of the house)."""

    name: str
    path: str
    methods: tuple[str, ...]
    parameters: tuple[str, ...]
    who: str = ""


def routes() -> list[Route]:
    """Every route, with who may use it as the inventory says."""
    who = {(name, path): kind for name, path, _, kind in inventory()}
    return [
        Route(name, path, methods, parameters, who.get((name, path), ""))
        for name, path, methods, parameters in _walk()
    ]


def inventory() -> list[list[str]]:
    return [
        line.split()
        for line in INVENTORY.read_text().splitlines()
        if line and not line.startswith("#")
    ]


def _walk(
    patterns: Any = None, prefix: str = ""
) -> Iterator[tuple[str, str, tuple[str, ...], tuple[str, ...]]]:
    for url_pattern in get_resolver().url_patterns if patterns is None else patterns:
        path = prefix + str(url_pattern.pattern)
        if isinstance(url_pattern, URLResolver):
            yield from _walk(url_pattern.url_patterns, path)
        elif isinstance(url_pattern, URLPattern):
            yield (
                url_pattern.name or "",
                "/" + path,
                _methods(url_pattern.callback),
                tuple(url_pattern.pattern.converters),
            )


def _methods(view: Callable[..., Any]) -> tuple[str, ...]:
    """The verbs a view's decorator lets through; none where it has no such decorator."""
    current: Any = view
    while current is not None:
        names = getattr(getattr(current, "__code__", None), "co_freevars", ())
        if "request_method_list" in names:
            return tuple(current.__closure__[names.index("request_method_list")].cell_contents)
        current = getattr(current, "__wrapped__", None)
    return ()


if __name__ == "__main__":
    import django

    django.setup()
    for route in routes():
        print(route.name, route.path, ",".join(route.methods), route.who or "?")
