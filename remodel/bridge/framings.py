"""The framing behind a surface as forms take it: entered field by field, while the other fields
stay as they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from takeoff import codec
from takeoff.choices import Remedy, Runs, Substrate
from takeoff.house import Framing, UnevenMember
from takeoff.units import Nm

__all__ = ["Framing", "framing_of", "framing_with"]

_NOTHING_SAID = Framing()


def framing_of(raw: dict[str, Any] | None) -> Framing:
    """What a framing column holds. For an empty column it is the framing of which nothing is
    known."""
    return _NOTHING_SAID if raw is None else codec.read(Framing, raw)


def framing_with(
    raw: dict[str, Any] | None,
    *,
    uneven: Iterable[tuple[int, int, str]] | None = None,
    **changes: Any,
) -> dict[str, Any] | None:
    """The column with some fields changed; None where no field holds anything any more.

    `runs` and `substrate` come as words, and `uneven` as (center, out by, remedy). Raises
    `BadValue` for impossible framing, like members 2 in apart.
    """
    if "runs" in changes:
        changes["runs"] = Runs(changes["runs"]) if changes["runs"] else None
    if "substrate" in changes:
        changes["substrate"] = Substrate(changes["substrate"])
    if uneven is not None:
        changes["uneven"] = tuple(
            UnevenMember(at=Nm(at), out_by=Nm(out_by), remedy=Remedy(remedy))
            for at, out_by, remedy in uneven
        )
    made = replace(framing_of(raw), **changes)
    return None if made == _NOTHING_SAID else codec.write(made)
