"""Two plans of one board side by side: the one that is used, and a better or an earlier one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from django.core.cache import cache

from remodel.board.models import Plan
from remodel.board.plans import plan_accept
from remodel.board.queries import begun_plans, pile_result_of
from remodel.board.rounds import STANDING
from remodel.board.trying import try_out
from remodel.bridge import codec, house_value
from remodel.bridge.drawings import surfaces_compared
from remodel.bridge.drawn import Drawn
from remodel.bridge.lengths import tape_text
from remodel.bridge.piles import engine_version
from remodel.bridge.plans import BoardPlan, at_prices_of, plan_from, seam_length_of
from remodel.bridge.records import rules_of
from remodel.bridge.views import PileResult, PoolState
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House, Room
from remodel.house.queries import whole_house
from remodel.pages.drawings import drawing_of
from remodel.pages.money_and_hours import Cost, hours_text
from remodel.web.parts import Column, Drawing, Table
from remodel.web.templatetags.halfbay import money

__all__ = ["Compared", "SurfaceShown", "compared"]

_DAY = 24 * 3600


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceShown:
    """A surface whose boards lie otherwise, drawn by the plan and by the other one."""

    id: str
    name: str
    now: Drawing | None
    other: Drawing | None

    @property
    def sides(self) -> tuple[Drawing | None, ...]:
        return self.now, self.other


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What the page of two plans shows. `why_not` says why the other cannot be taken, and is empty
    where it can. `saves` is what the other takes less."""

    name: str
    is_new: bool
    saves: Cost
    table: Table
    surfaces: tuple[SurfaceShown, ...]
    why_not: str


def compared(plan: Plan) -> Compared | None:
    """A plan beside the one its room uses; None where the room has no plan of that board, or where
    the plan stands itself."""
    result = pile_result_of(plan.room)
    key = (plan.board, plan.thickness)
    pools = result.pools if result else ()
    pool = next((pool for pool in pools if (pool.board, pool.thickness) == key), None)
    if result is None or pool is None or plan.state not in (Plan.State.PROPOSED, Plan.State.LEFT):
        return None
    house = plan.room.house
    other = at_prices_of(house_value(whole_house(house.pk)), plan_from(plan.data))
    if pool.plan == other:
        return None
    names = {one.board: one.board_name for view in result.views for one in view.plans}
    return Compared(
        name=names.get(plan.board, plan.board),
        is_new=not plan.fallen_from,
        saves=_cost(pool.plan, house) - _cost(other, house),
        table=_table(pool.plan, other, house, is_new=not plan.fallen_from),
        surfaces=_surfaces(
            plan.room, result, key, other, "Earlier plan" if plan.fallen_from else "New plan"
        ),
        why_not=_why_not(plan, pool, other),
    )


def _why_not(plan: Plan, pool: PoolState, other: BoardPlan) -> str:
    """Why a plan cannot take the place of the one that is used; empty where it can."""
    standing = Plan.objects.filter(
        room=plan.room, board=plan.board, thickness=plan.thickness, state__in=STANDING
    ).first()
    if standing is not None and standing.pk in begun_plans(plan.house_id):
        return (
            "Boards of the current plan are cut already, so another cannot take its place. To plan "
            "one surface anew around them, open that surface."
        )
    if plan.pool == pool.digest:
        return ""
    if plan.state == Plan.State.PROPOSED:
        return "The room changed since this plan was found, so it does not fit any more."
    return _fits(plan, pool, other)


def _fits(plan: Plan, pool: PoolState, other: BoardPlan) -> str:
    """Whether a plan that was left can still be hung, found out by taking it for a moment."""
    key = f"fits:{codec.digest(engine_version(), str(plan.pk), pool.digest, pool.plan)}"
    said: str | None = cache.get(key)
    if said is None:
        said = _tried(plan, other)
        cache.set(key, said, _DAY)
    return said


def _tried(plan: Plan, other: BoardPlan) -> str:
    row = Plan.objects.select_related("room").get(pk=plan.pk)
    try:
        trial = try_out(plan.room, lambda: plan_accept(by=By(), plan=row))
    except Refused as error:
        return f"{error}."
    if trial.refusal:
        return trial.refusal
    pools = trial.after.pools if trial.after else ()
    if any(pool.plan == other for pool in pools):
        return ""
    return " ".join(("The room or what is here changed since. With it,", *trial.notes)).strip()


def _surfaces(
    room: Room, result: PileResult, key: tuple[str, int], other: BoardPlan, called: str
) -> tuple[SurfaceShown, ...]:
    digests = [codec.digest(pool.plan) for pool in result.pools]
    mark = f"compared:{codec.digest(engine_version(), digests, codec.digest(other), room.key)}"
    found = cache.get(mark)
    if found is None:
        found = surfaces_compared(house_value(whole_house(room.house_id)), result, key, other)
        cache.set(mark, found, _DAY)
    several = len(result.views) > 1
    shown = []
    for at, surface in enumerate(found):
        own = surface.name.partition(", ")[2] or surface.name
        name = surface.name if several else own[:1].upper() + own[1:]

        shown.append(
            SurfaceShown(
                id=f"compared-{at}",
                name=name,
                now=_drawing(surface.now, f"compared-{at}-now", f"Current plan: {name}"),
                other=_drawing(surface.other, f"compared-{at}-other", f"{called}: {name}"),
            )
        )
    return tuple(shown)


def _drawing(drawn: Drawn | None, id_: str, caption: str) -> Drawing | None:
    return drawing_of(drawn, id_, caption) if drawn is not None else None


def _cost(plan: BoardPlan, house: House) -> Cost:
    return Cost.of(plan.total, plan.work_cost, rules_of(house).hour, house.currency)


def _table(now: BoardPlan, other: BoardPlan, house: House, *, is_new: bool) -> Table:
    units, currency = house.units, house.currency

    def count(before: int, after: int) -> list[str]:
        return [str(before), str(after), _signed(str(abs(after - before)), after - before, "fewer")]

    def cents(before: Fraction | int, after: Fraction | int) -> list[str]:
        more = round(after) - round(before)
        return [
            money(round(before), currency),
            money(round(after), currency),
            _signed(money(abs(more), currency), more),
        ]

    seams = seam_length_of(now), seam_length_of(other)
    more = seams[1] - seams[0]
    rows = [
        ["Sheets to buy", *count(_bought(now), _bought(other))],
        ["Pieces", *count(_pieces(now), _pieces(other))],
        ["Butt seams", *count(_joints(now), _joints(other))],
        [
            "Butt seam to tape",
            *(tape_text(one, units) for one in seams),
            _signed(tape_text(abs(more), units), more),
        ],
        ["Price of the sheets", *cents(now.sheet_cost, other.sheet_cost)],
    ]
    if any(plan.money != plan.sheet_cost for plan in (now, other)):
        rows.append(["With butt seams and backers priced in", *cents(now.money, other.money)])
    hours = _cost(now, house).hours, _cost(other, house).hours
    if hours[0] is not None and hours[1] is not None:
        longer = round(hours[1] * 10) - round(hours[0] * 10)
        rows.append(
            [
                "Work that the plan decides",
                *(hours_text(one) for one in hours if one is not None),
                _signed(hours_text(Fraction(abs(longer), 10)), longer),
            ]
        )
    columns = [
        Column(title="What"),
        Column(title="Current plan", number=True),
        Column(title="New plan" if is_new else "Earlier plan", number=True),
        Column(title="Difference", number=True),
    ]
    return Table(id="plans-compared", caption="Both plans in numbers", columns=columns, rows=rows)


def _signed(words: str, more: int, less: str = "less") -> str:
    return "none" if not more else f"{words} {'more' if more > 0 else less}"


def _bought(plan: BoardPlan) -> int:
    return sum(sheet.is_whole for sheet in plan.sheets)


def _pieces(plan: BoardPlan) -> int:
    return sum(len(surface.pieces) for surface in plan.surfaces)


def _joints(plan: BoardPlan) -> int:
    return sum(len(surface.joints) for surface in plan.surfaces)
