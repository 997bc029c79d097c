"""How a page reads at every size: what axe finds in light and in dark, what is too small to press,
what scrolls sideways; on one load of the page, for most of the time goes there."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

from axe_playwright_python.sync_playwright import Axe

__all__ = [
    "ANYWHERE",
    "LOOKS",
    "LOOKS_OF",
    "Look",
    "faults",
    "faults_of_pages",
    "open_details",
    "too_small",
    "violations",
]

ANYWHERE = "a, button, input, select, textarea, summary"
IN_PAGE = f"main :is({ANYWHERE})"


@dataclass(frozen=True)
class Look:
    """One way to look at a page: how wide it is, how large its text, and how large what is pressed
    must be at least, in pixels."""

    width: int
    least: int = 0
    text: int = 100


LOOKS = (
    Look(1280, least=24),
    Look(390, least=44),
    Look(1280, text=200),
    Look(390, text=200),
    Look(320),
    Look(320, text=200),
)
# Of a page that is come to at one size.
LOOKS_OF = {"laptop": LOOKS[:1], "phone": LOOKS[1:2]}

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

# Colors are what axe spends its time on, text by text. Text of the same tags and classes, up to
# the body, in the same color and size stands on the same ground: two of each are left to be seen.
_TWO_OF_A_KIND = """() => {
  const paths = new Map([[document.body, ""]]);
  const path = (element) => {
    if (!paths.has(element))
      paths.set(element, path(element.parentElement) + ">" + element.tagName + "."
        + element.getAttribute("class") + element.getAttribute("style")
        + element.getAttribute("fill") + element.hasAttribute("aria-current"));
    return paths.get(element);
  };
  const seen = new Map();
  const alike = new Set();
  const texts = [...document.body.querySelectorAll("*")].filter((element) =>
    [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim())
    && element.getClientRects().length);
  for (const element of texts) {
    const {color, fontSize, fontWeight} = getComputedStyle(element);
    const kind = [path(element), color, fontSize, fontWeight].join("|");
    seen.set(kind, (seen.get(kind) || 0) + 1);
    if (seen.get(kind) > 2) alike.add(element);
  }
  const within = new Set();
  for (const element of texts.filter((element) => !alike.has(element)))
    for (let part = element; part && !within.has(part); part = part.parentElement)
      within.add(part);
  const left = [...alike].filter((element) => !within.has(element));
  for (const element of left) element.style.visibility = "hidden";
  return left.length;
}"""
# What axe judges by: which elements are there to be seen, which scroll, and each kind of text with
# its color, its line and the ground it stands on. A smaller or larger text of the same is not
# another: what is told apart from its ground small is so large.
_JUDGED_BY = """() => {
  const seeing = {visibilityProperty: true, opacityProperty: true};
  const elements = [...document.body.querySelectorAll("*")];
  const styles = new Map(elements.map((element) => [element, getComputedStyle(element)]));
  const paths = new Map([[document.body, ""]]);
  const path = (element) => {
    if (!paths.has(element))
      paths.set(element, path(element.parentElement) + ">" + element.tagName + "."
        + element.getAttribute("class") + element.getAttribute("fill")
        + styles.get(element).backgroundColor + styles.get(element).opacity);
    return paths.get(element);
  };
  const seen = elements.filter((element) => element.checkVisibility(seeing));
  const number = new Map(elements.map((element, index) => [element, index]));
  const texts = seen.filter((element) =>
    [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim()));
  return {
    seen: seen.map((element) => number.get(element)).join(" "),
    scrolls: seen.filter((element) => /auto|scroll/.test(styles.get(element).overflowX)
      && element.scrollWidth > element.clientWidth).map((element) => number.get(element)),
    texts: [...new Set(texts.map((element) => [path(element), styles.get(element).color,
      styles.get(element).textDecorationLine].join("|")))],
  };
}"""
_ALL_SEEN = """() => {
  for (const element of document.body.querySelectorAll("[style*='visibility']"))
    element.style.removeProperty("visibility");
}"""

_STANDS_OUT = """(width) => [...document.body.querySelectorAll("*")]
  .filter((element) => element.getBoundingClientRect().right > width + 0.5
    && !element.closest(".scroll, .sheet, .unseen"))
  .map((element) => element.outerHTML.slice(0, 90)).slice(-3)"""


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


def violations(page: Any) -> list[tuple[str, list[str]]]:
    """Each rule that a page breaks as it stands, with what breaks it; whatever can be opened is
    opened first. The colors are tried in light and in dark."""
    _get_ready(page)
    return _broken(page, _Tried())


def faults(
    page: Any, *, skipped: str, among: str = IN_PAGE, looks: tuple[Look, ...] = LOOKS
) -> list[str]:
    """All that is wrong with a loaded page, looked at in each of `looks`; it has its own size again
    afterwards."""
    wrong: list[str] = []
    tried = _Tried()
    own_size = page.viewport_size
    _get_ready(page)
    for look in looks:
        page.set_viewport_size({"width": look.width, "height": 900 if look.width > 900 else 844})
        _set_text(page, look.text)
        where = f"{look.width} px" + (f", text at {look.text}%" if look.text != 100 else "")
        found: list[Any] = _broken(page, tried)
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > look.width:
            out = page.evaluate(_STANDS_OUT, look.width)
            found.append(f"scrolls sideways, {width} px wide: {out}")
        if look.least:
            found += too_small(page, look.least, skipped=skipped, among=among)
        wrong += [f"{where}: {fault}" for fault in found]
    _set_text(page, 100)
    page.set_viewport_size(own_size)
    return wrong


def faults_of_pages(
    page: Any, paths: dict[str, str], *, before: Callable[[], object] | None = None, **named: Any
) -> dict[str, list[str]]:
    """What is wrong with each of the pages at `paths`, by their names; `before` is done before each
    is asked for."""
    origin, wrong = page.evaluate("location.origin"), {}
    for name, path in paths.items():
        if before:
            before()
        page.goto(origin + path)
        if found := faults(page, **named):
            wrong[name] = found
    return wrong


def _set_text(page: Any, percent: int) -> None:
    """Have text be so large as a person may set it in the browser: the widths at which a page
    changes its form follow."""
    sizes = {"standard": 16 * percent // 100, "fixed": 13 * percent // 100}
    session = page.context.new_cdp_session(page)
    session.send("Page.setFontSizes", {"fontSizes": sizes})
    session.detach()


def _get_ready(page: Any) -> None:
    open_details(page)
    page.evaluate(_AXE)


@dataclass
class _Tried:
    """What axe judged by in the looks at a page that it had so far."""

    seen: set[str] = field(default_factory=set)
    scrolls: set[int] = field(default_factory=set)
    texts: set[str] = field(default_factory=set)


def _broken(page: Any, tried: _Tried) -> list[tuple[str, list[str]]]:
    """Each rule that a page breaks in this look, where axe has something to judge by that it did
    not have in one before: most of the time goes there, and another width rarely has."""
    judged_by = page.evaluate(_JUDGED_BY)
    found = []
    if judged_by["seen"] not in tried.seen:
        found += _run(page, {"rules": {rule: {"enabled": False} for rule in _OF_COLORS}})
    elif not tried.scrolls.issuperset(judged_by["scrolls"]):
        found += _run(page, {"runOnly": ["scrollable-region-focusable"]})
    if not tried.texts.issuperset(judged_by["texts"]):
        page.evaluate(_TWO_OF_A_KIND)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            of_colors = _run(page, {"runOnly": _OF_COLORS})
            found += [(f"{rule} in {scheme}", at) for rule, at in of_colors]
        page.emulate_media(color_scheme="light")
        page.evaluate(_ALL_SEEN)
    tried.seen.add(judged_by["seen"])
    tried.scrolls.update(judged_by["scrolls"])
    tried.texts.update(judged_by["texts"])
    return found


_AXE = Axe().axe_script
_OF_COLORS = ["color-contrast", "link-in-text-block"]


def _run(page: Any, options: dict[str, Any]) -> list[tuple[str, list[str]]]:
    asked = json.dumps({"resultTypes": ["violations"], "selectors": False, **options})
    broken = page.evaluate(f"axe.run(document, {asked}).then((report) => report.violations)")
    return [(rule["id"], [node["html"] for node in rule["nodes"]][:3]) for rule in broken]
