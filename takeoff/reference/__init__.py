"""Trade figures as data: the only place in the product where such a figure stands.

The `.toml` files here hold one table a figure: `value` (exact), `unit`, `source`, `edition`,
`status`, and where sources disagree `low`, `high` and `reason`. Status words: `published` (seen in
the source itself), `secondary` (seen in somebody else's account of it), `common practice`,
`derived` (arithmetic from named figures) and `from memory`, which people are shown as "check your
local code". A figure that nothing is worked out from has `for_reading = true`: it stands beside the
others for whoever checks or changes them. Rows of tables (board on framing, levels of finish,
lumber) have their own readers. Code takes a figure through `figures`, which says in what unit each
comes.
"""

from __future__ import annotations

from takeoff.reference import figures
from takeoff.reference.board_rows import (
    BoardRow,
    Place,
    allowed_rows,
    board_rows,
    row_for,
    table_thickness,
)
from takeoff.reference.data import Figure, Status
from takeoff.reference.levels import Level, level, levels
from takeoff.reference.lumber import (
    Batt,
    Lumber,
    batt_sizes,
    is_steel,
    lumber,
    lumber_sizes,
    screw_lengths,
    steel_sizes,
    stud_size,
)

__all__ = [
    "Batt",
    "BoardRow",
    "Figure",
    "Level",
    "Lumber",
    "Place",
    "Status",
    "allowed_rows",
    "batt_sizes",
    "board_rows",
    "figures",
    "is_steel",
    "level",
    "levels",
    "lumber",
    "lumber_sizes",
    "row_for",
    "screw_lengths",
    "steel_sizes",
    "stud_size",
    "table_thickness",
]
