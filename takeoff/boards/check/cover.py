"""Whether the pieces of a surface cover it once: no gap, no overlap, each piece's outline its part
of the surface and no mere tongue."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import ceil, floor

from takeoff.boards.check.facts import ROUNDING, Breach, Facts
from takeoff.boards.check.shape import box, holds_square, measure
from takeoff.boards.check.stretches import stretches
from takeoff.boards.plan import Course, Piece
from takeoff.reference import figures

__all__ = ["check_cover", "check_pieces"]


def check_cover(facts: Facts) -> Iterator[Breach]:
    """Breaches of `outline`, `core`, `overlap`, `cover` and `placed`."""
    yield from _placed(facts)
    by_index = {course.index: course for course in facts.plan.rows}
    for piece in facts.plan.pieces:
        course = by_index.get(piece.row)
        if course is None:
            yield facts.breach(
                "cover",
                f"Piece {piece.code} is in row {piece.row + 1}, which {facts.surface.name} has not",
                amiss=piece.code in facts.hung,
            )
        else:
            yield from _outline(facts, course, piece)
            yield from _core(facts, course, piece)
    for course in facts.courses:
        yield from _overlaps(facts, course)
        yield from _gaps(facts, course)


def check_pieces(facts: Facts) -> Iterator[Breach]:
    """Breaches of `shortest_piece` and `longest_board`."""
    # The house and the surface may both set a longest board; the shorter one counts.
    limits = [
        limit
        for limit in (facts.rules.longest_board, facts.surface.longest_board)
        if limit is not None
    ]
    # A piece may be as short as the stretch it fills, of the row or between boards that hang.
    segments = {
        course.index: (*course.segments, *facts.open_stretches(course))
        for course in facts.plan.rows
    }
    for piece in facts.plan.pieces:
        length = piece.end - piece.start
        if length < facts.rules.shortest_piece and (piece.start, piece.end) not in segments.get(
            piece.row, ()
        ):
            yield facts.breach(
                "shortest_piece",
                f"Piece {piece.code} is {facts.say(length)} long; the shortest allowed is "
                f"{facts.say(facts.rules.shortest_piece)}",
                amiss=piece.code in facts.hung,
            )
        if limits and length > min(limits):
            yield facts.breach(
                "longest_board",
                f"Piece {piece.code} is {facts.say(length)} long; the longest that gets into "
                "the room is "
                f"{facts.say(min(limits))}",
                amiss=piece.code in facts.hung,
            )


def _placed(facts: Facts) -> Iterator[Breach]:
    """Each board that hangs is in the plan, as it is and where it is."""
    pieces = {piece.code: piece for piece in facts.plan.pieces}
    for mark, board in facts.hung.items():
        piece = pieces.get(mark)
        if piece is None:
            yield facts.breach(
                "placed", f"{mark} hangs on {facts.surface.name}, but not in the plan"
            )
        elif (piece.start, piece.end, piece.low, piece.high, tuple(piece.outline)) != (
            board.start,
            board.end,
            board.low,
            board.high,
            tuple(board.outline),
        ):
            yield facts.breach("placed", f"{mark} hangs elsewhere than the plan has it")


def _outline(facts: Facts, course: Course, piece: Piece) -> Iterator[Breach]:
    """The outline lies inside the surface's farthest edges, has all of what must be covered in the
    piece's rectangle, and the rectangle is the outline's own."""
    hung = piece.code in facts.hung
    if not (piece.start < piece.end and course.low <= piece.low < piece.high <= course.high):
        message = f"Piece {piece.code} does not lie in {facts.course_name(course)}"
        yield facts.breach("outline", _past(facts, piece) if hung else message, amiss=hung)
        return
    ring = facts.ring(piece.outline)
    if len(ring) < 3:
        yield facts.breach("outline", f"Piece {piece.code} has no outline", amiss=hung)
        return
    rectangle = box(piece.start, piece.end, piece.low, piece.high)
    # Bits: the piece, the outer and the inner shape of the surface, the rectangle.
    off = measure(
        (ring, facts.outer, facts.inner, rectangle),
        lambda inside: inside & 3 == 1 or inside & 13 == 12,
    )
    # Twice the area of a strip one rounding wide, all the way round the rectangle.
    if off > 4 * facts.slack * (piece.end - piece.start + piece.high - piece.low):
        message = f"The outline of piece {piece.code} is not the surface's part in its rectangle"
        yield facts.breach("outline", _past(facts, piece) if hung else message, amiss=hung)
    bounds = (
        min(x for x, _ in ring),
        max(x for x, _ in ring),
        min(y for _, y in ring),
        max(y for _, y in ring),
    )
    given = (piece.start, piece.end, piece.low, piece.high)
    if any(abs(one - other) > facts.slack for one, other in zip(bounds, given, strict=True)):
        yield facts.breach(
            "outline",
            f"The rectangle of piece {piece.code} is not the one its outline just fits in",
            amiss=hung,
        )


def _core(facts: Facts, course: Course, piece: Piece) -> Iterator[Breach]:
    """Somewhere in the piece, openings out, a square of the least size fits: what has none cannot
    be held or cut."""
    ring = facts.ring(piece.outline)
    core = figures.length("HL-core")
    if len(ring) < 3:
        return  # a breach of `outline`
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    holes = [
        box(opening.left, opening.right, opening.low, opening.high)
        for opening in facts.openings
        if opening.left < max(xs)
        and opening.right > min(xs)
        and opening.low < max(ys)
        and opening.high > min(ys)
    ]
    # A square that just fits counts, so one a rounding smaller is looked for. A surface that has
    # none itself is one piece.
    size = core - ROUNDING
    surface = facts.ring(facts.surface.board_area)
    if not holds_square(ring, holes, size) and holds_square(surface, (), size):
        yield facts.breach(
            "core",
            f"Piece {piece.code} has no place {facts.say(core)} wide and high without an opening",
            # What boards that hang leave of a row, or beside one, cannot be more.
            amiss=piece.code in facts.hung
            or facts.held(course)
            or (bool(facts.hung) and course.high - course.low < core),
        )


def _past(facts: Facts, piece: Piece) -> str:
    """How a board that hangs fails to fit the surface as it is measured now."""
    xs, ys = [x for x, _ in facts.outer], [y for _, y in facts.outer]
    over = max(
        min(xs) - piece.start, piece.end - max(xs), min(ys) - piece.low, piece.high - max(ys)
    )
    if over > 0:
        return (
            f"{piece.code} reaches {facts.say(over)} past the edge of {facts.surface.name} as "
            "it is "
            "measured now"
        )
    return f"{piece.code} has not the shape of {facts.surface.name} as it is measured now"


def _overlaps(facts: Facts, course: Course) -> Iterator[Breach]:
    for one, other in combinations(facts.pieces(course), 2):
        if (
            one.start < other.end
            and other.start < one.end
            and one.low < other.high
            and other.low < one.high
        ):
            yield facts.breach(
                "overlap",
                f"Pieces {one.code} and {other.code} overlap",
                amiss=one.code in facts.hung and other.code in facts.hung,
            )


def _gaps(facts: Facts, course: Course) -> Iterator[Breach]:
    """Every part of the course's segments that is no opening lies under a piece, and no piece
    outside a segment."""
    pieces = facts.pieces(course)
    wanted = stretches(facts, course)
    for piece in pieces:
        # A board that hangs may reach farther than its row is said to, up to the edge.
        places = [*course.segments, *(wanted.allowed if piece.code in facts.hung else ())]
        if not any(start <= piece.start and piece.end <= end for start, end in places):
            yield facts.breach(
                "cover",
                f"Piece {piece.code} lies outside the stretches {facts.course_name(course)} is "
                "boarded "
                "in",
                amiss=piece.code in facts.hung,
            )
    # What a plan gives as its stretches is to be covered, and what must be one in any case.
    spans = {*course.segments, *((ceil(start), floor(end)) for start, end in wanted.needed)}
    rings = [facts.inner]
    rings += [box(start, end, course.low, course.high) for start, end in spans if start < end]
    # The bits of the stretches' boxes; bit 0 is the surface itself, the bits above are openings and
    # pieces.
    segments = (1 << len(rings)) - 2
    rings += [
        box(opening.left, opening.right, opening.low, opening.high) for opening in facts.openings
    ]
    rings += [facts.ring(piece.outline) for piece in pieces]

    def bare(inside: int) -> bool:
        return bool(inside & 1) and bool(inside & segments) and inside & ~(segments | 1) == 0

    missing = measure(rings, bare)
    length = sum(end - start for start, end in course.segments) + len(pieces) * (
        course.high - course.low
    )
    # Twice the area that roundings may leave bare along the edges.
    if missing > 4 * facts.slack * length:
        yield facts.breach(
            "cover",
            f"{facts.course_name(course)} is not all covered"
            + ("; fill the gap beside the boards that hang" if facts.held(course) else ""),
            amiss=facts.held(course) and not _bare_where_open(facts, course, pieces, length),
        )


def _bare_where_open(facts: Facts, course: Course, pieces: Sequence[Piece], length: int) -> bool:
    """Whether a stretch that boards hang beside is not all covered, slivers aside."""
    stretches = facts.open_stretches(course)
    rings = [facts.inner, *(box(start, end, course.low, course.high) for start, end in stretches)]
    wanted = (1 << len(rings)) - 2
    rings += [
        box(opening.left, opening.right, opening.low, opening.high) for opening in facts.openings
    ]
    rings += [facts.ring(piece.outline) for piece in pieces]

    def bare(inside: int) -> bool:
        return bool(inside & 1) and bool(inside & wanted) and inside & ~(wanted | 1) == 0

    return measure(rings, bare) > 4 * facts.slack * length
