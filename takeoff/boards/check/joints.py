"""Whether each butt seam is where the rules let it be, and is as long as the plan says."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from takeoff.boards.check.facts import ROUNDING, Breach, Facts
from takeoff.boards.check.shape import Exact, covered, section, shared
from takeoff.boards.plan import Course, Joint, JointKind, Piece
from takeoff.choices import JointMode
from takeoff.reference import figures

__all__ = ["check_joints", "seam_spans"]


def check_joints(facts: Facts) -> Iterator[Breach]:
    """Breaches of `joints`, `seam_length`, `stagger`, `opening_clearance` and of what holds a
    seam."""
    by_index = {course.index: course for course in facts.plan.rows}
    yield from _matched(facts)
    for joint in facts.plan.joints:
        course = by_index.get(joint.row)
        if course is None:
            continue
        yield from _length(facts, course, joint)
        yield from _clearance(facts, course, joint)
        yield from _mode(facts, course, joint)
        if joint.kind is JointKind.FLOATING:
            yield from _floating(facts, course, joint)
        elif not facts.plan.along_framing:
            yield from _on_member(facts, course, joint)
    for lower, upper in pairwise(facts.courses):
        if lower.high == upper.low:
            yield from _stagger(facts, lower, upper)


def seam_spans(facts: Facts, course: Course, at: int) -> list[tuple[Exact, Exact]]:
    """Where board meets board at `at` in a course, low to high: what its two pieces have in common
    there, openings taken out."""
    return [
        span
        for one, other in _meeting(facts, course, at)
        for span in _bare(
            facts, course, at, shared(_end_of(facts, one, -1), _end_of(facts, other, 1))
        )
    ]


def _row_spans(facts: Facts, course: Course, at: int) -> list[tuple[Exact, Exact]]:
    """Where the surface, cut to its usual allowances, is on both hands of `at` in a course."""
    ring = facts.ring(facts.surface.board_area)
    both = shared(section(ring, at, hand=-1), section(ring, at, hand=1))
    return _bare(facts, course, at, both)


def _bare(
    facts: Facts, course: Course, at: int, spans: list[tuple[Exact, Exact]]
) -> list[tuple[Exact, Exact]]:
    """What of `spans` lies in the course, without the openings that strictly contain `at`."""
    cuts = [
        (opening.low, opening.high)
        for opening in facts.openings
        if opening.left < at < opening.right
    ]
    within = shared(spans, [(course.low, course.high)])
    return [left for low, high in within for left in _without(low, high, cuts)]


def _meeting(facts: Facts, course: Course, at: int) -> list[tuple[Piece, Piece]]:
    """The pieces of a course of which one ends at a place and the other begins there, from low to
    high."""
    pieces = [piece for piece in facts.pieces(course) if len(piece.outline) > 2]
    return [
        (one, other)
        for one in pieces
        for other in pieces
        if one.end == at == other.start and max(one.low, other.low) < min(one.high, other.high)
    ]


def _end_of(facts: Facts, piece: Piece, hand: int) -> list[tuple[Exact, Exact]]:
    """The upright end of a piece: its right one for hand -1, its left one for 1."""
    ring = facts.ring(piece.outline)
    # The outline's own end: on a slope it may be a rounding off the piece's.
    xs = [x for x, _ in ring]
    return section(ring, max(xs) if hand < 0 else min(xs), hand=hand)


def _without(low: Exact, high: Exact, cuts: list[tuple[int, int]]) -> list[tuple[Exact, Exact]]:
    spans = []
    for start, end in sorted(cuts):
        if low < min(start, high):
            spans.append((low, min(start, high)))
        low = max(low, end)
    return [*spans, (low, high)] if low < high else spans


def _named(facts: Facts, course: Course, joint: Joint) -> str:
    return f"The joint at {facts.say(joint.at)} in {facts.course_name(course)}"


def _matched(facts: Facts) -> Iterator[Breach]:
    """One joint where one piece ends and the next begins, and nowhere else."""
    given = sorted((joint.row, joint.at) for joint in facts.plan.joints)
    needed = {
        (course.index, one.end)
        for course in facts.courses
        for one in facts.pieces(course)
        for other in facts.pieces(course)
        if one.end == other.start and max(one.low, other.low) < min(one.high, other.high)
    }
    # Where the surface has no place any more for boards that hang, nobody can tell how they meet.
    lost = {
        (piece.row, piece.end)
        for piece in facts.plan.pieces
        if piece.code in facts.hung
        and not any(facts.hung[piece.code] in facts.boards(course) for course in facts.courses)
    }
    for course_index, at in sorted(set(given) | needed):
        count = given.count((course_index, at))
        if (course_index, at) not in needed:
            yield facts.breach(
                "joints",
                f"There is a joint at {facts.say(at)} in row {course_index + 1} where no two "
                "pieces meet",
            )
        elif count != 1:
            yield facts.breach(
                "joints",
                f"Two pieces meet at {facts.say(at)} in row {course_index + 1}: {count} joints, "
                "not one",
                amiss=(course_index, at) in lost,
            )


def _length(facts: Facts, course: Course, joint: Joint) -> Iterator[Breach]:
    if not _meeting(facts, course, joint.at):
        return  # a breach of `joints`
    lengths = [_total(seam_spans(facts, course, joint.at))]
    if facts.given(course, joint.at):
        # A board that hangs may not reach as high as its row is now; its seam may be told of as the
        # row's.
        lengths.append(_total(_row_spans(facts, course, joint.at)))
    # A slope makes heights that are no whole nanometers, and each was rounded once.
    off = 2 * facts.slack  # one for each end of the seam
    # Both too long and too short would put the money wrong.
    if not any(length - off <= joint.length <= length + off for length in lengths):
        yield facts.breach(
            "seam_length",
            f"{_named(facts, course, joint)} is {facts.say(Fraction(lengths[0]))} long, not "
            f"{facts.say(joint.length)}",
        )


def _total(spans: list[tuple[Exact, Exact]]) -> Exact:
    return sum(high - low for low, high in spans)


def _clearance(facts: Facts, course: Course, joint: Joint) -> Iterator[Breach]:
    for opening in facts.openings:
        if opening.low >= course.high or opening.high <= course.low:
            continue
        wide = opening.right - opening.left >= figures.length("HL-large-opening")
        if facts.rules.split_at_large_openings and wide and joint.kind is JointKind.FRAMING:
            continue
        near = min(abs(joint.at - opening.left), abs(joint.at - opening.right))
        if near < facts.rules.opening_clearance:
            yield facts.breach(
                "opening_clearance",
                f"{_named(facts, course, joint)} is {facts.say(near)} from a side of "
                f"{opening.name}; "
                f"at least {facts.say(facts.rules.opening_clearance)} is needed",
                amiss=facts.given(course, joint.at),
            )


def _stagger(facts: Facts, lower: Course, upper: Course) -> Iterator[Breach]:
    for one in facts.plan.joints:
        for other in facts.plan.joints:
            apart = abs(one.at - other.at)
            if one.row == lower.index and other.row == upper.index and apart < facts.rules.stagger:
                yield facts.breach(
                    "stagger",
                    f"{_named(facts, lower, one)} is {facts.say(apart)} from one in the row above; "
                    f"at least {facts.say(facts.rules.stagger)} is needed",
                    amiss=facts.given(lower, one.at) and facts.given(upper, other.at),
                )


def _mode(facts: Facts, course: Course, joint: Joint) -> Iterator[Breach]:
    unwanted = JointMode.FRAMING if joint.kind is JointKind.FLOATING else JointMode.FLOATING
    if facts.surface.joint_mode is not unwanted or (
        facts.plan.along_framing and joint.kind is JointKind.FRAMING
    ):
        return
    # A house may ask for floating seams throughout.
    # Where no seam may float, one on framing is all that is left.
    if joint.kind is JointKind.FRAMING and _no_float(facts) is not None:
        return
    yield facts.breach(
        "joint_mode",
        f"{_named(facts, course, joint)} is {joint.kind}; this surface takes "
        f"{facts.surface.joint_mode} joints",
        amiss=facts.given(course, joint.at),
    )


def _no_float(facts: Facts) -> tuple[str, str] | None:
    """The rule that keeps every seam of the surface on framing, and why; None where seams may
    float."""
    if facts.surface.rated is not None:
        return "rated", "a rated surface"
    if facts.kind.fire_rated:
        return "fire_rated", "fire-rated board"
    if facts.surface.wet or facts.surface.tiled:
        return "wet", "a wet or tiled surface"
    if facts.surface.braces:
        return "braces", "a surface that braces the structure"
    if facts.kind.tile_backer:
        return "tile_backer", "tile backer"
    if not facts.tapered:
        return "square_edges", "board with square edges"
    if facts.plan.along_framing:
        return "along_framing", "boards laid along the framing"
    return None


def _on_member(facts: Facts, course: Course, joint: Joint) -> Iterator[Breach]:
    spans = seam_spans(facts, course, joint.at)
    given = facts.given(course, joint.at)
    # Of boards that hang both ends bear as far as a fastener needs, or they do not.
    reach = figures.length("HL-01")
    behind = [
        (member.low, member.high)
        for member in facts.cross
        if member.at == joint.at
        or (given and 2 * (abs(member.at - joint.at) + reach) <= member.width)
    ]
    length = sum(high - low for low, high in spans)
    if not behind:
        yield facts.breach(
            "on_framing",
            f"{_named(facts, course, joint)} is not on the middle of a member",
            amiss=given,
        )
    elif covered(spans, behind) < length - facts.slack:
        yield facts.breach(
            "on_framing",
            f"{_named(facts, course, joint)} has no member behind all of it",
            amiss=given,
        )


def _floating(facts: Facts, course: Course, joint: Joint) -> Iterator[Breach]:
    refused = _no_float(facts)
    given = facts.given(course, joint.at)
    if refused is not None:
        yield facts.breach(
            refused[0],
            f"{_named(facts, course, joint)} floats, which {refused[1]} may not have",
            amiss=given,
        )
        return
    # What is behind the seam itself counts, not behind the whole course: openings take their part
    # out.
    spans = seam_spans(facts, course, joint.at)
    beside = [
        member
        for member in facts.cross
        if any(member.low < high and member.high > low for low, high in spans)
    ]
    # Twice each place, so that half a member's width is whole.
    faces_left = [2 * member.at + member.width for member in beside if member.at <= joint.at]
    faces_right = [2 * member.at - member.width for member in beside if member.at > joint.at]
    if not faces_left or not faces_right:
        yield facts.breach(
            "floating_clear_bay",
            f"{_named(facts, course, joint)} floats where no bay lies between two members",
            amiss=given,
        )
        return

    left_edge, right_edge = max(faces_left), min(faces_right)
    if right_edge - left_edge < 2 * facts.rules.floating_clear_bay:
        yield facts.breach(
            "floating_clear_bay",
            f"{_named(facts, course, joint)} floats in a bay "
            f"{facts.say(Fraction(right_edge - left_edge, 2))} "
            "clear; "
            f"at least {facts.say(facts.rules.floating_clear_bay)} is needed",
            amiss=given,
        )
    if abs(4 * joint.at - left_edge - right_edge) > 4 * (facts.rules.mid_bay_tolerance + ROUNDING):
        off = abs(joint.at - Fraction(left_edge + right_edge, 4))
        yield facts.breach(
            "mid_bay_tolerance",
            f"{_named(facts, course, joint)} floats {facts.say(off)} from the middle of its bay; "
            f"at most {facts.say(facts.rules.mid_bay_tolerance)} is allowed",
            amiss=given,
        )
    yield from _backer(facts, course, joint, spans)


def _backer(
    facts: Facts, course: Course, joint: Joint, spans: list[tuple[Exact, Exact]]
) -> Iterator[Breach]:
    width = figures.length("BB-width")
    left_edge, right_edge = joint.at - Fraction(width, 2), joint.at + Fraction(width, 2)
    for thing in facts.behind:
        if (
            thing.left < right_edge
            and thing.right > left_edge
            and any(thing.low < high and thing.high > low for low, high in spans)
        ):
            yield facts.breach(
                "backer_place",
                f"{_named(facts, course, joint)} floats, but {thing.name} is in its backer's place",
                amiss=facts.given(course, joint.at),
            )
    for opening in facts.openings:
        if (
            opening.left < right_edge
            and opening.right > left_edge
            and course.low <= opening.high < course.high
        ):
            yield facts.breach(
                "backer_place",
                f"{_named(facts, course, joint)} floats, but the header of {opening.name} is in "
                "its "
                "backer's place",
                amiss=facts.given(course, joint.at),
            )
