"""Plain ways to buy board, to hold the planner against: what a person in a hurry, a handbook, or a
plain model does."""

from __future__ import annotations

from fractions import Fraction

from takeoff.boards.problem import Pool
from takeoff.solve.compile_network import compile_pool
from takeoff.solve.network import Network

__all__ = ["area_times", "longest_first", "plain_model"]


def area_times(pool: Pool, factor: Fraction) -> Fraction:
    """The handbook's way: net area times a factor, in whole sheets of the cheapest price by area.
    Seams not counted."""
    area = Fraction(0)
    for problem in pool.surfaces:
        for row in problem.layouts[0].courses:
            area += sum(
                (row.high - row.low) * (segment.end - segment.start) for segment in row.segments
            )
    sheets = {
        (sheet.price, sheet.width * sheet.length)
        for problem in pool.surfaces
        for sheet in problem.sheets
    }
    price, size = min(sheets, key=lambda sheet: Fraction(sheet[0], sheet[1]))
    return Fraction(price * -(-(area * factor) // size))


def longest_first(pool: Pool) -> Fraction | None:
    """Each row from its start, each piece as long as any sheet and the joints allow; a piece out of
    a sheet of its own unless it fits a leftover (first that does). Staggered where the row above
    leaves a choice."""
    total = Fraction(0)
    pieces: list[tuple[int, int, int]] = []
    for problem in pool.surfaces:
        layout = problem.layouts[0]
        above: list[int] = []
        for row in layout.courses:
            here: list[int] = []
            for segment in row.segments:
                start = int(segment.start)
                while segment.end - start > layout.longest:
                    reach = [
                        point
                        for point in segment.points
                        if pool.rules.shortest_piece <= point.at - start <= layout.longest
                        and segment.end - point.at >= pool.rules.shortest_piece
                        and all(abs(point.at - at) >= pool.rules.stagger for at in above)
                    ]
                    if not reach:
                        return None
                    pieces.append((row.high - row.low, reach[-1].at - start, row.sheet_width))
                    total += reach[-1].cost
                    start = int(reach[-1].at)
                    here.append(start)
                pieces.append((row.high - row.low, segment.end - start, row.sheet_width))
            above = here
    lengths = sorted(
        {(sheet.length, sheet.price, sheet.width) for sheet in pool.surfaces[0].sheets}
    )
    offcuts: list[tuple[int, int]] = []
    for width, length, sheet_width in sorted(pieces, reverse=True):
        spot = next(
            (offcut for offcut in offcuts if offcut[0] >= width and offcut[1] >= length), None
        )
        if spot is None:
            longest = lengths[-1]
            total += longest[1]
            spot = (int(sheet_width), int(longest[0]))
        else:
            offcuts.remove(spot)
        offcuts += [(spot[0], spot[1] - length), (spot[0] - width, length)]
    return total


def plain_model(pool: Pool, seconds: float) -> Fraction | None:
    """One CP-SAT model, no patterns: joints as choices, each possible piece put on one of so many
    sheets.

    It has every freedom the planner has (two strips of one rip beside full-width pieces), one
    worker, and so many seconds. None where it finds nothing in them.
    """
    from ortools.sat.python import cp_model

    network = compile_pool(pool)
    model = cp_model.CpModel()
    stock = network.stock
    most = _sheets_at_most(network)
    step = network.step
    lay = {(s, i): model.new_bool_var("") for s, kept in enumerate(network.layouts) for i in kept}
    for s, kept in enumerate(network.layouts):
        model.add_exactly_one(lay[s, i] for i in kept)
    use = {}
    cost: list[object] = []
    for n, segment in enumerate(network.segments):
        into: dict[int, list[object]] = {}
        out: dict[int, list[object]] = {}
        for k, arc in enumerate(segment.arcs):
            use[n, k] = model.new_bool_var("")
            into.setdefault(arc.head, []).append(use[n, k])
            out.setdefault(arc.tail, []).append(use[n, k])
            point = segment.points[arc.head]
            if point is not None:
                cost.append(round(point.cost * 1000) * use[n, k])
        chosen = lay[segment.surface, segment.layout]
        model.add(sum(out[0]) == chosen)
        for node in range(1, len(segment.at) - 1):
            model.add(sum(into.get(node, [])) == sum(out.get(node, [])))
    for clash in network.clashes:
        near = [
            use[n, k]
            for n, node in clash.joints
            for k, arc in enumerate(network.segments[n].arcs)
            if arc.head == node
        ]
        model.add(sum(near) <= 1)
    bought = [[model.new_bool_var("") for _ in stock] for _ in range(most)]
    for number, kinds in enumerate(bought):
        model.add_at_most_one(kinds)
        if number:
            model.add(sum(kinds) <= sum(bought[number - 1]))
    cost += [one.price * 1000 * kinds[i] for kinds in bought for i, one in enumerate(stock)]
    place = {}
    for (n, k), used in use.items():
        size = network.sizes[network.segments[n].arcs[k].size or 0]
        for b in range(most):
            for side in (0,) if size.full else (1, 2):
                place[n, k, b, side] = model.new_bool_var("")
        model.add(
            sum(
                place[n, k, b, side]
                for b in range(most)
                for side in ((0,) if size.full else (1, 2))
            )
            == used
        )
    for b, kinds in enumerate(bought):
        loads: list[list[object]] = [[], [], []]
        for (n, k, sheet, side), var in place.items():
            if sheet == b:
                loads[side].append(
                    network.sizes[network.segments[n].arcs[k].size or 0].length // step * var
                )
        room = sum((one.length // step) * kinds[i] for i, one in enumerate(stock))
        model.add(sum(loads[0]) + sum(loads[1]) <= room)
        model.add(sum(loads[0]) + sum(loads[2]) <= room)
        wide = [model.new_int_var(0, stock[0].width // step, "") for _ in range(2)]
        model.add(sum(wide) <= stock[0].width // step)
        for (n, k, sheet, side), var in place.items():
            if sheet == b and side:
                size = network.sizes[network.segments[n].arcs[k].size or 0]
                model.add(wide[side - 1] >= -(-size.width // step)).only_enforce_if(var)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return Fraction(round(solver.objective_value), 1000)


def _sheets_at_most(network: Network) -> int:
    """A number of sheets that surely suffices: half as many again as the area takes of the
    shortest."""
    pool = network.pool
    area = sum(
        (row.high - row.low) * (segment.end - segment.start)
        for problem in pool.surfaces
        for row in problem.layouts[0].courses
        for segment in row.segments
    )
    smallest = min(one.width * one.length for one in network.stock)
    return int(area * 3 // (2 * smallest)) + 2
