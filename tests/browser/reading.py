"""How a page reads: what axe finds in light and in dark, and what is too small to press."""

from __future__ import annotations

import json
from typing import Any

import pytest

__all__ = ["ANYWHERE", "SCHEMES", "open_details", "too_small", "violations"]

# Whole runs in dark are for `make deep`: what depends on the scheme is color alone, and in light
# the colors of dark are looked at as well.
SCHEMES = ["light", pytest.param("dark", marks=pytest.mark.deep)]
_COLORS = {"runOnly": ["cat.color"]}

ANYWHERE = "a, button, input, select, textarea, summary"
IN_PAGE = f"main :is({ANYWHERE})"
# A box to tick is as large as its label, and a link of a task as its whole line.
_TOO_SMALL = """([among, least, skipped]) => [...document.querySelectorAll(among)]
  .filter((control) => control.type !== "hidden" && !control.closest(skipped))
  .map((control) => {
    const label = control.matches("[type=checkbox], [type=radio]")
      && (control.closest("label") || control.labels[0]);
    const line = control.matches(".task-link") && control.closest(".task");
    const {width, height} = (line || label || control).getBoundingClientRect();
    return [control.outerHTML.slice(0, 90), width, height];
  })
  .filter(([, width, height]) => width && (width < least || height < least))"""


def open_details(page: Any) -> None:
    page.evaluate(
        "document.querySelectorAll('details').forEach((details) => { details.open = true; })"
    )


def too_small(
    page: Any,
    least: int,
    *,
    skipped: str,
    among: str = IN_PAGE,
) -> list[tuple[str, float, float]]:
    """What one can press on a page that is under `least` pixels wide or high, but for what stands
    in `skipped`; `among` chooses what one can press."""
    return [tuple(control) for control in page.evaluate(_TOO_SMALL, [among, least, skipped])]


def violations(page: Any, scheme: str) -> list[tuple[str, list[str]]]:
    """Each rule that a page breaks, with what breaks it; whatever can be opened is opened first.

    In light the colors of dark are tried too, on the same page.
    """
    from axe_playwright_python.sync_playwright import Axe

    open_details(page)
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
