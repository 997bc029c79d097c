"""The forms that a page shows, read as a browser reads them, and other values for each of their
fields."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

from remodel.web.lengths import read_length, show_length

__all__ = ["Control", "Data", "PageForm", "forms_of"]

INCH = 25_400_000
Data = dict[str, list[str]]


@dataclass(slots=True)
class Control:
    """One field by its name: what it is sent with, what it may be sent with, and how it is
    typed."""

    name: str
    kind: str  # text, hidden, file, checkbox, radio, select, submit
    values: list[str] = field(default_factory=list)
    options: list[str] = field(default_factory=list)
    units: str = ""  # of a length

    def others(self) -> Iterator[list[str]]:
        """Other values than it has, the likeliest to be taken first."""
        if self.kind in ("radio", "select"):
            yield from ([option] for option in self.options if [option] != self.values)
        elif self.kind == "checkbox":
            for option in self.options:
                yield [one for one in self.options if (one in self.values) != (one == option)]
        elif self.kind == "text":
            yield from ([value] for value in dict.fromkeys(self._typed()) if [value] != self.values)

    def _typed(self) -> Iterator[str]:
        now = self.values[0] if self.values else ""
        if self.units:
            yield from _lengths(now, self.units)
            return
        try:
            day = datetime.date.fromisoformat(now)
        except ValueError:
            pass
        else:
            yield from ((day - datetime.timedelta(days=back)).isoformat() for back in (1, 2))
            return
        if now.replace(".", "", 1).isdigit():
            yield from (str(int(float(now)) + more) for more in (1, 2, -1))
            yield "1"
        yield from (f"{now} too".strip(), "Another", "2", "3", "1", "45", "12.50", "")


def _lengths(now: str, units: str) -> Iterator[str]:
    if now:
        nm = read_length(now, units)
        yield from (
            show_length(nm + more * INCH, units)
            for more in (1, -1, 2, 6, -6)
            if nm + more * INCH > 0
        )
    yield from (show_length(inches * INCH, units) for inches in (96, 120, 48, 24, 16, 12, 4, 1))
    yield ""


@dataclass(slots=True)
class PageForm:
    """A form with `post`: where it is sent, and its controls by name. `presses` are its named
    buttons."""

    action: str
    controls: dict[str, Control] = field(default_factory=dict)
    presses: list[tuple[str, str]] = field(default_factory=list)

    @property
    def typed(self) -> list[Control]:
        """What a person may change."""
        return [
            control for control in self.controls.values() if control.kind not in ("hidden", "file")
        ]

    @property
    def seen(self) -> str:
        """What the page was made from."""
        return "".join(self.controls["seen"].values) if "seen" in self.controls else ""

    def data(self, changes: Data | None = None) -> Data:
        """What a browser sends for it as it stands, with `changes`; a button that saves is
        pressed."""
        sent = {
            name: control.values
            for name, control in self.controls.items()
            if control.kind != "file"
        }
        save = next((press for press in self.presses if press[0] == "save"), None)
        if save is not None:
            sent[save[0]] = [save[1]]
        return {name: values for name, values in (sent | (changes or {})).items() if values}


def forms_of(page: str, url: str) -> list[PageForm]:
    """The forms of a page that post, in their order."""
    reader = _Reader(url)
    reader.feed(page)
    return reader.forms


class _Reader(HTMLParser):
    def __init__(self, url: str) -> None:
        super().__init__()
        self.url = url
        self.forms: list[PageForm] = []
        self.form: PageForm | None = None
        self.select: Control | None = None
        self.option: tuple[str | None, bool] | None = None
        self.text: Control | None = None
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value if value is not None else "" for name, value in attrs}
        if tag == "form":
            self.form = None
            if given.get("method", "get").lower() == "post":
                self.form = PageForm(given.get("action") or self.url)
                self.forms.append(self.form)
        if self.form is None:
            return
        name = given.get("name", "")
        if tag == "input" and name:
            self._input(self.form, name, given)
        elif tag == "button" and name:
            self.form.presses.append((name, given.get("value", "")))
        elif tag == "select":
            self.select = self.form.controls.setdefault(name, Control(name, "select"))
        elif tag == "option" and self.select is not None:
            self.option = (given.get("value"), "selected" in given)
            self.words = ""
            self._end_option()
        elif tag == "textarea":
            self.text = self.form.controls.setdefault(name, Control(name, "text"))
            self.words = ""

    def _input(self, form: PageForm, name: str, given: dict[str, str]) -> None:
        kind = given.get("type", "text")
        if kind in ("radio", "checkbox"):
            control = form.controls.setdefault(name, Control(name, kind))
            value = given.get("value", "on")
            control.options.append(value)
            if "checked" in given:
                control.values.append(value)
        elif kind == "submit":
            form.presses.append((name, given.get("value", "")))
        else:
            # One that may only be read is sent as it is.
            plain = kind if kind in ("hidden", "file") else "text"
            plain = "hidden" if "readonly" in given else plain
            control = form.controls.setdefault(
                name, Control(name, plain, units=given.get("data-length", ""))
            )
            control.values.append(given.get("value", ""))

    def _end_option(self) -> None:
        assert self.select is not None
        assert self.option is not None
        value, selected = self.option
        value = value or ""
        self.select.options.append(value)
        if selected or not self.select.values:
            self.select.values = [value]

    def handle_data(self, data: str) -> None:
        self.words += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        elif tag == "select":
            self.select = None
        elif tag == "textarea" and self.text is not None:
            self.text.values.append(self.words.removeprefix("\n").removeprefix("\r\n"))
            self.text = None
