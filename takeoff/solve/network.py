"""A pool as a network: piece sizes, stock, and for each layout the arcs its courses can be made of.

Everything is exact: lengths in nm and again in whole grid steps (rounded up where a pattern must
fit, down where a bound must hold; the same where the grid is exact), money in `MONEY` parts of a
cent, rounded down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from takeoff.boards.problem import JointPoint, Pool
from takeoff.solve.compatible import end_groups
from takeoff.solve.effort import Stopped
from takeoff.units import Nm

__all__ = [
    "MONEY",
    "Arc",
    "Network",
    "PathSegment",
    "PieceSize",
    "Stock",
    "shrink",
]

MONEY = 1 << 20


@dataclass(frozen=True, slots=True)
class PieceSize:
    """What matters of a piece for cutting. `full` ones take a whole sheet's width; `edges` is how
    many factory long edges it must keep. `from_sheets` are the indices of the stock that may serve
    it. `group` is 0, or the room's place in the hanging order where that matters (rooms that differ
    in what gets in)."""

    sheet_width: Nm
    full: bool
    length: Nm
    width: Nm
    edges: int
    from_sheets: frozenset[int]
    group: int = 0


@dataclass(frozen=True, slots=True)
class Stock:
    """A sheet on sale (`limit` None) or owned (`owned` is its id, `price` 0)."""

    width: Nm
    length: Nm
    edges: int
    price: int
    limit: int | None = None
    owned: str | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece from node `tail` to node `head` of its segment; `size` None where its sheet is not
    looked for, as when others are cut anew beside it. `cents` is what the hours of the piece are
    worth: whatever becomes of its size, they stay."""

    tail: int
    head: int
    size: int | None
    cents: int = 0


@dataclass(frozen=True, slots=True)
class PathSegment:
    """A segment's nodes (0 its start, last its end), their cost as joints, and its arcs in order of
    tail. Several arcs may have one size at other costs."""

    surface: int
    layout: int
    course: int
    segment: int
    at: tuple[Nm, ...]
    points: tuple[JointPoint | None, ...]
    costs: tuple[int, ...]
    arcs: tuple[Arc, ...]

    def cost(self, arc: Arc) -> int:
        """What an arc costs beside its sheet: the hours of its piece, and the joint at its head."""
        return self.costs[arc.head] + arc.cents * MONEY

    def exact_cost(self, arc: Arc) -> Fraction:
        """The same in cents, without rounding."""
        point = self.points[arc.head]
        return Fraction(arc.cents) + (point.cost if point is not None else 0)


@dataclass(frozen=True, slots=True)
class Clash:
    """Joints (segment, node) of one layout of which at most one may be used."""

    surface: int
    layout: int
    joints: tuple[tuple[int, int], ...]


@dataclass(slots=True)
class Network:
    """See the module. `layouts[s]` are the layout indices kept for surface s; `of_layout[s, l]` its
    segments.

    `mixed` where rooms differ in what gets in: then a sheet must get into the earliest room it
    serves, and `own[g]` is the stock that gets into the rooms of group g. Every plan's cost is a
    multiple of `grain` cents (0: no such). `active` are the sizes that some arc asks for; `ends`
    and `most` are their groups, see `compatible.end_groups`; none in a pool of several rooms.
    `stop` says whether the search is to end: whatever goes over all of it asks as it goes.
    """

    pool: Pool
    sizes: list[PieceSize] = field(default_factory=list)
    stock: list[Stock] = field(default_factory=list)
    segments: list[PathSegment] = field(default_factory=list)
    layouts: list[list[int]] = field(default_factory=list)
    of_layout: dict[tuple[int, int], list[int]] = field(default_factory=dict)
    clashes: list[Clash] = field(default_factory=list)
    constant: Fraction = Fraction(0)
    exact: bool = True
    step: int = 1
    mixed: bool = False
    own: dict[int, frozenset[int]] = field(default_factory=dict)
    grain: Fraction = Fraction(0)
    active: frozenset[int] = frozenset()
    ends: dict[int, int] = field(default_factory=dict)
    most: tuple[int, ...] = ()
    stop: Callable[[], bool] | None = None

    def ask(self) -> None:
        """Raise `Stopped` where the search is to end."""
        if self.stop is not None and self.stop():
            raise Stopped

    def up(self, length: int) -> int:
        return -(-length // self.step)

    def down(self, length: int) -> int:
        return length // self.step

    def layout_hours(self, surface: int, layout: int) -> int:
        """What the hours of a layout are worth whatever joints are chosen, in cents."""
        return self.pool.surfaces[surface].layouts[layout].hours

    def legal(self, stock: int, sizes: Iterable[int]) -> bool:
        """Whether a sheet gets into the earliest room that its pieces hang in."""
        return not self.mixed or stock in self.own[min(self.sizes[size].group for size in sizes)]


def shrink(network: Network, keep: Callable[[int, int], bool]) -> Network:
    """The network with only the arcs (segment, its k-th) that `keep` says, and those still on a
    complete path.

    Segments, nodes and sizes keep their numbers, so that answers and patterns stay true.
    """
    segments = [
        replace(
            segment,
            arcs=tuple(
                on_complete_paths(
                    [arc for k, arc in enumerate(segment.arcs) if keep(s, k)], len(segment.at) - 1
                )
            ),
        )
        for s, segment in enumerate(network.segments)
    ]
    # A layout whose segments have not all a complete path is no layout of any plan that is left.
    # A layout that went in an earlier shrinking has no key any more, but its segments keep their
    # numbers.
    kept = {
        key for key, members in network.of_layout.items() if all(segments[s].arcs for s in members)
    }
    segments = [
        segment if (segment.surface, segment.layout) in kept else replace(segment, arcs=())
        for segment in segments
    ]
    # A clash of joints that can no longer meet says nothing.
    used = {(s, arc.head) for s, segment in enumerate(segments) for arc in segment.arcs}
    clashes = []
    for clash in network.clashes:
        joints = tuple(joint for joint in clash.joints if joint in used)
        if (clash.surface, clash.layout) in kept and len(joints) > 1:
            clashes.append(replace(clash, joints=joints))
    ends, most = ends_of(network.pool, segments)
    return replace(
        network,
        segments=segments,
        layouts=[
            [i for i in layouts if (s, i) in kept] for s, layouts in enumerate(network.layouts)
        ],
        of_layout={key: members for key, members in network.of_layout.items() if key in kept},
        clashes=clashes,
        active=asked_sizes(segments),
        ends=ends,
        most=most,
    )


def ends_of(pool: Pool, segments: Sequence[PathSegment]) -> tuple[dict[int, int], tuple[int, ...]]:
    """Groups of ends, told apart in one room only: in a programme of many rooms it takes longer
    than it is worth."""
    rooms = {problem.framed.surface.room for problem in pool.surfaces}
    return end_groups(segments) if len(rooms) == 1 else ({}, ())


def asked_sizes(segments: Iterable[PathSegment]) -> frozenset[int]:
    return frozenset(
        arc.size for segment in segments for arc in segment.arcs if arc.size is not None
    )


def on_complete_paths(arcs: list[Arc], last: int) -> list[Arc]:
    """The arcs that lie on some path from node 0 to node `last`, in order."""
    # Arcs are in order of tail: one pass forward finds the nodes reached from the start, and one
    # pass in order of head, backwards, those from which the end is reached.
    ahead, behind = {0}, {last}
    for arc in arcs:
        if arc.tail in ahead:
            ahead.add(arc.head)
    for arc in sorted(arcs, key=lambda arc: arc.head, reverse=True):
        if arc.head in behind:
            behind.add(arc.tail)
    return [arc for arc in arcs if arc.tail in ahead and arc.head in behind]
