"""How wide a text may come out, and what is safe to show of a name.

Widths are of the common sans faces (Helvetica, Arial and those cut to their measure), thousandths
of the size, from memory of the published font metrics, and made wider by a fifth: DejaVu Sans, the
widest face that a machine without any of these falls back on, then comes in too (a test holds it
where that face is there).
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

__all__ = ["BOLD", "clean", "fit", "width_of"]

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
# Characters that turn the direction of a whole line: a name may not bring its own, so that it
# cannot turn our words.
_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def clean(text: str) -> str:
    """`text` on one line without control characters, direction marks, lone surrogates and
    characters XML may not hold.

    What is written from right to left in it comes back held between isolates, so that the words
    around it keep their order. Cleaning twice is cleaning once.

    >>> clean("Box\\x07 <b> \\u202e3")
    'Box <b> 3'
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    kept = []
    for letter in text:
        if letter in _BIDI or letter in "\u2028\u2029":
            continue
        category = unicodedata.category(letter)
        if letter in "\t\n\r":
            kept.append(" ")
        elif category not in ("Cc", "Cs", "Cn", "Co"):
            kept.append(letter)
    return _isolated(" ".join("".join(kept).split()))


def _isolated(plain: str) -> str:
    """`plain` with each stretch written from right to left between isolates, spaces inside a
    stretch with it."""
    turned = [unicodedata.bidirectional(letter) in ("R", "AL", "AN") for letter in plain]
    if True not in turned:
        return plain
    found = []
    at = 0
    while at < len(plain):
        if not turned[at]:
            found.append(plain[at])
            at += 1
            continue
        last = at
        for further in range(at + 1, len(plain)):
            if turned[further]:
                last = further
            elif plain[further] != " " and not unicodedata.combining(plain[further]):
                break
        found.append(f"\u2068{plain[at : last + 1]}\u2069")
        at = last + 1
    return "".join(found)


def width_of(text: str, size: int, *, bold: bool = False) -> int:
    """How wide `text` comes out at most, in the units of `size`; a letter outside the table counts
    as a full square."""
    total = _plain_width(text) * size * _SPARE
    return -(-total * BOLD // 10_000_000) if bold else -(-total // 100_000)


@lru_cache(maxsize=4096)
def _plain_width(text: str) -> int:
    total = 0
    for letter in text:
        known = _WIDTHS.get(letter)
        if known is not None:
            total += known
        elif letter not in _BIDI and not unicodedata.combining(letter):
            total += _guess(ord(letter))
    return total


def _guess(code: int) -> int:
    """A letter outside the table: Hebrew and Arabic run narrow, other scripts up to a full
    square."""
    if 0x590 <= code < 0x700:
        return 700
    return 900 if 0x250 <= code <= 0x2E7F else _WIDEST


def fit(text: str, size: int, width: int, *, bold: bool = False) -> str:
    """`text`, or as much of its start as comes into `width` with an ellipsis; empty where not even
    one letter does."""
    if width_of(text, size, bold=bold) <= width:
        return text
    inner = "".join(letter for letter in text if letter not in _BIDI)
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
