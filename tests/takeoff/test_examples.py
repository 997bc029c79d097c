"""Every example in a docstring of the engine gives what it says."""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

import takeoff

ROOT = Path(takeoff.__file__).parents[1]
WITH_EXAMPLES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for path in (ROOT / "takeoff").rglob("*.py")
    if ">>>" in path.read_text(encoding="utf-8")
)


def test_there_are_examples():
    assert len(WITH_EXAMPLES) > 10


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_of_a_module_give_what_they_say(name):
    result = doctest.testmod(import_module(name))
    assert result.attempted
    assert result.failed == 0
