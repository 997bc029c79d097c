"""Where each seam of a surface is drawn: its kind and its stretches, openings left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from takeoff.boards.plan import JointKind, SurfacePlan
from takeoff.catalogue import BoardEdges, BoardKind
from takeoff.choices import Runs
from takeoff.geometry.surface import Point, Surface
from takeoff.units import Nm

__all__ = ["SeamLine", "seam_lines"]

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class SeamLine:
    """One seam: `key` is `tapered`, `cut`, `butt` or `floating`; `runs` are its stretches on the
    surface."""

    key: str
    runs: tuple[tuple[Point, Point], ...]


def seam_lines(surface: Surface, plan: SurfacePlan, board: BoardKind) -> Iterator[SeamLine]:
    """The long seams from low to high, then the butt seams in the order of the plan."""
    along = plan.rows_run is Runs.ALONG
    rows = sorted(plan.rows, key=lambda row: row.low)
    for lower, upper in pairwise(rows):
        if lower.high != upper.low:
            continue
        at = lower.high
        spans = _covered(plan, at, below=True), _covered(plan, at, below=False)
        joined = _clear(
            [shared_span for a in spans[0] for b in spans[1] if (shared_span := _both(a, b))],
            surface,
            at,
            along=along,
        )
        tapered = lower.factory_high and upper.factory_low and board.edges is BoardEdges.TAPERED
        yield SeamLine(
            "tapered" if tapered else "cut",
            tuple(_run(span, at, along) for span in _joined(joined)),
        )
    by_row = {row.index: row for row in plan.rows}
    for joint in plan.joints:
        row = by_row[joint.row]
        beside = [p for p in plan.pieces if p.row == joint.row and joint.at in (p.start, p.end)]
        spans_at = [_side_at(p.outline, joint.at, along=along) for p in beside]
        low = max((span[0] for span in spans_at if span), default=row.low)
        high = min((span[1] for span in spans_at if span), default=row.high)
        clear_spans = _clear([(low, high)], surface, joint.at, along=not along)
        key = "floating" if joint.kind is JointKind.FLOATING else "butt"
        yield SeamLine(key, tuple(_run(span, joint.at, not along) for span in clear_spans))


def _run(span: Span, at: int, level: bool) -> tuple[Point, Point]:
    low, high = Nm(span[0]), Nm(span[1])
    return ((low, Nm(at)), (high, Nm(at))) if level else ((Nm(at), low), (Nm(at), high))


def _covered(plan: SurfacePlan, at: int, *, below: bool) -> list[Span]:
    """Where pieces end at the line `at` with board under it (or over it)."""
    spans = []
    along = plan.rows_run is Runs.ALONG
    for piece in plan.pieces:
        if (piece.high if below else piece.low) == at:
            span = _side_at(piece.outline, at, along=not along)
            if span:
                spans.append(span)
    return spans


def _side_at(outline: tuple[Point, ...], at: int, *, along: bool) -> Span | None:
    """The stretch of an outline's sides that lie on the line u = `at` (`along`) or v = `at`."""
    which, other = (0, 1) if along else (1, 0)
    places = [
        (min(a[other], b[other]), max(a[other], b[other]))
        for a, b in zip(outline, (*outline[1:], outline[0]), strict=True)
        if a[which] == b[which] == at
    ]
    return (min(low for low, _ in places), max(high for _, high in places)) if places else None


def _both(one: Span, other: Span) -> Span | None:
    low, high = max(one[0], other[0]), min(one[1], other[1])
    return (low, high) if low < high else None


def _joined(spans: list[Span]) -> list[Span]:
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def _clear(spans: list[Span], surface: Surface, at: int, *, along: bool) -> list[Span]:
    """The stretches of the line without the openings that it crosses or touches; `along` lines are
    level."""
    for opening in surface.openings:
        low, high, near, far = (
            (opening.left, opening.right, opening.bottom, opening.top)
            if along
            else (opening.bottom, opening.top, opening.left, opening.right)
        )
        if near <= at <= far:
            spans = [
                part
                for start, end in spans
                for part in ((start, min(end, low)), (max(start, high), end))
                if part[0] < part[1]
            ]
    return spans
