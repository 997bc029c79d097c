"""What an edit changes for orders, in one line with the message that it is saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, QueryDict
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount
from remodel.house.models import House
from remodel.supply.models import Claim
from remodel.supply.standing import Standing, standing_of

__all__ = ["OrderWatch"]


@dataclass(frozen=True, slots=True)
class _Supplied:
    """How one item serves the jobs that hold claims: what each is short of, and what is free."""

    short: Mapping[UUID, Fraction]
    free: Fraction

    @property
    def lacking(self) -> Fraction:
        return sum(self.short.values(), Fraction(0))


class OrderWatch:
    """Compares what ordered jobs are short of before and after a write.

        watch = OrderWatch(house)
        ...  # the write
        watch.tell(request)

    A house in which nothing was ordered costs one query. Where figures are worked out later, by the
    worker, nothing is told: the order's own page says it once they are there.
    """

    def __init__(self, house: House) -> None:
        self.house = house
        ordered = Claim.objects.filter(house=house, ended_at=None).exists()
        self._before = _supplied(standing_of(house)) if ordered else None

    def tell(self, request: HttpRequest) -> None:
        """Add the line to the messages of the next page, where the write changed something."""
        if self._before is None:
            return
        standing = standing_of(self.house)
        line = self._line(self._before, _supplied(standing), standing)
        if line:
            messages.info(request, line)

    def _line(
        self,
        before: Mapping[str, _Supplied],
        after: Mapping[str, _Supplied],
        standing: Standing,
    ) -> SafeString | str:
        nothing = _Supplied({}, Fraction(0))
        more = {
            item: supplied
            for item, supplied in after.items()
            if supplied.lacking > before.get(item, nothing).lacking
        }
        if more:
            return self._short(more, before, standing)
        freed = {
            item: free
            for item, supplied in after.items()
            if standing.units[item] == "each"
            and (free := supplied.free - before.get(item, nothing).free) >= 1
        }
        if freed:
            return self._free(freed, standing)
        was = sum((supplied.lacking for supplied in before.values()), Fraction(0))
        now = sum((supplied.lacking for supplied in after.values()), Fraction(0))
        return "Orders: nothing is short any more." if was and not now else ""

    def _short(
        self, more: Mapping[str, _Supplied], before: Mapping[str, _Supplied], standing: Standing
    ) -> SafeString:
        """The first item that is short by more now, for whom, and the way to an order of it."""
        item, supplied = next(iter(more.items()))
        known = before[item].short if item in before else {}
        jobs = [
            job for job, short in supplied.short.items() if short > known.get(job, Fraction(0))
        ] or list(supplied.short)
        rooms = list(dict.fromkeys(standing.jobs[job].room_name for job in jobs))
        shown = lengths.shown_amount(
            Amount(supplied.lacking, standing.units[item]), self.house.units
        ).removesuffix(" each")
        others = len(more) - 1
        query = QueryDict(mutable=True)
        query.setlist("room", list(dict.fromkeys(str(standing.jobs[job].room) for job in jobs)))
        query.setlist("phase", list(dict.fromkeys(standing.jobs[job].phase for job in jobs)))
        return format_html(
            'Orders: {} is {} short for {}{}. <a href="{}?{}">Add to the next order</a>',
            standing.shop.name(item),
            shown,
            ", ".join(rooms[:3]) + (" and others" if len(rooms) > 3 else ""),
            f", and {others} more thing{'' if others == 1 else 's'}" if others else "",
            reverse("order-new", args=[self.house.pk]),
            query.urlencode(),
        )

    def _free(self, freed: Mapping[str, Fraction], standing: Standing) -> SafeString:
        """What no ordered job takes any more, of things that are counted."""
        item, free = next(iter(freed.items()))
        others = len(freed) - 1
        return format_html(
            'Orders: {} of {} {} free now{}. <a href="{}">See what is here</a>',
            int(free),
            standing.shop.name(item),
            "is" if int(free) == 1 else "are",
            f", and {others} more thing{'' if others == 1 else 's'}" if others else "",
            reverse("stock-item", args=[self.house.pk, item]),
        )


def _supplied(standing: Standing) -> dict[str, _Supplied]:
    """How each item serves the jobs that hold a claim on it."""
    supplied = {}
    for item in standing.items:
        dealt = standing.dealt(item)
        short = {share.job: share.short for share in dealt.shares if share.short}
        supplied[item] = _Supplied(short, dealt.free_here + dealt.free_coming)
    return supplied
