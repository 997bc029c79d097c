"""What people have stored since earlier versions is migrated, and nothing of it is lost (see
`fixtures/kept`)."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from contextlib import closing
from fractions import Fraction

import pytest

from remodel.archive.tables import LEFT_OUT
from tests.kept.make import SET_UP, make, run
from tests.kept.states import (
    ARCHIVE,
    CUT,
    DATABASE,
    KEPT,
    NOW,
    RENAMED,
    expected_counts,
    expected_facts,
    row_counts,
    unpack,
)

STATES = sorted(path.name for path in KEPT.iterdir() if path.is_dir())


WORKED_OUT = f"""
{SET_UP}
from remodel.board.services import recompute
from remodel.house.models import House
from tests.kept.facts import facts
for house in House.objects.all():
    recompute(house, whole=True)
print(json.dumps(facts()))
"""
VISIT = f"{SET_UP}; from tests.kept.visit import visit; print(json.dumps(visit()))"


def migrated(stored, data):
    unpack(stored, data)
    run(data, "manage.py", "migrate", "-v", "0")
    return data


def dump(data):
    with closing(sqlite3.connect(data / DATABASE)) as connection:
        # When Django noted a migration is the one thing that is not what was stored.
        return sorted(
            line for line in connection.iterdump() if 'INTO "django_migrations"' not in line
        )


def archived_rows(data):
    """The rows of each table that an archive holds, whatever the order of its columns."""
    left_out = tuple(name.replace(".", "_") for name in LEFT_OUT)
    apps = tuple(f"{name}_" for name in left_out if "_" not in name)
    rows = {}
    with closing(sqlite3.connect(data / DATABASE)) as connection:
        connection.row_factory = sqlite3.Row
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        for (name,) in names:
            if name not in left_out and not name.startswith(("django_", "sqlite_", *apps)):
                table = connection.execute(f'SELECT * FROM "{name}"').fetchall()
                rows[name] = sorted(repr(sorted(dict(row).items())) for row in table)
    return rows


def files(folder):
    return {
        path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


@pytest.fixture(scope="module", params=STATES)
def state(request):
    return request.param


@pytest.fixture(scope="module")
def counts(state):
    return json.loads((KEPT / state / "counts.json").read_text())


@pytest.fixture(scope="module")
def live(state, tmp_path_factory):
    return migrated(KEPT / state / "live", tmp_path_factory.mktemp("live") / "data")


@pytest.fixture(scope="module")
def restored(state, tmp_path_factory):
    """What an archive of the state gives on an empty machine: the one that was stored, or one of
    the live folder as it was stored, for the earliest states have none."""
    folder = tmp_path_factory.mktemp("restored")
    archive = KEPT / state / ARCHIVE
    if not archive.exists():
        archive = folder / ARCHIVE
        unpack(KEPT / state / "live", folder / "stored")
        run(folder / "stored", "manage.py", "archive", str(archive))
    run(folder / "data", "manage.py", "restore", str(archive))
    return folder / "data"


@pytest.fixture(scope="module")
def copied(state, tmp_path_factory):
    """What people copied by hand while there were no archives, put back; None for later states."""
    stored = KEPT / state / "backup"
    if not stored.is_dir():
        return None
    return migrated(stored, tmp_path_factory.mktemp("backup") / "data")


def copy_of(data, copy):
    """A data folder to write into, with the same database and files."""
    copy.mkdir()
    with (
        closing(sqlite3.connect(data / DATABASE)) as source,
        closing(sqlite3.connect(copy / DATABASE)) as target,
    ):
        source.backup(target)
    for name in ("media", "packs"):
        (copy / name).symlink_to(data / name)
    return copy


@pytest.fixture(scope="module")
def seen(live, restored, tmp_path_factory):
    """What the product shows of a copy of the live folder, for looking at it writes."""
    copy = copy_of(live, tmp_path_factory.mktemp("seen") / "data")
    return json.loads(run(copy, "-c", VISIT))


def test_there_is_a_stored_state():
    assert STATES


def test_what_has_changed_since_is_said_of_stored_states_alone():
    assert {*RENAMED, *NOW, *CUT} <= {*STATES}
    assert all(why for tables in NOW.values() for _, why in tables.values())


def test_migrated_database_is_whole(live, restored, copied):
    for data in filter(None, (live, restored, copied)):
        with closing(sqlite3.connect(data / DATABASE)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_no_row_is_lost_and_none_is_made(state, counts, live):
    now = {table: count for table, count in row_counts(live / DATABASE).items() if count}
    assert now == expected_counts(state, counts["tables"])


def test_copy_of_then_is_what_the_live_folder_is_now(live, copied):
    if copied is not None:
        assert dump(copied) == dump(live)
        assert files(copied / "media") == files(live / "media")


def test_archive_of_then_is_what_the_live_folder_is_now(live, restored):
    rows = archived_rows(live)
    assert rows["house_room"]
    assert rows["work_photo"]
    assert archived_rows(restored) == rows
    for folder in ("media", "packs"):
        assert files(live / folder)
        assert files(restored / folder) == files(live / folder)


def test_archive_of_then_says_the_same_as_the_live_folder_once_it_is_worked_out(
    live, restored, tmp_path
):
    """The live folder keeps figures that an earlier version worked out, and the archive has none;
    once this version has worked both out, they are equal."""
    says = [
        json.loads(run(copy_of(data, tmp_path / name), "-c", WORKED_OUT))
        for name, data in (("live", live), ("restored", restored))
    ]
    assert says[0]["houses"]
    assert says[1] == says[0]


def test_what_people_entered_is_shown_as_it_was(state, counts, seen):
    assert seen["facts"] == expected_facts(state, counts["facts"])


def rows(data, query):
    with closing(sqlite3.connect(data / DATABASE)) as connection:
        return connection.execute(query).fetchall()


def test_every_item_of_a_placed_order_is_claimed_since_the_day_of_its_order(live):
    claimed = rows(
        live,
        """SELECT claim.serial, placed.placed_at FROM supply_claim claim
        JOIN supply_order placed ON placed.id = claim.order_id ORDER BY placed.placed_at""",
    )
    assert [serial for serial, _ in claimed] == sorted(serial for serial, _ in claimed)
    unclaimed = rows(
        live,
        """SELECT line.item FROM supply_orderline line
        JOIN supply_order placed ON placed.id = line.order_id
        WHERE placed.state IN ('placed', 'closed') AND line.need != '0' AND NOT EXISTS (
            SELECT 1 FROM supply_claim claim JOIN supply_orderroom among
            ON among.order_id = placed.id JOIN work_phase job
            ON job.id = claim.job_id AND job.room_id = among.room_id
            WHERE claim.item = line.item AND job.key = line.phase)""",
    )
    assert claimed
    assert unclaimed == []


def test_lines_of_placed_orders_say_for_whom_all_that_they_hold_is(live):
    lines = rows(
        live,
        """SELECT line.order_id, line.phase, line.item, line.packs, line.holds, line.shares
        FROM supply_orderline line JOIN supply_order placed ON placed.id = line.order_id
        WHERE placed.state IN ('placed', 'closed') AND line.packs > 0""",
    )
    held, shared = Counter(), {}
    for *key, packs, holds, shares in lines:
        if key[2].startswith(("sheet-", "tape-", "compound-", "corner-bead")):
            held[tuple(key)] += packs * Fraction(holds) * 1000
            shared[tuple(key)] = json.loads(shares)
    assert held
    for key, amount in held.items():
        # Each share is rounded up to a whole thousandth.
        assert 0 <= sum(share for _, share in shared[key]) - amount < len(shared[key]), key


def test_delivery_that_was_taken_back_counts_as_one_that_never_came(live):
    told = rows(
        live,
        """SELECT back.kind, back.line_id = came.line_id, receipt.packs FROM supply_movement back
        JOIN supply_movement came ON came.id = back.reverses_id
        JOIN supply_receipt receipt ON receipt.movement_id = came.id""",
    )
    assert told == [("received", 1, 1)]


def test_every_receipt_knows_the_movement_that_it_wrote(live):
    pairs = rows(
        live,
        """SELECT receipt.packs, movement.pieces, receipt.line_id = movement.line_id
        FROM supply_receipt receipt
        LEFT JOIN supply_movement movement ON movement.id = receipt.movement_id
        WHERE receipt.packs > 0""",
    )
    assert pairs
    assert all(packs == pieces and same for packs, pieces, same in pairs)


def test_each_sheet_that_is_cut_left_the_stock_once_or_was_never_in_it(live):
    below = rows(
        live,
        """SELECT item, sum(numerator * pieces) AS here FROM supply_movement
        WHERE item LIKE 'sheet-%' GROUP BY house_id, item HAVING here < 0""",
    )
    twice = rows(live, "SELECT code FROM supply_cutsheet WHERE uncounted AND movement_id NOTNULL")
    without = rows(
        live,
        """SELECT sheet.room_id, sheet.item, count(*) AS sheets, (
            SELECT -sum(log.numerator * log.pieces) FROM supply_movement log
            WHERE log.kind = 'used' AND log.room_id = sheet.room_id AND log.item = sheet.item)
        AS told FROM supply_cutsheet sheet
        WHERE movement_id IS NULL AND owned_id IS NULL AND NOT uncounted GROUP BY 1, 2
        HAVING sheets > coalesce(told, 0)""",
    )
    assert (below, twice, without) == ([], [], [])


def test_boards_that_hang_know_where_they_hang(live):
    hung = rows(live, "SELECT count(*) FROM cards_donemark WHERE kind = 'hung' AND done")
    assert hung != [(0,)]
    assert hung == rows(live, "SELECT count(*) FROM board_placedpiece WHERE state = 'hung'")


def test_boards_that_hang_are_where_their_plans_have_them(seen):
    assert seen["unplaced"] == []


def test_every_page_opens(seen):
    assert seen["wrong"] == []


def test_every_photo_opens_and_every_pack_that_is_kept(counts, seen):
    assert len(seen["photos"]) == sum(
        len(house["photos"]) for house in counts["facts"]["houses"].values()
    )
    assert {picture for _, picture, *_ in seen["photos"]} == {"JPEG"}
    assert seen["packs"]
    assert {*seen["packs"]} == {"%PDF-"}


def test_removed_room_comes_back_by_undo(counts, seen):
    removed = [
        name for house in counts["facts"]["houses"].values() for name in house["removed rooms"]
    ]
    assert removed
    assert seen["put back"] == [[name, 200] for name in removed]


@pytest.mark.parametrize("table", ["work_photo", "house_room", "supply_receipt"])
def test_lost_row_is_noticed(state, counts, live, tmp_path, table):
    copy = tmp_path / DATABASE
    copy.write_bytes((live / DATABASE).read_bytes())
    with closing(sqlite3.connect(copy)) as connection:
        connection.execute(f"DELETE FROM {table} WHERE rowid = (SELECT max(rowid) FROM {table})")
        connection.commit()
    now = {table: count for table, count in row_counts(copy).items() if count}
    assert now != expected_counts(state, counts["tables"])


@pytest.mark.deep
def test_another_state_can_be_stored(tmp_path):
    make(tmp_path / "new")
    stored = json.loads((tmp_path / "new" / "counts.json").read_text())
    assert stored["facts"]["houses"]
    data = migrated(tmp_path / "new" / "live", tmp_path / "data")
    assert json.loads(run(data, "-c", VISIT))["facts"] == stored["facts"]
