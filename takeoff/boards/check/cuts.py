"""Whether each sheet can be cut as the plan says: crosscuts first, one rip of the rest, its strips
crosscut again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.boards.check.facts import Breach, say
from takeoff.boards.check.sources import RoomLimits
from takeoff.boards.plan import PlacedPiece, Sheet
from takeoff.catalogue import Catalogue, Cutting
from takeoff.rules import Rules

__all__ = ["Wanted", "check_cuts"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a piece asks of its sheet: kind, size as bought, and factory edges it puts against its
    neighbour courses."""

    code: str
    room: str
    board: str
    thickness: int
    length: int
    width: int
    factory_edges: int
    sheet_width: int


def check_cuts(
    sheet: Sheet,
    wanted: Mapping[str, Wanted],
    rooms: Mapping[str, RoomLimits],
    rules: Rules,
    catalogue: Catalogue,
) -> Iterator[Breach]:
    """Breaches of how one sheet is cut: `kerf`, `sheet_layout`, `rip`, `piece_size`,
    `factory_edges`, `offcut`, `rooms`, `keep_offcuts`."""
    kind = catalogue.board(sheet.board)
    kerf = rules.kerf if kind.cutting is Cutting.SAW else 0
    yield from _in_order(sheet, sheet.crosscuts, 0, sheet.length, kerf)
    for placed in sheet.crosscuts:
        if placed.width != sheet.width:
            yield Breach(
                sheet.code,
                "rip",
                f"Piece {placed.piece} is crosscut from {sheet.code}, so it must be as wide as the "
                "sheet",
            )
    yield from _strips(sheet, kerf)
    for placed, width, factory_edges in _placed(sheet):
        one = wanted.get(placed.piece)
        if one is None:
            yield Breach(
                sheet.code,
                "piece_cut",
                f"{sheet.code} holds piece {placed.piece}, which no surface has",
            )
        else:
            yield from _piece(sheet, placed, one, width, factory_edges, rooms)
            if not rules.keep_offcuts and one.room != sheet.room:
                yield Breach(
                    sheet.code,
                    "keep_offcuts",
                    f"Piece {one.code} hangs in {one.room}, but no offcut of {sheet.room} is kept",
                )
    if not _offcuts_fit(sheet, kerf):
        yield Breach(
            sheet.code, "offcut", f"The offcuts of {sheet.code} are more than its pieces leave over"
        )


def _in_order(
    sheet: Sheet, pieces: Sequence[PlacedPiece], low: int, high: int, kerf: int
) -> Iterator[Breach]:
    for placed in pieces:
        if not low <= placed.start < placed.end <= high:
            yield Breach(
                sheet.code,
                "sheet_layout",
                f"Piece {placed.piece} does not lie on its part of {sheet.code}",
            )
    for one, other in pairwise(pieces):
        if one.end > other.start:
            yield Breach(
                sheet.code,
                "sheet_layout",
                f"Pieces {one.piece} and {other.piece} overlap on {sheet.code}",
            )
        elif other.start - one.end < kerf:
            yield Breach(
                sheet.code,
                "kerf",
                f"Pieces {one.piece} and {other.piece} on {sheet.code} leave no {say(kerf)} for "
                "the saw",
            )


def _strips(sheet: Sheet, kerf: int) -> Iterator[Breach]:
    # Whole-width pieces come first, and the rip begins where the last of them ends.
    after = max((placed.end for placed in sheet.crosscuts), default=0)
    if (sheet.rip_at is None) != (not sheet.strips):
        yield Breach(
            sheet.code, "rip", f"{sheet.code} has strips without a rip, or a rip without strips"
        )
        return
    if sheet.rip_at is None:
        return
    if not 0 <= sheet.rip_at < sheet.length:
        yield Breach(sheet.code, "rip", f"The rip of {sheet.code} starts off the sheet")
    if sheet.rip_at < after:
        yield Breach(sheet.code, "rip", f"The rip of {sheet.code} starts inside a full-width piece")
    elif after and sheet.rip_at - after < kerf:
        yield Breach(
            sheet.code,
            "kerf",
            f"The rip of {sheet.code} leaves no {say(kerf)} for the crosscut before it",
        )
    strips = sorted(sheet.strips, key=lambda strip: strip.low)
    if len(strips) > 2:
        yield Breach(sheet.code, "rip", f"{sheet.code} is ripped more than once")
    for strip in strips:
        if not 0 <= strip.low < strip.high <= sheet.width or strip.high - strip.low == sheet.width:
            yield Breach(sheet.code, "rip", f"A strip of {sheet.code} is not a part of its width")
        # A strip has a long edge of the sheet only at one of its sides.
        at_edge = strip.low == 0 or strip.high == sheet.width
        if strip.factory_edges > at_edge:
            yield Breach(
                sheet.code,
                "factory_edges",
                f"A strip of {sheet.code} claims a factory edge it does not have",
            )
        yield from _in_order(sheet, strip.pieces, sheet.rip_at, sheet.length, kerf)
    for lower, upper in pairwise(strips):
        if upper.low < lower.high:
            yield Breach(sheet.code, "rip", f"The strips of {sheet.code} overlap")
        elif upper.low - lower.high < kerf:
            yield Breach(
                sheet.code, "kerf", f"The rip of {sheet.code} leaves no {say(kerf)} for the saw"
            )
        # With one rip both strips reach from it to an edge of the sheet.
        if lower.low != 0 and upper.high != sheet.width:
            yield Breach(sheet.code, "rip", f"The strips of {sheet.code} take more than one rip")
    if len(strips) == 1 and strips[0].low != 0 and strips[0].high != sheet.width:
        yield Breach(sheet.code, "rip", f"The strip of {sheet.code} takes more than one rip")
    if sum(strip.factory_edges for strip in strips) > sheet.factory_edges:
        yield Breach(
            sheet.code,
            "factory_edges",
            f"The strips of {sheet.code} claim more factory edges than it has",
        )


def _placed(sheet: Sheet) -> Iterator[tuple[PlacedPiece, int, int]]:
    """Each piece on the sheet with the width it is cut from and the factory edges that has."""
    for placed in sheet.crosscuts:
        yield placed, sheet.width, sheet.factory_edges
    for strip in sheet.strips:
        for placed in strip.pieces:
            yield placed, strip.high - strip.low, strip.factory_edges


def _piece(
    sheet: Sheet,
    placed: PlacedPiece,
    one: Wanted,
    width: int,
    factory_edges: int,
    rooms: Mapping[str, RoomLimits],
) -> Iterator[Breach]:
    if (placed.end - placed.start, placed.width) != (one.length, one.width):
        yield Breach(
            sheet.code,
            "piece_size",
            f"Piece {one.code} is {say(one.length)} x {say(one.width)}; "
            f"{sheet.code} has it {say(placed.end - placed.start)} x {say(placed.width)}",
        )
    if placed.width > width:
        yield Breach(
            sheet.code,
            "piece_size",
            f"Piece {one.code} is wider than the strip of {sheet.code} it is cut from",
        )
    if (sheet.board, sheet.thickness) != (one.board, one.thickness):
        yield Breach(
            sheet.code,
            "board",
            f"Piece {one.code} is {one.board} {say(one.thickness)}; {sheet.code} is not",
        )
    # An owned sheet may be wider than the course's, and is cut down.
    if sheet.source is None and sheet.width != one.sheet_width:
        yield Breach(
            sheet.code,
            "sheet_width",
            f"Piece {one.code} is of a row in {say(one.sheet_width)} sheets; {sheet.code} is not",
        )
    # Tapered edges meet at a flat joint; a cut edge there would show as a ridge.
    if factory_edges < one.factory_edges:
        yield Breach(
            sheet.code,
            "factory_edges",
            f"Piece {one.code} needs {one.factory_edges} factory edges; its place on {sheet.code} "
            f"has {factory_edges}",
        )
    if sheet.room in rooms and rooms[one.room].order < rooms[sheet.room].order:
        yield Breach(
            sheet.code,
            "rooms",
            f"Piece {one.code} hangs in {one.room}, before {sheet.code} is cut in {sheet.room}",
        )


def _offcuts_fit(sheet: Sheet, kerf: int) -> bool:
    """Whether the offcuts can lie in what is left without overlap: each place is crosscut, narrower
    ones trimmed."""
    places = _left_over(sheet, kerf)
    # Largest first: it fits the fewest places, so a wrong choice shows soonest.
    wanted = sorted(sheet.offcuts, key=lambda offcut: (offcut.length, offcut.width), reverse=True)

    def place(index: int, room: list[int]) -> bool:
        if index == len(wanted):
            return True
        one = wanted[index]
        for number, (_, width, factory_edges) in enumerate(places):
            edges = factory_edges if one.width == width else min(factory_edges, 1)
            if one.width <= width and one.length <= room[number] and one.factory_edges <= edges:
                rest = [*room[:number], room[number] - one.length - kerf, *room[number + 1 :]]
                if place(index + 1, rest):
                    return True
        return False

    return all(offcut.length > 0 and offcut.width > 0 for offcut in wanted) and place(
        0, [length for length, _, _ in places]
    )


def _left_over(sheet: Sheet, kerf: int) -> list[tuple[int, int, int]]:
    """Length, width and factory edges of each rectangle that no piece takes, each reached by
    straight cuts through."""
    # Before the rip the free lengths are as wide as the sheet, after it as wide as a strip.
    whole_end = sheet.length if sheet.rip_at is None else sheet.rip_at
    places: list[tuple[int, int, int]] = [
        (length, sheet.width, sheet.factory_edges)
        for length in _free(
            sheet.crosscuts, 0, whole_end, kerf, ends_at_cut=sheet.rip_at is not None
        )
    ]
    if sheet.rip_at is None:
        return places
    strips = sheet.strips
    if len(strips) == 1:
        low, high = strips[0].low, strips[0].high
        rest = (high + kerf, sheet.width) if low == 0 else (0, low - kerf)
        spare = min(1, max(0, sheet.factory_edges - strips[0].factory_edges))
        if rest[0] < rest[1]:
            places.append((sheet.length - sheet.rip_at, rest[1] - rest[0], spare))
    for strip in strips:
        width = strip.high - strip.low
        places += [
            (length, width, strip.factory_edges)
            for length in _free(strip.pieces, sheet.rip_at, sheet.length, kerf, ends_at_cut=False)
        ]
        places += [
            (piece.end - piece.start, width - piece.width - kerf, 0) for piece in strip.pieces
        ]
    return [place for place in places if place[0] > 0 and place[1] > 0]


def _free(
    pieces: Sequence[PlacedPiece], low: int, high: int, kerf: int, *, ends_at_cut: bool
) -> list[int]:
    """The free lengths between `low` and `high`, a kerf taken off beside each piece and before a
    cut at `high`."""
    lengths = []
    here = low
    for placed in sorted(pieces, key=lambda piece: piece.start):
        lengths.append(placed.start - kerf - here)
        # A cut on either side of a piece takes its kerf out of what is free.
        here = placed.end + kerf
    lengths.append(high - here - (kerf if ends_at_cut else 0))
    return [length for length in lengths if length > 0]
