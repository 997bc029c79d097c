"""What is built into a room and taken out of it, as its columns keep that and forms take it.

A column keeps a list of things as the engine's codec writes them. A thing that is built there no
more stays in the list with `gone`, for its letter may be on boards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from takeoff import codec
from takeoff.as_found import TakenOut
from takeoff.built_in import BuiltIn
from takeoff.choices import BuiltKind, OldLining, Side, SurfaceKind
from takeoff.units import Nm

__all__ = [
    "BuiltEntered",
    "BuiltIn",
    "TakenOut",
    "TakenOutEntered",
    "built_column",
    "built_of",
    "built_surfaces",
    "gone",
    "taken_out_column",
    "taken_out_of",
]

_GONE = "gone"


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltEntered:
    """A built-in as a form takes it: lengths in whole nanometers. `id` is empty for a new one."""

    id: str
    name: str
    kind: str
    wall: str
    left: int
    width: int
    depth: int | None = None
    height: int | None = None
    away: int | None = None
    far_height: int | None = None
    climbs: str = ""

    def made(self, id_: str, letter: str, before: BuiltIn | None) -> dict[str, Any]:
        """The entry of the column, with what no form asks kept from `before`. Raises `BadValue`
        where the measures do not fit the kind."""
        made = BuiltIn(
            id=id_,
            name=self.name,
            kind=BuiltKind(self.kind),
            wall=self.wall,
            left=Nm(self.left),
            width=Nm(self.width),
            depth=_nm(self.depth),
            height=_nm(self.height),
            away=_nm(self.away),
            far_height=_nm(self.far_height),
            climbs=Side(self.climbs) if self.climbs else None,
            letter=letter,
        )
        if before is not None:
            made = replace(made, stud=before.stud, spacing=before.spacing)
        return dict(codec.write(made))


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOutEntered:
    """A wall taken out, as a form takes it. `id` is empty for a new one."""

    id: str
    name: str
    wall: str
    at: int
    length: int
    thickness: int
    end: str = ""
    height: int | None = None
    old_lining: str = ""
    nonbearing: bool = False

    def made(self, id_: str) -> dict[str, Any]:
        """The entry of the column. Raises `BadValue` for an impossible one."""
        return dict(
            codec.write(
                TakenOut(
                    id=id_,
                    name=self.name,
                    wall=self.wall,
                    at=Nm(self.at),
                    length=Nm(self.length),
                    thickness=Nm(self.thickness),
                    end=self.end or None,
                    height=_nm(self.height),
                    old_lining=OldLining(self.old_lining) if self.old_lining else None,
                    nonbearing=self.nonbearing,
                )
            )
        )


def built_of(raw: Sequence[dict[str, Any]]) -> tuple[BuiltIn, ...]:
    """What is built in now, by its column."""
    return tuple(codec.read(BuiltIn, one) for one in raw if not one.get(_GONE))


def built_column(built: Iterable[BuiltIn]) -> list[dict[str, Any]]:
    """Built-ins as the JSON their column keeps."""
    return [codec.write(one) for one in built]


def gone(entry: dict[str, Any]) -> dict[str, Any]:
    """An entry of a built-in that is there no more."""
    return entry | {_GONE: True}


def built_surfaces(raw: Sequence[dict[str, Any]]) -> dict[str, tuple[str, SurfaceKind]]:
    """What the faces of built-ins are called, and whether each is a wall or a ceiling, by the names
    of those surfaces. A face that stands against another wall is among them, and has no board."""
    surfaces = {}
    for built in built_of(raw):
        for face in built.faces:
            side = face.removeprefix(f"{built.id}-")
            what = {"front": "front", "under": "underside"}.get(side, f"{side} side")
            kind = SurfaceKind.CEILING if side == "under" else SurfaceKind.WALL
            surfaces[face] = (f"{built.name}, {what}", kind)
    return surfaces


def taken_out_of(raw: Sequence[dict[str, Any]]) -> tuple[TakenOut, ...]:
    """The walls that are taken out, by their column."""
    return tuple(codec.read(TakenOut, one) for one in raw)


def taken_out_column(walls: Iterable[TakenOut]) -> list[dict[str, Any]]:
    """Walls taken out as the JSON their column keeps."""
    return [codec.write(one) for one in walls]


def _nm(value: int | None) -> Nm | None:
    return None if value is None else Nm(value)
