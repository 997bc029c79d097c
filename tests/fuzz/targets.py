"""What reads from outside, each as a function of bytes that raises nothing but a fault."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Callable, Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, TypeVar

from django.http import QueryDict

from remodel.archive.errors import CannotRestore
from remodel.archive.reading import Archive
from remodel.bridge.lengths import (
    TakeoffError,
    parse_amount,
    parse_money,
    read_length,
    read_quick_line,
    show_length,
)
from remodel.bridge.records import columns_of_room
from remodel.web.forms import HouseForm
from remodel.workbook import NotATable, rows_of_file, xlsx_bytes
from takeoff.errors import HouseFileError
from takeoff.housefile import read_house, write_house

__all__ = ["SEEDS", "TARGETS"]

ROOT = Path(__file__).parents[2]
T = TypeVar("T")


def _read(read: Callable[[], T], refusal: type[Exception]) -> T | None:
    """What is read; None where it is refused in words."""
    try:
        return read()
    except refusal as error:
        if not str(error).strip():
            raise AssertionError("it is refused without a word") from error
        return None


def lengths(data: bytes) -> None:
    """A length is read as it is shown again, and a room's line is three of them."""
    text = data.decode(errors="replace")
    for units in ("in", "mm"):
        length = _read(lambda: read_length(text, units), TakeoffError)  # noqa: B023 - called here
        if length is not None:
            assert read_length(show_length(length, units), units) == length
        _read(lambda: read_quick_line(text, units), TakeoffError)  # noqa: B023


def amounts(data: bytes) -> None:
    text = data.decode(errors="replace")
    _read(lambda: parse_money(text), TakeoffError)
    _read(lambda: parse_amount(text), TakeoffError)


def house_file(data: bytes) -> None:
    """A house that is read is written so that it is read as the same, and its rooms fit their
    rows."""
    house = _read(lambda: read_house(data), HouseFileError)
    if house is not None:
        assert read_house(write_house(house)) == house
        for room in house.rooms:
            columns_of_room(room)


def archive(data: bytes) -> None:
    """An archive is read to its last row, or refused."""

    def check(path: Path) -> None:
        with Archive(path) as read:
            read.check()

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "archive.zip"
        path.write_bytes(data)
        _read(lambda: check(path), CannotRestore)


def tables(data: bytes) -> None:
    """A table of prices, as CSV or XLSX, is rows of text."""
    rows = _read(lambda: rows_of_file(data), NotATable)
    assert rows is None or all(isinstance(text, str) for row in rows for text in row)


def forms(data: bytes) -> None:
    """Every form that needs no row takes what is typed or says what to enter."""
    kinds = _forms()
    kind = kinds[data[0] % len(kinds)] if data else kinds[0]
    words = data[1:].decode(errors="replace").split("\x1f")
    form = kind()
    posted = QueryDict(mutable=True)
    for number, name in enumerate(form.fields):
        posted.setlist(name, [words[number % len(words)]])
    for units in ("in", "mm"):
        bound = kind(posted, units=units)
        if not bound.is_valid():
            assert all(message for messages in bound.errors.values() for message in messages)


@cache
def _forms() -> list[Any]:
    """The forms that stand alone, by name. Importing the addresses of the site makes them all."""
    import remodel.urls  # noqa: F401 - for the forms its pages have

    alone = []
    for kind in sorted(_under(HouseForm), key=lambda kind: f"{kind.__module__}.{kind.__name__}"):
        try:
            kind()
        except TypeError:  # it needs a row, which stands in a database
            continue
        alone.append(kind)
    return alone


def _under(kind: type[Any]) -> Iterator[type[Any]]:
    for one in kind.__subclasses__():
        if one.__module__.startswith("remodel."):
            yield one
        yield from _under(one)


TARGETS: dict[str, Callable[[bytes], None]] = {
    one.__name__: one for one in (lengths, amounts, house_file, archive, tables, forms)
}


def _an_archive() -> bytes:
    held = BytesIO()
    with zipfile.ZipFile(held, "w") as zipped:
        zipped.writestr("manifest.json", '{"format": 1, "members": {}}')
        zipped.writestr("tables/house.house.jsonl", "{}\n")
    return held.getvalue()


def _seeds() -> dict[str, list[bytes]]:
    houses = [path.read_bytes() for path in sorted((ROOT / "fixtures").glob("*.json"))]
    return {
        "lengths": [b"12' 6 1/2\"", b"12-6 1/2", b"3.81 m", b"12' 6\" x 10' 2\" x 8'"],
        "amounts": [b"$1,234.50", b"180 ft"],
        "house_file": [house for house in houses if len(house) < 60_000],
        "archive": [_an_archive()],
        "tables": [
            b"Item;Store;Price\nRegular gypsum board;Yard;12,98\n",
            xlsx_bytes(["Item", "Price"], [["Regular gypsum board", 1298]]),
        ],
        "forms": [b"\x00" + "3' 2\"\x1fWall A\x1f\u00a0\u200b\x1f-1".encode()],
    }


SEEDS = _seeds()
