"""The board plans of a whole house: one pool a board kind and thickness, each passed by the independent checker."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import chain
from string import ascii_uppercase

from takeoff.boards.assemble import letters_from
from takeoff.boards.check import check_plan
from takeoff.boards.first_plan import plan_pool
from takeoff.boards.plan import BoardPlan
from takeoff.boards.problem import Pool, SurfaceProblem, state
from takeoff.catalogue import Cutting
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.geometry.rooms import RoomGeometry
from takeoff.house import House
from takeoff.solve.best import Effort, Progress, improve
from takeoff.units import Nm

__all__ = ["Refusal", "Seek", "Worked", "plan_boards", "pools_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A surface that cannot be boarded under the rules: which rule stands in the way, where, and what to relax."""

    surface: str
    row: int | None
    rule: str
    message: str


@dataclass(frozen=True, slots=True)
class Worked:
    """What was already worked out of one house, so that a what-if works out only what it changes."""

    problems: dict[FramedSurface, SurfaceProblem | CannotBoard] = field(default_factory=dict)
    plans: dict[Pool, tuple[BoardPlan | None, list[Refusal]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seek:
    """How hard to look for better plans than the first ones, and who is told of each.

    `effort` limits the work for each pool, so that the same effort gives the same plans. A `clock` with `seconds`
    shares the time among the pools by their surfaces instead; what comes out may then differ from run to run.
    """

    effort: Effort
    seconds: float | None = None
    clock: Callable[[], float] | None = None
    told: Callable[[Pool, Progress], None] = lambda pool, progress: None


def plan_boards(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    worked: Worked | None = None,
    seek: Seek | None = None,
) -> tuple[tuple[BoardPlan, ...], tuple[Refusal, ...]]:
    """Plan every surface that gets board, and name each that no plan can be made for.

    A plan is given only after the checker, which shares no code with the planner, has found nothing wrong with it.
    `worked` holds what an earlier call for the same house worked out, and is added to. With `seek` better plans than
    the first ones are looked for; they are not kept in `worked`.
    """
    worked = worked or Worked()
    pools, refused = pools_of(house, rooms, members, worked)
    surfaces = sum(len(pool.surfaces) for pool in pools)
    plans = []
    for pool in pools:
        if pool not in worked.plans:
            worked.plans[pool] = _plan(pool, house)
        plan, stuck = worked.plans[pool]
        refused += stuck
        if plan is not None and seek is not None and not stuck:
            plan = _better(pool, plan, house, seek, Fraction(len(pool.surfaces), surfaces))
        if plan is not None:
            plans.append(plan)
    return tuple(plans), tuple(refused)


def pools_of(
    house: House,
    rooms: Sequence[RoomGeometry],
    members: Mapping[str, FramedSurface],
    worked: Worked | None = None,
) -> tuple[list[Pool], list[Refusal]]:
    """The pools of a house in the order their board is first hung, surfaces in hanging order, rooms in theirs.

    Surfaces that no layout is allowed on are in no pool, but refused by name. Each pool has a mark of its own, and its
    surfaces' letters go on where those of the pool before end.
    """
    known = (worked or Worked()).problems
    refused: list[Refusal] = []
    found: dict[tuple[str, Nm], list[SurfaceProblem]] = {}
    for room in rooms:
        for surface_id in room.hang_order:
            framed = members[surface_id]
            if not framed.surface.board_area:
                continue
            if framed not in known:
                known[framed] = _state(framed, house)
            problem = known[framed]
            if isinstance(problem, CannotBoard):
                refused.append(_refusal(problem))
            else:
                board = framed.surface.board
                found.setdefault((board.kind, board.thickness), []).append(problem)
    pools: list[Pool] = []
    surfaces = 0
    for (kind, thickness), problems in found.items():
        mark = next(each for each in _marks(kind) if all(each != pool.mark for pool in pools))
        pools.append(replace(_pool(house, kind, thickness, problems), mark=mark, first_surface=surfaces))
        surfaces += len(problems)
    return pools, refused


def _marks(board: str) -> Iterator[str]:
    """What a pool's sheets may be marked with: a letter of its kind of board, then any other."""
    own = (letter for letter in board.upper() if letter in ascii_uppercase)
    return chain(own, letters_from(0))


def _state(framed: FramedSurface, house: House) -> SurfaceProblem | CannotBoard:
    try:
        return state(framed, house.rules, house.catalogue)
    except CannotBoard as error:
        return error


def _pool(house: House, board: str, thickness: Nm, problems: Sequence[SurfaceProblem]) -> Pool:
    sawn = house.catalogue.board(board).cutting is Cutting.SAW
    return Pool(
        board=board,
        thickness=thickness,
        kerf=house.rules.kerf if sawn else Nm(0),
        surfaces=tuple(problems),
        owned=tuple(sheet for sheet in house.rules.owned if sheet.board == board and sheet.thickness == thickness),
        rules=house.rules,
    )


def _plan(pool: Pool, house: House) -> tuple[BoardPlan | None, list[Refusal]]:
    """The first plan of a pool, without the surfaces that stop it, each refused by name."""
    refused: list[Refusal] = []
    while pool.surfaces:
        try:
            plan = plan_pool(pool)
        except CannotBoard as error:
            refused.append(_refusal(error))
            left = tuple(problem for problem in pool.surfaces if problem.framed.surface.id != error.surface)
            pool = replace(pool, surfaces=left)
            continue
        breaches = check_plan(plan, [each.framed for each in pool.surfaces], house.rules, house.catalogue)
        if not breaches:
            return plan, refused
        first = breaches[0]
        return None, refused + [
            Refusal(
                surface=problem.framed.surface.id,
                row=None,
                rule=first.rule,
                message=f"{problem.framed.surface.name}: the plan made with it broke a rule and is not shown. "
                f"{first.message}",
            )
            for problem in pool.surfaces
        ]
    return None, refused


def _better(pool: Pool, plan: BoardPlan, house: House, seek: Seek, share: Fraction) -> BoardPlan:
    """The best plan found that the checker passes; `share` of the time goes to this pool."""
    effort = seek.effort
    if seek.seconds is not None:
        effort = replace(effort, seconds=seek.seconds * float(share))
    framed = [each.framed for each in pool.surfaces]
    for progress in improve(pool, start=plan, effort=effort, clock=seek.clock):
        if not check_plan(progress.plan, framed, house.rules, house.catalogue):
            plan = progress.plan
        seek.told(pool, progress)
    return plan


def _refusal(error: CannotBoard) -> Refusal:
    return Refusal(surface=error.surface, row=error.row, rule=error.rule, message=str(error))
