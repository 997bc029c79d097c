"""What axe finds on a page, in light and in dark."""

from __future__ import annotations

import json
from typing import Any

import pytest

__all__ = ["SCHEMES", "violations"]

# Whole runs in dark are for `make deep`: what depends on the scheme is color alone, and in light
# the colors of dark are looked at as well.
SCHEMES = ["light", pytest.param("dark", marks=pytest.mark.deep)]
_COLORS = {"runOnly": ["cat.color"]}


def violations(page: Any, scheme: str) -> list[tuple[str, list[str]]]:
    """Each rule that a page breaks, with what breaks it; whatever can be opened is opened first.

    In light the colors of dark are tried too, on the same page.
    """
    from axe_playwright_python.sync_playwright import Axe

    page.evaluate(
        "document.querySelectorAll('details').forEach((details) => { details.open = true; })"
    )
    page.evaluate(Axe().axe_script)
    broken = _run(page, {})
    if scheme == "light":
        page.emulate_media(color_scheme="dark")
        broken += [(f"{rule} in dark", where) for rule, where in _run(page, _COLORS)]
        page.emulate_media(color_scheme="light")
    return broken


def _run(page: Any, options: dict[str, Any]) -> list[tuple[str, list[str]]]:
    asked = json.dumps({"resultTypes": ["violations"], **options})
    broken = page.evaluate(f"axe.run(document, {asked}).then((report) => report.violations)")
    return [(rule["id"], [node["html"] for node in rule["nodes"]][:3]) for rule in broken]
