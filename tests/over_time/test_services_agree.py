"""The product's services and the model give the same answers after every step of a history."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Protocol

import pytest

from remodel.pages.supply.forms import ReceiveForm
from remodel.pages.supply.forms_stock import CountLeftForm
from remodel.pages.work.forms import DayForm
from tests.over_time.histories import History, make_history
from tests.over_time.identities import Step
from tests.over_time.model import Model
from tests.over_time.pages import Pages
from tests.over_time.service_faults import FAULTS, Fault
from tests.over_time.services import Services, without_engine
from tests.over_time.tracker import House, Item, Job, Pack, Refused, Sheet, Tracker, Unit, Work

pytestmark = pytest.mark.django_db

SEEDS = range(2)
FORMS_SEED = 44  # of those that are told to pages, one that sends many forms in little time
DEEP_SEEDS = range(2000, 2300)
BUYING_EVERY = 5  # steps; what would be bought costs more to ask than how things stand


class Tell(Protocol):
    """Plays the history of a seed on both sides."""

    def __call__(self, seed: int, *, to_the_end: bool) -> None: ...


@pytest.fixture(autouse=True)
def no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    without_engine(monkeypatch)


def is_refused(tracker: Tracker, step: Step) -> str:
    """Say one step. Gives why it was refused, or nothing."""
    try:
        getattr(tracker, step.name)(**step.args)
    except Refused as error:
        return str(error) or "refused"
    return ""


def compare(history: History, services: Services) -> None:
    """Say a history to the model and to the services, side by side."""
    print(history)
    model = Model(history.house)
    for number, step in enumerate(history.steps):
        try:
            _compare_step(number, step, history, model, services)
        except Exception as error:
            past = "\n".join(f"  {one}" for one in history.steps[max(0, number - 12) : number + 1])
            raise AssertionError(f"{history}\nstep {number}:\n{past}\n{error!r}") from error


def _compare_step(
    number: int, step: Step, history: History, model: Model, services: Services
) -> None:
    expected, refusal = is_refused(model, step), is_refused(services, step)
    assert bool(expected) == bool(refusal), f"the services: {refusal}; the model: {expected}"
    for item in (item.name for item in history.house.items):
        one, other = model.standing(item), services.standing(item)
        assert one == other, f"{item}:\n  model    {one}\n  services {other}"
        assert list(one.shares) == list(other.shares), f"{item} is dealt in another order"
        for job in history.house.jobs:
            needs = model.remaining(job.name, item), services.remaining(job.name, item)
            assert needs[0] == needs[1], f"{job.name} still needs {needs} of {item}"
    if step.name == "place" and not refusal:
        order = step.args["order"]
        ordered = {line: packs for line, packs in model.orders[order].lines.items() if packs}
        assert ordered == services.lines(order), f"{ordered}, not {services.lines(order)}"
    if number % BUYING_EVERY == 0 or step.name in ("place", "receive", "return_"):
        _compare_buying(number, history, model, services)


def _compare_buying(number: int, history: History, model: Model, services: Services) -> None:
    jobs = [job.name for job in history.house.jobs]
    for asked in ([], jobs, [jobs[number % len(jobs)]]):
        one, other = dict(model.to_buy(asked)), dict(services.to_buy(asked))
        assert one == other, f"to buy for {asked}: {one} and {other}"
    for order, row in model.orders.items():
        if row.state == "draft" and not row.by_hand:
            one, other = dict(model.to_buy(row.jobs)), dict(services.draft_lines(order))
            assert one == other, f"{order} would buy {one} and {other}"
    assert model.money() == services.money(), f"{model.money()} and {services.money()}"


@pytest.fixture
def tell(settings: Any) -> Tell:
    """Play the history of a seed in a house. Every third is metric; of ten one is told to pages."""
    settings.HOSTED = True

    def play(seed: int, *, to_the_end: bool) -> None:
        history = make_history(seed, to_the_end=to_the_end)
        kind = Pages if seed % 10 == 4 else Services
        compare(history, kind(history.house, metric=seed % 3 == 1))

    return play


@pytest.mark.parametrize("seed", [*SEEDS, FORMS_SEED])
def test_services_and_model_agree_after_every_step(seed: int, tell: Tell) -> None:
    tell(seed, to_the_end=False)


@pytest.mark.deep
@pytest.mark.parametrize("seed", DEEP_SEEDS)
def test_services_and_model_agree_in_hundreds_of_histories(seed: int, tell: Tell) -> None:
    tell(seed, to_the_end=seed % 4 == 0)


def room(name: str) -> Job:
    """A job of one sheet in two pieces, and 40 screws."""
    takes = (("screws", 20_000),)
    units = tuple(Unit(f"{name}-{piece}", takes, f"{name} sheet") for piece in "ab")
    return Job(f"{name} hanging", Work(units, (Sheet(f"{name} sheet", "board"),)))


def story(
    *steps: tuple[str, dict[str, Any]], kind: Callable[[House], Services] = Services
) -> Services:
    """Compare both through a few steps of a house with two rooms."""
    items = (
        Item("board", (Pack("sheet", 1000, 1501),), is_sheet=True),
        Item("screws", (Pack("box", 100_000, 601),)),
    )
    house = House(items, (room("Den"), room("Hall")))
    services = kind(house)
    compare(History(0, house, tuple(Step(*step) for step in steps)), services)
    return services


DEN, HALL = {"job": "Den hanging"}, {"job": "Hall hanging"}


def test_a_tick_made_again_after_a_count_uses_its_estimate_again() -> None:
    tick = DEN | {"unit": "Den-a"}
    count = {"item": "screws", "amount": 100_000}
    found = ("found", count)
    story(found, ("tick", tick), ("count", count), ("untick", tick), ("tick", tick))
    story(found, ("done", DEN), ("count", count), ("reopen", DEN), ("done", DEN))


def test_the_job_put_first_last_is_served_first() -> None:
    kept = (("keep_for", DEN), ("keep_for", HALL))
    found = ("found", {"item": "screws", "amount": 50_000})
    story(*kept, found, ("first", HALL), ("first", DEN), ("first", HALL))


def test_a_job_keeps_its_place_when_it_is_ordered_for_again() -> None:
    new = Unit("more", (("screws", 30_000),), "more sheet")
    more = {"add": Work((new,), (Sheet("more sheet", "board"),)), "remove": Work()}
    bare = {"add": Work(), "remove": Work(room("Den").work.units)}
    order = {"order": "one"}
    story(
        ("found", {"item": "screws", "amount": 50_000}),
        ("edit", DEN | bare | {"edit": "no screws"}),
        ("keep_for", DEN),
        ("keep_for", HALL),
        ("edit", DEN | more | {"edit": "some screws"}),
        ("draft", order | {"jobs": ["Den hanging"]}),
        ("place", order),
        ("take_back", order),
    )


def receipt(
    order: str, boxes: int, *, paid: int | None = None, more: bool = False
) -> tuple[str, dict[str, Any]]:
    """Boxes of screws that came."""
    screws = ("screws", "box")
    return (
        "receive",
        {
            "receipt": f"{order} {boxes}",
            "order": order,
            "came": {screws: boxes},
            "paid": None if paid is None else {screws: paid},
            "keep_more": more,
        },
    )


def entry(name: str, job: str | None, amount: int) -> dict[str, Any]:
    return {"entry": name, "job": job, "item": "screws", "amount": amount}


SCREWS = {"item": "screws"}
FORMS: Mapping[str, list[tuple[str, dict[str, Any]]]] = {
    "an order and its end": [
        ("draft", {"order": "one", "jobs": ["Den hanging"]}),
        ("by_hand", {"order": "one", "item": "screws", "packs": {"box": 4}}),
        ("place", {"order": "one"}),
        receipt("one", 2),
        receipt("one", 3),
        receipt("one", 3, paid=1234, more=True),
        ("take_back_receipt", {"receipt": "one 3"}),
        ("take_back", {"order": "one"}),
        receipt("one", 1, paid=599),
        ("return_", SCREWS | {"packs": {"box": 4}, "refund": 2404}),
        ("return_", SCREWS | {"packs": {"box": 1}, "refund": 601}),
        ("close", {"order": "one"}),
    ],
    "drafts that come to nothing": [
        ("draft", {"order": "one", "jobs": ["Den hanging", "Hall hanging"]}),
        ("place", {"order": "one"}),
        ("draft", {"order": "two", "jobs": ["Hall hanging"]}),
        ("take_back", {"order": "one"}),
        ("discard", {"order": "two"}),
    ],
    "claims": [
        ("found", SCREWS | {"amount": 50_000}),
        ("keep_for", DEN),
        ("keep_for", HALL),
        ("first", HALL),
        ("release", DEN),
    ],
    "work": [
        ("cut", DEN | {"sheet": "Den sheet"}),
        ("tick", DEN | {"unit": "Den-a"}),
        ("untick", DEN | {"unit": "Den-a"}),
        ("uncut", DEN | {"sheet": "Den sheet"}),
        ("done", DEN),
        ("reopen", DEN),
    ],
    "entries of stock": [
        ("found", SCREWS | {"amount": 230_500}),
        ("move", SCREWS | {"amount": 250_000}),
        ("move", SCREWS | {"amount": 100_000}),
        ("spoil", entry("wet", None, 2_500)),
        ("spoil", entry("bent", "Den hanging", 1_000)),
        ("log", entry("used", "Den hanging", 100_000)),
        ("take_back_entry", {"entry": "wet"}),
        ("take_back_entry", {"entry": "used"}),
        ("count", SCREWS | {"amount": 123_500}),
        ("ran_out", SCREWS),
        ("log", entry("more", "Den hanging", 9_000)),
        ("ran_out", SCREWS),
    ],
}
SENT = {
    "an order and its end": {
        *("order-new", "order-refresh", "order-line", "order-place", "order-receive"),
        *("receipt-take-back", "order-return", "order-close"),
    },
    "drafts that come to nothing": {
        *("order-new", "order-place", "order-take-back", "order-remove"),
    },
    "claims": {"stock-found", "stock-keep", "stock-first", "stock-free"},
    "work": {"room-tick", "phase-detail"},
    "entries of stock": {
        *("stock-found", "stock-move", "stock-spoil", "log-add", "stock-reverse", "stock-count"),
        "stock-out",
    },
}


@pytest.mark.parametrize("name", FORMS)
def test_pages_take_each_step_by_a_form_of_theirs(name: str, settings: Any) -> None:
    settings.HOSTED = True
    pages = story(*FORMS[name], kind=Pages)
    assert isinstance(pages, Pages)
    assert pages.sent == SENT[name]


def money_not_read(patch: pytest.MonkeyPatch) -> None:
    receipts: Any = ReceiveForm.receipts
    unpaid = property(lambda form: [(*one[:2], None) for one in receipts.fget(form)])
    patch.setattr(ReceiveForm, "receipts", unpaid)


def loose_not_counted(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(CountLeftForm, "remaining", property(lambda form: form.counted[0]))


def spoiled_is_used(patch: pytest.MonkeyPatch) -> None:
    taken: Any = DayForm.taken
    used = property(
        lambda form: [
            replace(one, used=one.used or one.spoiled, spoiled=None) for one in taken.fget(form)
        ]
    )
    patch.setattr(DayForm, "taken", used)


@pytest.mark.parametrize(
    ("fault", "name"),
    [
        (money_not_read, "an order and its end"),
        (loose_not_counted, "entries of stock"),
        (spoiled_is_used, "entries of stock"),
    ],
)
def test_a_fault_planted_in_a_form_is_told(
    fault: Fault, name: str, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.HOSTED = True
    fault(monkeypatch)
    with pytest.raises(AssertionError) as told:
        story(*FORMS[name], kind=Pages)
    assert isinstance(told.value.__cause__, AssertionError), told.value


# The history that tells a fault soonest, where it is not the first.
TOLD_BY = {
    "claims_outlive_their_order": 1,
    "counts_settle_nothing": 1,
    "first_stays_where_it_is": 3,
}


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_fault_planted_in_a_service_is_told(
    fault: Fault, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the comparison of what both answer in a history, not by a crash."""
    fault(monkeypatch)
    history = make_history(TOLD_BY.get(fault.__name__, 0), to_the_end=False)
    with pytest.raises(AssertionError) as told:
        compare(history, Services(history.house))
    assert isinstance(told.value.__cause__, AssertionError), told.value
