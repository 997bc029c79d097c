"""What a household already has: sheets, part packs, sticks and offcuts, noted in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from remodel.bridge.lengths import Amount
from remodel.history.errors import Refused
from remodel.history.services import By, recorded
from remodel.house.models import House
from remodel.supply.ledger import count_left, count_sticks, here_of, move
from remodel.supply.models import Movement, SheetOnSale
from remodel.supply.services import owned_sheet_add

__all__ = ["Had", "note_what_is_here"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Had:
    """What a person says is here: amounts by item, sticks of an item by length in nanometers, and
    offcuts as `owned_sheet_add` takes them."""

    amounts: Mapping[str, Amount] = field(default_factory=dict)
    sticks: Mapping[str, Mapping[int, int]] = field(default_factory=dict)
    offcuts: Iterable[Mapping[str, Any]] = ()


@recorded("noted what is here already")
def note_what_is_here(*, by: By, house: House, had: Had) -> House:
    """Note all that is here, or nothing where any of it is refused.

    What nobody knew of is found. Of what is known already the entry is a count: the difference was
    used or found. A refusal names the item, or the number of the offcut from 0, as its field.
    """
    known = here_of(house)
    for item, amount in had.amounts.items():
        with _at(item):
            if item in known:
                count_left(by=by, house=house, item=item, remaining=amount)
            elif amount.value > 0:
                move(by=by, house=house, item=item, kind=Movement.Kind.FOUND, amount=amount)
            elif amount.value < 0:
                raise Refused("What is here must be zero or more, for example 3")
    for item, counts in had.sticks.items():
        with _at(item):
            count_sticks(by=by, house=house, item=item, remaining=counts)
    for number, offcut in enumerate(had.offcuts):
        with _at(f"offcut-{number}"):
            _check_no_whole_sheet(house, offcut)
            owned_sheet_add(by=by, house=house, **offcut)
    return house


def _check_no_whole_sheet(house: House, offcut: Mapping[str, Any]) -> None:
    """Refuse a whole sheet of a size on sale among the offcuts: it belongs in the ledger."""
    size = {name: offcut[name] for name in ("board", "thickness", "width", "length")}
    whole = SheetOnSale.objects.filter(house=house, **size).exists()
    if whole and offcut.get("factory_edges", 2) == 2:
        raise Refused("This is a whole sheet; enter it with the sheets above", field="length")


@contextmanager
def _at(place: str) -> Iterator[None]:
    """Give a refusal the place in the pass at which it came."""
    try:
        yield
    except Refused as error:
        raise Refused(str(error), field=place) from error
