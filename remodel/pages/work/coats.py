"""The coats of a room's surfaces as a phase page shows them: each a tick, and what it uses."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from remodel.board.queries import takes_of_pile
from remodel.bridge.lengths import Amount, shown_amount
from remodel.bridge.takes import Take
from remodel.cards.models import COATS, DoneMark
from remodel.cards.queries import surface_names
from remodel.supply.queries import names_of
from remodel.work.models import Phase

__all__ = ["CoatCell", "CoatOfAll", "CoatsShown", "SurfaceCoats", "coats_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatCell:
    """One coat of one surface. `uses` is what it takes, in words. `asked` is false where the
    surface's level of finish does not ask for it."""

    kind: str
    label: str
    done: bool = False
    uses: str = ""
    asked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCoats:
    key: str
    name: str
    coats: tuple[CoatCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatOfAll:
    """One coat over all surfaces that ask for it."""

    kind: str
    label: str
    done: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatsShown:
    surfaces: tuple[SurfaceCoats, ...]
    of_all: tuple[CoatOfAll, ...]


def coats_of(phase: Phase) -> CoatsShown | None:
    """The coats of a taping or finishing phase; None for any other, and where nothing is coated."""
    kinds = [kind for kind, key in COATS.items() if key == phase.key]
    mine = takes_of_pile(phase.room).get(phase.room_id) if kinds else None
    takes: dict[tuple[str, str], list[Take]] = {}
    for take in mine.takes if mine else ():
        if take.kind in kinds:
            takes.setdefault((take.name, take.kind), []).append(take)
    if not takes:
        return None
    kinds = [kind for kind in kinds if any(asked == kind for _, asked in takes)]
    marks = set(
        DoneMark.objects.filter(room=phase.room, kind__in=kinds, done=True).values_list(
            "item", "kind"
        )
    )
    house = phase.room.house
    items = names_of(house)
    names = surface_names(phase.room)
    coated = {surface for surface, _ in takes}
    ordered = [key for key in names if key in coated] + sorted(coated - names.keys())
    return CoatsShown(
        surfaces=tuple(
            SurfaceCoats(
                key=key,
                name=names.get(key, key),
                coats=tuple(
                    CoatCell(
                        kind=kind,
                        label=DoneMark.Kind(kind).label,
                        done=(key, kind) in marks,
                        uses=_uses(takes.get((key, kind), []), items, house.units),
                        asked=(key, kind) in takes,
                    )
                    for kind in kinds
                ),
            )
            for key in ordered
        ),
        of_all=tuple(
            CoatOfAll(
                kind=kind,
                label=DoneMark.Kind(kind).label,
                done=sum((key, kind) in marks for key in ordered),
                of=sum((key, kind) in takes for key in ordered),
            )
            for kind in kinds
        ),
    )


def _uses(takes: list[Take], names: dict[str, str], units: str) -> str:
    """What a coat uses, in a few words: what is poured, else the first of what is counted."""
    poured = sum(take.amount for take in takes if take.unit == "gal")
    if poured:
        # A hundredth of a gallon is as near as anybody can tell.
        hundredths = max(1, round(Fraction(poured, 10)))
        return f"about {shown_amount(Amount(Fraction(hundredths, 100), 'gal'), units)}"
    for take in takes:
        if take.amount:
            size = shown_amount(Amount(Fraction(-(-take.amount // 1000)), take.unit), units)
            if take.unit == "each":
                return f"about {size.removesuffix(' each')} × {names.get(take.item, take.item)}"
            return f"about {size} of {names.get(take.item, take.item)}"
    return ""
