"""The network of a pool: its stock, its piece sizes, and the arcs of each layout it keeps."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import gcd

from takeoff.boards.assemble import fixed_cost, piece_edges
from takeoff.boards.plan import JointKind
from takeoff.boards.problem import CourseProblem, JointPoint, Layout, Pool, Segment
from takeoff.choices import JointMode
from takeoff.geometry.polygon import bounds
from takeoff.solve.network import (
    MONEY,
    Arc,
    Clash,
    Network,
    PathSegment,
    PieceSize,
    Stock,
    asked_sizes,
    ends_of,
    on_complete_paths,
)
from takeoff.units import INCH, MM, Nm

__all__ = ["compile_pool"]

_MARKS = (INCH // 8, INCH // 16, INCH // 32, 4 * MM, 2 * MM, MM)
_MOST_STEPS = 9_000  # grid steps of the longest sheet: what the tables of a pricer are as long as


def compile_pool(
    pool: Pool,
    *,
    framing_only: bool = False,
    prefer: Mapping[int, int] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Network:
    """The network of `pool`. Layouts that mirror each other are kept once: the one `prefer` names
    for the surface.

    With `framing_only` surfaces whose joints may be of either kind have only those on framing.

    A layout that cannot be boarded has no complete path; a surface all of whose layouts are such
    raises nothing here: the solve finds no plan and says so. Raises `Stopped` where `stop` says so
    on the way.
    """
    network = Network(pool=pool, constant=fixed_cost(pool), stop=stop)
    allowed_of, group_of = _gather_stock(network)
    sizes: dict[PieceSize, int] = {}
    for s, problem in enumerate(pool.surfaces):
        kept: list[int] = []
        mirrors: set[str] = set()
        first = (prefer or {}).get(s)
        either = problem.framed.surface.joint_mode is JointMode.EITHER
        # A surface of one mode alone has no joints of the other in its layouts, so nothing has to
        # be left out.
        modes = frozenset({JointKind.FRAMING}) if framing_only and either else frozenset(JointKind)
        surface = _Surface(s, allowed_of[s], group_of[s], modes)
        for index, layout in sorted(
            enumerate(problem.layouts), key=lambda pair: (pair[0] != first, pair[0])
        ):
            mirror = repr(_mirror(layout))
            # Of two layouts that mirror each other every plan of one is a plan of the other at the
            # same cost; keeping both would only make the search look at everything twice. Where
            # boards hang already the two are not alike.
            if not problem.placed and mirror in mirrors:
                continue
            mirrors.add(mirror)
            made = _LayoutCompiler(network, sizes, surface, layout).segments(index)
            if made is None:
                continue
            kept.append(index)
            numbered = len(network.segments)
            network.segments += made
            members = list(range(numbered, numbered + len(made)))
            network.of_layout[s, index] = members
            network.clashes += _clashes(network, s, index, members)
        network.layouts.append(sorted(kept))
    _number_sizes(network, list(sizes))
    network.active = asked_sizes(network.segments)
    network.ends, network.most = ends_of(pool, network.segments)
    _set_grid(network)
    return network


def _gather_stock(network: Network) -> tuple[list[frozenset[int]], list[int]]:
    """Fill the network's stock; for each surface the stock that may serve it, and its group.

    A sheet is cut in the earliest room it serves and must get in there; what is left of it gets
    into later rooms.
    """
    pool = network.pool
    rooms: dict[str, int] = {}
    index: dict[tuple[object, ...], int] = {}
    # Which stock gets into which room.
    get_in: dict[int, set[int]] = {}
    order: list[int] = []
    apart = not pool.rules.keep_offcuts
    for problem in pool.surfaces:
        room = rooms.setdefault(problem.framed.surface.room, len(rooms))
        order.append(room)
        mine = get_in.setdefault(room, set())
        for sheet in sorted(problem.sheets, key=lambda sheet: sheet.price):
            # Where rooms share no sheet, the same sheet on sale is another stock in each room.
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
        # A sheet cut in an earlier room need not get into this one whole: only what is left of it
        # does.
        before = range(room + 1) if network.mixed else (room,)
        allowed.append(frozenset(i for r in before for i in get_in.get(r, ())))
    return allowed, [room if network.mixed else 0 for room in order]


@dataclass(frozen=True, slots=True)
class _Surface:
    """A surface of the pool by its number: the stock that may serve it, its group, and the kinds of
    joints it may have."""

    number: int
    stock: frozenset[int]
    group: int
    modes: frozenset[JointKind]


class _LayoutCompiler:
    """One layout of a surface. `sizes` are the numbers of the piece sizes met so far, and is added
    to."""

    def __init__(
        self,
        network: Network,
        sizes: dict[PieceSize, int],
        surface: _Surface,
        layout: Layout,
    ) -> None:
        self.network, self.sizes = network, sizes
        self.surface, self.layout = surface, layout

    def segments(self, index: int) -> list[PathSegment] | None:
        """The segments of the layout, which is the surface's `index`-th; None where one has no
        complete path."""
        made: list[PathSegment] = []
        for r, course in enumerate(self.layout.courses):
            limit = self._longest(course)
            for g, segment in enumerate(course.segments):
                nodes = _nodes(segment, self.surface.modes)
                inner = [point.at for point in nodes if point is not None]
                at = [segment.start, *inner, segment.end]

                arcs = self._arcs(course, segment, at, limit)
                if not arcs:
                    return None
                costs = tuple(0 if point is None else int(point.cost * MONEY) for point in nodes)
                made.append(
                    PathSegment(
                        surface=self.surface.number,
                        layout=index,
                        course=r,
                        segment=g,
                        at=tuple(at),
                        points=tuple(nodes),
                        costs=costs,
                        arcs=tuple(arcs),
                    )
                )
        return made

    def _longest(self, course: CourseProblem) -> Nm:
        """The longest piece of a course: no longer than the longest sheet it may come from."""
        stock = [self.network.stock[i] for i in self.surface.stock]
        usable = [
            sheet.length
            for sheet in stock
            if sheet.width == course.sheet_width or sheet.owned is not None
        ]
        return min(max(usable, default=Nm(0)), course.longest)

    def _arcs(
        self,
        course: CourseProblem,
        segment: Segment,
        at: Sequence[Nm],
        limit: Nm,
    ) -> list[Arc]:
        shortest, last = self.network.pool.rules.shortest_piece, len(at) - 1
        arcs: list[Arc] = []
        # The ends of the segment may give way, so what it covers at least counts.
        begins, ends = segment.least
        reached = [begins, *at[1:-1], ends]
        for i in range(last):
            self.network.ask()
            for j in range(i + 1, last + 1):
                start, end = reached[i], reached[j]
                # Nodes are in order, so from here on pieces only become longer.
                if end - start > limit:
                    break
                if end - start < shortest and not (i == 0 and j == last):
                    continue
                if not segment.holds_core(start, end):
                    continue
                start, end, low, high = self.layout.lies(course, segment, at[i], at[j])
                cents = self.layout.work.piece(course.sheet_width, start, end, low, high)
                arcs.append(Arc(i, j, self._size(course, start, end, low, high), cents))
        return on_complete_paths(arcs, last)

    def _size(self, course: CourseProblem, start: Nm, end: Nm, low: Nm, high: Nm) -> int:
        """The number of the size of the piece from `start` to `end`, `low` to `high`."""
        width = Nm(high - low)
        size = PieceSize(
            sheet_width=course.sheet_width,
            full=width == course.sheet_width,
            length=Nm(end - start),
            width=width,
            edges=piece_edges(course, low, high),
            from_sheets=self.surface.stock,
            group=self.surface.group,
        )
        return self.sizes.setdefault(size, len(self.sizes))


def _number_sizes(network: Network, sizes: Sequence[PieceSize]) -> None:
    """Give the network its sizes, those of one kind that go with the same strips as one.

    Under a top that is nearly level each piece has a height of its own, a hair from the next one's.
    What matters of a ripped piece's width is only which widths fit beside it on a sheet, so pieces
    that are alike in this are taken to be as wide as the widest of them.
    """
    widths = _alike(
        sorted({size.width for size in sizes if not size.full}),
        {stock.width for stock in network.stock},
        network.pool.kerf,
    )
    merged: dict[PieceSize, int] = {}
    number = [
        merged.setdefault(
            size if size.full else replace(size, width=widths[size.width]), len(merged)
        )
        for size in sizes
    ]
    network.sizes = list(merged)
    if len(merged) < len(sizes):
        network.segments = [
            replace(
                segment,
                arcs=tuple(
                    arc if arc.size is None else replace(arc, size=number[arc.size])
                    for arc in segment.arcs
                ),
            )
            for segment in network.segments
        ]


def _alike(widths: Sequence[Nm], sheets: Collection[Nm], kerf: Nm) -> dict[Nm, Nm]:
    """For each of some widths, in order, the widest that fits on the same sheets and beside the
    same widths there."""
    # Where a strip stops fitting: on a sheet by itself, and beside one of the widths.
    limits = sorted({*sheets, *(sheet - kerf - width for sheet in sheets for width in widths)})
    alike: dict[Nm, Nm] = {}
    widest = widths[-1] if widths else Nm(0)
    for width in reversed(widths):
        # The first limit that this width keeps to; the widest so far is not like it if that is
        # past the limit.
        first = bisect_left(limits, width)
        if first < len(limits) and limits[first] < widest:
            widest = width
        alike[width] = widest
    return alike


def _mirror(layout: Layout) -> object:
    """Equal for layouts that are the same but for the order of their courses read up or down."""
    if (
        len(layout.area) != 4
        or len({x for x, _ in layout.area}) != 2
        or len({y for _, y in layout.area}) != 2
    ):
        return layout
    left, _, right, _ = bounds(layout.area)
    courses = tuple(
        (
            course.sheet_width,
            course.full,
            course.high - course.low,
            _edges(course),
            course.segments,
            # Where openings and boxes are cut out of its pieces.
            sorted((box.left, box.right) for box in layout.work.met(left, right, *_band(course))),
        )
        for course in layout.courses
    )
    return (layout.rows_run, layout.hours, min(courses, courses[::-1], key=repr))


def _band(course: CourseProblem) -> tuple[Nm, Nm]:
    return course.low, course.high


def _nodes(segment: Segment, modes: frozenset[JointKind]) -> list[JointPoint | None]:
    """The segment's ends (None) and its allowed joints between them, one a place: the cheaper where
    two coincide."""
    inside: dict[Nm, JointPoint] = {}
    for point in segment.points:
        if point.kind in modes and (point.at not in inside or point.cost < inside[point.at].cost):
            inside[point.at] = point
    return [None, *(inside[at] for at in sorted(inside)), None]


def _edges(course: CourseProblem) -> int:
    return int(course.factory_low) + int(course.factory_high)


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
    clashes: list[Clash] = []
    for r, lower in sorted(by_course.items()):
        network.ask()
        upper = by_course.get(r + 1, [])
        groups: set[frozenset[tuple[int, int]]] = set()
        for one, other in ((lower, upper), (upper, lower)):
            for i in range(len(one)):
                for j in range(i, len(one)):
                    if one[j][0] - one[i][0] >= max(rules.shortest_piece, 1):
                        break
                    # Joints of one segment that are closer than the shortest piece exclude each
                    # other already, since no piece fits between. Together with the joints of the
                    # other course that come too close to all of them they are one group, of which
                    # at most one is used: a stronger constraint than one for each pair.
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
        # A group inside a larger one follows from it.
        largest = [group for group in groups if not any(group < other for other in groups)]
        clashes += [
            Clash(surface, layout, tuple(sorted(group))) for group in sorted(largest, key=sorted)
        ]
    return clashes


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
    # Every length is a whole number of steps where the step divides them all: then nothing is
    # rounded.
    network.exact = step > 0 and longest // step <= _MOST_STEPS
    network.step = step if network.exact else _rough_step(network, longest)


def _rough_step(network: Network, longest: int) -> int:
    """A step that measures as many lengths exactly as it can: the bound loses by every length that
    is rounded, and most are whole marks of a tape."""
    lengths = [size.length for size in network.sizes]
    lengths += [stock.length for stock in network.stock]
    fine = [mark for mark in _MARKS if longest // mark <= _MOST_STEPS]
    return max(
        fine or [max(1, longest // (_MOST_STEPS // 2))],
        key=lambda mark: (sum(length % mark == 0 for length in lengths), mark),
    )


def _grain(network: Network) -> Fraction:
    """The largest amount that every price and every cost of joints, pieces and layouts is a
    multiple of; 0 where it is too fine to help."""
    costs = {Fraction(stock.price) for stock in network.stock}
    costs |= {Fraction(arc.cents) for segment in network.segments for arc in segment.arcs}
    costs |= {Fraction(network.layout_hours(*key)) for key in network.of_layout}
    costs |= {
        point.cost for segment in network.segments for point in segment.points if point is not None
    }
    # Pairs under the preferred stagger are priced in a plan but not in the programme, so no grain
    # holds.
    if network.pool.rules.preferred_stagger_price:
        return Fraction(0)
    below = 1
    for cost in costs:
        below = below * cost.denominator // gcd(below, cost.denominator)
        # So fine a grain raises no bound by anything worth having.
        if below > 1000:
            return Fraction(0)
    above = 0
    for cost in costs:
        above = gcd(above, int(cost * below))
    return Fraction(above, below)
