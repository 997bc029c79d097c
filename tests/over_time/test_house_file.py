"""The file of a house reads back at any time of the house's life: as the same rooms, rules and
catalogue, with the offcuts and the stock that are here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from io import StringIO
from itertools import count
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction

from remodel.bridge import house_value
from remodel.bridge.carried import MOST_ALIKE
from remodel.bridge.files import read_house_file
from remodel.bridge.lengths import FOOT, INCH, Amount, amount, convert
from remodel.history import errors
from remodel.history.services import By
from remodel.house.models import House, Partition
from remodel.house.partitions import partition_remove
from remodel.house.queries import whole_house
from remodel.house.services import house_set_rules, room_change, room_remove
from remodel.house_files.files import file_of_house, house_from_file, what_a_file_carries
from remodel.house_files.new import default_catalogue
from remodel.supply.ledger import here_of, move
from remodel.supply.models import Material, OwnedSheet, SheetOnSale
from remodel.supply.services import (
    owned_sheet_add,
    owned_sheet_gone,
    pack_change,
    sheet_change,
    sheet_remove,
)
from remodel.work.services import phase_add, phase_change
from tests.over_time.histories import History, make_history
from tests.over_time.services import OF_HISTORY, Services, without_engine
from tests.over_time.tracker import Refused
from tests.remodel.factories import ada, demo_house

pytestmark = pytest.mark.django_db

DEMOS = ("hollow-lane", "quay-flat")
STEPS = 28
IMPORT_EVERY = 9


@pytest.fixture(autouse=True)
def no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    without_engine(monkeypatch)


# What else happens in a house. Each is tried at random, and refused where it makes no sense.


def add_offcuts(random: Random, services: Services) -> None:
    size = {"width": random.randint(12, 48) * INCH, "length": random.randint(12, 90) * INCH}
    owned_sheet_add(
        by=services.by,
        house=services.row,
        board=random.choice(list(services.row.board_kinds.values_list("key", flat=True))),
        thickness=INCH // 2,
        count=random.randint(1, 4),
        factory_edges=random.randint(0, 2),
        **size,
    )


def an_offcut(random: Random, services: Services) -> OwnedSheet:
    rows = [row for row in OwnedSheet.objects.filter(house=services.row) if row.here]
    return random.choice(rows) if rows else _nothing()


def _nothing() -> Any:
    raise Refused("there is none")


def spoil_an_offcut(random: Random, services: Services) -> None:
    owned_sheet_gone(by=services.by, sheet=an_offcut(random, services))


def cut_an_offcut_up(random: Random, services: Services) -> None:
    row = an_offcut(random, services)
    OwnedSheet.objects.filter(pk=row.pk).update(cut_up=row.cut_up + 1)


def find_sheets(random: Random, services: Services) -> None:
    """Of a size on sale, or of one that never was."""
    item = random.choice(["sheet-regular-0.5x48x96in", "sheet-regular-0.5x48x91in"])
    kind = random.choice(["found", "used", "spoiled"])
    pieces = amount(random.randint(1, 5), "each")
    move(by=services.by, house=services.row, item=item, kind=kind, amount=pieces)


def find_sticks(random: Random, services: Services) -> None:
    cut = Material.objects.filter(house=services.row, cut=True)
    item = random.choice(list(cut.values_list("key", flat=True)))
    length = amount(random.choice([8, 10, Fraction(25, 3)]), "ft")
    kind, pieces = random.choice([("found", 3), ("found", 1200), ("used", 2)])
    move(by=services.by, house=services.row, item=item, kind=kind, amount=length, pieces=pieces)


def find_anything(random: Random, services: Services) -> None:
    """In a unit that nothing is sold by, and of what is not on sale."""
    item, unit = random.choice(
        [("tape-paper", "m"), ("adhesive", "lb"), ("old-nails", "each"), ("primer", "1/3 gal")]
    )
    some = Amount(Fraction(1, 3), "gal") if unit == "1/3 gal" else amount(5, unit)
    move(by=services.by, house=services.row, item=item, kind="found", amount=some)


def take_off_sale(random: Random, services: Services) -> None:
    sheets = SheetOnSale.objects.filter(house=services.row, board="regular")
    sheet_remove(by=services.by, sheet=random.choice(list(sheets)))


def change_a_price(random: Random, services: Services) -> None:
    sheets = SheetOnSale.objects.filter(house=services.row)
    sheet_change(by=services.by, sheet=random.choice(list(sheets)), price=random.randint(0, 9999))


def sell_by_another_unit(random: Random, services: Services) -> None:
    material = random.choice(list(Material.objects.filter(house=services.row, cut=False)))
    for pack in material.packs.all():
        pack_change(by=services.by, pack=pack, holds=amount(3, random.choice(["lb", "each"])))


def own_phase(random: Random, services: Services) -> None:
    room = random.choice(list(services.row.rooms.all()))
    phase = phase_add(by=services.by, room=room, name="Trim, 2nd time")
    phase_change(by=services.by, phase=phase, left_out=random.random() < 0.5)


def finish_a_room(random: Random, services: Services) -> None:
    room = random.choice(list(services.row.rooms.all()))
    room_change(by=services.by, room=room, finished=not room.finished)


def remove_a_room(random: Random, services: Services) -> None:
    """One of the house's own; those of the history are asked about later."""
    rooms = list(services.row.rooms.filter(position__lt=OF_HISTORY))
    if random.random() < 0.2:
        room_remove(by=services.by, room=random.choice(rooms) if rooms else _nothing())


def remove_a_partition(random: Random, services: Services) -> None:
    rows = list(Partition.objects.filter(house=services.row))
    if random.random() < 0.3:
        partition_remove(by=services.by, partition=random.choice(rows) if rows else _nothing())


def change_a_rule(random: Random, services: Services) -> None:
    house_set_rules(
        by=services.by, house=services.row, floor_gap=random.randint(0, 19) * INCH // 16
    )


ELSE: tuple[Callable[[Random, Services], None], ...] = (
    add_offcuts,
    add_offcuts,
    spoil_an_offcut,
    cut_an_offcut_up,
    find_sheets,
    find_sheets,
    find_sticks,
    find_anything,
    take_off_sale,
    change_a_price,
    sell_by_another_unit,
    own_phase,
    finish_a_room,
    remove_a_room,
    remove_a_partition,
    change_a_rule,
)


def check_file(house: House, *, bring_in: bool) -> None:
    carried = what_a_file_carries(house)
    value = read_house_file(carried.text, default_catalogue())
    row = whole_house(house)
    rows = house_value(row)
    assert value == replace(
        rows, rules=replace(rows.rules, owned=value.rules.owned), stock=value.stock
    )
    offcuts = {sheet.id: sheet.count for sheet in value.rules.owned}
    assert offcuts == {sheet.key: sheet.here for sheet in row.owned_sheets.all() if sheet.here}
    check_stock(house, value, " ".join(carried.left_out))
    if bring_in:
        copy = house_from_file(by=By(ada()), text=carried.text)
        again = what_a_file_carries(copy)
        assert (again.house, again.left_out) == (value, ())


def check_stock(house: House, value: Any, left_out: str) -> None:
    """Each item is in the file as it is here, or a sentence of what is left out names it."""
    names = dict(Material.objects.filter(house=house).values_list("key", "name"))
    cut = set(Material.objects.filter(house=house, cut=True).values_list("key", flat=True))
    written: dict[str, list[Amount]] = {}
    for item in value.stock:
        written.setdefault(item.material, []).append(item.amount)
    here = here_of(house)
    assert set(written) <= set(here)
    for key, one in here.items():
        inside = written.get(key, [])
        if key in cut:
            counts = Counter(int(convert(stick, "ft").value * FOOT) for stick in inside)
            for length, number in one.sticks.items():
                told = names[key] in left_out and (number < 0 or number > MOST_ALIKE)
                assert counts[length] == max(0, min(number, MOST_ALIKE))
                assert told or counts[length] == number
            continue
        total = sum((convert(some, one.unit).value for some in inside), Fraction(0))
        if total != one.amount:
            assert total == 0
            assert _name(key, names) in left_out


def _name(key: str, names: dict[str, str]) -> str:
    """What a sentence calls an item, at least in part."""
    if key.startswith("sheet-"):
        length = int(key.rpartition("x")[2].removesuffix("in"))
        return f"48 in x {length // 12} ft" if length % 12 == 0 else f"48 in x {length} in"
    return names.get(key, key)


def history_of_eight_rooms(seed: int) -> History:
    """The history of the first seed from this one on whose house has eight rooms."""
    for number in count(seed):
        history = make_history(number)
        if len({job.name.rpartition(" ")[0] for job in history.house.jobs}) == 8:
            return history
    raise AssertionError("no seed has eight rooms")


def play(name: str, seed: int, steps: int) -> House:
    """A history in a demo house, its file read after every step."""
    history = history_of_eight_rooms(seed)
    row = demo_house(ada(), name)
    services = Services(history.house, metric=row.units == "mm", row=row)
    random = Random(seed)
    check_file(row, bring_in=True)
    for number, step in enumerate(history.steps[:steps]):
        more = random.choice(ELSE)
        with suppress(Refused):
            getattr(services, step.name)(**step.args)
        with suppress(errors.Refused, Refused), transaction.atomic():
            more(random, services)
        try:
            check_file(row, bring_in=number % IMPORT_EVERY == 0)
        except Exception as error:
            raise AssertionError(
                f"{name} {seed}, step {number}: {step}; {more.__name__}"
            ) from error
    return row


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.deep) for name in DEMOS[:1]] + [*DEMOS[1:]]
)
def test_file_reads_back_after_every_step(name: str) -> None:
    play(name, 3, STEPS)


def test_command_works_out_the_file_of_a_house_some_way_on(tmp_path: Path) -> None:
    house = play("quay-flat", 12, 12)
    path = tmp_path / "house.json"
    path.write_text(file_of_house(house))
    out = StringIO()
    call_command("takeoff", path, "--search=0", stdout=out)
    assert "\nHANGING\n" in out.getvalue()


@pytest.mark.deep
@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("seed", range(1000, 1100, 5))
def test_file_reads_back_in_many_histories(name: str, seed: int) -> None:
    play(name, seed, 400)
