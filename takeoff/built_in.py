"""What is built into a room beside its walls and its ceiling, as a person measures it: soffits,
chases, skylight wells and stairs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from takeoff._checks import check_id, check_length, check_letter
from takeoff.choices import BuiltKind, Side
from takeoff.errors import BadValue
from takeoff.units import FOOT, INCH, Nm

__all__ = ["BuiltIn", "built_faces"]

_LONGEST = Nm(300 * FOOT)
_DEEPEST = Nm(40 * FOOT)

# What each kind is measured by, beside its wall, its `left` and its `width`, with an example.
_NEEDS: dict[BuiltKind, tuple[tuple[str, str], ...]] = {
    BuiltKind.SOFFIT: (
        ("depth", "how far it stands out from its wall, for example 13 in (330 mm)"),
        ("height", "how far it comes down from the ceiling, for example 12 in (305 mm)"),
    ),
    BuiltKind.CHASE: (("depth", "how far it stands out from its wall, for example 8 in (200 mm)"),),
    BuiltKind.WELL: (
        ("depth", "how long its hole is, away from the wall, for example 46 in (1170 mm)"),
        ("away", "how far its hole begins from the wall, for example 5 ft (1500 mm)"),
        ("height", "how deep its shaft is at the near side, for example 18 in (460 mm)"),
    ),
    BuiltKind.STAIRS: (
        ("height", "how high they climb along the wall, for example 8 ft 6 in (2600 mm)"),
        ("climbs", "the way they climb, left or right"),
    ),
}
_MAY = {BuiltKind.WELL: ("far_height",)}
_FIELDS = ("depth", "height", "away", "far_height", "climbs")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltIn:
    """One soffit, chase, skylight well or flight of stairs, measured from the left end of `wall`,
    as one faces it from inside.

    Sizes are those of its framing; `width` goes along the wall. A soffit hangs `height` down from a
    flat ceiling and stands `depth` out. A chase stands `depth` out, from floor to ceiling. The hole
    of a skylight well begins `away` from the wall and is `depth` long; its shaft is `height` deep
    at that side and `far_height` at the far one (`height` where None). Stairs climb `height` over
    `width` toward `climbs`, and beyond them the floor stays up to the end of the wall; the board
    ends at them. A wall that stands on the upper floor alone has stairs of no width.

    The framing of soffits and chases is of `stud`, `spacing` apart, and its boards are marked with
    `letter`. Their faces are surfaces of the room, by the names that `faces` gives.
    """

    id: str
    name: str
    kind: BuiltKind
    wall: str
    width: Nm
    left: Nm = Nm(0)
    depth: Nm | None = None
    height: Nm | None = None
    away: Nm | None = None
    far_height: Nm | None = None
    climbs: Side | None = None
    stud: str = "2x4"
    spacing: Nm = Nm(16 * INCH)
    letter: str = ""

    def __post_init__(self) -> None:
        check_id(self.id, "Built-in")
        check_letter(self.letter, f"{self.name} letter")
        if not self.name.strip():
            raise BadValue(
                f"Built-in {self.id} must have a name, for example 'Soffit over the cabinets'"
            )
        check_length(self.left, f"{self.name} left", zero=True, most=_LONGEST)
        stairs = self.kind is BuiltKind.STAIRS
        check_length(self.width, f"{self.name} width", zero=stairs, most=_LONGEST)
        check_length(self.spacing, f"{self.name} spacing", most=_DEEPEST)
        for field in ("depth", "height", "far_height"):
            check_length(getattr(self, field), f"{self.name} {field}", most=_DEEPEST)
        check_length(self.away, f"{self.name} away", zero=True, most=_LONGEST)
        needs = _NEEDS[self.kind]
        for field, what in needs:
            if getattr(self, field) is None:
                raise BadValue(f"{self.name}: {self.kind} needs its {field}: {what}")
        allowed = (*(field for field, _ in needs), *_MAY.get(self.kind, ()))
        for field in _FIELDS:
            if field not in allowed and getattr(self, field) is not None:
                raise BadValue(
                    f"{self.name}: {self.kind} has no {field}; leave it out, and give "
                    f"{', '.join(('wall', 'left', 'width', *allowed))}"
                )

    @property
    def faces(self) -> tuple[str, ...]:
        """The names of the surfaces it may have, without the room. A side that stands against
        another wall has none."""
        return tuple(f"{self.id}-{side}" for side in _SIDES[self.kind])


def built_faces(built: Iterable[BuiltIn]) -> frozenset[str]:
    """The names of all surfaces that these may have."""
    return frozenset(face for one in built for face in one.faces)


_SIDES: dict[BuiltKind, tuple[str, ...]] = {
    BuiltKind.SOFFIT: ("front", "under", "left", "right"),
    BuiltKind.CHASE: ("front", "left", "right"),
    BuiltKind.WELL: ("near", "far", "left", "right"),
    BuiltKind.STAIRS: (),
}
