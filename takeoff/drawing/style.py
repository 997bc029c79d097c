"""How drawings look: one stylesheet for screen and paper, in black, two greys and one accent.

Every meaning is in line style, weight or hatch; the accent only helps the eye to what is cut. It is
dark enough to print as black.
"""

from __future__ import annotations

__all__ = [
    "COLUMN",
    "DRAWING_CSS",
    "HALF",
    "PAPER",
    "PHONE",
    "PHONE_ROOM",
    "SMALL",
    "STRIP",
    "TEXT",
    "THIRD",
    "TITLE",
    "WIDE",
    "Page",
]

from dataclasses import dataclass

SMALL = 310  # 3.1 mm: the smallest text on paper
TEXT = 350
TITLE = 560


@dataclass(frozen=True, slots=True)
class Page:
    """How wide a drawing comes out and how high it may, in hundredths of a millimetre."""

    width: int
    height: int

    @property
    def strip(self) -> int:
        """How wide the title strip at its right side is; 0 on a page too narrow for one."""
        return STRIP if self.width > 3 * STRIP else 0


# A4 less 12 mm on either side, which Letter takes as well; and a width that a phone shows at about
# life size.
PAPER = Page(18_600, 23_500)
# Half of that page, for two drawings one above the other.
HALF = Page(18_600, 11_200)
THIRD = 8_290  # the height at which three stand on a page
WIDE = Page(19_800, 11_400)  # the same for a wide screen, on which nobody can lay a rule
STRIP = 4_700  # the title strip at the right of a wide drawing
PHONE = Page(9_400, 15_000)
COLUMN = Page(9_250, 20_500)  # one of two columns of that paper
# The same for rooms and their surfaces, narrower, so that their smallest words come out 14 pixels
# high on a phone of 390.
PHONE_ROOM = Page(7_900, 15_000)

DRAWING_CSS = """\
.drawing { --ink: #16181d; --soft: #5d636e; --faint: #a4a9b2; --paper: #fff; --accent: #a3341f; }
.drawing { font-family: "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif; }
.drawing { color: var(--ink); }
.drawing { background: var(--paper); max-width: 100%; height: auto; }
.drawing :where(path, polygon:not(.hatched), circle) { fill: none; stroke: var(--ink); }
.drawing :where(path, polygon:not(.hatched), circle) { stroke-width: 20; }
.drawing text { fill: var(--ink); font-variant-numeric: tabular-nums; unicode-bidi: isolate; }
.drawing .title { font-weight: 700; letter-spacing: -4px; }
.drawing .under, .drawing .note, .drawing .side { fill: var(--soft); }
.drawing :is(.code, .size, .name, .mark, .side) { paint-order: stroke; stroke: var(--paper); }
.drawing :is(.code, .size, .name, .mark, .side) { stroke-width: 110; stroke-linejoin: round; }
.drawing .code, .drawing .mark { font-weight: 700; }
.drawing .mark { fill: var(--accent); }
.drawing .head { font-weight: 700; }
.drawing .meets { font-weight: 600; paint-order: stroke; stroke: var(--paper); stroke-width: 110; }
.drawing .face { stroke-width: 30; }
.drawing .hatched { stroke: none; }
.drawing .board { fill: var(--paper); stroke: none; }
.drawing .rest { fill: #eceef1; stroke: none; }
.drawing .edge { stroke-width: 26; }
.drawing .outline { stroke: var(--ink); stroke-width: 40; }
.drawing .framing { stroke: var(--faint); stroke-width: 14; }
.drawing .member { stroke: var(--soft); stroke-width: 12; stroke-dasharray: 120 70; }
.drawing .nailer { stroke: var(--ink); stroke-width: 16; stroke-dasharray: 40 40; }
.drawing .screws { stroke: var(--soft); stroke-width: 14; stroke-dasharray: 300 60 40 60; }
.drawing .screw { fill: var(--ink); stroke: none; }
.drawing .taper { stroke-width: 22; }
.drawing .cut { stroke-width: 36; stroke-dasharray: 260 90; }
.drawing .factory { stroke-width: 36; }
.drawing .butt { stroke-width: 70; }
.drawing .floating { stroke-width: 56; stroke-dasharray: 200 70 50 70; }
.drawing .backer { stroke: var(--ink); stroke-width: 14; }
.drawing .backer-hatch path { stroke: var(--faint); stroke-width: 12; }
.drawing .unboarded-hatch path { stroke: var(--faint); stroke-width: 12; }
.drawing .opening-hatch path { stroke: var(--faint); stroke-width: 12; }
.drawing .blocking { stroke: var(--soft); stroke-width: 16; }
.drawing .blocking-hatch path { stroke: var(--faint); stroke-width: 12; }
.drawing .pipe { stroke: var(--soft); stroke-width: 34; }
.drawing .pipe { stroke-dasharray: 10 60; stroke-linecap: round; }
.drawing .opening { fill: var(--paper); stroke-width: 44; }
.drawing .void { stroke: var(--soft); stroke-width: 12; }
.drawing .hole { fill: var(--paper); stroke: var(--accent); stroke-width: 44; }
.drawing .later { stroke: var(--accent); stroke-width: 30; stroke-dasharray: 70 50; }
.drawing .centre { stroke: var(--accent); stroke-width: 16; }
.drawing .saw { stroke: var(--accent); stroke-width: 50; }
.drawing .tick, .drawing .lead { stroke: var(--soft); stroke-width: 12; }
.drawing .datum { fill: var(--ink); stroke: none; }
.drawing .arrow { stroke-width: 60; }
.drawing .arrow-head { fill: var(--ink); stroke: none; }
.drawing .bar { fill: var(--ink); stroke: none; }
.drawing .bar-words { fill: var(--paper); font-weight: 700; }
.drawing .string { stroke: var(--ink); stroke-width: 16; }
.drawing .rule { stroke: var(--ink); stroke-width: 30; }
.drawing .wall { stroke-width: 130; }
.drawing .gap { stroke: var(--paper); stroke-width: 150; }
.drawing .opening-line { stroke-width: 30; }
.drawing .hung { fill: #c4c8ce; stroke: none; }
.drawing .key { stroke-width: 16; }
.drawing .here { stroke-width: 110; }
.drawing .masonry { fill: var(--faint); stroke-width: 26; }
.drawing .through { fill: var(--paper); stroke: none; }
.drawing .jamb { stroke-width: 26; }
.drawing .glass { stroke-width: 16; }
.drawing .swing { stroke: var(--soft); stroke-width: 14; stroke-dasharray: 90 60; }
.drawing .bar-half { fill: var(--paper); stroke-width: 16; }
.drawing .floor { fill: #f5f6f7; stroke: none; }
@media print { .drawing { background: none; } }
"""
