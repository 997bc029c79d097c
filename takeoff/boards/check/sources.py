"""Whether every sheet can be had: bought at its price, owned, or left over from an earlier one."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from takeoff.boards.check.facts import Breach, say
from takeoff.boards.plan import Offcut, Sheet
from takeoff.catalogue import Catalogue, OwnedSheet
from takeoff.rules import Rules
from takeoff.units import FOOT

__all__ = ["RoomLimits", "check_sources"]


@dataclass(frozen=True, slots=True)
class RoomLimits:
    """A room's place in the hanging order, the longest sheet that gets into it, the heaviest that
    is lifted there."""

    order: int
    longest: int | None
    heaviest: Fraction | None


def check_sources(
    sheets: Sequence[Sheet],
    rooms: Mapping[str, RoomLimits],
    rules: Rules,
    catalogue: Catalogue,
    owned: Sequence[OwnedSheet],
    cut: Collection[str] = (),
) -> Iterator[Breach]:
    """Breaches of `on_sale`, `owned`, `offcut`, `keep_offcuts`, `rooms`, `longest_board` and
    `heaviest_lift`. Sheets of the codes `cut` are what they are; what is left of them is stock."""
    on_sale = catalogue.sheets if rules.sheets is None else rules.sheets
    prices = {
        (on_offer.board, on_offer.thickness, on_offer.width, on_offer.length): on_offer.price
        for on_offer in reversed(on_sale)
    }
    unused = {sheet.id: sheet.count for sheet in owned}
    # What is left of a sheet in the plan is told of by its offcuts, not by what is owned.
    rests = {offcut.id for sheet in sheets if sheet.code in cut for offcut in sheet.offcuts}
    by_id = {sheet.id: sheet for sheet in owned if sheet.id not in rests}
    # Sheets are gone through in the order they are cut: an offcut must be there before it is used.
    kept: dict[str, tuple[Sheet, Offcut]] = {}
    codes: set[str] = set()
    for sheet in sheets:
        if sheet.code in codes:
            yield Breach(sheet.code, "sheets", f"Two sheets are called {sheet.code}")
        codes.add(sheet.code)
        if sheet.room not in rooms:
            yield Breach(
                sheet.code,
                "rooms",
                f"{sheet.code} is cut in room {sheet.room}, which the plan has not",
            )
        if sheet.code in cut:
            kept.pop(sheet.source or "", None)
        elif sheet.source is None:
            price = prices.get((sheet.board, sheet.thickness, sheet.width, sheet.length))
            yield from _bought(sheet, price, rooms.get(sheet.room), rules, catalogue)
        else:
            if sheet.price != 0:
                yield Breach(
                    sheet.code, "price", f"{sheet.code} is not bought, so its price must be zero"
                )
            if sheet.source in by_id:
                unused[sheet.source] -= 1
                yield from _owned(sheet, by_id[sheet.source], unused[sheet.source])
            elif sheet.source in kept and sheet.source not in rests and not rules.keep_offcuts:
                yield Breach(
                    sheet.code,
                    "keep_offcuts",
                    f"{sheet.code} comes from {sheet.source}, but no offcut is kept",
                )
            elif sheet.source in kept:
                source, offcut = kept.pop(sheet.source)
                # A sheet that is cut is there, whichever room comes first.
                yield from _from_offcut(sheet, source, offcut, {} if source.code in cut else rooms)
            else:
                yield Breach(
                    sheet.code,
                    "offcut",
                    f"{sheet.code} comes from {sheet.source}, no owned sheet and no unused offcut "
                    "of an earlier one",
                )

        for offcut in sheet.offcuts:
            if offcut.id in kept or offcut.id in by_id:
                yield Breach(sheet.code, "offcut", f"Two offcuts are called {offcut.id}")
            kept[offcut.id] = (sheet, offcut)


def _bought(
    sheet: Sheet, price: int | None, room: RoomLimits | None, rules: Rules, catalogue: Catalogue
) -> Iterator[Breach]:
    size = f"{say(sheet.width)} x {say(sheet.length)} {sheet.board}"
    if price is None:
        yield Breach(
            sheet.code, "on_sale", f"{sheet.code} is a sheet of {size}, which is not on sale"
        )
    elif price != sheet.price:
        yield Breach(
            sheet.code,
            "price",
            f"{sheet.code} is priced {sheet.price} cents; {size} is on sale at {price}",
        )
    if sheet.factory_edges > 2:
        yield Breach(
            sheet.code,
            "factory_edges",
            f"{sheet.code} cannot have {sheet.factory_edges} factory edges",
        )
    # What gets into the room, or the house, where either is set.
    longest = [
        limit
        for limit in (rules.longest_board, room.longest if room else None)
        if limit is not None
    ]
    if longest and sheet.length > min(longest):
        yield Breach(
            sheet.code,
            "longest_board",
            f"{sheet.code} is {say(sheet.length)} long; the longest that gets into the room is "
            f"{say(min(longest))}",
        )

    psf = catalogue.board(sheet.board).weight(sheet.thickness)
    lifts = [Fraction(rules.heaviest_lift)] if rules.heaviest_lift is not None else []
    lifts += [room.heaviest] if room and room.heaviest is not None else []
    if psf is not None and lifts:
        pounds = Fraction(psf) * sheet.width * sheet.length / FOOT**2
        if pounds > min(lifts):
            yield Breach(
                sheet.code,
                "heaviest_lift",
                f"{sheet.code} weighs {float(pounds):.0f} lb; the heaviest to lift is "
                f"{float(min(lifts)):.0f} lb",
            )


def _owned(sheet: Sheet, one: OwnedSheet, unused: int) -> Iterator[Breach]:
    if unused < 0:
        yield Breach(
            sheet.code,
            "owned",
            f"{sheet.code} takes one more of owned sheet {one.id} than the {one.count} there are",
        )
    fits = _comes_from(sheet, one.board, one.thickness, one.width, one.length, one.factory_edges)
    # Of whole sheets the need counts the size, so a plan may not call a smaller one so.
    if not fits or (one.whole and (sheet.width, sheet.length) != (one.width, one.length)):
        yield Breach(sheet.code, "owned", f"{sheet.code} is not what owned sheet {one.id} is")


def _from_offcut(
    sheet: Sheet, source: Sheet, offcut: Offcut, rooms: Mapping[str, RoomLimits]
) -> Iterator[Breach]:
    if not _comes_from(
        sheet, source.board, source.thickness, offcut.width, offcut.length, offcut.factory_edges
    ):
        yield Breach(
            sheet.code, "offcut", f"{sheet.code} is not what offcut {offcut.id} of {source.code} is"
        )
    if (
        sheet.room in rooms
        and source.room in rooms
        and rooms[sheet.room].order < rooms[source.room].order
    ):
        yield Breach(
            sheet.code,
            "rooms",
            f"{sheet.code} is cut in {sheet.room} before its offcut is left over in {source.room}",
        )


def _comes_from(
    sheet: Sheet, board: str, thickness: int, width: int, length: int, factory_edges: int
) -> bool:
    """Whether the sheet fits in that size, with no more factory edges than are left when it is cut
    narrower."""
    # Cut narrower, a sheet loses the factory edge on the side that is cut off.
    edges = factory_edges if sheet.width == width else min(factory_edges, 1)
    return (
        (sheet.board, sheet.thickness) == (board, thickness)
        and sheet.width <= width
        and sheet.length <= length
        and sheet.factory_edges <= edges
    )
