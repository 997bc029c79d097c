"""The code that brings back what was ticked in the file of a room that was taken along.

A phone on the home network reaches Halfbay over http, where a browser keeps no pages. So a room can
be taken along as one file. What is ticked in it comes back as a code, whose presses are entered
together. Each press has a key of its own, so that the same code, or a longer one of the same file,
enters none twice, whoever enters it and on whichever device.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from remodel.cards.models import DoneMark
from remodel.history.errors import Refused
from remodel.history.services import By, keys_written
from remodel.house.models import Room
from remodel.ticks import Ticked, tick_all

__all__ = ["BroughtBack", "Entered", "Press", "enter", "read_code"]

_START, _END = "hb1.", "."
_FILE = re.compile(r"[0-9a-f]{32}")
_MOST_PRESSES = 2_000
_CUT_SHORT = (
    "The code is not whole. Copy all of it, from hb1. at its start to the period at its end"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """A tick made in the file. `key` is drawn with the file, and nobody can guess it."""

    key: str
    ticked: Ticked


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtBack:
    """What a code says: the room whose page was taken along, and what was ticked in it."""

    room: UUID
    presses: tuple[Press, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What became of a code: how many ticks were entered, how many had been before, and why others
    were refused, each in a sentence."""

    entered: int
    before: int
    refused: tuple[str, ...]


def read_code(text: str) -> BroughtBack:
    """The presses that a code holds. Raises `Refused` with what to do where it cannot be read.

    It is JSON in the letters of base64 for addresses, between `hb1.` and a period: `f` the file's
    id, `r` the room, `p` the names of plans, and `t` a list of [number, kind, item, room key, place
    in p].
    """
    code = "".join(text.split())
    if not code.startswith(_START):
        raise Refused(
            '"Code from the page" is no code of a page that was taken along. One begins with hb1.'
        )
    if not code.endswith(_END) or len(code) <= len(_START):
        raise Refused(_CUT_SHORT)
    body = code.removeprefix(_START).removesuffix(_END)
    try:
        told = json.loads(base64.urlsafe_b64decode(body + "=" * (-len(body) % 4)))
        file, plans, ticks = told["f"], told["p"], told["t"]
        if not _FILE.fullmatch(file) or not 0 < len(ticks) <= _MOST_PRESSES:
            raise ValueError("no file of ours")
        presses = tuple(_press(file, plans, tick) for tick in ticks)
        return BroughtBack(room=UUID(told["r"]), presses=presses)
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError):
        raise Refused(_CUT_SHORT) from None
    except binascii.Error:
        raise Refused(_CUT_SHORT) from None


def _press(file: str, plans: Sequence[Any], tick: Sequence[Any]) -> Press:
    number, kind, item, room_key, plan = tick
    if not (isinstance(number, int) and 0 <= number < 10**6 and isinstance(plan, int)):
        raise ValueError("no number")
    if kind not in DoneMark.Kind.values:
        raise ValueError("no kind of tick")
    if not all(isinstance(text, str) for text in (item, room_key, plans[plan])):
        raise ValueError("no text")
    ticked = Ticked(kind, item[:140], room_key[:200], plans[plan][:64])
    return Press(key=f"{file}.{number}", ticked=ticked)


def enter(*, by: By, room: Room, presses: Sequence[Press]) -> Entered:
    """Enter what was ticked in a file, as one write. Where one of them is refused, the others are
    entered each for itself."""
    known = keys_written(press.key for press in presses)
    new = [press for press in presses if press.key not in known]
    refused: list[str] = []
    if new:
        try:
            _tick(By(by.person, by.key), room, new)
        except Refused:
            for press in new:
                try:
                    _tick(By(by.person), room, [press])
                except Refused as error:
                    refused.append(str(error))
    return Entered(
        entered=len(new) - len(refused), before=len(presses) - len(new), refused=tuple(refused)
    )


def _tick(by: By, room: Room, presses: Sequence[Press]) -> None:
    by = By(by.person, by.key, parts=tuple(press.key for press in presses))
    tick_all(by=by, room=room, ticks=[press.ticked for press in presses])
