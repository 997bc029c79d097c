"""A pool as a network: piece sizes, stock, and for each layout the arcs its courses can be made of.

Everything is exact: lengths in nm and again in whole grid steps (rounded up where a pattern must
fit, down where a bound must hold; the same where the grid is exact), money in `MONEY` parts of a
cent, rounded down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import gcd

from takeoff.boards.plan import JointKind, Piece, Sheet
from takeoff.boards.problem import CourseProblem, JointPoint, Layout, Pool, Segment
from takeoff.choices import JointMode
from takeoff.solve.compatible import end_groups
from takeoff.units import Nm

__all__ = [
    "MONEY",
    "Arc",
    "Fixed",
    "Network",
    "PathSegment",
    "PieceSize",
    "Stock",
    "compile_pool",
    "shrink",
]

MONEY = 1 << 20
_MOST_STEPS = 9_000


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
    """A piece from node `tail` to node `head` of its segment; `size` None where it is already
    cut."""

    tail: int
    head: int
    size: int | None


@dataclass(frozen=True, slots=True)
class PathSegment:
    """A segment's nodes (0 its start, last its end), their cost as joints, and its arcs in order of
    tail."""

    surface: int
    layout: int
    course: int
    segment: int
    at: tuple[Nm, ...]
    points: tuple[JointPoint | None, ...]
    costs: tuple[int, ...]
    arcs: tuple[Arc, ...]


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

    def up(self, length: int) -> int:
        return -(-length // self.step)

    def down(self, length: int) -> int:
        return length // self.step

    def legal(self, stock: int, sizes: Iterable[int]) -> bool:
        """Whether a sheet gets into the earliest room that its pieces hang in."""
        return not self.mixed or stock in self.own[min(self.sizes[size].group for size in sizes)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """What can no longer change: pieces that are cut or hung, and the sheets they were cut from,
    whole.

    The pieces stay where they are and take no new sheet; what their sheets cost is part of every
    plan. What is left of those sheets is stock like any other: hand it in as owned.
    """

    pieces: tuple[Piece, ...] = ()
    sheets: tuple[Sheet, ...] = ()

    @property
    def cost(self) -> int:
        return sum(sheet.price for sheet in self.sheets)


def _edges(course: CourseProblem) -> int:
    return int(course.factory_low) + int(course.factory_high)


def _mirror(layout: Layout) -> object:
    """Equal for layouts that are the same but for the order of their courses read up or down."""
    if (
        len(layout.area) != 4
        or len({x for x, _ in layout.area}) != 2
        or len({y for _, y in layout.area}) != 2
    ):
        return layout
    courses = tuple(
        (course.sheet_width, course.full, course.high - course.low, _edges(course), course.segments)
        for course in layout.courses
    )
    return (layout.rows_run, min(courses, courses[::-1], key=repr))


def _nodes(segment: Segment, modes: frozenset[JointKind]) -> list[JointPoint | None]:
    """The segment's ends (None) and its allowed joints between them, one a place: the cheaper where
    two coincide."""
    inside: dict[Nm, JointPoint] = {}
    for point in segment.points:
        if point.kind in modes and (point.at not in inside or point.cost < inside[point.at].cost):
            inside[point.at] = point
    return [None, *(inside[at] for at in sorted(inside)), None]


def _fixed_arcs(layout: Layout, pieces: list[Piece]) -> dict[tuple[int, Nm, Nm], bool] | None:
    """The fixed pieces as (course, start, end), or None where this layout has no such courses."""
    found: dict[tuple[int, Nm, Nm], bool] = {}
    for piece in pieces:
        courses = [
            i
            for i, course in enumerate(layout.courses)
            if (course.low, course.high) == (piece.low, piece.high)
        ]
        if piece.row in courses:
            courses = [piece.row]
        if not courses or not any(
            s.start <= piece.start < piece.end <= s.end for s in layout.courses[courses[0]].segments
        ):
            return None
        found[(courses[0], piece.start, piece.end)] = True
    return found


def compile_pool(
    pool: Pool,
    *,
    fixed: Fixed | None = None,
    framing_only: bool = False,
    prefer: Mapping[int, int] | None = None,
) -> Network:
    """The network of `pool`. Layouts that mirror each other are kept once: the one `prefer` names
    for the surface.

    With `framing_only` surfaces whose joints may be of either kind have only those on framing.

    A layout that cannot be boarded has no complete path; a surface all of whose layouts are such
    raises nothing here: the solve finds no plan and says so.
    """
    fixed = fixed or Fixed()
    network = Network(pool=pool, constant=Fraction(fixed.cost))
    allowed_of, group_of = _gather_stock(network)
    sizes: dict[PieceSize, int] = {}
    for s, problem in enumerate(pool.surfaces):
        mine = [piece for piece in fixed.pieces if piece.surface == problem.layouts[0].surface]
        kept: list[int] = []
        mirrors: set[str] = set()
        first = (prefer or {}).get(s)
        either = problem.framed.surface.joint_mode is JointMode.EITHER
        modes = frozenset({JointKind.FRAMING}) if framing_only and either else frozenset(JointKind)
        for index, layout in sorted(
            enumerate(problem.layouts), key=lambda pair: (pair[0] != first, pair[0])
        ):
            held = _fixed_arcs(layout, mine)
            mirror = repr(_mirror(layout))
            if held is None or (not mine and mirror in mirrors):
                continue
            mirrors.add(mirror)
            members = _layout_segments(
                network, sizes, s, index, layout, (allowed_of[s], group_of[s]), held, modes
            )
            if members is None:
                continue
            kept.append(index)
            network.of_layout[s, index] = members
            network.clashes += _clashes(network, s, index, members)
        network.layouts.append(sorted(kept))
    network.sizes = list(sizes)
    network.active = _asked_for(network.segments)
    network.ends, network.most = _ends(pool, network.segments)
    _set_grid(network)
    return network


def shrink(network: Network, keep: Callable[[int, int], bool]) -> Network:
    """The network with only the arcs (segment, its k-th) that `keep` says, and those still on a
    complete path.

    Segments, nodes and sizes keep their numbers, so that answers and patterns stay true.
    """
    segments = [
        replace(
            segment,
            arcs=tuple(
                _connected(
                    [arc for k, arc in enumerate(segment.arcs) if keep(s, k)], len(segment.at) - 1
                )
            ),
        )
        for s, segment in enumerate(network.segments)
    ]
    # A layout that went in an earlier shrinking has no key any more, but its segments keep their
    # numbers.
    left = {
        key for key, members in network.of_layout.items() if all(segments[s].arcs for s in members)
    }
    segments = [
        segment if (segment.surface, segment.layout) in left else replace(segment, arcs=())
        for segment in segments
    ]
    used = {(s, arc.head) for s, segment in enumerate(segments) for arc in segment.arcs}
    clashes = []
    for clash in network.clashes:
        joints = tuple(joint for joint in clash.joints if joint in used)
        if (clash.surface, clash.layout) in left and len(joints) > 1:
            clashes.append(replace(clash, joints=joints))
    ends, most = _ends(network.pool, segments)
    return replace(
        network,
        segments=segments,
        layouts=[
            [i for i in layouts if (s, i) in left] for s, layouts in enumerate(network.layouts)
        ],
        of_layout={key: members for key, members in network.of_layout.items() if key in left},
        clashes=clashes,
        active=_asked_for(segments),
        ends=ends,
        most=most,
    )


def _ends(pool: Pool, segments: Sequence[PathSegment]) -> tuple[dict[int, int], tuple[int, ...]]:
    """Groups of ends, told apart in one room only: in a programme of many rooms it takes longer
    than it is worth."""
    rooms = {problem.framed.surface.room for problem in pool.surfaces}
    return end_groups(segments) if len(rooms) == 1 else ({}, ())


def _asked_for(segments: Iterable[PathSegment]) -> frozenset[int]:
    return frozenset(
        arc.size for segment in segments for arc in segment.arcs if arc.size is not None
    )


def _gather_stock(network: Network) -> tuple[list[frozenset[int]], list[int]]:
    """Fill the network's stock; for each surface the stock that may serve it, and its group.

    A sheet is cut in the earliest room it serves and must get in there; what is left of it gets
    into later rooms.
    """
    pool = network.pool
    rooms: dict[str, int] = {}
    index: dict[tuple[object, ...], int] = {}
    get_in: dict[int, set[int]] = {}
    order: list[int] = []
    apart = not pool.rules.keep_offcuts
    for problem in pool.surfaces:
        room = rooms.setdefault(problem.framed.surface.room, len(rooms))
        order.append(room)
        mine = get_in.setdefault(room, set())
        for sheet in sorted(problem.sheets, key=lambda sheet: sheet.price):
            key = (sheet.width, sheet.length, sheet.price, room if apart else 0)
            if key not in index:
                index[key] = len(network.stock)
                network.stock.append(Stock(sheet.width, sheet.length, 2, int(sheet.price)))
            mine.add(index[key])
        for owned in problem.owned:
            if (owned.id,) not in index:
                index[(owned.id,)] = len(network.stock)
                network.stock.append(
                    Stock(owned.width, owned.length, owned.factory_edges, 0, owned.count, owned.id)
                )
            mine.add(index[(owned.id,)])
    network.mixed = not apart and len({frozenset(stock) for stock in get_in.values()}) > 1
    network.own = {room: frozenset(stock) for room, stock in get_in.items()}
    allowed: list[frozenset[int]] = []
    for room in order:
        before = range(room + 1) if network.mixed else (room,)
        allowed.append(frozenset(i for r in before for i in get_in.get(r, ())))
    return allowed, [room if network.mixed else 0 for room in order]


def _layout_segments(
    network: Network,
    sizes: dict[PieceSize, int],
    surface: int,
    index: int,
    layout: Layout,
    source: tuple[frozenset[int], int],
    held: dict[tuple[int, Nm, Nm], bool],
    modes: frozenset[JointKind],
) -> list[int] | None:
    """Add the layout's segments; their indices, or None (and nothing added) where one has no
    complete path."""
    shortest = network.pool.rules.shortest_piece
    allowed, group = source
    made: list[PathSegment] = []
    for r, course in enumerate(layout.courses):
        usable = [
            network.stock[i].length
            for i in allowed
            if network.stock[i].width == course.sheet_width or network.stock[i].owned is not None
        ]
        limit = min(max(usable, default=0), layout.longest)
        pieces = [(start, end) for (of, start, end) in held if of == r]
        for g, segment in enumerate(course.segments):
            nodes = _nodes(segment, modes)
            at = [segment.start, *(point.at for point in nodes if point is not None), segment.end]
            for start, end in pieces:
                for place in (start, end):
                    if segment.start <= place <= segment.end and place not in at:
                        return None
            last = len(at) - 1
            arcs: list[Arc] = []
            for i in range(last):
                for j in range(i + 1, last + 1):
                    start, end = at[i], at[j]
                    length = Nm(end - start)
                    is_held = (start, end) in pieces
                    if not is_held:
                        if length > limit:
                            break
                        if length < shortest and not (i == 0 and j == last):
                            continue
                        if any(start < b and a < end for a, b in pieces):
                            continue
                        low, high = layout.piece_extent(course, segment, start, end)
                        width = Nm(high - low)
                        full = width == course.sheet_width
                        edges = int(course.factory_low and low == course.low) + int(
                            course.factory_high and high == course.high
                        )
                        size = PieceSize(
                            course.sheet_width, full, length, width, edges, allowed, group
                        )
                        arcs.append(Arc(i, j, sizes.setdefault(size, len(sizes))))
                    else:
                        arcs.append(Arc(i, j, None))
            arcs = _connected(arcs, last)
            if not arcs:
                return None
            costs = tuple(0 if point is None else int(point.cost * MONEY) for point in nodes)
            made.append(
                PathSegment(surface, index, r, g, tuple(at), tuple(nodes), costs, tuple(arcs))
            )
    first = len(network.segments)
    network.segments += made
    return list(range(first, first + len(made)))


def _connected(arcs: list[Arc], last: int) -> list[Arc]:
    """The arcs that lie on some path from node 0 to node `last`, in order."""
    ahead, behind = {0}, {last}
    for arc in arcs:
        if arc.tail in ahead:
            ahead.add(arc.head)
    for arc in sorted(arcs, key=lambda arc: arc.head, reverse=True):
        if arc.head in behind:
            behind.add(arc.tail)
    return [arc for arc in arcs if arc.tail in ahead and arc.head in behind]


def _clashes(network: Network, surface: int, layout: int, members: list[int]) -> list[Clash]:
    """Groups of joints in touching courses that exclude each other, as large as the shortest piece
    allows."""
    rules = network.pool.rules
    by_course: dict[int, list[tuple[Nm, tuple[int, int]]]] = {}
    for member in members:
        segment = network.segments[member]
        course = by_course.setdefault(segment.course, [])
        course += [
            (at, (member, i)) for i, at in enumerate(segment.at) if segment.points[i] is not None
        ]
    found: list[Clash] = []
    for r, lower in sorted(by_course.items()):
        upper = by_course.get(r + 1, [])
        groups: set[frozenset[tuple[int, int]]] = set()
        for one, other in ((lower, upper), (upper, lower)):
            for i in range(len(one)):
                for j in range(i, len(one)):
                    if one[j][0] - one[i][0] >= max(rules.shortest_piece, 1):
                        break
                    if one[j][1][0] != one[i][1][0]:
                        break  # across a gap between segments two joints may both be used
                    near = [
                        x
                        for x in other
                        if x[0] > one[j][0] - rules.stagger and x[0] < one[i][0] + rules.stagger
                    ]
                    mine = [joint for _, joint in one[i : j + 1]]
                    for k in range(len(near)):
                        run = [
                            joint
                            for at, joint in near[k:]
                            if at - near[k][0] < max(rules.shortest_piece, 1)
                            and joint[0] == near[k][1][0]
                        ]
                        groups.add(frozenset(mine + run))
        largest = [group for group in groups if not any(group < other for other in groups)]
        found += [
            Clash(surface, layout, tuple(sorted(group))) for group in sorted(largest, key=sorted)
        ]
    return found


def _set_grid(network: Network) -> None:
    """A step that measures every length exactly, or a fine one (the caller rounds) where that would
    be too many."""
    kerf = network.pool.kerf
    step: int = kerf
    for size in network.sizes:
        step = gcd(step, size.length)
    for stock in network.stock:
        step = gcd(step, stock.length)
    longest = max((stock.length for stock in network.stock), default=Nm(1)) + kerf
    network.grain = _grain(network)
    network.exact = step > 0 and longest // step <= _MOST_STEPS
    network.step = step if network.exact else max(1, longest // (_MOST_STEPS // 2))


def _grain(network: Network) -> Fraction:
    """The largest amount that every price and every joint's cost is a multiple of; 0 where it is
    too fine to help."""
    costs = {Fraction(stock.price) for stock in network.stock}
    costs |= {
        point.cost for segment in network.segments for point in segment.points if point is not None
    }
    if network.pool.rules.preferred_stagger_price:
        return Fraction(0)
    below = 1
    for cost in costs:
        below = below * cost.denominator // gcd(below, cost.denominator)
        if below > 1000:
            return Fraction(0)
    above = 0
    for cost in costs:
        above = gcd(above, int(cost * below))
    return Fraction(above, below)
