"""The store has none of what an order buys: other sizes of board, with the plan they make, or
another package; and back again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Max

from remodel.board.models import Plan
from remodel.board.plans import plans_swap, propose
from remodel.board.queries import begun_plans, head_of, pile_result_of
from remodel.board.rounds import STANDING, pile_at_hand
from remodel.board.services import recompute
from remodel.bridge.other_sizes import buys, plan_of_sizes
from remodel.bridge.plans import BoardPlan, plan_from
from remodel.bridge.supply import size_of_sheet
from remodel.bridge.views import PoolState
from remodel.history.errors import Refused
from remodel.history.services import By, change, create, create_all, must_stand, recorded
from remodel.house.models import Room
from remodel.supply import claims
from remodel.supply.drafting import bring_up, jobs_of_order, worked_out
from remodel.supply.models import Order, OrderLine, Pack
from remodel.supply.standing import standing_of

__all__ = [
    "NONE_THERE",
    "LineChange",
    "OtherPlan",
    "is_missing",
    "other_plans",
    "pack_take",
    "plans_before",
    "sizes_back",
    "sizes_take",
    "undone_as_one",
]

# Why a line buys less than was worked out. It tells which lines the store had none of.
NONE_THERE = "The store had none"
# What history calls the write that changes plans with an order, and an undo knows it by.
_TOOK_SIZES = "took other sizes, for the store had none"


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPlan:
    """A plan made for a head room out of the sizes that the store has, beside the one it would take
    the place of. `shapes` are the surfaces it was made for."""

    room: Room
    pool: PoolState
    plan: BoardPlan
    shapes: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChange:
    """How many packages an order buys of something, before and after."""

    name: str
    pack: str
    before: int
    after: int
    cents: int


def is_missing(line: OrderLine) -> bool:
    """Whether the store had none of a line, as somebody noted."""
    return line.reason == NONE_THERE


def other_plans(line: OrderLine, sizes: Collection[tuple[int, int]]) -> list[OtherPlan]:
    """The plans of an order's rooms that cut sheets of a line's size, made anew without it: out of
    what is here, what is in the cart, and `sizes` on sale, by width and length.

    Writes nothing. Raises `Refused` where boards of such a plan are cut, where no plan cuts such
    sheets, and where the boards cannot be cut out of the sizes.
    """
    size = size_of_sheet(line.item)
    if size is None:
        raise Refused("Only board comes in other sizes; choose another package instead")
    board, thickness, *gone = size
    _check_open(line.order)
    _check_to_come(line)
    if not sizes:
        raise Refused(
            "Tick at least one size that the store has, or close the page and ask elsewhere",
            field="sizes",
        )
    made = []
    for room, pool in _pools_of(line.order, board, thickness):
        if not buys(pool.plan, size):
            continue
        _check_nothing_cut(room, pool)
        with _as_if_gone(line):
            pile = pile_at_hand(room.house_id, room.key)
        found = plan_of_sizes(pile, board, thickness, set(sizes) - {tuple(gone)}) if pile else None
        if found is None:
            raise Refused(
                f"{room.name} cannot be boarded out of these sizes. Tick more sizes, or buy this "
                "one elsewhere",
                field="sizes",
            )
        made.append(OtherPlan(room=room, pool=pool, plan=found[0], shapes=found[1]))
    if not made:
        raise Refused(
            "No board plan of this order's rooms needs this size any more, so do not buy it"
        )
    return made


@recorded(_TOOK_SIZES)
def sizes_take(*, by: By, line: OrderLine, made: Iterable[OtherPlan]) -> Order:
    """Let other plans stand, and the order buy what they take. What came, is in the cart or was
    added by hand stays on the order. The order comes back with `changed`, its lines that did.
    Raises `Refused` where a room changed since the plans were made, and where boards are cut by
    now."""
    must_stand(line.order, line)
    _check_open(line.order)
    if is_missing(line):
        return line.order
    offers = [propose(one.room, one.pool, one.plan, one.shapes) for one in made]
    return _swap(by, line, offers, gone=True)


@recorded("bought a size again that the store had none of")
def sizes_back(*, by: By, line: OrderLine) -> Order:
    """Go back to the plans before, because the size is there after all. Raises `Refused` where
    nothing was taken instead, and where boards are cut by now."""
    must_stand(line.order, line)
    _check_open(line.order)
    if not is_missing(line):
        return line.order
    before = plans_before(line)
    if not before:
        raise Refused(
            "The plans of before are not kept any more. Give up the plan on the room's page, and "
            "order again"
        )
    return _swap(by, line, before, gone=False)


def plans_before(line: OrderLine) -> list[Plan]:
    """The plans that stood before other sizes were taken, latest of each room."""
    size = size_of_sheet(line.item)
    if size is None:
        return []
    found = []
    for room, _ in _pools_of(line.order, size[0], size[1]):
        left = Plan.objects.filter(
            room=room, board=size[0], thickness=size[1], state=Plan.State.LEFT
        ).exclude(fallen_from="")
        plan = left.order_by("-state_at").first()
        if plan is not None and buys(plan_from(plan.data), size):
            found.append(plan)
    return found


def _swap(by: By, line: OrderLine, plans: list[Plan], *, gone: bool) -> Order:
    order = Order.objects.select_related("house").get(pk=line.order_id)
    board, thickness = (size_of_sheet(line.item) or ("", 0))[:2]
    before = _amounts(order)
    mine = _lines_open(order, board, thickness, line)
    placed = order.state == Order.State.PLACED
    for one in mine:
        missing = gone and one.pk == line.pk
        change(
            one,
            packs=(came := _came(one)),
            worked_out=one.worked_out if missing else came,
            reason=NONE_THERE if missing and came != one.worked_out else "",
            ticked=False,
        )
    plans_swap(by=by, plans=plans)
    # Inside the write: what is bought follows from the new plans, which stand, so nothing is
    # searched and this takes no longer than the figures of the order's rooms.
    recompute(order.house, whole=True)
    if placed:
        _buy(by, order, (board, thickness), but=line.item if gone else "")
    else:
        bring_up(order, standing_of(order.house))
    order.changed = _changes(order, before)
    return order


def _buy(by: By, order: Order, kind: tuple[str, int], *, but: str) -> None:
    """Have a placed order buy what its jobs lack of one kind of board, besides what it brought, and
    never the item `but`, of which the store has none."""
    standing = standing_of(order.house)
    jobs = set(jobs_of_order(order, standing.jobs))
    stored = {_key(one): one for one in order.lines.all()}
    place = order.lines.aggregate(last=Max("position"))["last"] or 0
    fresh = []
    for new in worked_out(order, standing):
        size = size_of_sheet(new.item)
        if size is None or size[:2] != kind or new.item == but or not new.packs:
            continue
        old = stored.get(_key(new))
        if old is None:
            place += 1
            new.position, new.why = place, new.why or "Instead of what the store had none of"
            fresh.append(new)
            continue
        packs = old.packs + new.packs
        change(old, packs=packs, worked_out=packs, reason="", shares=new.shares)
    create_all(fresh)
    claims.begin(by=by, house=order.house, wanted=standing.wanted_by(jobs), order=order)


@recorded("took another package, for the store had none")
def pack_take(*, by: By, line: OrderLine, pack: Pack, packs: int) -> Order:
    """Buy a material in another package: as many packs of it, in place of those of a line that are
    still to come."""
    must_stand(line.order, line)
    _check_open(line.order)
    if is_missing(line):
        return line.order
    if pack.material.key != line.item or pack.name == line.pack or packs < 1:
        raise Refused("Choose another package of the same material", field="pack")
    order = Order.objects.select_related("house").get(pk=line.order_id)
    before = _amounts(order)
    _check_to_come(line)
    change(line, packs=_came(line), reason=NONE_THERE, ticked=False)
    create(
        OrderLine(
            order=order,
            position=line.position,
            phase=line.phase,
            item=line.item,
            name=line.name,
            need="0",
            unit=line.unit,
            store=pack.store,
            pack=pack.name,
            holds=str(pack.holds),
            holds_unit=pack.unit,
            packs=packs,
            reason=f"The store had none of {line.pack}",
            price=pack.price,
            sample_price=pack.is_sample,
            weight=pack.weight,
            shares=line.shares,
        )
    )
    order.changed = _changes(order, before)
    return order


def undone_as_one(changes: Iterable[Any]) -> None:
    """Raise `Refused` where an undo would change the lines of an order and not the plans that they
    were bought for."""
    if any(one.what == _TOOK_SIZES for one in changes):
        raise Refused(
            "Plans were changed with this. Open the order and press “It is there after all” instead"
        )


def _pools_of(order: Order, board: str, thickness: int) -> Iterator[tuple[Room, PoolState]]:
    """The head rooms of an order, each with its pool of one kind of board, if it has one."""
    heads = {head.pk: head for room in order.rooms.all() for head in (head_of(room),)}
    for head in heads.values():
        result = pile_result_of(head)
        for pool in result.pools if result else ():
            if (pool.board, pool.thickness) == (board, thickness):
                yield head, pool


def _check_nothing_cut(room: Room, pool: PoolState) -> None:
    standing = Plan.objects.filter(
        room=room, board=pool.board, thickness=pool.thickness, state__in=STANDING
    ).first()
    if standing is not None and standing.pk in begun_plans(room.house_id):
        raise Refused(
            f"Boards of {room.name} are cut already, so its plan stays. Buy this size elsewhere, "
            "or take a larger one and cut the same pieces out of it"
        )


@contextmanager
def _as_if_gone(line: OrderLine) -> Iterator[None]:
    """What is on its way as it will be: without what of an order's board may still change."""
    board, thickness = (size_of_sheet(line.item) or ("", 0))[:2]
    with transaction.atomic():
        for one in _lines_open(line.order, board, thickness, line):
            came = _came(one)
            OrderLine.objects.filter(pk=one.pk).update(packs=came, worked_out=came)
        yield
        transaction.set_rollback(True)


def _lines_open(order: Order, board: str, thickness: int, gone: OrderLine) -> list[OrderLine]:
    """The lines of one kind of board that may change: not what a person added, and not what is in
    the cart already, but for the line that the store has none of."""
    lines = order.lines.prefetch_related("receipts")
    return [
        line
        for line in lines
        if (size := size_of_sheet(line.item)) is not None
        and size[:2] == (board, thickness)
        and (line.pk == gone.pk or not (line.ticked or (line.reason and not is_missing(line))))
    ]


def _amounts(order: Order) -> dict[tuple[str, str], tuple[str, int, int]]:
    amounts: dict[tuple[str, str], tuple[str, int, int]] = {}
    for line in OrderLine.objects.filter(order=order):
        _, packs, cents = amounts.get((line.item, line.pack), ("", 0, 0))
        amounts[line.item, line.pack] = (
            line.name,
            packs + line.packs,
            cents + line.packs * line.price,
        )
    return amounts


def _changes(
    order: Order, before: Mapping[tuple[str, str], tuple[str, int, int]]
) -> tuple[LineChange, ...]:
    after = _amounts(order)
    nothing = ("", 0, 0)
    return tuple(
        LineChange(
            name=new[0] or old[0], pack=key[1], before=old[1], after=new[1], cents=new[2] - old[2]
        )
        for key in dict.fromkeys([*before, *after])
        if (old := before.get(key, nothing))[1:] != (new := after.get(key, nothing))[1:]
    )


def _came(line: OrderLine) -> int:
    return sum(receipt.packs for receipt in line.receipts.all())


def _key(line: OrderLine) -> tuple[str, str, bool]:
    return line.item, line.pack, line.for_earlier


def _check_open(order: Order) -> None:
    if order.state not in (Order.State.DRAFT, Order.State.PLACED):
        raise Refused("No more is coming with this order, so it stays as it is")


def _check_to_come(line: OrderLine) -> None:
    if line.packs <= _came(line):
        raise Refused("All of this came already, so there is nothing to take instead")
