"""What came and went back is entered once: from an older page, by another person, by a press sent
again."""

import pytest
from django.urls import reverse

from remodel.history.errors import Overtaken
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.supply.models import Movement, OrderLine, Receipt, Returned
from remodel.supply.orders import (
    movements_of_order,
    order_line_set,
    order_make,
    order_place,
    order_receive,
    order_receive_all,
    order_return,
)
from tests.remodel.factories import ada, ben, demo_house
from tests.remodel.page_forms import forms_of
from tests.remodel.site import browser, share

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(settings):
    settings.HOSTED = True
    house = demo_house(ada(), "quay-flat")
    share(house, ben())
    by = By(ada())
    draft = order_make(by=by, house=house, phases=["taping"], rooms=list(house.rooms.all()[:1]))
    for line in draft.lines.filter(packs__gt=0):
        order_line_set(by=by, line=line, packs=line.packs + 2, reason="Two spare")
    return order_place(by=by, order=draft, without_prices=True)


@pytest.fixture
def line(order):
    return next(line for line in OrderLine.objects.filter(order=order) if line.packs)


def form_of(answer, address):
    return next(
        form for form in forms_of(answer.content.decode(), address) if form.action == address
    )


def page_of(person, address):
    return form_of(browser(person).get(address), address)


def paid(form):
    return {name: ["10"] for name in form.controls if name.startswith("paid-")}


def test_delivery_typed_by_both_is_booked_once_and_the_second_is_told_whose_it_is(order, line):
    address = reverse("order-receive", args=[order.pk])
    mine, yours = page_of(ada(), address), page_of(ben(), address)
    assert browser(ada()).post(address, mine.data(paid(mine))).status_code == 302
    booked = Receipt.objects.count()
    answer = browser(ben()).post(address, yours.data(paid(yours)))

    assert answer.status_code == 409
    assert "Ada entered" in answer.content.decode()
    assert Receipt.objects.count() == booked
    again = form_of(answer, address)
    # what was typed is still there
    assert again.controls[f"came-{line.pk}"].values == [str(line.packs)]


def test_told_once_the_rest_of_it_can_be_saved(order, line):
    address = reverse("order-receive", args=[order.pk])
    form = page_of(ben(), address)
    order_receive(by=By(ada()), line=line, packs=1, paid=1000)
    answer = browser(ben()).post(address, form.data(paid(form)))
    assert answer.status_code == 409
    again = form_of(answer, address)
    # One of it came already, so all of it is more than is to come.
    assert browser(ben()).post(address, again.data(paid(again))).status_code == 422
    rest = paid(again) | {f"came-{line.pk}": [str(line.packs - 1)]}
    assert browser(ben()).post(address, again.data(rest)).status_code == 302


def test_press_sent_again_is_answered_as_saved_although_nothing_is_to_come(order):
    address = reverse("order-receive", args=[order.pk])
    form = page_of(ada(), address)
    client = browser(ada())
    assert [client.post(address, form.data(paid(form))).status_code for _ in range(2)] == [302, 302]
    assert Receipt.objects.count() == len(paid(form))


def test_delivery_is_refused_where_another_was_entered_since(order, line):
    stale = Seen.of(movements=movements_of_order(order).count())
    order_receive(by=By(ada()), line=line, packs=1, paid=1000)
    with pytest.raises(Overtaken, match=rf"Ada entered 1 x {line.pack}"):
        order_receive_all(by=By(ben(), seen=stale), order=order, receipts=[(line, 1, 1000)])
    assert Movement.objects.filter(line=line).count() == 1


def test_return_is_refused_where_another_was_entered_since(order, line):
    order_receive(by=By(ada()), line=line, packs=line.packs, paid=1000)  # two more than are needed
    stale = Seen.of(movements=movements_of_order(order).count())
    order_return(by=By(ada(), seen=stale), line=line, packs=1, refund=1000)
    with pytest.raises(Overtaken, match="as returned"):
        order_return(by=By(ben(), seen=stale), line=line, packs=1, refund=1000)
    assert Returned.objects.count() == 1
