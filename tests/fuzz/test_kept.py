"""What `make fuzz` once found, and what each target begins from."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.targets import SEEDS, TARGETS

KEPT = Path(__file__).parent / "kept"


@pytest.mark.parametrize("name", TARGETS)
def test_target_takes_what_it_begins_from(name):
    for seed in SEEDS[name]:
        TARGETS[name](seed)


@pytest.mark.parametrize("name", TARGETS)
def test_what_was_not_taken_once_is_taken(name):
    for path in sorted((KEPT / name).glob("*")):
        TARGETS[name](path.read_bytes())


@pytest.mark.parametrize("data", [b"", b"\x00", b"\xff\xfe", b"\xe2\x80\x8b" * 9])
@pytest.mark.parametrize("name", TARGETS)
def test_target_takes_next_to_nothing(name, data):
    TARGETS[name](data)
