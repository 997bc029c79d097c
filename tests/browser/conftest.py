"""Chromium against the whole site, at phone and laptop size, in local mode: this machine, no
sign-in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.core.signals import request_started

from tests.remodel.worked_out_once import worked_out_once

__all__ = ["worked_out_once"]  # for all tests with a browser

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
SIZES = {"phone": {"width": 390, "height": 844}, "laptop": {"width": 1280, "height": 900}}


@pytest.fixture
def visit(chromium, live_server):
    """Open an address of the site; afterwards nothing may have broken the policy, failed, or gone
    to another host."""
    complaints: list[str] = []
    contexts = []

    def open_page(path, size="laptop", *, scheme="light", script=True, workers=False):
        phone = size == "phone"
        context = chromium.new_context(
            viewport=SIZES[size],
            color_scheme=scheme,
            has_touch=phone,
            is_mobile=phone,
            java_script_enabled=script,
            # what keeps pages without a signal answers for the server: only where it is asked for
            service_workers="allow" if workers else "block",
        )
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console",
            lambda message: complaints.append(message.text) if "Policy" in message.text else None,
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "response",
            # A picture of what is typed may still be asked for as a test ends and its tables are
            # emptied.
            lambda answer: (
                complaints.append(answer.url)
                if answer.status >= 500
                and not answer.from_service_worker
                and "/picture/" not in answer.url
                else None
            ),
        )
        page.on(
            "request",
            lambda asked: (
                None if asked.url.startswith(live_server.url) else complaints.append(asked.url)
            ),
        )
        page.goto(live_server.url + path, wait_until="load")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture
def posts() -> Iterator[list[str]]:
    """The paths that were posted to, as the server saw them come, but for pictures of what is
    typed, which keep nothing."""
    paths: list[str] = []

    def note(environ: dict[str, Any], **_: Any) -> None:
        if environ["REQUEST_METHOD"] == "POST" and "/picture/" not in environ["PATH_INFO"]:
            paths.append(environ["PATH_INFO"])

    request_started.connect(note)
    yield paths
    request_started.disconnect(note)
