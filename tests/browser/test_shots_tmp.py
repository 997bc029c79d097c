from fractions import Fraction
import pytest
from django.urls import reverse
from remodel.board.queries import takes_of_house
from remodel.bridge.lengths import Amount
from remodel.cards.queries import cards_for
from remodel.history.services import By
from remodel.house.models import Room
from remodel.people.services import household
from remodel.supply.ledger import move
from remodel.logbook import day_log_add
from remodel.ticks import Ticked, tick_all
from tests.browser.reading import violations
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)


def test_shots(visit, live_server):
    by = By(household())
    house = small_house(by.person, "Kitchen")
    room = Room.objects.get(house=house)
    for item, n, u in (
        ("compound-drying", 5, "gal"),
        ("tape-paper", 500, "ft"),
        ("screws-coarse-1-1/4", 900, "each"),
        ("primer", 1, "gal"),
        ("paint", 2, "gal"),
    ):
        move(by=by, house=house, item=item, kind="received", amount=Amount(Fraction(n), u))
    mine = takes_of_house(house.pk)[room.pk]
    sheets = [s for s in cards_for(room).sheets if any(not r.planned for r in s.rests)]
    sheet = sheets[0]
    tick_all(by=by, room=room, ticks=[Ticked("cut", p.key, sheet.plan) for p in sheet.pieces])
    tick_all(
        by=by,
        room=room,
        ticks=[Ticked("hung", p.key, p.plan) for p in mine.places if p.key.startswith("ceiling")],
    )
    tick_all(
        by=by,
        room=room,
        ticks=[Ticked("taped", "A"), Ticked("taped", "ceiling"), Ticked("second", "A")],
    )
    taping = room.phases.get(key="taping")
    day_log_add(
        by=by,
        room=room,
        phase=room.phases.get(key="taping"),
        minutes=90,
        used=[("tape-paper", Amount(Fraction(120), "ft"), 1)],
    )
    urls = {
        "card": reverse("room-card", args=[room.pk, sheet.key]),
        "hanging": reverse("room-hanging", args=[room.pk]),
        "coats": reverse("phase-detail", args=[taping.pk]) + "?state=done",
        "finish": reverse("phase-detail", args=[room.phases.get(key="finishing").pk]),
        "log": reverse("log-add", args=[taping.pk]),
        "loglist": reverse("log-list", args=[house.pk]),
        "use": reverse("use-list", args=[house.pk]),
        "history": reverse("room-history", args=[room.pk]),
    }
    problems = []
    for size in ("phone", "laptop"):
        for name, url in urls.items():
            page = visit(url, size)
            if name == "hanging":
                page.evaluate("document.querySelector('.at-once').open = true")
            wide = page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            page.screenshot(path=f"/tmp/shot-{name}-{size}.png", full_page=True)
            found = violations(page, "light")
            if wide or found:
                problems.append((name, size, wide, found))
            page.context.close()
    print(problems)
    assert not problems
