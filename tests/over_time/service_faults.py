"""Faults planted in the product's services, each by one patch. The comparison with the model must
tell every one of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest
from django.db.models import Q

from remodel import ticks
from remodel.supply import claims, estimates, ledger, orders
from remodel.supply.dealing import Dealt
from remodel.supply.models import Estimate, Order, OrderLine
from remodel.supply.remaining import JobNeed
from remodel.supply.standing import Standing
from remodel.work.models import PhaseState

Fault = Callable[[pytest.MonkeyPatch], None]


def claims_dropped_on_arrival(patch: pytest.MonkeyPatch) -> None:
    """What comes of an order ends the claims that it began."""
    receive = orders.order_receive

    def faulty(*, line: OrderLine, **rest: Any) -> Any:
        received = receive(line=line, **rest)
        claims.end_of_order(line.order)
        return received

    patch.setattr(orders, "order_receive", faulty)


def ticks_move_no_stock(patch: pytest.MonkeyPatch) -> None:
    """A tick lowers what a job needs and uses nothing up."""
    patch.setattr(ticks, "estimate", lambda *_, **__: None)


def sheets_stay_when_cut(patch: pytest.MonkeyPatch) -> None:
    """A sheet that is cut stays in stock."""
    patch.setattr(ticks._Cutting, "begin", lambda *_: None)


def amounts_stored(patch: pytest.MonkeyPatch) -> None:
    """What a job got of an item once it keeps, whatever comes, goes or is needed later."""
    deal = Standing._deal
    dealt: dict[tuple[str, tuple[Any, ...]], Dealt[Any]] = {}

    def faulty(self: Standing, item: str, needs: Iterable[JobNeed]) -> Dealt[Any]:
        some = list(needs)
        key = (item, tuple(need.job for need in some))
        if key not in dealt:
            dealt[key] = deal(self, item, some)
        return dealt[key]

    patch.setattr(Standing, "_deal", faulty)


def logs_add_to_estimates(patch: pytest.MonkeyPatch) -> None:
    """A log is used on top of what ticks of its job have used by estimate."""
    stands = Q(mark__done=True) | Q(mark=None, job__state=PhaseState.DONE)
    patch.setattr(
        estimates,
        "live",
        lambda house: Estimate.objects.filter(stands, house=house, settled_by=None),
    )


def counts_settle_nothing(patch: pytest.MonkeyPatch) -> None:
    """Estimates go on after a count, which has used them already."""
    patch.setattr(ledger, "settle", lambda *_: None)


def drafts_placed_as_they_are(patch: pytest.MonkeyPatch) -> None:
    """A draft is placed with what it would have bought when it was made."""
    bring_up = orders.bring_up

    def faulty(order: Order, standing: Standing) -> Any:
        return [] if order.lines.exists() else bring_up(order, standing)

    patch.setattr(orders, "bring_up", faulty)


def claims_outlive_their_order(patch: pytest.MonkeyPatch) -> None:
    """An order that is taken back leaves its jobs in line."""
    patch.setattr(claims, "end_of_order", lambda order: None)
    patch.setattr(claims, "_void", lambda: Q(pk=None))


def first_stays_where_it_is(patch: pytest.MonkeyPatch) -> None:
    """A job that is to be served first is served in its old turn."""
    patch.setattr(claims, "put_first", lambda **_: None)


FAULTS: tuple[Fault, ...] = (
    claims_dropped_on_arrival,
    ticks_move_no_stock,
    sheets_stay_when_cut,
    amounts_stored,
    logs_add_to_estimates,
    counts_settle_nothing,
    drafts_placed_as_they_are,
    claims_outlive_their_order,
    first_stays_where_it_is,
)
