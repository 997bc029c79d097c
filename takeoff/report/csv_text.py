"""The supply list as CSV: one row a pack size, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from takeoff.report.numbers import decimal_text
from takeoff.supply import SupplyList

__all__ = ["supply_csv"]

_HEADINGS = (
    "phase",
    "item id",
    "item",
    "need",
    "on hand",
    "unit",
    "pack",
    "packs to buy",
    "price of a pack",
    "cost",
    "left over",
    "weight lb",
    "currency",
    "sample prices",
    "note",
)


def supply_csv(supply: SupplyList, *, currency: str) -> str:
    """CSV text with a heading row and CRLF line ends (RFC 4180); amounts are decimals, exact or to
    six places.

    An item that needs nothing bought still has its row, with no pack; one that cannot be
    bought says why under `note`. Text that a spreadsheet would run as a formula
    (it begins with = + - @, a tab or a return) gets an apostrophe before it.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(_HEADINGS)
    for line in supply.lines:
        packs: Sequence[tuple[str, str, str, str]] = [
            (_text(pack.name), str(pack.count), _money(pack.price), _money(pack.price * pack.count))
            for pack in line.packs
        ] or [("", "0", "", "0.00")]
        for index, pack in enumerate(packs):
            writer.writerow(
                (
                    _text(line.phase),
                    _text(line.material),
                    _text(line.name),
                    *(
                        (decimal_text(line.need.value), decimal_text(line.on_hand.value))
                        if index == 0
                        else ("", "")
                    ),
                    line.need.unit,
                    *pack,
                    decimal_text(line.left_over.value) if index == 0 else "",
                    format(line.weight, "f") if index == 0 and line.weight is not None else "",
                    _text(currency),
                    "yes" if supply.sample_prices else "no",
                    _text(line.unmet) if index == 0 else "",
                )
            )
    return out.getvalue()


def _text(value: str) -> str:
    return f"'{value}" if value.startswith(("=", "+", "-", "@", "\t", "\r")) else value


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"
