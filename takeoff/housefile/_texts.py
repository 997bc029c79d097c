"""What a text in people's own words may hold, in forms, in rows and in files alike."""

from __future__ import annotations

import unicodedata

__all__ = ["can_be_written", "tidy_text"]

# They join or part letters and pictures, and what is seen changes without them.
_JOINERS = "\u200c\u200d"


def can_be_written(character: str) -> bool:
    """Whether a text may hold a character: any that is seen, spaces of every width, line ends,
    tabs, and the two signs that join or part letters and pictures."""
    return (
        character.isprintable()
        or character in "\n\t"
        or character in _JOINERS
        or unicodedata.category(character) == "Zs"
    )


def tidy_text(text: str) -> str:
    """The text as it is kept: composed letters (NFC), line ends all alike, and nothing that is not
    seen, such as a zero-width space or a sign that turns the direction of reading, which comes
    along when a name is pasted. It looks the same."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n")
    kept = "".join(filter(can_be_written, unicodedata.normalize("NFC", lines)))
    return kept if kept.strip(_JOINERS + " ") else ""
