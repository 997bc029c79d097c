"""Paper: closed to files and addresses, bounded, and honest where a library is missing."""

import ast
import base64
import contextlib
import io
import re
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from remodel.bridge.lengths import INCH
from remodel.history.services import By
from remodel.pages.supply.listing import order_shown
from remodel.printing import pdf
from remodel.supply import orders
from remodel.supply.models import SheetOnSale
from remodel.supply.queries import orders_of
from remodel.supply.services import prices_confirm, store_add
from tests.remodel.factories import ada, cy
from tests.remodel.project.test_plain_words import old_words
from tests.remodel.site import browser, small_house

pypdf = pytest.importorskip("pypdf")
pdfplumber = pytest.importorskip("pdfplumber")
ROOT = Path(__file__).resolve().parents[2]


def page(body, paper="letter"):
    return render_to_string("print_base.html", {"paper": paper}).replace(
        "</body>", f"{body}</body>"
    )


def text_of(made):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made)).pages)


@pytest.fixture
def listener():
    """A server on this machine that notes who asks."""
    asked = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *args):
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", asked
    server.shutdown()
    server.server_close()
    thread.join()


def test_page_has_its_paper_title_language_and_tags():
    for paper, size in (("letter", (612, 792)), ("a4", (595, 842))):
        made = pdf.pdf_of(page("<h1>Board</h1>", paper).replace("<title>", "<title>Board order"))
        reader = pypdf.PdfReader(io.BytesIO(made))
        box = reader.pages[0].mediabox
        assert (round(box.width), round(box.height)) == size
        assert reader.metadata.title == "Board order"
        assert reader.trailer["/Root"]["/Lang"] == "en"
        assert "/StructTreeRoot" in reader.trailer["/Root"]


def test_our_stylesheet_is_applied():
    made = pdf.pdf_of(page('<p class="unseen">not on paper</p><p>on paper</p>'))
    assert "on paper" in text_of(made)
    assert "not on paper" not in text_of(made)


@pytest.mark.parametrize(
    "attack",
    [
        '<link rel="attachment" href="file://{file}">',
        '<a rel="attachment" href="file://{file}">x</a>',
        '<img src="file://{file}">',
        '<img src="{host}/picture.png">',
        '<link rel="stylesheet" href="{host}/style.css">',
        "<style>@import url({host}/style.css);</style>",
        "<style>body {{ background: url({host}/back.png); }}</style>",
        '<img src="/static/../../secret">',
        '<object data="{host}/thing.svg"></object>',
    ],
)
def test_nothing_is_fetched_from_elsewhere(attack, listener, tmp_path):
    host, asked = listener
    secret = tmp_path / "secret.txt"
    secret.write_text("the secret words")
    made = b""
    with contextlib.suppress(pdf.CannotPrint):
        made = pdf.pdf_of(page(attack.format(file=secret, host=host)))
    if made:
        reader = pypdf.PdfReader(io.BytesIO(made))
        assert not reader.attachments
        assert "the secret words" not in text_of(made)
    assert asked == []


def test_a_picture_inside_the_page_cannot_fetch_either(listener):
    host, asked = listener
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'width="9" height="9">'
        f'<image xlink:href="{host}/inner.png" href="{host}/inner.png" width="9" height="9"/></svg>'
    )
    source = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    with contextlib.suppress(pdf.CannotPrint):
        pdf.pdf_of(page(f'<img src="{source}">'))
    assert asked == []


def test_things_nested_too_deep_are_refused_in_words():
    with pytest.raises(pdf.TooLong, match="nested"):
        pdf.pdf_of(page("<div>" * 3000))


def test_a_page_that_takes_too_long_is_ended():
    with pytest.raises(pdf.TooLong, match="seconds"):
        pdf.pdf_of(page("<p>x</p>"), seconds=0.05)


def test_too_many_words_never_start():
    with pytest.raises(pdf.TooLong, match="MB"):
        pdf.pdf_of("x" * (pdf.MOST_BYTES + 1))


def test_nothing_else_brings_in_the_pdf_library():
    importers = []
    for path in [*(ROOT / "remodel").rglob("*.py"), *(ROOT / "takeoff").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text())):
            names = [name.name for name in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            if any(name.split(".")[0] == "weasyprint" for name in names):
                importers.append(path.name)
    assert set(importers) == {"pdf.py", "pdf_drawing.py"}


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ('Attic"\r\nSet-Cookie: x', "Attic Set-Cookie x"),
        ("../../etc/passwd", "etc passwd"),
        ("Ætt 漢字", "tt"),
        ("漢字", "Halfbay"),
        ("a" * 300, "a" * 80),
    ],
)
def test_file_names_are_safe_in_a_header_and_on_a_disk(name, safe):
    assert pdf.file_name(name) == safe


@pytest.fixture
def missing_library(tmp_path, monkeypatch):
    """A machine without Pango: what WeasyPrint raises there as it is brought in."""
    package = tmp_path / "weasyprint"
    package.mkdir()
    (package / "__init__.py").write_text(
        "raise OSError(\"cannot load library 'libpango-1.0-0': libpango-1.0-0: cannot open shared "
        'object file")'
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))


def test_missing_library_is_named(missing_library):
    with pytest.raises(pdf.NoPrinter, match="libpango"):
        pdf.pdf_of(page("<p>x</p>"))


@pytest.fixture
def order(db, settings):
    settings.HOSTED = True
    settings.ALLOWED_HOSTS = ["testserver"]
    house = small_house(ada(), "Kitchen", "Hall")
    by = By(ada())
    store = store_add(by=by, house=house, name="Mill Street Lumber")
    half = SheetOnSale.objects.filter(house=house, thickness=INCH // 2)
    prices_confirm(by=by, house=house, priced=half, store=store)
    phases = ["framing", "hanging", "taping", "finishing"]
    made = orders.order_make(by=by, house=house, phases=phases, rooms=list(house.rooms.all()))
    longest = made.lines.exclude(pack="").first()
    return orders.order_line_set(
        by=by,
        line=longest,
        packs=longest.packs + 1,
        reason="One spare, for the corner that was cut wrong twice",
    ).order


def printed(order, paper="letter"):
    return browser(ada()).get(reverse("order-print", args=[order.pk]), {"paper": paper})


def test_missing_library_is_said_on_the_page_with_the_command(order, missing_library):
    answer = printed(order)
    page = answer.content.decode()
    assert answer.status_code == 503
    assert "sudo apt-get install libpango-1.0-0" in page
    assert "brew install pango" in page
    assert "libpango-1.0-0: cannot open" in page


@pytest.mark.parametrize(("paper", "width"), [("letter", 612), ("a4", 595)])
def test_printed_order_has_every_line_and_nothing_is_cut_off(order, paper, width):
    answer = printed(order, paper)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    with pdfplumber.open(io.BytesIO(answer.content)) as made:
        pages = [page.extract_text() for page in made.pages]
        margin = 15 / 25.4 * 72 - 1
        for page in made.pages:
            assert round(float(page.width)) == width
            for word in page.extract_words():
                assert margin <= word["x0"], word
                assert word["x1"] <= width - margin, word
                assert word["top"] >= 0, word
                assert word["bottom"] <= float(page.height), word
    whole = " ".join(" ".join(pages).split())
    shown = order_shown(orders_of(order.house).get(pk=order.pk))
    squeezed = "".join(whole.split())
    for store in shown.stores:
        for row in store.lines:
            assert "".join(row.buy.split()) in squeezed, row
    assert "One spare" in whole
    assert "Mill Street Lumber" in whole
    assert "with sample prices" in whole
    assert old_words(whole) == []
    for number, page in enumerate(pages, 1):
        assert f"{number}/{len(pages)}" in page
        assert "Elm Street" in page
        assert "Printed " in page
        if number < len(pages):
            assert "Buy" in page
    assert len(re.findall(r"\d+ lines?\b(?! of)", whole)) == len(shown.stores)


def test_total_of_an_order_is_never_alone_on_a_page():
    """Tables of more and more lines, each begun on a new page: for one of them the page ends before
    its total."""
    tables = [
        f'<div class="new-page"><table class="order"><thead><tr><th>Buy</th></tr></thead><tbody>'
        f"{'<tr><td>line</td></tr>' * lines}</tbody>"
        "<tfoot><tr><th>total</th></tr></tfoot></table></div>"
        for lines in range(30, 45)
    ]
    made = pypdf.PdfReader(io.BytesIO(pdf.pdf_of(page("".join(tables)))))
    pages = [page.extract_text() for page in made.pages]
    assert len(pages) > len(tables) + 2
    assert [text for text in pages if "total" in text and "line" not in text] == []


def test_printed_order_carries_a_code_that_leads_to_its_page_in_the_store(order):
    made = pypdf.PdfReader(io.BytesIO(printed(order).content))
    text = "".join("\n".join(page.extract_text() for page in made.pages).split())
    assert f"https://testserver{reverse('order-store', args=[order.pk])}" in text or (
        f"http://testserver{reverse('order-store', args=[order.pk])}" in text
    )


def test_paper_of_a_server_nobody_else_reaches_says_why_it_has_no_code(order, settings, rf):
    from remodel.pages.supply.views.orders import page_address

    settings.HOSTED, settings.LAN_HOST = False, ""
    assert page_address(rf.get("/"), "/order/x/store") == ""
    settings.LAN_HOST, settings.PORT = "192.168.1.20", 8000
    assert page_address(rf.get("/"), "/order/x/store") == "http://192.168.1.20:8000/order/x/store"


def test_print_asked_for_by_another_site_is_refused(order):
    url = reverse("order-print", args=[order.pk])
    across = browser(ada()).get(
        url, headers={"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Dest": "image"}
    )
    assert across.status_code == 403


def test_a_second_print_waits_its_turn_and_is_told(order, monkeypatch):
    monkeypatch.setattr(pdf, "WAIT_SECONDS", 0.2)
    with pdf.turn_of_print(str(ada().pk)):
        answer = printed(order)
    assert answer.status_code == 429
    assert answer["Retry-After"]
    assert printed(order).status_code == 200


def test_a_stranger_cannot_print(order):
    assert browser(cy()).get(reverse("order-print", args=[order.pk])).status_code == 404
