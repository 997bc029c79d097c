"""A room taken along from a phone on the home network: http, at an address that is no loopback, in
a network namespace of the test's own. The test starts itself once more in there."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.urls import reverse

from remodel.cards.models import DoneMark
from remodel.history.models import Change
from remodel.people.services import pairing_code_make
from tests.browser.conftest import SIZES, sync_api
from tests.browser.test_cards import room
from tests.conftest import CHROMIUM
from tests.remodel.factories import accept_stops

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
__all__ = ["room"]

INSIDE = "HALFBAY_IN_NAMESPACE"
ADDRESS = "192.0.2.7"  # of the block for documentation: RFC 5737
ROOT = Path(__file__).resolve().parents[2]

# Bring up the namespace's own loopback device and give it the address; then run the test there.
ENTER = """
import fcntl, os, socket, struct, sys
SIOCSIFFLAGS, SIOCSIFADDR, IFF_UP = 0x8914, 0x8916, 1
with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as any_socket:
    fcntl.ioctl(any_socket, SIOCSIFFLAGS, struct.pack("16sh14x", b"lo", IFF_UP))
    address = socket.inet_aton(sys.argv[1])
    own = struct.pack("16sHH4s8x", b"lo:7", socket.AF_INET, 0, address)
    fcntl.ioctl(any_socket, SIOCSIFADDR, own)
os.execv(sys.executable, [sys.executable, "-m", "pytest", *sys.argv[2:]])
"""


def namespace() -> list[str]:
    """The command that runs another in a network namespace of its own; skips with the reason where
    this machine gives none."""
    if os.environ.get(INSIDE):
        pytest.skip("this is the run inside the namespace")
    unshare = shutil.which("unshare")
    if unshare is None:
        pytest.skip("no network namespace here: unshare (util-linux) is not installed")
    for enter in ([unshare, "--net"], [unshare, "--net", "--map-root-user"]):
        tried = subprocess.run([*enter, "true"], capture_output=True, text=True, check=False)
        if tried.returncode == 0:
            return enter
    pytest.skip(f"no network namespace here: {tried.stderr.strip()}")


@pytest.mark.deep
def test_room_is_taken_along_over_http_on_a_home_network(tmp_path):
    enter = namespace()
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not installed")
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("PYTEST_", "DATABASE_URL"))
    }
    made = subprocess.run(
        [
            *enter,
            sys.executable,
            "-c",
            ENTER,
            ADDRESS,
            f"--liveserver={ADDRESS}",
            "-q",
            "-p",
            "no:cacheprovider",
            f"{__file__}::test_inside_the_namespace",
        ],
        cwd=ROOT,
        env={**kept, INSIDE: "yes", "HALFBAY_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )

    assert made.returncode == 0, made.stdout + made.stderr
    assert "1 passed" in made.stdout


def test_inside_the_namespace(chromium, live_server, room, settings, tmp_path):
    """Take the room along, lose the signal, tick, reload, come back: each tick is entered once,
    from a second phone too."""
    settings.LAN_HOST = ADDRESS
    settings.PORT = int(live_server.url.rpartition(":")[2])
    accept_stops(room.house)
    along = live_server.url + reverse("room-take-along", args=[room.pk])
    assert live_server.url.startswith(f"http://{ADDRESS}:")

    phone = paired(chromium, live_server, "Ada's phone")
    phone.goto(along)
    # what keeps pages on this computer is not to be had here
    assert phone.evaluate("isSecureContext") is False
    assert phone.evaluate("'serviceWorker' in navigator") is False
    with phone.expect_download() as download:
        phone.get_by_role("link", name="Download").click()
    path = tmp_path / "kitchen.html"
    download.value.save_as(path)

    phone.context.set_offline(True)
    file = phone.context.new_page()
    asked: list[str] = []
    file.on("request", lambda request: asked.append(request.url))
    file.goto(path.as_uri())
    boards = file.locator(".hang-list li:has(.hang-code) input")
    for number in (0, 1):
        boards.nth(number).check()
    file.reload()
    expect(boards.nth(1)).to_be_checked()
    file.get_by_text("Sheet K1:").click()
    expect(file.locator("svg.drawing").first).to_be_visible()
    assert {url.partition(":")[0] for url in asked} <= {"file", "data"}
    code = file.locator("#code").input_value()

    phone.context.set_offline(False)
    home = file.get_by_role("link", name="Enter them at Halfbay").get_attribute("href")
    assert home == f"{along}#{code}"
    phone.goto(live_server.url)
    phone.goto(home)
    phone.get_by_role("button", name="Enter the ticks").click()
    expect(phone.get_by_text("Entered 2 marks")).to_be_visible()
    changes = Change.objects.count()

    second = paired(chromium, live_server, "Ben's phone")
    second.goto(along)
    second.get_by_label("Code from the page").fill(code)
    second.get_by_role("button", name="Enter the ticks").click()
    expect(second.get_by_text("2 marks were entered before")).to_be_visible()
    assert DoneMark.objects.filter(kind="hung", done=True).count() == 2
    assert Change.objects.count() == changes
    for page in (phone, second):
        page.context.close()


def paired(chromium, live_server, name: str):
    """A page of a phone that was let in."""
    page = chromium.new_context(viewport=SIZES["phone"], has_touch=True).new_page()
    page.goto(f"{live_server.url}/pair?code={pairing_code_make()}")
    page.get_by_label("Name").fill(name)
    page.get_by_role("button", name="Pair this device").click()
    page.wait_for_url("**/who**")
    return page


if not os.environ.get(INSIDE):
    del test_inside_the_namespace  # only the test above starts it
