"""Drawings as plain values: what pages are given and what is kept of them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Drawn", "RoomDrawn", "SurfaceDrawn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A finished drawing: SVG that may stand in a page, and its facts as (kind, label, what it
    means). `wide` is the same laid out for a wide screen, where there is such a layout."""

    title: str
    svg: str
    wide: str = ""
    facts: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceDrawn:
    """A surface by its key inside the room.

    `drawn` is None where the surface is too large to draw, and `why_not` says so. `troubles` tell
    of boxes and openings for which no board can be cut where they stand.
    """

    key: str
    name: str
    drawn: Drawn | None
    why_not: str
    troubles: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomDrawn:
    """A room's drawings: its plan, its section, and ceiling and walls in the order they are hung.

    `plan` is None for a plain list of surfaces, and `section` where no ceiling slopes. `order` has
    the steps of hanging, each with its reason.
    """

    plan: Drawn | None
    section: Drawn | None
    surfaces: tuple[SurfaceDrawn, ...]
    order: tuple[tuple[str, str], ...]
