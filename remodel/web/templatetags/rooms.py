"""Tags of the pages about rooms: `{% load rooms %}`."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import template

register = template.Library()


@register.filter
def floor(summary: Any, units: str) -> str:
    """The floor of a room: 120 sq ft, or 11.1 m²."""
    from remodel.bridge.reasons import area_text

    return area_text(summary.floor_area, units)


@register.filter
def cents(value: Fraction | int | None) -> int | None:
    """`{{ group.cost|cents|money:house.currency }}`: a fraction of cents as whole cents."""
    return None if value is None else round(value)


@register.filter
def absolute(value: int) -> int:
    """The number without its sign: 3 for -3."""
    return abs(value)
