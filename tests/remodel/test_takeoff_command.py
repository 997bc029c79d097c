"""`manage.py takeoff`: from a house file to text on the terminal."""

import csv
import io
import json

import pytest
from django.core.management import CommandError, call_command

from takeoff.solve import search
from tests.takeoff.houses import FIXTURES

HOUSE = str(FIXTURES / "quay-flat.json")


def run(*words):
    out = io.StringIO()
    call_command("takeoff", "--search=0", *words, stdout=out)
    return out.getvalue()


def test_prints_the_supply_list_of_each_phase():
    text = run(HOUSE)
    assert text.startswith("Quay flat (an invented flat)\n")
    assert "\nHANGING\n" in text
    assert "Regular gypsum board" in text


def test_one_phase_leaves_the_others_out():
    text = run(HOUSE, "--phase", "taping")
    assert "HANGING" not in text
    assert "Paper joint tape" in text


def test_room_can_be_named_as_people_name_it():
    assert run(HOUSE, "--room", "shower ROOM") == run(HOUSE, "--room", "shower-room")


def test_cuts_lists_each_stick_with_its_cuts_and_what_is_left():
    text = run(HOUSE, "--cuts", "--phase", "framing")
    assert "FRAMING: " in text
    assert "  4 to 5 of 5: each 2500 mm. Cut 2059 mm Main room, ceiling, nailer. Left" in text
    assert "PARTITIONS" not in text


def test_plan_lists_rows_and_sheets():
    text = run(HOUSE, "--plan")
    assert "  Row 1, " in text
    assert "\nSheets of " in text


def test_csv_can_be_read_back():
    rows = list(csv.DictReader(io.StringIO(run(HOUSE, "--csv"))))
    assert {row["phase"] for row in rows} >= {"hanging", "taping", "finishing"}


def test_json_is_one_document():
    assert json.loads(run(HOUSE, "--json"))["id"] == "quay-flat"


def test_why_says_the_reasons_of_an_item():
    assert "in all" in run(HOUSE, "--why", "primer").splitlines()[0]


def test_why_of_an_unknown_item_is_a_sentence():
    with pytest.raises(CommandError, match="No item here has 'marble'"):
        run(HOUSE, "--why", "marble")


def test_missing_file_is_a_sentence():
    with pytest.raises(CommandError, match=r"Cannot read .*no-such-house.json"):
        run("no-such-house.json")


def test_unknown_room_lists_the_rooms():
    with pytest.raises(CommandError, match="Main room, Bedroom, Shower room"):
        run(HOUSE, "--room", "cellar")


def test_everything_wrong_in_a_file_is_said_at_once(tmp_path):
    file = tmp_path / "house.json"
    file.write_text(
        '{"version": 1, "name": "Ours", "rooms": [{"name": "Den", "shape": {"quick": {"length": '
        '"12", "width": "x"}}, '
        '"colour": 1}]}',
        encoding="utf-8",
    )
    with pytest.raises(CommandError) as caught:
        run(str(file))
    assert "rooms[0].shape.quick.width" in str(caught.value)
    assert "colour" in str(caught.value)


ONE_WALL = """{
  "version": 1, "name": "One wall", "units": "in", "rules": {"seam_price": "0.96"},
  "rooms": [{"name": "Den",
              "shape": {"surfaces": [{"kind": "wall", "width": "19'", "height": "8'"}]},
             "wall_framing": {"spacing": "16", "first": "0", "start_backed": true,
                               "end_backed": true}}]
}"""


def test_seek_tells_each_step_and_prints_the_plan_with_its_bound(tmp_path):
    file = tmp_path / "wall.json"
    file.write_text(ONE_WALL, encoding="utf-8")
    out, progress = io.StringIO(), io.StringIO()
    call_command("takeoff", str(file), "--seek", "20", stdout=out, stderr=progress)
    assert "still be saved" in progress.getvalue()
    assert "no plan under these rules costs less" in " ".join(out.getvalue().split())


def test_searches_by_work_and_waits_for_the_bound(tmp_path):
    file = tmp_path / "wall.json"
    file.write_text(ONE_WALL, encoding="utf-8")
    by_work, again = io.StringIO(), io.StringIO()
    call_command("takeoff", str(file), stdout=by_work)
    call_command("takeoff", str(file), stdout=again)
    assert by_work.getvalue() == again.getvalue()
    said = " ".join(by_work.getvalue().split())
    assert "no plan under these rules costs less" in said or "still be saved" in said
    assert "by area" not in said
    assert "costs less" not in run(str(file))
    assert "still be saved" not in run(str(file))


def test_says_which_plan_is_too_large_for_a_quick_search(tmp_path, monkeypatch):
    monkeypatch.setattr(search, "_QUICK_PLACES", 0)
    file = tmp_path / "wall.json"
    file.write_text(ONE_WALL, encoding="utf-8")
    out = io.StringIO()
    call_command("takeoff", str(file), stdout=out)
    said = " ".join(out.getvalue().split())
    assert "Too large for a quick search" in said
    assert "still be saved" not in said


@pytest.mark.parametrize("seconds", ["-3", "soon", "nan", "99999"])
def test_seek_takes_only_a_time_one_can_wait(seconds):
    with pytest.raises(CommandError, match="give seconds up to 3600"):
        run(HOUSE, f"--seek={seconds}")


def test_ways_of_a_room_side_by_side():
    text = run(HOUSE, "--ways", "--room", "bedroom")
    assert "Main room" not in text
    head = next(line for line in text.splitlines() if "By rules" in line)
    assert head.split()[:4] == ["By", "rules", "Far", "side"]
    assert "1200 mm: not possible. No other board than 1200 mm wide is on sale" in text
    # Every difference is that from the plan by the rules.
    line = next(line for line in text.splitlines() if line.strip().startswith("Pieces"))
    base, *others = line.replace("Pieces", "").replace(" (", "(").split()
    assert any("(" in cell for cell in others)
    for cell in others:
        count, _, more = cell.rstrip(")").partition("(")
        assert int(count) - int(base) == int(more or 0)


def test_choices_of_a_room_both_ways():
    text = run(HOUSE, "--choices", "--room", "bedroom")
    assert ": BUTT SEAMS ON FRAMING OR FLOATING" in text
    assert "The figures lean to" in text


def test_ways_and_a_plan_are_not_asked_for_together():
    with pytest.raises(CommandError):
        run(HOUSE, "--ways", "--plan")
