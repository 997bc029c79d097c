"""Tags of the pages about rooms: `{% load rooms %}`."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse

register = template.Library()


@register.simple_tag
def room_link(name: str, *args: Any) -> str:
    """`{% room_link "room-add" house.pk as add %}`: the address of a page, or nothing where this site has none."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


@register.filter
def floor(summary: Any, units: str) -> str:
    """The floor of a room: 120 sq ft, or 11.1 m²."""
    from remodel.engine.reasons import area_text

    return area_text(summary.floor_area, units)


@register.filter
def cents(value: Fraction | int | None) -> int | None:
    """`{{ group.cost|cents|money:house.currency }}`: whole cents of a fraction of them."""
    return None if value is None else round(value)


@register.filter
def absolute(value: int) -> int:
    """Without its sign: 3 of -3."""
    return abs(value)
