"""Who has a right to what, since when, and how it ends."""

import pytest

from remodel.bridge.lengths import amount
from remodel.history.errors import Refused
from remodel.supply import orders
from remodel.supply.claims import keep_for, put_first, set_free
from remodel.supply.ledger import move
from remodel.supply.models import Claim
from remodel.work.services import phase_set_state
from tests.remodel.supply.steps import (
    draft,
    finish,
    job_of,
    order_all,
    place,
    receive,
    standing_now,
)

pytestmark = pytest.mark.django_db
TAPE = "tape-paper"


def found(by, house, feet):
    move(by=by, house=house, item=TAPE, kind="found", amount=amount(feet, "ft"))


def served(house, item=TAPE):
    """The rooms that hold a claim on an item, in the order in which they are served."""
    standing = standing_now(house)
    return [standing.jobs[share.job].room_name for share in standing.dealt(item).shares]


def share(house, room):
    return standing_now(house).dealt(TAPE).of(job_of(room, "taping").pk)


def test_draft_gives_no_claim(by, house, room):
    draft(by, room, phases=["taping"])
    assert served(house) == []


def test_placed_order_gives_its_jobs_a_claim_on_all_they_take(by, house, room):
    order_all(by, room, phases=["taping"])
    needed = {
        item
        for item, needs in standing_now(house).needs.items()
        if any(need.job == job_of(room, "taping").pk for need in needs)
    }
    assert set(Claim.objects.values_list("item", flat=True)) == needed


def test_jobs_are_served_in_the_order_they_were_ordered(by, house, room, dining):
    order_all(by, dining, phases=["taping"])
    order_all(by, room, phases=["taping"])
    assert served(house) == ["Dining", "Kitchen"]


def test_jobs_of_one_order_are_served_in_the_order_of_the_rooms(by, house, room, dining):
    order_all(by, dining, room, phases=["taping"])
    assert served(house) == ["Kitchen", "Dining"]


def test_what_is_kept_for_a_job_is_not_free(by, house, room):
    found(by, house, 50)
    keep_for(by=by, house=house, wanted=[(job_of(room, "taping").pk, TAPE)])
    dealt = standing_now(house).dealt(TAPE)
    assert (dealt.shares[0].here, dealt.free_here) == (50, 0)


def test_keeping_twice_is_refused(by, house, room):
    wanted = [(job_of(room, "taping").pk, TAPE)]
    keep_for(by=by, house=house, wanted=wanted)
    with pytest.raises(Refused, match="already"):
        keep_for(by=by, house=house, wanted=wanted)


def test_what_is_set_free_is_free_and_its_job_is_not_short_of_it(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    set_free(by=by, job=job_of(room, "taping"), item=TAPE)
    dealt = standing_now(house).dealt(TAPE)
    assert (dealt.shares, dealt.free_here) == ((), dealt.supply.here)


def test_setting_one_item_free_leaves_the_others_claimed(by, house, room):
    receive(by, order_all(by, room, phases=["taping"]))
    set_free(by=by, job=job_of(room, "taping"), item=TAPE)
    assert served(house, "compound-drying") == ["Kitchen"]


def test_setting_free_what_nobody_kept_is_refused(by, house, room):
    with pytest.raises(Refused, match="Nothing of this is kept"):
        set_free(by=by, job=job_of(room, "taping"), item=TAPE)


def test_ordering_again_claims_again_what_was_set_free(by, house, room):
    order_all(by, room, phases=["taping"])
    set_free(by=by, job=job_of(room, "taping"), item=TAPE)
    order_all(by, room, phases=["taping"])
    assert served(house) == ["Kitchen"]


def test_job_put_first_takes_what_is_here(by, house, room, dining):
    order_all(by, room, phases=["taping"])
    order_all(by, dining, phases=["taping"])
    found(by, house, 20)
    assert share(house, dining).here == 0
    put_first(by=by, job=job_of(dining, "taping"), item=TAPE)
    assert served(house) == ["Dining", "Kitchen"]
    assert share(house, dining).here == 20


def test_later_one_put_first_goes_before_the_one_before_it(by, house, room, dining):
    for each in (room, dining):
        order_all(by, each, phases=["taping"])
        put_first(by=by, job=job_of(each, "taping"), item=TAPE)
    assert served(house) == ["Dining", "Kitchen"]


def test_done_job_gives_up_what_it_held_and_takes_its_place_again_when_reopened(
    by, house, room, dining
):
    order_all(by, room, phases=["taping"])
    order_all(by, dining, phases=["taping"])
    finish(by, room, "taping")
    assert served(house) == ["Dining"]
    phase_set_state(by=by, phase=job_of(room, "taping"), state="in progress")
    assert served(house) == ["Kitchen", "Dining"]


def test_order_taken_back_frees_its_room_for_another_order(by, house, room):
    order = order_all(by, room, phases=["taping"])
    lines = [(line.item, line.packs) for line in order.lines.all()]
    orders.order_take_back(by=by, order=order)
    assert served(house) == []
    again = draft(by, room, phases=["taping"])
    assert [(line.item, line.packs) for line in again.lines.all()] == lines


def test_job_keeps_its_claims_where_another_order_for_it_stands(by, house, room):
    first = order_all(by, room, phases=["taping"])
    second = order_all(by, room, phases=["taping"])
    orders.order_take_back(by=by, order=first)
    assert served(house) == ["Kitchen"]
    assert set(Claim.objects.filter(ended_at=None).values_list("order", flat=True)) == {second.pk}


def test_order_after_one_that_was_taken_back_begins_claims_of_its_own(by, house, room):
    orders.order_take_back(by=by, order=order_all(by, room, phases=["taping"]))
    order_all(by, room, phases=["taping"])
    assert served(house) == ["Kitchen"]


def test_claim_of_an_order_that_was_removed_holds_no_place(by, house, room):
    order = order_all(by, room, phases=["taping"])
    type(order).objects.filter(pk=order.pk).update(deleted_at=order.placed_at)
    assert served(house) == []
    order_all(by, room, phases=["taping"])
    assert served(house) == ["Kitchen"]


def test_whoever_was_ordered_for_first_is_named_short_when_goods_are_spoiled(
    by, house, room, dining
):
    for each in (room, dining):
        receive(by, order_all(by, each, phases=["taping"]))
    standing = standing_now(house)
    here = standing.dealt(TAPE)
    spoil = here.supply.here - here.shares[0].need - here.shares[1].need + 5
    move(by=by, house=house, item=TAPE, kind="spoiled", amount=amount(spoil, "ft"))
    assert share(house, room).short == 0
    assert share(house, dining).short == 5


def test_met_wholly_from_stock_an_order_keeps_what_it_needs_and_is_closed(by, house, room):
    found(by, house, 5000)
    order = draft(by, room, phases=["taping"])
    for line in order.lines.exclude(item=TAPE).exclude(pack=""):
        move(by=by, house=house, item=line.item, kind="found", amount=line.pack_amount, pieces=30)
    placed = place(by, order)
    assert (placed.state, [line for line in placed.lines.all() if line.packs]) == ("closed", [])
    assert served(house) == ["Kitchen"]
