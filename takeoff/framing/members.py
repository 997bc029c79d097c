"""Members behind a surface: where they stand, as centre lines with an extent."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import partial

from takeoff.choices import Runs, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.surface import EdgeKind, Point, Surface
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import Nm, tape_reading

__all__ = [
    "FramedSurface",
    "Member",
    "MemberKind",
    "RunEnd",
    "frame",
    "run_ends",
    "runs_of",
]

_BOARD_COMES_TO_THE_END = (EdgeKind.FREE, EdgeKind.FRAME, EdgeKind.OUTSIDE_CORNER)

Span = tuple[Nm, Nm]


class MemberKind(StrEnum):
    """Why a member stands where it does. `LAYOUT` is on the spacing, `EXTRA` was named singly,
    `END` closes the run, and `OPENING` stands beside an opening.

    A `NAILER` is not there yet: it closes the run where nothing else does, and has to be put in
    before hanging.
    """

    LAYOUT = "layout"
    EXTRA = "extra"
    END = "end"
    OPENING = "opening"
    NAILER = "nailer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One stud, joist, rafter or furring strip: `centre` is a u where it runs across, a v where it
    runs along.

    `low` to `high` is its extent along itself (v where it runs across). Where an opening interrupts
    a stud there are two members, below and above it.
    """

    kind: MemberKind
    runs: Runs
    centre: Nm
    width: Nm
    low: Nm
    high: Nm


@dataclass(frozen=True, slots=True, kw_only=True)
class FramedSurface:
    """A surface with its members in the order of their centres. It is `provisional` where members
    were assumed and nobody looked.

    `start_backed` and `end_backed` say whether the edge of the board at the low and the high end of
    the run of members has something behind it. None means not known, so the edge is listed to be
    looked at.
    """

    surface: Surface
    members: tuple[Member, ...]
    provisional: bool
    start_backed: bool | None
    end_backed: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunEnd:
    """A side of a surface that lies along its members, so that only a member close by can hold the
    board there.

    `index` is the edge of the outline, `at` its place along the run of members, and `low` to `high`
    its extent along them. `inward` is 1 where the surface lies at greater positions than `at`, else
    -1. `backed` is what the person said of this end. It is None where nobody looked, and for sides
    that are not at either end of the run.
    """

    index: int
    kind: EdgeKind
    at: Nm
    low: Nm
    high: Nm
    inward: int
    backed: bool | None


def runs_of(surface: Surface) -> Runs:
    """Return how members lie on `surface`, as its framing says. Where the framing does not say,
    studs are upright, rafters go up the slope, and joists span the shorter way."""
    if surface.framing.runs is not None:
        return surface.framing.runs
    if surface.kind is SurfaceKind.WALL or any(
        edge.kind is EdgeKind.RIDGE for edge in surface.edges
    ):
        return Runs.ACROSS
    across = [u for u, _ in surface.outline]
    up = [v for _, v in surface.outline]
    return Runs.ACROSS if max(up) - min(up) <= max(across) - min(across) else Runs.ALONG


def run_ends(surface: Surface) -> tuple[RunEnd, ...]:
    """Return the sides of `surface` that lie along its members, in the order of the outline. A
    gable without eaves has none."""
    runs = runs_of(surface)
    corners = _in_run(surface.outline, runs)
    first, last = min(c for c, _ in corners), max(c for c, _ in corners)
    ends = []
    for index, (here, there) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        if here[0] != there[0]:
            continue
        # Counter-clockwise outlines have their inside on the left; turning u and v round swaps the
        # hand.
        inward = 1 if (there[1] < here[1]) == (runs is Runs.ACROSS) else -1
        backed = None
        if here[0] == first and inward == 1:
            backed = surface.framing.start_backed
        elif here[0] == last and inward == -1:
            backed = surface.framing.end_backed
        ends.append(
            RunEnd(
                index=index,
                kind=surface.edges[index].kind,
                at=here[0],
                low=min(here[1], there[1]),
                high=max(here[1], there[1]),
                inward=inward,
                backed=backed,
            )
        )
    return tuple(ends)


def frame(surface: Surface, rules: Rules) -> FramedSurface:
    """Return the members behind `surface`, in the order of their centres and then of their extents.

    Layout members stand at `first + k x spacing`, at every such place on the surface, its two edges
    counted in. Beside each opening a member stands at full height, in place of any layout member it
    would overlap. What an opening interrupts is in two parts. Extents follow the true shape,
    rounded half to even.

    Each end of the run is closed by a member half its width in, unless one stands there already. On
    a wall that member is an `END`, or a `NAILER` where the person found nothing to screw to (and
    none where clips will hold the edge). On a ceiling it is a `NAILER`, unless the person found the
    edge backed or nothing is known of how it meets its neighbour.

    A layout member whose centre is less than half its width from a corner would stand partly in the
    framing of the next surface, where the board of that surface leaves this one nothing to bear on.
    Such a member is moved in until it stands whole, and closes the run (on a ceiling it is still a
    `LAYOUT`). At a free side and at an outside corner, where board comes to the end, it keeps its
    place.

    Raises `BadValue` for an extra member off the surface, and for a missing one that no layout
    member is near.
    """
    framing = surface.framing
    runs = runs_of(surface)
    corners = _in_run(surface.outline, runs)
    openings = _openings_in_run(surface, runs)
    spacing = framing.spacing or (
        rules.assumed_wall_spacing
        if surface.kind is SurfaceKind.WALL
        else rules.assumed_ceiling_spacing
    )
    width = framing.member_width
    half = Nm(round(Fraction(width, 2)))
    first, last = min(c for c, _ in corners), max(c for c, _ in corners)

    beside = _beside_openings(openings, half, first, last)
    layout = [Nm(c) for c in range(framing.first, last + 1, spacing) if c >= first]
    layout = _without_missing(layout, surface, spacing)
    layout = [c for c in layout if not any(abs(c - b) < width for b in beside)]
    extra = _extra(surface, first, last, layout)

    # Members that stand whatever the ends of the run are like.
    standing = [(MemberKind.LAYOUT, c) for c in layout]
    standing += [(MemberKind.EXTRA, c) for c in extra]
    standing += [(MemberKind.OPENING, c) for c in beside]
    closing = []
    for end in run_ends(surface):
        kind = _closing_kind(surface, end, rules)
        centre = Nm(end.at + end.inward * half)
        held = [(had, c) for had, c in standing if _holds(c, width, end, surface.kind)]
        if end.kind not in _BOARD_COMES_TO_THE_END:
            # Here the framing of the next surface begins at the corner: a member that reaches past
            # the corner holds nothing, so the end is closed as if it were not there.
            partly_outside = [member for member in held if (member[1] - end.at) * end.inward < half]
            held = [member for member in held if member not in partly_outside]
            if partly_outside and surface.kind is SurfaceKind.CEILING:
                kind = MemberKind.LAYOUT
            # Only at the ends of the run is it moved. At a side between them, such as a step in the
            # outline, the same line of framing goes on along the surface beside it.
            if end.at in (first, last):
                moved = [member for member in partly_outside if member[0] is MemberKind.LAYOUT]
                standing = [member for member in standing if member not in moved]
        if kind is not None and not held:
            closing += [
                (kind, centre, span) for span in _closing_spans(corners, end, centre, first, last)
            ]
    spans = [(kind, c, span) for kind, c in standing for span in _spans_at(corners, c)] + closing

    members = [
        Member(kind=kind, runs=runs, centre=centre, width=width, low=low, high=high)
        for kind, centre, span in spans
        for low, high in _uninterrupted(centre, half, span, openings)
    ]
    members.sort(key=lambda member: (member.centre, member.low, member.kind))
    return FramedSurface(
        surface=surface,
        members=tuple(members),
        provisional=framing.spacing is None or not surface.runs_known,
        start_backed=framing.start_backed,
        end_backed=framing.end_backed,
    )


def _in_run(outline: Iterable[Point], runs: Runs) -> list[Point]:
    """The outline with the run of members first: (along the run, along each member)."""
    return [(u, v) if runs is Runs.ACROSS else (v, u) for u, v in outline]


def _openings_in_run(surface: Surface, runs: Runs) -> list[tuple[Nm, Nm, Nm, Nm]]:
    """Each opening as (start, end) along the run and (low, high) along the members."""
    if runs is Runs.ACROSS:
        return [(o.left, o.right, o.bottom, o.top) for o in surface.openings]
    return [(o.bottom, o.top, o.left, o.right) for o in surface.openings]


def _beside_openings(
    openings: Iterable[tuple[Nm, Nm, Nm, Nm]], half: Nm, first: Nm, last: Nm
) -> list[Nm]:
    """Centres of members beside openings, in order: none off the surface, one where two would
    overlap by half."""
    wanted = sorted({Nm(c) for start, end, _, _ in openings for c in (start - half, end + half)})
    kept: list[Nm] = []
    for centre in wanted:
        if first <= centre <= last and not (kept and centre - kept[-1] <= half):
            kept.append(centre)
    return kept


def _without_missing(layout: list[Nm], surface: Surface, spacing: Nm) -> list[Nm]:
    remaining, shown = list(layout), _shown_on(surface)
    for at in surface.framing.missing:
        nearest = min(remaining, key=lambda c: abs(c - at), default=None)
        if nearest is None or 2 * abs(nearest - at) > spacing:
            example = shown(layout[-1] if layout else spacing)
            raise BadValue(
                f"{surface.name}: no stud or joist of the layout stands within half a spacing "
                f"of the missing one at {shown(at)}; "
                f"enter the position it would have had, for example {example}"
            )
        remaining.remove(nearest)
    return remaining


def _extra(surface: Surface, first: Nm, last: Nm, layout: Sequence[Nm]) -> list[Nm]:
    shown = _shown_on(surface)
    for at in surface.framing.extra:
        if not first <= at <= last:
            raise BadValue(
                f"{surface.name}: the extra stud or joist at {shown(at)} is off the surface, "
                "which ends "
                f"at {shown(last)}; "
                f"enter a position from {shown(first)} to {shown(last)}"
            )
    return sorted(set(surface.framing.extra) - set(layout))


def _shown_on(surface: Surface) -> Callable[[Nm], str]:
    """What shows a length in a sentence about `surface`."""
    return partial(tape_reading, unit=surface.units, feet=False)


def _closing_kind(surface: Surface, end: RunEnd, rules: Rules) -> MemberKind | None:
    """What closes the run at `end` where nothing stands there; None where clips hold the board
    instead."""
    if end.backed or end.kind is EdgeKind.OUTSIDE_CORNER:
        return MemberKind.END
    if surface.kind is SurfaceKind.CEILING:
        unknown = end.kind is EdgeKind.FREE and end.backed is None
        return MemberKind.END if unknown else MemberKind.NAILER
    if end.backed is None:
        return MemberKind.END
    return None if rules.edge_support == "clip" else MemberKind.NAILER


def _holds(centre: Nm, width: Nm, end: RunEnd, kind: SurfaceKind) -> bool:
    """Whether a member at `centre` closes the run at `end`: on a wall it stands in the end stud's
    place; on a ceiling its nearer face is within reach of the side."""
    inside = (centre - end.at) * end.inward  # from the side inwards
    if kind is SurfaceKind.WALL:
        return 0 <= inside <= width
    reach = figures.length("FR-bearing-reach")
    return -width <= 2 * inside and 2 * inside - width <= 2 * reach


def _closing_spans(
    corners: list[Point], end: RunEnd, centre: Nm, first: Nm, last: Nm
) -> list[Span]:
    if end.at not in (first, last):
        # a step in the side: the surface itself goes on beyond the step
        return [(end.low, end.high)]
    return [
        (low, high) for low, high in _spans_at(corners, centre) if low < end.high and high > end.low
    ]


def _spans_at(corners: list[Point], at: Nm) -> list[Span]:
    """Where the line at `at` lies on the shape, in order; on a side of it, the surface on either
    hand counts."""
    spans: list[Span] = []
    for hand in (-1, 1):
        # A side that ends on the line counts where it comes from this hand, so that corners pair
        # up.
        crossings = sorted(
            _crossing(here, there, at)
            for here, there in zip(corners, corners[1:] + corners[:1], strict=True)
            if here[0] != there[0]
            and min(here[0], there[0]) <= at <= max(here[0], there[0])
            and (min if hand < 0 else max)(here[0], there[0]) != at
        )
        spans += zip(crossings[::2], crossings[1::2], strict=True)
    return _joined(spans)


def _crossing(here: Point, there: Point, at: Nm) -> Nm:
    part = Fraction((there[1] - here[1]) * (at - here[0]), there[0] - here[0])
    return Nm(here[1] + round(part))


def _joined(spans: Iterable[Span]) -> list[Span]:
    joined: list[Span] = []
    for low, high in sorted(spans):
        if low == high:
            continue
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def _uninterrupted(
    centre: Nm, half: Nm, span: Span, openings: Iterable[tuple[Nm, Nm, Nm, Nm]]
) -> list[Span]:
    """What is left of a member's extent where openings cut into it; touching an opening's side is
    not cutting."""
    parts = [span]
    for start, end, low, high in openings:
        if centre + half <= start or centre - half >= end:
            continue
        parts = [
            (Nm(a), Nm(b))
            for part in parts
            for a, b in ((part[0], min(part[1], low)), (max(part[0], high), part[1]))
            if a < b
        ]
    return parts
