"""What keeps strangers out and data whole is listed in `security.toml`, each with the tests that
hold it; a few of those look at the source itself, and stand here."""

from __future__ import annotations

import ast
import os
import re
import stat
import subprocess
import tomllib
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
ROWS = tomllib.loads((ROOT / "tests" / "security.toml").read_text())["row"]
# They ask for names, sizes and settings of tables, or copy rows whole.
OWN_STATEMENTS = {
    "archive/first_start.py",
    "archive/restoring.py",
    "archive/tables.py",
    "archive/writing.py",
    "history/turns.py",
    "pages/people/views/health.py",
}


@cache
def named_in(path: str) -> frozenset[str]:
    file = ROOT / path
    if not file.is_file():
        return frozenset()
    nodes = ast.walk(ast.parse(file.read_text()))
    return frozenset(node.name for node in nodes if isinstance(node, ast.FunctionDef))


def source(pattern: str) -> dict[str, list[str]]:
    """The lines of the product that a pattern is found in, by file."""
    found: dict[str, list[str]] = {}
    for path in sorted((ROOT / "remodel").rglob("*.py")):
        lines = [line for line in path.read_text().splitlines() if re.search(pattern, line)]
        if lines and "migrations" not in path.parts:
            found[path.relative_to(ROOT / "remodel").as_posix()] = lines
    return found


def test_every_row_is_held_by_tests_there_are_or_says_why_not():
    wrong = [
        f"{row['says']}: {test}"
        for row in ROWS
        for test in row.get("tests", ())
        if test.partition("::")[2] not in named_in(test.partition("::")[0])
    ]
    assert not wrong, "\n".join(wrong)
    assert all(row.get("tests") or row.get("except") for row in ROWS)
    assert len({row["says"] for row in ROWS}) == len(ROWS) >= 40


def test_forms_declare_their_fields_one_by_one():
    assert source(r"ModelForm|modelform_factory|fields = \"__all__\"") == {}


def test_no_view_does_without_the_token_but_the_one_that_looks_by_itself():
    """The upload of an archive asks for the token once it knows where the bytes are to go."""
    assert source(r"@csrf_exempt").keys() == {"pages/people/views/archive.py"}


def test_statements_of_our_own_stand_in_few_files():
    assert source(r"\.raw\(|RawSQL|\.extra\(") == {}
    assert source(r"\.cursor\(\)").keys() == OWN_STATEMENTS


@pytest.mark.parametrize("lock", sorted(path.name for path in ROOT.glob("requirements*.lock")))
def test_every_package_is_pinned_with_its_hash(lock):
    entries = re.split(r"\n(?=\S)", (ROOT / lock).read_text().strip())
    pins = [entry for entry in entries if not entry.startswith("#")]
    assert len(pins) > 5
    assert [
        pin for pin in pins if not re.match(r"\S+==\S+", pin) or "--hash=sha256:" not in pin
    ] == []


AUDITS = {
    "no known vulnerability": "No known vulnerabilities found",
    "NOT RUN": "WARNING: Dependency not found and could not be audited: x (1.0)",
    "cannot be reached": "ConnectionError: Max retries exceeded",
    "x 1.0 BAD-1": "x 1.0 BAD-1 1.1",
}


@pytest.mark.parametrize("says", AUDITS)
def test_audit_that_asked_nobody_says_that_it_was_not_run(tmp_path, says):
    """What the tool says stands in for the tool, which has nobody to ask here."""
    told = AUDITS[says]
    code = 0 if says in ("no known vulnerability", "NOT RUN") else 1
    tool = tmp_path / "pip-audit"
    tool.write_text(f"#!/bin/sh\necho '{told}'\nexit {code}\n")
    tool.chmod(tool.stat().st_mode | stat.S_IXUSR)
    done = subprocess.run(
        [ROOT / ".ci" / "audit", tmp_path], capture_output=True, text=True, env=dict(os.environ)
    )
    assert says in done.stdout
    assert done.returncode == (1 if "BAD" in says else 0)
