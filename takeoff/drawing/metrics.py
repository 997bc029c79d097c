"""How wide a text may come out, and as much of it as fits.

Widths are of the common sans faces (Helvetica, Arial and those cut to their measure), thousandths
of the size, from memory of the published font metrics, and made wider by a fifth: DejaVu Sans, the
widest face that a machine without any of these falls back on, then comes in too (a test holds it
where that face is there).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from takeoff.cards.clean_text import DIRECTION_MARKS, clean

__all__ = ["BOLD", "fit", "width_of"]

# percent: no line of the bold cut is wider than this against the plain one, but for a few letters
BOLD = 112
_SPARE = 120  # percent
_WIDEST = 1015
_NARROW = {
    278: " !,./:;I[\\]ft",
    222: "ijl",
    355: '"',
    191: "'",
    333: "()-`r{}·",
    260: "|",
    389: "*",
    469: "^",
    584: "+<=>~×",
    500: "Jcksvxyz",
    556: "#$0123456789?L_abdeghnopqu–",
    611: "FTZ",
    667: "&ABEKPSVXY",
    722: "CDHNRUw",
    778: "GOQ",
    833: "Mm",
    889: "%",
    944: "W",
    400: "°′″’‘“”•",
    1000: "…—→←↑↓",
}
_WIDTHS = {letter: width for width, letters in _NARROW.items() for letter in letters}


def width_of(text: str, size: int, *, bold: bool = False) -> int:
    """How wide `text` is at most, in the units of `size`. A letter outside the table counts at the
    widest of its script."""
    total = _plain_width(text) * size * _SPARE
    return -(-total * BOLD // 10_000_000) if bold else -(-total // 100_000)


@lru_cache(maxsize=4096)
def _plain_width(text: str) -> int:
    total = 0
    for letter in text:
        known = _WIDTHS.get(letter)
        if known is not None:
            total += known
        elif letter not in DIRECTION_MARKS and not unicodedata.combining(letter):
            total += _guess(ord(letter))
    return total


def _guess(code: int) -> int:
    """A letter outside the table: Hebrew and Arabic run narrow, other scripts up to a full
    square."""
    if 0x590 <= code < 0x700:
        return 700
    return 900 if 0x250 <= code <= 0x2E7F else _WIDEST


def fit(text: str, size: int, width: int, *, bold: bool = False) -> str:
    """`text`, or as much of its start as fits into `width` with an ellipsis, or nothing where not
    even one letter fits."""
    if width_of(text, size, bold=bold) <= width:
        return text
    inner = "".join(letter for letter in text if letter not in DIRECTION_MARKS)
    low, high = 0, len(inner)
    while low < high:
        middle = (low + high + 1) // 2
        if width_of(inner[:middle].rstrip() + "…", size, bold=bold) <= width:
            low = middle
        else:
            high = middle - 1
    if not low:
        return ""
    return clean(inner[:low].rstrip() + "…")
