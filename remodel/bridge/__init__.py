"""The only package that knows both this side and the quantity engine (`takeoff`).

words       the engine's words as choices for rows and forms
lengths     lengths, amounts and money in and out of text
records     rows to engine values and back, without loss
piles       a house worked out pile by pile, under digests
plans       plans given in place of first plans, and the search for better ones
supply      needs of chosen phases and rooms less stock, in packs
views       what pages are given
files       house files in and out, and a takeoff as text
"""

from __future__ import annotations

from remodel.bridge.files import PHASES, FileTakeoff, work_out
from remodel.bridge.lengths import (
    Amount,
    BadValue,
    LengthError,
    TakeoffError,
    money_text,
    parse_amount,
    parse_money,
    read_length,
    read_quick_line,
    show_length,
    shown_amount,
    tape_text,
)
from remodel.bridge.piles import engine_version, piles_in
from remodel.bridge.records import house_value
from remodel.bridge.views import (
    NeedLine,
    PlanSummary,
    RefusedSurface,
    RoomSummary,
    RoomView,
    SurfaceView,
)

__all__ = [
    "PHASES",
    "Amount",
    "BadValue",
    "FileTakeoff",
    "LengthError",
    "NeedLine",
    "PlanSummary",
    "RefusedSurface",
    "RoomSummary",
    "RoomView",
    "SurfaceView",
    "TakeoffError",
    "engine_version",
    "house_value",
    "money_text",
    "parse_amount",
    "parse_money",
    "piles_in",
    "read_length",
    "read_quick_line",
    "show_length",
    "shown_amount",
    "tape_text",
    "work_out",
]
