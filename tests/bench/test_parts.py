"""The bench is asked for by its parts, and a part that is not there is refused."""

from __future__ import annotations

import sys

import pytest

from tests.bench import __main__ as bench
from tests.bench.parts import PARTS, Part, UnknownPart, chosen


def test_all_parts_are_measured_where_none_is_named():
    assert list(chosen([])) == list(PARTS)


def test_named_parts_alone_are_measured():
    assert list(chosen(["sticks", "first"])) == ["sticks", "first"]


def test_unknown_part_is_refused_with_the_list_of_parts():
    with pytest.raises(UnknownPart, match='There is no part "bords"') as refused:
        chosen(["boards", "bords"])
    assert all(
        name in str(refused.value) and part.says in str(refused.value)
        for name, part in PARTS.items()
    )


def test_nothing_is_measured_where_one_part_is_unknown(monkeypatch):
    monkeypatch.setattr(sys, "argv", ["bench", "sticks", "bords"])
    with pytest.raises(SystemExit, match='There is no part "bords"'):
        bench.main()


def test_rooms_asked_for_are_those_searched_by_work_too(monkeypatch):
    given = []
    monkeypatch.setitem(PARTS, "modes", Part("what it was given", given.append))
    monkeypatch.setattr(sys, "argv", ["bench", "modes", "--rooms", "30"])
    bench.main()
    assert (given[0].rooms, given[0].work_rooms) == (30, 30)


def test_part_that_time_is_up_for_is_said_to_be_not_measured(monkeypatch, capfd):
    monkeypatch.setattr(sys, "argv", ["bench", "sticks", "modes", "--minutes", "0"])
    bench.main()
    printed = capfd.readouterr().out
    assert printed.count("NOT MEASURED to its end") == 2
    assert "make bench PART=modes" in printed
