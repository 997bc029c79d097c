"""Which pieces one plan can hold beside each other.

Of a course one piece comes first and one last, its pieces do not overlap, and joints of touching
courses keep their stagger. So a sheet is never cut into two first pieces of one course: patterns
that no plan can use are left out of the programme, which is then worth much more as a bound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from takeoff.solve.network import Network, PathSegment

__all__ = ["Compatible", "end_groups"]

_TRIES = 2000  # places tried for one pattern

_Place = tuple[int, int, int]  # a piece: its segment, and the nodes it reaches from and to


def end_groups(segments: Sequence[PathSegment]) -> tuple[dict[int, int], tuple[int, ...]]:
    """The group of each size that is asked for at ends of segments alone, and how many pieces of
    each group a plan holds at most. Sizes asked for at an end of the same segment are in one group;
    those asked for between are in none.
    """
    ends: dict[int, list[tuple[int, int]]] = {}
    between: set[int] = set()
    for s, segment in enumerate(segments):
        last = len(segment.at) - 1
        for arc in segment.arcs:
            if arc.size is None:
                continue
            if arc.tail == 0:
                ends.setdefault(arc.size, []).append((s, 0))
            elif arc.head == last:
                ends.setdefault(arc.size, []).append((s, 1))
            else:
                between.add(arc.size)

    # Ends that some size is asked for at together count as one group (a union-find over ends).
    joined: dict[tuple[int, int], tuple[int, int]] = {}

    def head(end: tuple[int, int]) -> tuple[int, int]:
        while (up := joined.get(end, end)) != end:
            joined[end] = end = joined.get(up, up)
        return end

    only_ends = {size: mine for size, mine in ends.items() if size not in between}
    for mine in only_ends.values():
        for end in mine[1:]:
            joined[head(mine[0])] = head(end)

    # Groups are numbered in the order of their sizes, so that the same network gives the same
    # numbers.
    number: dict[tuple[int, int], int] = {}
    members: list[set[tuple[int, int]]] = []
    group: dict[int, int] = {}
    for size, mine in only_ends.items():
        first = head(mine[0])
        if first not in number:
            number[first] = len(members)
            members.append(set())
        group[size] = number[first]
        members[number[first]].update(mine)
    return group, tuple(_most(segments, member) for member in members)


def _most(segments: Sequence[PathSegment], ends: Iterable[tuple[int, int]]) -> int:
    """How many of these ends one plan has: of each surface those of one layout."""
    of: dict[int, dict[int, int]] = {}
    for s, _ in ends:
        # A plan has one layout of each surface, so the layout with the most of these ends bounds
        # what it has there.
        layouts = of.setdefault(segments[s].surface, {})
        layouts[segments[s].layout] = layouts.get(segments[s].layout, 0) + 1
    return sum(max(layouts.values()) for layouts in of.values())


class Compatible:
    """Which sizes one plan of the network can hold together, without these `arcs` (segment, its
    k-th).

    `links` are (larger, smaller) sizes. A larger one stands for the smaller ones as well: patterns
    are told apart by what they can be made of, so that to make a piece larger never makes a pattern
    impossible.
    """

    def __init__(
        self,
        network: Network,
        links: Iterable[tuple[int, int]],
        without: frozenset[tuple[int, int]] = frozenset(),
    ) -> None:
        self.network = network
        self.smaller: dict[int, list[int]] = {}
        for larger, smaller in links:
            self.smaller.setdefault(larger, []).append(smaller)
        # Places where a piece may be are numbered; sets of them are whole numbers, a bit for each.
        self._place: list[_Place] = []
        self._of_size: dict[int, int] = {}
        self._of_surface: dict[int, list[int]] = {}
        for s, segment in enumerate(network.segments):
            for k, arc in enumerate(segment.arcs):
                if arc.size is not None and (s, k) not in without:
                    self._of_size[arc.size] = self._of_size.get(arc.size, 0) | 1 << len(self._place)
                    self._of_surface.setdefault(segment.surface, []).append(len(self._place))
                    self._place.append((s, arc.tail, arc.head))
        self._on_surface = {
            surface: sum(1 << number for number in numbers)
            for surface, numbers in self._of_surface.items()
        }

        # Where a size may be, or any smaller one that it may be cut down to.
        self._reach: dict[int, int] = {}
        for size in self._of_size:
            self._reached(size)
        self._apart: dict[tuple[int, int], set[tuple[int, int]]] = {}
        for clash in network.clashes:
            for joint in clash.joints:
                self._apart.setdefault(joint, set()).update(
                    other for other in clash.joints if other != joint
                )
        self._surfaces = {size: self._surfaces_of(places) for size, places in self._reach.items()}
        self._with: dict[int, int] = {}
        self._together: dict[tuple[int, ...], bool] = {}
        self._standing: dict[tuple[int, ...], bool] = {}
        self.beside = self._beside()

    def _reached(self, size: int) -> int:
        """The places of a size and of all it stands for."""
        if size not in self._reach:
            places = self._of_size.get(size, 0)
            for less in self.smaller.get(size, ()):
                places |= self._reached(less)
            self._reach[size] = places
        return self._reach[size]

    def _surfaces_of(self, places: int) -> int:
        """The surfaces that places are on, a bit for each."""
        on = 0
        for surface, mine in self._on_surface.items():
            if places & mine:
                on |= 1 << surface
        return on

    def _beside(self) -> dict[int, int]:
        """For each size those that may be in a pattern with it, as bits by their numbers; its own
        bit where it may be there twice."""
        # Everything goes with everything until two sizes are shown to exclude each other: a bit too
        # many only costs time, a bit too few would lose a plan.
        beside = dict.fromkeys(self._of_size, sum(1 << size for size in self._of_size))
        for mine in self._on_surface.values():
            # A size of two surfaces goes with every other.
            members = [size for size in self._of_size if not self._reach[size] & ~mine]
            for n, one in enumerate(members):
                self.network.ask()
                for other in members[n:]:
                    if not self.may_stand_for((one, other)):
                        beside[one] &= ~(1 << other)
                        beside[other] &= ~(1 << one)
        return beside

    def _goes_with(self, number: int) -> int:
        """The places where a plan that has a piece at this one may have others."""
        beside = self._with.get(number)
        if beside is None:
            beside = (1 << len(self._place)) - 1
            place = self._place[number]
            for other in self._of_surface[self.network.segments[place[0]].surface]:
                # Only pieces of one surface can exclude each other; other surfaces keep all their
                # bits.
                if other == number or not self._both(place, self._place[other]):
                    beside &= ~(1 << other)
            self._with[number] = beside
        return beside

    def _both(self, one: _Place, other: _Place) -> bool:
        """Whether one plan can have both pieces, of one surface."""
        (s, tail, head), (t, start, end) = one, other
        if s == t:
            # Two pieces of one segment must not overlap.
            return head <= start or end <= tail
        if self.network.segments[s].layout != self.network.segments[t].layout:
            return False
        # Pieces of two segments exclude each other where a joint of one clashes with a joint of the
        # other.
        for joint in ((s, tail), (s, head)):
            apart = self._apart.get(joint, ())
            if (t, start) in apart or (t, end) in apart:
                return False
        return True

    def _hold(self, sets: list[int], allowed: int, tries: list[int]) -> bool:
        """Whether one place can be taken from each set so that all go together. True as well where
        that would take too long to find out."""
        places, others = sets[0] & allowed, sets[1:]
        if not others:
            return places != 0
        while places:
            tries[0] -= 1
            if tries[0] < 0:
                # Too long to tell counts as possible, so that no pattern of a plan is ever lost.
                return True
            lowest = places & -places
            still = allowed & self._goes_with(lowest.bit_length() - 1)
            # Pieces of one size change places for nothing: the next of them goes further on.
            rest = [other & -lowest if other == sets[0] else other for other in others]
            if self._hold(rest, still, tries):
                return True
            if all(other & still == other & allowed for other in rest):
                # it took nothing from the others: no other place would leave them more
                return False
            places ^= lowest
        return False

    def together(self, sizes: Sequence[int]) -> bool:
        """Whether a plan can hold a piece of each of these very sizes (of one named twice, two)."""
        return all(self._apiece(part, self._of_size, self._together) for part in self._parts(sizes))

    def may_stand_for(self, sizes: Sequence[int]) -> bool:
        """Whether a plan can hold a piece of each of these sizes, or of one that it stands for."""
        return all(self._apiece(part, self._reach, self._standing) for part in self._parts(sizes))

    def _parts(self, sizes: Sequence[int]) -> list[tuple[int, ...]]:
        """Sizes in parts that have no surface in common: each part can be placed by itself."""
        # Sizes that share a surface go into one part, and a size that two parts share a surface
        # with joins them.
        parts: list[tuple[int, tuple[int, ...]]] = []
        for size in sizes:
            surfaces = self._surfaces.get(size, 0)
            members: tuple[int, ...] = (size,)
            apart = []
            for those, others in parts:
                if those & surfaces:
                    surfaces, members = surfaces | those, others + members
                else:
                    apart.append((those, others))
            parts = [*apart, (surfaces, members)]
        return [members for _, members in parts]

    def _apiece(
        self, sizes: tuple[int, ...], places: dict[int, int], known: dict[tuple[int, ...], bool]
    ) -> bool:
        answer = known.get(sizes)
        if answer is None:
            # -1 has every bit set: at first every place is allowed.
            answer = self._hold([places.get(size, 0) for size in sizes], -1, [_TRIES])
            known[sizes] = answer
        return answer
