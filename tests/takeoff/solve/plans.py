"""Every plan of a small network, and every way to cut a sheet for it, by plain enumeration."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

from takeoff.solve.network import Network, PathSegment
from takeoff.units import INCH

__all__ = ["cut_from", "every_plan", "sheets_of"]

_STAGGER = 16 * INCH  # the default rule


def _paths(segment: PathSegment) -> list[tuple[tuple[int, int], ...]]:
    """Every way to make up a segment, as (node, node) a piece."""
    last = len(segment.at) - 1
    paths: list[tuple[tuple[int, int], ...]] = []
    waiting: list[tuple[tuple[int, int], ...]] = [()]
    while waiting:
        path = waiting.pop()
        at = path[-1][1] if path else 0
        if at == last:
            paths.append(path)
            continue
        waiting += [(*path, (arc.tail, arc.head)) for arc in segment.arcs if arc.tail == at]
    return paths


def _staggered(
    segments: Sequence[PathSegment], paths: Sequence[tuple[tuple[int, int], ...]]
) -> bool:
    """Whether joints of touching rows of a surface are far enough apart, read off their places."""
    joints = [
        (segment.surface, segment.course, segment.at[head])
        for segment, path in zip(segments, paths, strict=True)
        for _, head in path
        if segment.points[head] is not None
    ]
    return all(
        a[0] != b[0] or abs(a[1] - b[1]) != 1 or abs(a[2] - b[2]) >= _STAGGER
        for a, b in combinations(joints, 2)
    )


def every_plan(network: Network) -> Iterator[list[int]]:
    """The sizes of the pieces of every plan of a network with one layout a surface."""
    segments = network.segments
    size = [{(arc.tail, arc.head): arc.size for arc in segment.arcs} for segment in segments]
    for paths in product(*map(_paths, segments)):
        if _staggered(segments, paths):
            made = [of[piece] for of, path in zip(size, paths, strict=True) for piece in path]
            yield [piece for piece in made if piece is not None]


def cut_from(network: Network, stock: int, sizes: Sequence[int]) -> bool:
    """Whether one sheet gives all these pieces: full-width ones, then strips of at most two widths
    side by side."""
    sheet = network.stock[stock]
    of = [network.sizes[i] for i in sizes]
    remainder = sheet.length - sum(piece.length for piece in of if piece.full)
    ripped = [piece for piece in of if not piece.full]
    for sides in product((0, 1), repeat=len(ripped)):
        strips = [
            [piece for piece, side in zip(ripped, sides, strict=True) if side == which]
            for which in (0, 1)
        ]
        if all(sum(piece.length for piece in strip) <= remainder for strip in strips) and (
            sum(max((piece.width for piece in strip), default=0) for strip in strips) <= sheet.width
        ):
            return remainder >= 0
    return False


def sheets_of(network: Network) -> set[tuple[int, tuple[int, ...]]]:
    """Every (stock, sizes) that a sheet of some plan can be cut into."""
    sheets: set[tuple[int, tuple[int, ...]]] = set()
    seen: set[tuple[int, ...]] = set()
    for plan in every_plan(network):
        for count in range(1, len(plan) + 1):
            for some in combinations(sorted(plan), count):
                if some not in seen:
                    seen.add(some)
                    sheets |= {
                        (stock, some)
                        for stock in range(len(network.stock))
                        if cut_from(network, stock, some)
                    }
    return sheets
