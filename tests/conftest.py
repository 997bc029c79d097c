"""What tests of every part share: how cases are drawn, and the one Chromium of a run, for its
driver cannot be started twice."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# The same cases are drawn each time, so that a change is judged by what it changes. Other cases,
# and others again each time: `make draws`. Nothing is timed, for machines are shared.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("random", deadline=None, print_blob=True)
settings.load_profile("same")

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def chromium():
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not installed")
    # playwright runs its loop in this thread, where Django would refuse the database
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
