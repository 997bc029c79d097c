"""Tags of the pages that write the house down: `{% load edit %}`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import template

from remodel.web.forms import HouseForm

register = template.Library()


@register.inclusion_tag("_error_summary.html")
def walk_summary(forms: Iterable[HouseForm]) -> dict[str, Any]:
    """`{% walk_summary summaries %}`: one summary for a list of forms, such as the walls of a walk."""
    return {"errors": [row for form in forms for row in form.summary]}
