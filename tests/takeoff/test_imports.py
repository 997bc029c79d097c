"""The engine stays pure: what it may import, and in which direction."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ENGINE = sorted((ROOT / "takeoff").rglob("*.py"))
WEB = sorted((ROOT / "remodel").rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def test_there_is_an_engine_to_look_at():
    assert len(ENGINE) > 20


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: str(path.relative_to(ROOT)))
def test_engine_never_imports_django_or_the_web_side(path):
    assert not [name for name in imported(path) if name.split(".")[0] in {"django", "remodel"}]


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: str(path.relative_to(ROOT)))
def test_engine_reads_no_clock_and_draws_no_chance(path):
    """A `Random` with a seed of its own gives the same answer every time, so that one class is let
    through."""
    barred = {"time", "datetime", "secrets", "random"}
    drawn = [
        alias.name
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module == "random"
        for alias in node.names
    ]
    assert set(drawn) <= {"Random"}
    assert not [
        name
        for name in imported(path)
        if name.split(".")[0] in barred - ({"random"} if drawn else set())
    ]


@pytest.mark.parametrize("path", ENGINE, ids=lambda path: str(path.relative_to(ROOT)))
def test_only_quantities_imports_pint(path):
    if path.name != "quantities.py":
        assert "pint" not in {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("path", WEB, ids=lambda path: str(path.relative_to(ROOT)))
def test_only_one_web_module_knows_the_engine(path):
    if "bridge" not in path.relative_to(ROOT / "remodel").parts:
        assert "takeoff" not in {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("package", ["boards", "cutting"])
def test_what_plans_boards_and_cuts_sticks_knows_nothing_of_the_search(package):
    """The search builds on both; a house plan is handed the search it may use."""
    modules = [path for path in ENGINE if package in path.relative_to(ROOT / "takeoff").parts]
    assert modules
    for path in modules:
        assert not [name for name in imported(path) if name.startswith("takeoff.solve")], path


def test_checker_shares_no_code_with_the_planner():
    values = {"plan", "problem"}
    checker = [
        path
        for path in ENGINE
        if "check" in path.relative_to(ROOT).parts or path.name == "check.py"
    ]
    assert checker
    for path in checker:
        shared = [
            name
            for name in imported(path)
            if name.startswith(
                ("takeoff.boards.", "takeoff.cutting", "takeoff.solve", "takeoff.geometry.polygon")
            )
            and name.split(".")[2] not in values - {"problem"}
            and not name.startswith("takeoff.boards.check")
        ]
        assert not shared, path
