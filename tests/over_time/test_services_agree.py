"""The product's services and the model give the same answers after every step of a history."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.over_time.histories import History, make_history
from tests.over_time.identities import Step
from tests.over_time.model import Model
from tests.over_time.pages import Pages
from tests.over_time.service_faults import FAULTS, Fault
from tests.over_time.services import Services, without_engine
from tests.over_time.tracker import Refused, Tracker

pytestmark = pytest.mark.django_db

SEEDS = range(5)
DEEP_SEEDS = range(2000, 2300)
FAULTY_SEED = 4
BUYING_EVERY = 5  # steps; what would be bought costs more to ask than how things stand


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
def tell(settings: Any) -> Callable[[int, int], None]:
    """Play the history of a seed in a house. Every third is metric; of ten one is told to pages."""
    settings.HOSTED = True

    def play(seed: int, steps: int) -> None:
        history = make_history(seed, steps)
        kind = Pages if seed % 10 == 4 else Services
        compare(history, kind(history.house, metric=seed % 3 == 1))

    return play


@pytest.mark.parametrize("seed", SEEDS)
def test_services_and_model_agree_after_every_step(
    seed: int, tell: Callable[[int, int], None]
) -> None:
    tell(seed, 60)


@pytest.mark.deep
@pytest.mark.parametrize("seed", DEEP_SEEDS)
def test_services_and_model_agree_in_hundreds_of_histories(
    seed: int, tell: Callable[[int, int], None]
) -> None:
    tell(seed, 90)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_fault_planted_in_a_service_is_told(
    fault: Fault, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the comparison of what both answer, not by a crash."""
    history = make_history(FAULTY_SEED, steps=60)
    fault(monkeypatch)
    with pytest.raises(AssertionError) as told:
        compare(history, Services(history.house))
    assert isinstance(told.value.__cause__, AssertionError)
