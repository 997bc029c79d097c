"""What is safe to show of a name that a person typed."""

from __future__ import annotations

import unicodedata

__all__ = ["DIRECTION_MARKS", "clean"]

# Characters that turn the direction of a whole line: a name may not bring its own, so that it
# cannot turn our words.
DIRECTION_MARKS = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


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
        if letter in DIRECTION_MARKS or letter in "\u2028\u2029":
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
    stretches = []
    at = 0
    while at < len(plain):
        if not turned[at]:
            stretches.append(plain[at])
            at += 1
            continue
        last = at
        for further in range(at + 1, len(plain)):
            if turned[further]:
                last = further
            elif plain[further] != " " and not unicodedata.combining(plain[further]):
                break
        stretches.append(f"\u2068{plain[at : last + 1]}\u2069")
        at = last + 1
    return "".join(stretches)
