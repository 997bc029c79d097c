"""The whole product through outages: pages and searches go on by themselves, the health page
tells the truth, no write that was acknowledged is lost and no job is done twice. The short
rounds run always, the long ones with `make deep`."""

from __future__ import annotations

import importlib.util
import os
import shutil
import signal
import tempfile
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.outages.product import (
    HALF_WRITE,
    MAKE,
    Product,
    children_of,
    fill,
    locked,
    small_disk,
    wait_for,
)
from tests.postgresql import Cluster, is_installed

ROOMS = 4


@pytest.fixture
def product(tmp_path: Path) -> Iterator[Product]:
    made = Product(tmp_path / "data")
    yield made
    made.stop()


@pytest.fixture
def cluster() -> Iterator[Cluster]:
    if not is_installed():
        pytest.skip("NOT RUN: PostgreSQL is not installed on this machine")
    if importlib.util.find_spec("psycopg") is None:
        pytest.skip("NOT RUN: psycopg is not installed; see the first hour in DEVELOPERS.md")
    folder = Path(tempfile.mkdtemp(prefix="halfbay-postgresql-", dir="/tmp"))
    made = Cluster(folder)
    yield made
    made.stop()
    shutil.rmtree(folder, ignore_errors=True)


def first_room(product: Product) -> str:
    return str(uuid.UUID(str(product.rows("house.Room", "id")[0]["id"])))


def notes(product: Product) -> set[str]:
    return {row["text"] for row in product.rows("work.Note", "text")}


def all_well(product: Product) -> bool:
    return product.health()[0] == 200


def new_searches(product: Product) -> None:
    """Queue every search again, as after an edit of each room."""
    product.run(
        "import django; django.setup()\n"
        "from remodel.board.models import SearchJob, Plan\n"
        "Plan.objects.filter(state='proposed').delete()\n"
        "SearchJob.objects.update(state='waiting', owner='', attempts=0, outcome='')"
    )


def test_worker_that_is_killed_and_a_locked_database_end_nothing(product):
    product.run(MAKE, "1")
    product.serve()
    wait_for(lambda: all_well(product), 60, "all well")
    room = str(uuid.UUID(product.ask("SELECT id FROM house_room")[0][0]))
    token = product.token(f"/room/{room}")
    worker = product.worker_pid()
    os.kill(worker, signal.SIGKILL)
    assert product.get("/")[0] == 200
    key = str(uuid.uuid4())
    with locked(product.sqlite):
        status, words, seconds = product.health()
        assert (status, "It is busy" in words) == (503, True), words
        assert seconds < 4
        status, words = product.get(
            f"/room/{room}/notes/add", {"csrfmiddlewaretoken": token, "text": "Plumb", "key": key}
        )
        assert (status, "Not saved: the database is busy" in words) == (503, True), words
        assert product.get("/")[0] == 200
    assert product.write_note(room, "Plumb", token, key) == 200
    assert product.write_note(room, "Plumb", token, key) == 200
    assert product.ask("SELECT text FROM work_note") == [("Plumb",)]
    assert product.worker_pid() != worker
    wait_for(lambda: all_well(product), 60, "all well again")
    searches = "SELECT state, attempts FROM board_searchjob"
    wait_for(lambda: {state for state, _ in product.ask(searches)} == {"done"}, 60, "the search")
    served = product.served
    assert served is not None
    running = [*children_of(served.pid, "remodel.server"), product.worker_pid()]
    assert len(running) == 2  # the web server and the worker
    served.send_signal(signal.SIGINT)
    assert served.wait(timeout=30) == 0
    assert product.get("/")[0] == 0
    assert not [pid for pid in running if Path(f"/proc/{pid}").exists()]


@pytest.mark.deep
def test_server_that_is_killed_leaves_nothing_behind_and_starts_again(product):
    product.run(MAKE, "2")
    product.serve()
    room = first_room(product)
    acknowledged = set()
    for number in range(3):
        token = product.token(f"/room/{room}")
        for more in range(5):
            text = f"Note {number} {more}"
            if product.write_note(room, text, token, str(uuid.uuid4())) == 200:
                acknowledged.add(text)
        served = product.served
        assert served is not None
        served.kill()
        served.wait()
        wait_for(lambda: product.get("/")[0] == 0, 30, "the web server's end")
        product.serve()
        assert acknowledged <= notes(product)
    assert len(acknowledged) == 15
    wait_for(lambda: all_well(product), 60, "all well")
    wait_for(lambda: set(product.jobs()) == {"done"}, 90, "the searches")


@pytest.mark.deep
def test_database_locked_for_ten_seconds_five_times_costs_no_search(product):
    product.run(MAKE, str(ROOMS))
    product.serve()
    for _ in range(5):
        new_searches(product)
        with locked(product.sqlite):
            time.sleep(2)
            assert "It is busy" in product.health()[1]
            time.sleep(8)
        wait_for(lambda: all_well(product), 60, "all well")
        wait_for(lambda: set(product.jobs()) == {"done"}, 120, "the searches")
    assert {row["attempts"] for row in product.rows("board.SearchJob", "attempts")} == {1}
    assert len(set(product.log_text().split("The worker ended"))) == 1


@pytest.mark.deep
def test_database_locked_for_forty_seconds_is_told_and_then_all_goes_on(product):
    product.run(MAKE, str(ROOMS))
    product.serve()
    worker = product.worker_pid()
    with locked(product.sqlite):
        time.sleep(40)
        words = product.health()[1]
        assert "None was seen in the last 30 seconds" in words
    wait_for(lambda: all_well(product), 90, "all well")
    wait_for(lambda: set(product.jobs()) == {"done"}, 120, "the searches")
    assert product.worker_pid() == worker


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    try:
        with small_disk(tmp_path / "disk", 40) as made:
            yield made
    except OSError:
        pytest.skip("NOT RUN: a small disk to fill cannot be mounted here; run it as root")


@pytest.mark.deep
def test_full_disk_is_told_and_all_goes_on_once_there_is_room(tmp_path, disk):
    product = Product(disk / "data")
    product.log = tmp_path / "log"
    try:
        product.run(MAKE, str(ROOMS))
        product.serve()
        wait_for(lambda: set(product.jobs()) == {"done"}, 120, "the searches")
        worker, room = product.worker_pid(), first_room(product)
        token = product.token(f"/room/{room}")
        new_searches(product)
        full = fill(disk)
        acknowledged = set()
        for number in range(8):
            text = f"{number} " + 400 * "long "
            if product.write_note(room, text, token, str(uuid.uuid4())) == 200:
                acknowledged.add(text.strip())
        assert len(acknowledged) < 8
        wait_for(lambda: "disk is full" in product.health()[1], 30, "the word of the full disk")
        assert product.get(f"/room/{room}")[0] == 200
        time.sleep(10)
        full.unlink()
        assert product.write_note(room, "There is room", token, str(uuid.uuid4())) == 200
        wait_for(lambda: set(product.jobs()) == {"done"}, 150, "the searches")
        assert product.worker_pid() == worker
        assert acknowledged | {"There is room"} == {text.strip() for text in notes(product)}
    finally:
        product.stop()


def restart_under(product: Product, cluster: Cluster, *, rounds: int) -> None:
    product.run(MAKE, str(ROOMS))
    product.serve()
    worker, room = product.worker_pid(), first_room(product)
    acknowledged = set()
    for number in range(rounds):
        new_searches(product)
        token = product.token(f"/room/{room}")
        assert product.write_note(room, f"Note {number}", token, str(uuid.uuid4())) == 200
        acknowledged.add(f"Note {number}")
        cluster.stop()
        status, words, seconds = product.health()
        assert (status, "It cannot be reached" in words) == (503, True), words
        assert seconds < 8
        status, words = product.get("/")
        assert (status, "the database cannot be reached" in words) == (503, True), words
        time.sleep(4)
        cluster.start()
        wait_for(lambda: product.get(f"/room/{room}")[0] == 200, 30, "a page")
        wait_for(lambda: all_well(product), 60, "all well")
        wait_for(lambda: set(product.jobs()) == {"done"}, 150, "the searches")
        assert acknowledged <= notes(product)
    assert product.worker_pid() == worker


@pytest.mark.deep
def test_postgresql_restarted_under_it(product, cluster):
    product.database = cluster.make()
    product.__post_init__()
    restart_under(product, cluster, rounds=3)


KINDS = {
    "search": ("board.SearchJob", "board_searchjob"),
    "print set": ("cards.PrintPack", "cards_printpack"),
    "figures": ("board.Figures", "board_figures"),
}
QUEUE_AGAIN = {
    "search": (
        "from remodel.board.models import SearchJob, Plan\n"
        "Plan.objects.filter(state='proposed').delete()\n"
        "SearchJob.objects.update(state='waiting', owner='', attempts=0, outcome='')"
    ),
    "print set": (
        "from remodel.board.models import House\n"
        "from remodel.cards.models import PrintPack\n"
        "house = House.objects.get()\n"
        "rooms = [room.key for room in house.rooms.all()]\n"
        "PrintPack.objects.all().delete()\n"
        "for number in range(4):\n"
        "    PrintPack.objects.create(house=house, title=f'Set {number}', paper='a4', "
        "rooms=rooms,\n"
        "        parts=['drawings', 'cards', 'hanging'])\n"
    ),
    "figures": (
        "from remodel.board.models import Figures, Result, RoomResult\n"
        "RoomResult.objects.update(digest='')\n"
        "Result.objects.all().delete()\n"
        "Figures.objects.update(state='waiting', owner='', attempts=0)"
    ),
}


def attempts(product: Product, kind: str) -> list[tuple[str, int]]:
    return [
        (row["state"], row["attempts"]) for row in product.rows(KINDS[kind][0], "state", "attempts")
    ]


def kill_in_the_middle(product: Product, kind: str) -> bool:
    """Kill the worker that holds a job of this kind; whether one was met."""
    table = KINDS[kind][1]
    by_pid = {str(child.pid): child for child in product.workers if child.poll() is None}
    end = time.monotonic() + 30
    while time.monotonic() < end:
        held = product.ask(f"SELECT owner FROM {table} WHERE state = 'running'")
        if held:
            child = by_pid.get(held[0][0].rsplit("-", 2)[1])
            if child is not None:
                child.kill()
                child.wait()
                return True
        time.sleep(0.005)
    return False


@pytest.mark.deep
@pytest.mark.parametrize("kind", KINDS)
def test_two_workers_one_killed_in_the_middle_lose_nothing_and_double_nothing(product, kind):
    product.run(MAKE, "6")
    product.worker()
    product.worker()
    wait_for(lambda: set(product.jobs()) == {"done"}, 180, "the first searches")
    for _ in range(3):
        product.run("import django; django.setup()\n" + QUEUE_AGAIN[kind])
        assert kill_in_the_middle(product, kind)
        product.worker()
        wait_for(lambda: {state for state, _ in attempts(product, kind)} == {"done"}, 180, kind)
        taken = sorted(count for _, count in attempts(product, kind))
        assert (taken[-1], set(taken[:-1]) <= {1}) == (2, True), taken
        if kind == "print set":
            files = {row["file"] for row in product.rows("cards.PrintPack", "file")}
            newest = {path.name for path in (product.folder / "packs").iterdir()}
            assert len(files) == 4
            assert files <= newest
        if kind == "figures":
            assert all(row["digest"] for row in product.rows("board.RoomResult", "digest"))
    proposed = product.rows("board.Plan", "pool", "state")
    assert len({row["pool"] for row in proposed}) == len(proposed)


@pytest.mark.deep
def test_write_whose_process_ends_before_its_figures_is_told_and_worked_out(product):
    product.run(MAKE, "2")
    product.run(HALF_WRITE, codes=(9,))
    product.serve()
    room = str(uuid.UUID(str(product.ask("SELECT id FROM house_room ORDER BY position")[0][0])))
    before = product.ask(
        f"SELECT digest FROM board_roomresult WHERE room_id = '{uuid.UUID(room).hex}'"
    )
    assert "Its figures are" in product.get(f"/room/{room}")[1]
    wait_for(lambda: "Its figures are" not in product.get(f"/room/{room}")[1], 60, "the figures")
    after = product.ask(
        f"SELECT digest FROM board_roomresult WHERE room_id = '{uuid.UUID(room).hex}'"
    )
    assert after != before
    assert all_well(product)
