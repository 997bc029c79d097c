"""What ticks use by estimate, and the facts that replace it."""

from fractions import Fraction

import pytest

from remodel.board.queries import takes_of_house
from remodel.bridge.lengths import amount
from remodel.logbook import day_log_add
from remodel.supply.ledger import count_left, here_of, move, reverse
from remodel.supply.models import CutSheet, Estimate, Movement
from remodel.ticks import tick
from remodel.work.services import phase_set_state
from tests.remodel.site import with_partition
from tests.remodel.supply.steps import coat, finish, hang, job_of, order_all, receive, standing_now

pytestmark = pytest.mark.django_db
SCREWS, TAPE = "screw-coarse-1.25", "tape-paper"


@pytest.fixture
def ready(by, house, room):
    """The kitchen with all that hanging and taping take."""
    receive(by, order_all(by, room, phases=["hanging", "taping"]))
    return room


def here(house, item):
    return here_of(house, item)[item].amount


def whole_need(house, item):
    return sum(need.amount for need in standing_now(house).needs[item])


def log_used(by, room, item, value, unit="each", phase="hanging"):
    return day_log_add(
        by=by, room=room, phase=job_of(room, phase), used=[(item, amount(value, unit), 1)]
    )


def test_board_that_hangs_uses_up_its_screws_by_estimate(by, house, ready):
    before, need = here(house, SCREWS), whole_need(house, SCREWS)
    hang(by, ready, 2)
    used = before - here(house, SCREWS)
    assert used == need - whole_need(house, SCREWS) > 0
    assert here_of(house, SCREWS)[SCREWS].estimated == used


def test_tick_that_is_taken_back_uses_nothing(by, house, ready):
    before = standing_now(house).supply
    hang(by, ready, 1)
    board = takes_of_house(house.pk)[ready.pk].places[0]
    for kind in ("hung", "cut"):
        tick(by=by, room=ready, kind=kind, item=board.key, done=False)
    assert standing_now(house).supply == before


def test_log_of_a_job_replaces_its_estimate(by, house, ready):
    before = here(house, SCREWS)
    hang(by, ready, 3)
    log_used(by, ready, SCREWS, 17)
    assert here(house, SCREWS) == before - 17


def test_log_taken_back_revives_the_estimate(by, house, ready):
    hang(by, ready, 3)
    by_estimate = here(house, SCREWS)
    log = log_used(by, ready, SCREWS, 17)
    reverse(by=by, movement=Movement.objects.get(log=log))
    assert here(house, SCREWS) == by_estimate


def test_log_of_another_job_replaces_no_estimate(by, house, ready, dining):
    hang(by, ready, 3)
    by_estimate = here(house, SCREWS)
    log_used(by, dining, SCREWS, 17)
    assert here(house, SCREWS) == by_estimate - 17


def test_count_makes_facts_of_all_estimates_up_to_then(by, house, ready):
    hang(by, ready, 3)
    count_left(by=by, house=house, item=SCREWS, remaining=amount(200, "each"))
    counted = here_of(house, SCREWS)[SCREWS]
    assert (counted.amount, counted.estimated) == (200, 0)


def test_ticks_after_a_count_use_by_estimate_again(by, house, ready):
    hang(by, ready, 2)
    count_left(by=by, house=house, item=SCREWS, remaining=amount(200, "each"))
    need = whole_need(house, SCREWS)
    hang(by, ready, 4)
    assert here(house, SCREWS) == 200 - (need - whole_need(house, SCREWS))


def test_count_taken_back_revives_the_estimates(by, house, ready):
    hang(by, ready, 3)
    by_estimate = here_of(house, SCREWS)[SCREWS]
    count = count_left(by=by, house=house, item=SCREWS, remaining=amount(200, "each"))
    reverse(by=by, movement=count)
    assert here_of(house, SCREWS)[SCREWS] == by_estimate


def test_count_of_exactly_what_the_facts_say_settles_the_estimates_too(by, house, ready):
    full = here(house, SCREWS)
    hang(by, ready, 3)
    count = count_left(by=by, house=house, item=SCREWS, remaining=amount(full, "each"))
    assert (count.value, here(house, SCREWS)) == (0, full)


def test_piece_ticked_anew_after_a_count_is_used_by_estimate_again(by, house, ready):
    before = here(house, SCREWS)
    hang(by, ready, 1)
    used = before - here(house, SCREWS)
    count_left(by=by, house=house, item=SCREWS, remaining=amount(200, "each"))
    board = takes_of_house(house.pk)[ready.pk].places[0]
    for done in (False, True):
        tick(by=by, room=ready, kind="hung", item=board.key, done=done)
    assert here(house, SCREWS) == 200 - used


def test_done_uses_by_estimate_what_nobody_ticked(by, house, ready):
    before, need = here(house, SCREWS), whole_need(house, SCREWS)
    hang(by, ready, 2)
    finish(by, ready, "hanging")
    assert here(house, SCREWS) == before - need


def test_reopened_job_gives_back_what_nobody_ticked(by, house, ready):
    hang(by, ready, 2)
    ticked = here(house, SCREWS)
    finish(by, ready, "hanging")
    phase_set_state(by=by, phase=job_of(ready), state="in progress")
    assert here(house, SCREWS) == ticked


def test_board_ticked_after_its_job_is_done_is_used_once(by, house, ready):
    finish(by, ready, "hanging")
    before = {item: known.amount for item, known in here_of(house).items()}
    hang(by, ready, 3)
    assert {item: known.amount for item, known in here_of(house).items()} == before
    board = takes_of_house(house.pk)[ready.pk].places[0]
    for kind in ("hung", "cut"):
        tick(by=by, room=ready, kind=kind, item=board.key, done=False)
    assert {item: known.amount for item, known in here_of(house).items()} == before


def test_log_after_done_replaces_the_estimate_of_the_whole_job(by, house, ready):
    before = here(house, SCREWS)
    finish(by, ready, "hanging")
    log_used(by, ready, SCREWS, 90)
    assert here(house, SCREWS) == before - 90


def test_done_uses_nothing_that_nobody_ever_wrote_down(by, house, room):
    finish(by, room, "hanging")
    assert not Estimate.objects.exists()
    assert here_of(house) == {}


def test_done_partition_uses_the_sticks_that_were_dealt_to_it(by, house, room):
    with_partition(room, by.person)
    receive(by, order_all(by, room, phases=["partitions"]))
    standing = standing_now(house)
    job = job_of(room, "partitions").pk
    dealt = {
        item: standing.dealt(item).of(job).sticks_here
        for item in standing.needs
        if standing.shop.is_cut(item) and standing.dealt(item).of(job)
    }
    finish(by, room, "partitions")
    after = standing_now(house)
    for item, used in dealt.items():
        assert after.supply[item].sticks_here == standing.supply[item].sticks_here - used
    assert any(dealt.values())


def test_coat_uses_its_part_of_tape_and_compound(by, house, ready):
    before = here(house, TAPE)
    need = whole_need(house, TAPE)
    coat(by, ready, "taped")
    assert before - here(house, TAPE) == need


def test_sheets_a_log_tells_as_used_leave_the_stock_once(by, house, ready):
    hang(by, ready, 3)
    cut = list(CutSheet.objects.values_list("item", flat=True))
    item = cut[0]
    before = here(house, item)
    log_used(by, ready, item, cut.count(item))
    assert here(house, item) == before


def test_log_of_more_sheets_than_are_ticked_takes_the_rest_too(by, house, ready):
    hang(by, ready, 3)
    cut = list(CutSheet.objects.values_list("item", flat=True))
    item = cut[0]
    before = here(house, item)
    log_used(by, ready, item, cut.count(item) + 1)
    assert here(house, item) == before - 1


def test_log_of_sheets_that_is_taken_back_leaves_the_ticks_to_count(by, house, ready):
    hang(by, ready, 3)
    item = CutSheet.objects.values_list("item", flat=True)[0]
    before = here(house, item)
    log = log_used(by, ready, item, 2)
    reverse(by=by, movement=Movement.objects.get(log=log, kind="used"))
    assert here(house, item) == before


def test_use_written_on_the_stock_page_for_a_room_counts_as_its_log(by, house, ready):
    hang(by, ready, 3)
    item = CutSheet.objects.values_list("item", flat=True)[0]
    before = here(house, item)
    move(
        by=by,
        house=house,
        item=item,
        kind="used",
        amount=amount(1, "each"),
        room=ready,
        phase="hanging",
    )
    assert here(house, item) == before


def test_estimates_are_whole_thousandths_that_add_up_to_the_need(by, house, ready):
    need = whole_need(house, SCREWS)
    hang(by, ready)
    total = sum(Estimate.objects.filter(item=SCREWS).values_list("amount", flat=True))
    assert Fraction(total, 1000) == need
