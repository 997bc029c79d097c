"""Cutting sticks (studs, plates, headers, bead, nailers) out of lengths on sale, with a proven lower bound."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.quantities import Cents
from takeoff.units import Nm

__all__ = ["Stick", "StickPlan", "StickStock"]


@dataclass(frozen=True, slots=True)
class StickStock:
    """A length on sale and its price; `pack` names the catalogue's pack."""

    length: Nm
    price: Cents
    pack: str = ""


@dataclass(frozen=True, slots=True)
class Stick:
    """One stick bought and the lengths cut from it, longest first."""

    stock: StickStock
    pieces: tuple[Nm, ...]


@dataclass(frozen=True, slots=True)
class StickPlan:
    """Sticks to buy, their cost, and `bound`: no cutting of these pieces from this stock costs less (cents)."""

    sticks: tuple[Stick, ...]
    cost: Cents
    bound: Cents
