"""Between board plans and answers on a network."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from takeoff.boards.assemble import Chosen, assemble, cut_pieces
from takeoff.boards.plan import BoardPlan, Bound
from takeoff.boards.problem import JointPoint
from takeoff.boards.together import layouts_of
from takeoff.cutting.sheets import SheetCut
from takeoff.quantities import Cents
from takeoff.solve.integer import Answer, FilledPattern, Place
from takeoff.solve.knapsack import Pattern
from takeoff.solve.network import Network

__all__ = ["to_answer", "to_plan"]


def to_plan(network: Network, answer: Answer, bound: Bound) -> BoardPlan:
    """The board plan of an answer."""
    pool = network.pool
    members: dict[tuple[int, int, int, int], int] = {}
    for s, segment in enumerate(network.segments):
        members[segment.surface, segment.layout, segment.course, segment.segment] = s

    paths: dict[int, list[Place]] = {}
    for place in answer.pieces:
        paths.setdefault(place[0], []).append(place)

    chosen: list[Chosen] = []
    order: list[Place] = []
    for surface, index in enumerate(answer.layouts):
        layout = pool.surfaces[surface].layouts[index]
        courses = []
        for r, course in enumerate(layout.courses):
            joints: list[tuple[JointPoint, ...]] = []
            for g in range(len(course.segments)):
                s = members[surface, index, r, g]
                path = sorted(paths[s])
                order += path
                points = network.segments[s].points
                joints.append(
                    tuple(point for _, _, head in path if (point := points[head]) is not None)
                )
            courses.append(tuple(joints))
        chosen.append(Chosen(layout, tuple(courses)))

    # `cut_pieces` goes through surfaces, courses and segments in the same order as the loops above.
    named = dict(zip(order, cut_pieces(pool, chosen), strict=True))
    owned = {sheet.id: sheet for sheet in pool.owned}
    sheets = []
    for cut in answer.sheets:
        stock = network.stock[cut.pattern.stock]
        parts = [tuple(named[place] for place in part) for part in (cut.full, *cut.strips)]
        # A strip as wide as the offcut it comes from is no strip: its pieces are crosscut, and only
        # what is narrower is ripped.
        whole = [piece for part in parts[1:] for piece in part if piece.width == stock.width]
        strips = [tuple(piece for piece in part if piece not in whole) for part in parts[1:]]
        # A strip that nothing is cut from is not ripped off.
        strips = [part for part in strips if part]
        sheets.append(
            SheetCut(
                width=stock.width,
                length=stock.length,
                price=Cents(stock.price),
                owned=owned[stock.owned] if stock.owned is not None else None,
                whole=(*parts[0], *whole),
                first=strips[0] if strips else (),
                second=strips[1] if len(strips) > 1 else (),
            )
        )
    return assemble(pool, chosen, sheets, bound)


def to_answer(network: Network, plan: BoardPlan) -> Answer | None:
    """A plan as an answer on the network; None where it is not one of this problem's plans."""
    pool = network.pool
    layouts = layouts_of(pool, plan)
    if any(layouts.get(s) not in kept for s, kept in enumerate(network.layouts)):
        return None

    by_surface = {surface.surface: surface for surface in plan.surfaces}
    places: dict[str, tuple[Place, int | None]] = {}
    cost = Fraction(sum(network.layout_hours(s, index) for s, index in layouts.items()))
    for s, segment in enumerate(network.segments):
        if layouts[segment.surface] != segment.layout:
            continue
        layout = pool.surfaces[segment.surface].layouts[segment.layout]
        course = layout.courses[segment.course]
        nodes = {at: i for i, at in enumerate(segment.at)}
        arcs = {(arc.tail, arc.head): arc for arc in segment.arcs}
        mine = [
            piece
            for piece in by_surface[layout.surface].pieces
            if piece.row == course.index
            and segment.at[0] < piece.end
            and piece.start < segment.at[-1]
        ]
        mine.sort(key=lambda piece: piece.start)
        ends = [segment.at[0], *(piece.end for piece in mine[:-1]), segment.at[-1]]
        # The plan has a joint that the network does not know, or nothing in the segment.
        if not mine or any(at not in nodes for at in ends):
            return None
        stated = layout.courses[segment.course].segments[segment.segment]
        for (start, end), piece in zip(pairwise(ends), mine, strict=True):
            lies = layout.lies(course, stated, start, end)
            if (
                (piece.start, piece.end) != lies[:2]
                or (nodes[start], nodes[end]) not in arcs
                or piece.code in places
            ):
                return None
            arc = arcs[nodes[start], nodes[end]]
            places[piece.code] = ((s, arc.tail, arc.head), arc.size)
            cost += segment.exact_cost(arc)

    stock = {
        (one.width, one.length, one.price, one.owned): i
        for i, one in reversed(list(enumerate(network.stock)))
    }
    cuts = []
    cut_already = {sheet.code for sheet in pool.cut}
    for sheet in plan.sheets:
        # Such a sheet is in the network's constant, not among its stock.
        if sheet.code in cut_already:
            continue
        index = stock.get((sheet.width, sheet.length, int(sheet.price), sheet.source))
        parts = [sheet.crosscuts, *(strip.pieces for strip in sheet.strips)]
        held = [[places.get(placed.piece) for placed in part] for part in parts]
        if index is None or any(one is None or one[1] is None for part in held for one in part):
            return None
        sized = [
            sorted((one[1], one[0]) for one in part if one is not None and one[1] is not None)
            for part in held
        ]
        pattern = Pattern(
            index,
            tuple(size for size, _ in sized[0]),
            tuple(tuple(size for size, _ in part) for part in sized[1:]),
            sheet.strips[0].high if len(sheet.strips) > 1 else None,
        )
        if any(index not in network.sizes[size].from_sheets for size in pattern.sizes):
            pattern_allowed = network.legal(index, pattern.sizes)
            if not pattern_allowed:
                return None
        cuts.append(
            FilledPattern(
                pattern,
                tuple(place for _, place in sized[0]),
                tuple(tuple(place for _, place in part) for part in sized[1:]),
            )
        )
        cost += network.stock[index].price

    return Answer(
        network.constant + cost,
        tuple(layouts[s] for s in range(len(pool.surfaces))),
        tuple(sorted(place for place, _ in places.values())),
        tuple(cuts),
    )
