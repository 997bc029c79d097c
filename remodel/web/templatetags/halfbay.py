"""Tags and filters of every page: `{% load halfbay %}`. Examples are in
`remodel/web/__init__.py`."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.web.dates import clock_words, day_words, moment_words, time_words
from remodel.web.forms import HouseForm
from remodel.web.lengths import marked_length
from remodel.web.parts import Cell, Column, Difference, Drawing, Fact, Table, Task

register = template.Library()

NAV = (
    ("house", "House", "house-detail", ("house-",)),
    (
        "rooms",
        "Rooms",
        "room-list",
        ("room-", "wall-", "surface-", "opening-", "cutout-", "partition-", "plan-"),
    ),
    ("orders", "Orders", "order-list", ("order-", "receipt-", "return-")),
    ("log", "Log", "log-list", ("log-", "use-", "stock-", "offcut-")),
    ("prices", "Store prices", "price-list", ("price-", "store-", "catalogue-")),
    ("help", "Help", "help", ("help",)),
)

# An element whose text is left alone, with all in it; a tag; or text. What is drawn and what is no
# text must stay as it is, and links, buttons and the heads of details lay out their parts in a row,
# which takes the spaces around a part away.
_TAG_OR_TEXT = re.compile(
    r"<(?P<alone>svg|style|script|title|option|textarea|a|button|summary)\b.*?</(?P=alone)>"
    r"|<[^>]*>|[^<]+",
    re.DOTALL,
)
_MARK = re.compile(r"\b[A-Z][A-Z0-9]{0,3}-[A-Z]{1,4}[0-9]*f?\b")

_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}

# word shown, and how much it should draw the eye
_STATUS = {
    "not_started": ("Not started", "open"),
    "blocked": ("Waits", "waits"),
    "ready": ("Ready to start", "ready"),
    "in_progress": ("In progress", "going"),
    "done": ("Done", "quiet"),
    "proposed": ("Proposed", "open"),
    "accepted": ("Accepted", "ready"),
    "ordered": ("Ordered", "going"),
    "cut": ("Cut", "going"),
    "hung": ("Hung", "quiet"),
    "provisional": ("Provisional", "waits"),
    "draft": ("Draft", "open"),
    "placed": ("Placed", "going"),
    "part_received": ("Partly received", "waits"),
    "received": ("Received", "quiet"),
    "queued": ("Waiting its turn", "going"),
    "running": ("Being worked out", "going"),
    "failed": ("Failed", "waits"),
    "stopped": ("Stopped", "quiet"),
}


@register.filter
def tape(nm: int | None, units: str = "in") -> str:
    """`{{ wall.length|tape:house.units }}`: 12' 6 1/2" or 3810 mm, on the nearest mark; a dash
    where there is none."""
    return "–" if nm is None else marked_length(nm, units or "in")


@register.filter(is_safe=True)
def whole_marks(html: str) -> str:
    """`{% filter whole_marks %}`: a page's part in which no mark of a piece or a wall, like K-A1,
    breaks at the end of a line. The text stays as it is, for those who copy it."""
    parts = (found[0] for found in _TAG_OR_TEXT.finditer(html))
    return "".join(
        part if part.startswith("<") else _MARK.sub(r'<span class="whole">\g<0></span>', part)
        for part in parts
    )


@register.filter
def seen(row: Any) -> str:
    """`{{ phase|seen }}`: what a form with a single button is made from, for its hidden field
    `seen`."""
    return f"{row.pk.hex}:{row.version}"


@register.filter
def money(cents: int | None, currency: str = "USD") -> str:
    """`{{ order.total|money:house.currency }}`: $1,234.50; a credit has a minus sign; a dash where
    unknown."""
    if cents is None:
        return "–"
    currency = currency or "USD"
    whole, part = divmod(abs(cents), 100)
    sign = "−" if cents < 0 else ""
    mark = _SIGNS.get(currency)
    return (
        f"{sign}{mark}{whole:,}.{part:02d}"
        if mark
        else f"{sign}{whole:,}.{part:02d}\u00a0{currency}"
    )


@register.filter
def amount(value: Any, unit: str = "") -> str:
    """`{{ need.amount|amount:house.units }}` for an amount of the engine, `{{ 4.5|amount:"gal" }}`
    for a bare number.

    Rounded for the eye, a bare number to two decimals; a dash for None.
    """
    if value is None:
        return "–"
    if hasattr(value, "unit"):
        from remodel.bridge import lengths

        return lengths.shown_amount(value, unit or "in")
    hundredths = round(
        Fraction(value if isinstance(value, int | Fraction | Decimal) else str(value)) * 100
    )
    text = f"{Decimal(hundredths) / 100:,.2f}".rstrip("0").rstrip(".")
    if value and not hundredths:
        text = "under 0.01"
    return text if unit in ("", "each") else f"{text}\u00a0{unit}"


def _local(when: datetime.datetime) -> datetime.datetime:
    return timezone.localtime(when) if timezone.is_aware(when) else when


@register.filter
def moment(when: datetime.datetime | None, units: str = "in") -> SafeString | str:
    """`{{ change.at|moment:house.units }}`: a time element that reads 2:32 PM today and Nov 3, 2:32
    PM before; 14:32 and 3 Nov, 14:32 in a house in millimeters."""
    if when is None:
        return "–"
    return format_html(
        '<time datetime="{}">{}</time>',
        _local(when).isoformat(timespec="seconds"),
        clock_words(when, units),
    )


@register.filter
def moment_in_full(when: datetime.datetime, units: str = "in") -> str:
    """`{{ now|moment_in_full:house.units }}`: Nov 3, 2026, 2:32 PM, for paper."""
    return moment_words(when, units, year=True)


@register.filter
def day_in_full(date: datetime.date, units: str = "in") -> str:
    """`{{ closed.at|day_in_full:house.units }}`: Nov 3, 2026."""
    return day_words(date, units, year=True)


@register.filter
def time_of_day(when: datetime.datetime, units: str = "in") -> str:
    """`{{ change.at|time_of_day:house.units }}`: 2:32 PM."""
    return time_words(when, units)


@register.filter
def short_day(date: datetime.date, units: str = "in") -> str:
    """`{{ closed.at|short_day:house.units }}`: Nov 3."""
    return day_words(date, units)


@register.filter
def day(date: datetime.date | None, units: str = "in") -> SafeString | str:
    """`{{ log.date|day:house.units }}`: Wed Nov 25, with the year where it is not this one; Wed 25
    Nov in a house in millimeters."""
    if date is None:
        return "–"
    if isinstance(date, datetime.datetime):
        date = _local(date).date()
    return format_html(
        '<time datetime="{}">{}</time>', date.isoformat(), day_words(date, units, weekday=True)
    )


@register.simple_tag
def saved(when: datetime.datetime | None, units: str = "in") -> SafeString | str:
    """`{% saved room.updated_at house.units %}`: Saved 2:32 PM."""
    if when is None:
        return ""
    return format_html('<p class="saved">Saved {}</p>', moment(when, units))


@register.simple_tag
def status(code: str, word: str = "") -> SafeString:
    """`{% status phase.state %}`: the state in words; color and border only help. `word` is shown
    in place of the usual word."""
    shown, weight = _STATUS.get(code, (code.replace("_", " ").capitalize(), "open"))
    return format_html('<strong class="status status-{}">{}</strong>', weight, word or shown)


@register.simple_block_tag(end_name="endwhy")
def why(content: str, summary: str = "Why this much") -> str:
    """`{% why "Why 14 boards" %}...{% endwhy %}`: reasons, folded away."""
    return render_to_string("_why.html", {"summary": summary, "content": content})


@register.simple_block_tag(end_name="endhow_this_works")
def how_this_works(content: str, summary: str = "How this works") -> str:
    return render_to_string("_how_this_works.html", {"summary": summary, "content": content})


@register.simple_block_tag(end_name="endtake_care")
def take_care(content: str, title: str = "Caution") -> str:
    """The caution where work can hurt: once a page, plainly."""
    return render_to_string("_take_care.html", {"title": title, "content": content})


@register.simple_block_tag(end_name="endnotice")
def notice(content: str, title: str = "") -> str:
    """Something to know before going on, such as sample prices or a provisional plan."""
    return render_to_string("_notice.html", {"title": title, "content": content})


@register.inclusion_tag("_facts.html", takes_context=True)
def facts(context: template.Context, rows: Sequence[Fact], title: str = "") -> dict[str, Any]:
    """A summary list. Its Change links are shown to those who may change the house."""
    return {"rows": rows, "title": title, "change": not _looks_only(context)}


@register.inclusion_tag("_task_list.html")
def task_list(tasks: Sequence[Task]) -> dict[str, Any]:
    return {"tasks": tasks}


@register.inclusion_tag("_table.html", takes_context=True)
def data_table(context: template.Context, table: Table) -> dict[str, Any]:
    """A table. Links to change a row are shown to those who may change the house."""
    plain = table.for_writers and _looks_only(context)

    def dress(row: Sequence[str | Cell]) -> list[tuple[Column, Cell]]:
        cells = [cell if isinstance(cell, Cell) else Cell(text=cell) for cell in row]
        cells = [replace(cell, url="") if plain else cell for cell in cells]
        return list(zip(table.columns, cells, strict=True))

    return {
        "table": table,
        "rows": [dress(row) for row in table.rows],
        "foot": dress(table.foot) if table.foot else [],
    }


@register.inclusion_tag("_drawing.html")
def drawing(drawing: Drawing) -> dict[str, Any]:
    return {"drawing": drawing}


@register.inclusion_tag("_empty.html")
def empty_state(text: str, url: str, button: str) -> dict[str, Any]:
    """`{% empty_state "No rooms yet." url "Add the first room" %}`: what belongs here, and the one
    button for it."""
    return {"text": text, "url": url, "button": button}


@register.inclusion_tag("_working.html")
def working(
    text: str, done: int | None = None, of: int | None = None, stop_url: str = "", what: str = ""
) -> dict[str, Any]:
    """A sign that something is being worked out. With `done` and `of` it also shows how far it is,
    and `what` names the things that are counted."""
    return {"text": text, "done": done, "of": of, "stop_url": stop_url, "what": what}


@register.inclusion_tag("_progress.html")
def progress(done: int, of: int, what: str) -> dict[str, Any]:
    """`{% progress 3 11 "rooms done" %}`: a bar with its words, 3 of 11 rooms done."""
    return {"done": done, "of": of, "what": what}


@register.inclusion_tag("_undo.html", takes_context=True)
def undo_bar(context: template.Context, text: str, url: str) -> dict[str, Any]:
    """`{% undo_bar "Deleted the window." undo_url %}`: what was done, and the button that takes it
    back."""
    return {"text": text, "url": url, "csrf_token": context.get("csrf_token")}


@register.inclusion_tag("_conflict.html")
def conflict(rows: Sequence[Difference], who: str = "") -> dict[str, Any]:
    """Two people changed the same thing: both values are shown side by side, and nothing is
    lost."""
    return {"rows": rows, "who": who}


@register.inclusion_tag("_problems.html", takes_context=True)
def problems(context: template.Context) -> dict[str, Any]:
    """`{% problems %}` comes first in the part that is swapped: why the forms of the page are not
    saved.

    It shows both values of what two people changed, then what a button was `refused`, then every
    error with a link to its field.
    """
    forms = context.get("forms") or [context.get("form")]
    errors = [row for form in forms if isinstance(form, HouseForm) for row in form.summary]
    if context.get("refused"):
        errors.insert(0, {"anchor": "", "text": context["refused"]})
    return {"conflict": context.get("conflict"), "errors": errors}


@register.inclusion_tag("_nav.html", takes_context=True)
def site_nav(context: template.Context) -> dict[str, Any]:
    """The same six places in the same order on every page. Those that need a house are left out
    until there is one."""
    request = context.get("request")
    match = getattr(request, "resolver_match", None)
    route = (match.url_name or "") if match else ""
    here = context.get("section") or next(
        (key for key, _, _, starts in NAV if any(route.startswith(start) for start in starts)), ""
    )
    house = context.get("house")
    places = []
    for key, word, name, _ in NAV:
        url = _url(name, getattr(house, "pk", None))
        if url:
            places.append({"word": word, "url": url, "here": key == here})
    return {"places": places}


@register.simple_tag(takes_context=True)
def house_url(context: template.Context) -> str:
    """The way back: the house of the page, or the front page."""
    return _url("house-detail", getattr(context.get("house"), "pk", None)) or "/"


@register.simple_tag(takes_context=True)
def posts_here(context: template.Context) -> SafeString:
    """`<form {% posts_here %}>` is sent to the page's own address and answered with the part
    `body`."""
    return _posting(context["request"].path, "#body")


@register.simple_tag
def posts_to(name: str, *args: object, part: str = "#body") -> SafeString:
    """`<form {% posts_to "order-place" order.pk %}>` is sent to the address of that name, and
    answered with the `part` of the page that it swaps."""
    return _posting(reverse(name, args=args), part)


def _posting(url: str, part: str) -> SafeString:
    return format_html(
        'method="post" action="{}" novalidate hx-post="{}" hx-target="{}" hx-swap="outerHTML"',
        url,
        url,
        part,
    )


def _looks_only(context: template.Context) -> bool:
    house = getattr(context.get("house"), "pk", None)
    return house is not None and house not in (context.get("may_write") or ())


def _url(name: str, house: object) -> str:
    for args in ([house], []) if house is not None else ([],):
        try:
            return reverse(name, args=args)
        except NoReverseMatch:
            continue
    return ""
