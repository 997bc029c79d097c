"""The least cost of boarding tiny surfaces, by trying everything: slow, and sharing nothing with
what it checks.

Level rectangular surfaces boarded across upright members, one sheet width, nothing owned. Every row
is a choice of joints out of every allowed one; every way of putting the pieces on sheets is tried.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache
from itertools import combinations, pairwise, product

from takeoff.boards.plan import AsBuilt, JointKind
from takeoff.catalogue import SheetOnSale
from takeoff.choices import CeilingRows, JointMode, SurfaceKind
from takeoff.framing.members import FramedSurface
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH

Piece = tuple[int, int]  # length, width
Row = tuple[int, int]  # low, high
Span = tuple[int, int]  # start, end
Path = tuple[tuple[int, JointKind], ...]


def least_cost(framed: Sequence[FramedSurface], rules: Rules) -> Fraction | None:
    """Cents of the cheapest plan of these surfaces together (sheets, seams, backers, hours); None
    where none is allowed."""
    sheets = rules.sheets or ()
    choices = [_cheapest(_surface_choices(surface, rules, sheets)) for surface in framed]
    # What the board of a surface costs by its area at least: together with its seams, less than any
    # plan can cost.
    by_area = [
        min((_area_price(pieces, sheets) for _, pieces in choice), default=Fraction(0))
        for choice in choices
    ]
    least_board = sum(by_area, Fraction(0))
    best: Fraction | None = None

    def search(number: int, seams: Fraction, pieces: tuple[Piece, ...]) -> None:
        nonlocal best
        if number == len(choices):
            total = seams + cutting_cost(tuple(sorted(pieces, reverse=True)), tuple(sheets))
            best = total if best is None else min(best, total)
            return
        for cost, some in choices[number]:
            if best is not None and seams + cost + least_board >= best:
                break  # the rest of them have dearer seams still
            search(number + 1, seams + cost, pieces + some)

    search(0, Fraction(0), ())
    return best


def _cheapest(
    choices: Iterator[tuple[Fraction, tuple[Piece, ...]]],
) -> list[tuple[Fraction, tuple[Piece, ...]]]:
    """The cheapest seams for each set of pieces, cheapest first."""
    least: dict[tuple[Piece, ...], Fraction] = {}
    for cost, pieces in choices:
        if pieces not in least or cost < least[pieces]:
            least[pieces] = cost
    return sorted((cost, pieces) for pieces, cost in least.items())


def _surface_choices(
    framed: FramedSurface, rules: Rules, sheets: Sequence[SheetOnSale]
) -> Iterator[tuple[Fraction, tuple[Piece, ...]]]:
    """Each allowed way to board one surface: what its seams, backers and hours cost, and its
    pieces."""
    surface = framed.surface
    start, low = surface.board_area[0]
    end, high = surface.board_area[2]
    width, longest = sheets[0].width, max(sheet.length for sheet in sheets)
    for rows in _row_sets(surface.kind, low, high, width, rules):
        paths = [list(_row_paths(framed, row, start, end, longest, rules)) for row in rows]
        for choice in product(*paths):
            if any(
                abs(a - b) < rules.stagger
                for (_, one), (_, other) in pairwise(choice)
                for a, _ in one
                for b, _ in other
            ):
                continue
            cost = Fraction(_anyway_cents(framed, rows, [spans for spans, _ in choice], rules))
            pieces: list[Piece] = []
            for row, (spans, path) in zip(rows, choice, strict=True):
                pieces += [(b - a, row[1] - row[0]) for a, b in spans]
                cost += sum(_piece_cents(framed, row, span, sheets, rules) for span in spans)
                for at, kind in path:
                    cost += _seam_and_backers(framed, row, at, kind, rules)
                    cost += _joint_cents(framed, row, at, kind, rules)
            yield cost, tuple(sorted(pieces))


def _row_sets(kind: SurfaceKind, low: int, high: int, width: int, rules: Rules) -> list[list[Row]]:
    down = [(max(low, top - width), top) for top in range(high, low, -width)]
    if kind is SurfaceKind.WALL:
        rest = down[-1][1] - down[-1][0]
        # The board's area starts a floor gap up, so the rest adds to that.
        return [
            down[:-1]
            if len(down) > 1 and rest + rules.floor_gap <= rules.largest_floor_gap
            else down
        ]
    up = [(bottom, min(high, bottom + width)) for bottom in range(low, high, width)]
    return {CeilingRows.SIDE_A: [up], CeilingRows.SIDE_B: [down]}.get(
        rules.ceiling_rows, [up, down]
    )


def _row_paths(
    framed: FramedSurface, row: Row, first: int, last: int, longest: int, rules: Rules
) -> Iterator[tuple[tuple[Span, ...], Path]]:
    """Each choice of joints of a whole row, all its segments, with where its pieces lie."""
    segments = [(first, last)]
    for opening in framed.surface.openings:
        if opening.bottom <= row[0] and opening.top >= row[1]:
            segments = [
                part
                for start, end in segments
                for part in ((start, min(end, opening.left)), (max(start, opening.right), end))
                if part[0] < part[1]
            ]
    by_segment = []
    for start, end in segments:
        places = [place for place in _places(framed, row, rules) if start < place[0] < end]
        shortest = min(rules.shortest_piece, end - start)
        allowed = []
        for count in range(len(places) + 1):
            for path in combinations(places, count):
                cuts = [start, *(at for at, _ in path), end]
                spans = tuple(pairwise(cuts))
                if all(shortest <= b - a <= longest for a, b in spans):
                    allowed.append((spans, path))
        by_segment.append(allowed)
    for choice in product(*by_segment):
        yield (
            tuple(x for spans, _ in choice for x in spans),
            tuple(x for _, path in choice for x in path),
        )


def _places(framed: FramedSurface, row: Row, rules: Rules) -> list[tuple[int, JointKind]]:
    surface, low, high = framed.surface, *row
    members = [member for member in framed.members if member.low < high and member.high > low]
    centres = sorted({member.centre for member in members})
    places: list[tuple[int, JointKind]] = []
    if surface.joint_mode is not JointMode.FLOATING:
        for at in centres:
            bare = set(_seam(framed, row, at))
            if all(
                any(
                    member.centre == at and member.low <= a and member.high >= b
                    for member in members
                )
                for a, b in bare
            ):
                places.append((at, JointKind.FRAMING))
    if surface.joint_mode is not JointMode.FRAMING:
        for one, other in pairwise(centres):
            half = max(member.width for member in members) // 2
            clear = other - one - 2 * half
            at = (one + other) // 2
            in_the_way = any(
                opening.left < at + 9 * INCH // 2 and opening.right > at - 9 * INCH // 2
                for opening in surface.openings
                if opening.bottom <= high and opening.top >= low
            )
            if clear >= rules.floating_clear_bay and not in_the_way:
                places.append((at, JointKind.FLOATING))
    return sorted(
        (at, kind)
        for at, kind in places
        if all(
            min(abs(at - opening.left), abs(at - opening.right)) >= rules.opening_clearance
            for opening in surface.openings
            if opening.bottom < high and opening.top > low
        )
    )


def _seam(framed: FramedSurface, row: Row, at: int) -> list[tuple[int, int]]:
    spans = [row]
    for opening in framed.surface.openings:
        if opening.left < at < opening.right:
            spans = [
                part
                for low, high in spans
                for part in ((low, min(high, opening.bottom)), (max(low, opening.top), high))
                if part[0] < part[1]
            ]
    return spans


def _seam_and_backers(
    framed: FramedSurface, row: Row, at: int, kind: JointKind, rules: Rules
) -> Fraction:
    length = sum(high - low for low, high in _seam(framed, row, at))
    cost = Fraction(rules.seam_price) * 100 * length / FOOT
    if kind is JointKind.FLOATING:
        backers = -(-length // (48 * INCH))
        cost += 100 * backers * (Fraction(rules.backer_price) + 2 * Fraction(rules.shim_price))
    return cost


def _worth(framed: FramedSurface, lifted: Fraction, cut: Fraction, rules: Rules) -> int:
    """Minutes in cents, rounded once; those of lifting and finishing are half as long again on a
    ceiling."""
    if framed.surface.kind is SurfaceKind.CEILING:
        lifted = lifted * 3 / 2
    return round((lifted + cut) * Fraction(rules.hour) * 100 / 60)


def _piece_cents(
    framed: FramedSurface, row: Row, span: Span, sheets: Sequence[SheetOnSale], rules: Rules
) -> int:
    minutes, (low, high), (start, end) = rules.minutes, row, span
    lifted = Fraction(minutes.piece)
    if end - start < 24 * INCH:
        lifted += Fraction(minutes.short_piece)
    cut = Fraction(0)
    if end - start not in [sheet.length for sheet in sheets]:
        cut += Fraction(minutes.crosscut)
    off = sheets[0].width - (high - low)
    if off:
        cut += Fraction(minutes.thin_rip if off < 2 * INCH else minutes.rip)
    opening = _worth(framed, Fraction(0), Fraction(minutes.opening), rules)
    holes = _holes_in(framed, row, span)
    # A strip under 2 in beside an opening is cut off.
    tongues = sum(
        0 < left < 2 * INCH
        for one in framed.surface.openings
        if one.id in holes
        for left in (one.left - start, end - one.right, one.bottom - low, high - one.top)
    )
    off = tongues * _worth(framed, Fraction(0), Fraction(minutes.crosscut), rules)
    return _worth(framed, lifted, cut, rules) + len(holes) * opening + off


def _holes_in(framed: FramedSurface, row: Row, span: Span) -> set[str]:
    (low, high), (start, end) = row, span
    return {
        hole.id
        for hole in (*framed.surface.openings, *framed.surface.cutouts)
        if not (hole.right <= start or hole.left >= end or hole.top <= low or hole.bottom >= high)
    }


def _anyway_cents(
    framed: FramedSurface, rows: Sequence[Row], boarded: Sequence[Sequence[Span]], rules: Rules
) -> int:
    """What no joint changes: the long seams, less cutting out each hole once."""
    holes = {
        hole
        for row, spans in zip(rows, boarded, strict=True)
        for span in spans
        for hole in _holes_in(framed, row, span)
    }
    opening = _worth(framed, Fraction(0), Fraction(rules.minutes.opening), rules)
    return _long_seam_cents(framed, rows, boarded, rules) - len(holes) * opening


def _joint_cents(framed: FramedSurface, row: Row, at: int, kind: JointKind, rules: Rules) -> int:
    minutes = rules.minutes
    length = sum(high - low for low, high in _seam(framed, row, at))
    finished = Fraction(minutes.butt_foot) * length / FOOT
    if kind is JointKind.FLOATING:
        finished += Fraction(minutes.backer) * -(-length // (48 * INCH))
    avoided = Fraction(0)
    if framed.surface.kind is SurfaceKind.CEILING:
        corners = framed.surface.outline
        middles = []
        for place, ends in (
            (Fraction(at), [u for u, _ in corners]),
            (Fraction(sum(row), 2), [v for _, v in corners]),
        ):
            part = (place - min(ends)) / (max(ends) - min(ends))
            middles.append(Fraction(1, 3) < part < Fraction(2, 3))
        if all(middles):
            avoided = Fraction(minutes.middle_butt)
    return _worth(framed, finished, avoided, rules)


def _long_seam_cents(
    framed: FramedSurface, rows: Sequence[Row], boarded: Sequence[Sequence[Span]], rules: Rules
) -> int:
    """The seams between rows that touch: all of them between factory edges, since a ripped row has
    its cut edge at the side of the surface."""
    length = 0
    for (one, spans), (other, beside) in pairwise(sorted(zip(rows, boarded, strict=True))):
        if one[1] != other[0]:
            continue
        for a, b in spans:
            for c, d in beside:
                whole = [(max(a, c), min(b, d))]
                for opening in framed.surface.openings:
                    if opening.bottom <= one[1] <= opening.top:
                        whole = [
                            part
                            for start, end in whole
                            for part in (
                                (start, min(end, opening.left)),
                                (max(start, opening.right), end),
                            )
                        ]
                length += sum(max(0, end - start) for start, end in whole)
    feet = Fraction(length, FOOT)
    return _worth(framed, Fraction(rules.minutes.tapered_foot) * feet, Fraction(0), rules)


def _area_price(pieces: Sequence[Piece], sheets: Sequence[SheetOnSale]) -> Fraction:
    rate = min(Fraction(sheet.price, sheet.length * sheet.width) for sheet in sheets)
    return rate * sum(length * width for length, width in pieces)


@cache
def cutting_cost(pieces: tuple[Piece, ...], sheets: tuple[SheetOnSale, ...]) -> int:
    """Cents of the cheapest sheets that all the pieces come out of, every grouping of them
    tried."""
    if not pieces:
        return 0
    first, rest = pieces[0], pieces[1:]
    best: int | None = None
    seen = set()
    for count in range(len(rest) + 1):
        for chosen in combinations(range(len(rest)), count):
            group = (first, *(rest[number] for number in chosen))
            if group in seen:
                continue
            seen.add(group)
            price = _one_sheet(group, sheets)
            if price is not None:
                others = tuple(piece for number, piece in enumerate(rest) if number not in chosen)
                total = price + cutting_cost(others, sheets)
                best = total if best is None else min(best, total)
    assert best is not None, "every piece must fit a sheet by itself"
    return best


@cache
def _one_sheet(group: tuple[Piece, ...], sheets: tuple[SheetOnSale, ...]) -> int | None:
    """The cheapest sheet the whole group comes out of: whole-width pieces, then one rip into two
    strips."""
    prices = [sheet.price for sheet in sheets if _fits(group, sheet.length, sheet.width)]
    return min(prices, default=None)


def _fits(group: Sequence[Piece], length: int, width: int) -> bool:
    whole = [piece for piece in group if piece[1] == width]
    ripped = [piece for piece in group if piece[1] != width]
    remainder = length - sum(piece[0] for piece in whole)
    if remainder < 0:
        return False
    for sides in product((0, 1), repeat=len(ripped)):
        strips = [
            [piece for piece, side in zip(ripped, sides, strict=True) if side == number]
            for number in (0, 1)
        ]
        across = sum(max((piece[1] for piece in strip), default=0) for strip in strips)
        if across <= width and all(
            sum(piece[0] for piece in strip) <= remainder for strip in strips
        ):
            return True
    return False


def least_cost_around(
    framed: Sequence[FramedSurface], rules: Rules, built: AsBuilt
) -> Fraction | None:
    """Cents of the cheapest plan in which the boards of `built` hang where they do and come out of
    the sheets they came from: every choice of joints that has them in it, and every way of cutting
    the rest out of what is left of those sheets and out of sheets on sale.
    """
    sheets = rules.sheets or ()
    rests = tuple((offcut.length, offcut.width) for one in built.sheets for offcut in one.offcuts)
    choices = []
    for surface in framed:
        held = Counter(
            (board.start, board.end, board.row_low, board.row_high)
            for board in built.boards
            if board.surface == surface.surface.id
        )
        choices.append(_cheapest(_choices_with(surface, rules, sheets, held)))
    best: Fraction | None = None
    for chosen in product(*choices):
        pieces = tuple(sorted((piece for _, some in chosen for piece in some), reverse=True))
        cut = _cutting_with_rests(pieces, rests, tuple(sheets))
        if cut is not None:
            total = sum((cost for cost, _ in chosen), Fraction(cut))
            best = total if best is None else min(best, total)
    return None if best is None else best + sum(one.price for one in built.sheets)


def _choices_with(
    framed: FramedSurface,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    held: Counter[tuple[int, int, int, int]],
) -> Iterator[tuple[Fraction, tuple[Piece, ...]]]:
    """Each allowed way to board one surface with these boards in it: what its seams and backers
    cost, and the pieces beside them."""
    surface = framed.surface
    start, low = surface.board_area[0]
    end, high = surface.board_area[2]
    width, longest = sheets[0].width, max(sheet.length for sheet in sheets)
    for rows in _row_sets(surface.kind, low, high, width, rules):
        paths = [list(_row_paths(framed, row, start, end, longest, rules)) for row in rows]
        for choice in product(*paths):
            if any(
                abs(a - b) < rules.stagger
                for (_, one), (_, other) in pairwise(choice)
                for a, _ in one
                for b, _ in other
            ):
                continue
            cut = Counter(
                (a, b, *row)
                for row, (_, path) in zip(rows, choice, strict=True)
                for a, b in pairwise([start, *(at for at, _ in path), end])
            )
            if held - cut:
                continue
            rest = list((cut - held).elements())
            cost = Fraction(_anyway_cents(framed, rows, [spans for spans, _ in choice], rules))
            for row, (spans, path) in zip(rows, choice, strict=True):
                cost += sum(_piece_cents(framed, row, span, sheets, rules) for span in spans)
                for at, kind in path:
                    cost += _seam_and_backers(framed, row, at, kind, rules)
                    cost += _joint_cents(framed, row, at, kind, rules)
            yield cost, tuple(sorted((b - a, top - bottom) for a, b, bottom, top in rest))


def _cutting_with_rests(
    pieces: tuple[Piece, ...], rests: tuple[Piece, ...], sheets: tuple[SheetOnSale, ...]
) -> int | None:
    """Cents of the cheapest sheets beside `rests` (length, width), of which each gives what it
    holds at no price."""
    if not rests:
        return cutting_cost(pieces, sheets)
    (length, width), others = rests[0], rests[1:]
    best: int | None = None
    for count in range(len(pieces) + 1):
        for chosen in combinations(range(len(pieces)), count):
            if not _fits([pieces[number] for number in chosen], length, width):
                continue
            left = tuple(piece for number, piece in enumerate(pieces) if number not in chosen)
            total = _cutting_with_rests(left, others, sheets)
            if total is not None:
                best = total if best is None else min(best, total)
    return best
