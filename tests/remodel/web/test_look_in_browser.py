"""The page that shows every part, in Chromium at phone and laptop size."""

import unicodedata

import pytest

from tests.browser.reading import ANYWHERE, open_details, too_small

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
SIZES = {"phone": {"width": 390, "height": 844}, "laptop": {"width": 1280, "height": 900}}


@pytest.fixture
def visit(chromium, sink_address):
    """Open the page; afterwards nothing may have broken the policy or gone to another host."""
    complaints = []
    contexts = []

    def open_page(size="laptop", *, query="", scheme="light", width=None, script=True):
        phone = size == "phone"
        context = chromium.new_context(
            viewport={**SIZES[size], **({"width": width} if width else {})},
            color_scheme=scheme,
            has_touch=phone,
            is_mobile=phone,
            java_script_enabled=script,
        )
        contexts.append(context)
        page = context.new_page()
        page.on(
            "console",
            lambda message: complaints.append(message.text) if "Policy" in message.text else None,
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "request",
            lambda request: (
                complaints.append(request.url)
                if not request.url.startswith("http://127.0.0.1:")
                else None
            ),
        )
        page.goto(sink_address + query, wait_until="load")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("query", ["", "?show=conflict"])
def test_axe_finds_nothing(visit, size, scheme, query):
    from axe_playwright_python.sync_playwright import Axe

    page = visit(size, scheme=scheme, query=query)
    open_details(page)
    report = Axe().run(page)

    assert [
        (violation["id"], [node["html"] for node in violation["nodes"]])
        for violation in report.response["violations"]
    ] == []


def test_axe_finds_nothing_on_a_refused_form(visit):
    from axe_playwright_python.sync_playwright import Axe

    page = visit("phone")
    page.click("text=Save the opening")
    page.wait_for_selector(".error-summary")
    report = Axe().run(page)

    assert [
        (violation["id"], [node["html"] for node in violation["nodes"]])
        for violation in report.response["violations"]
    ] == []


@pytest.mark.parametrize(("size", "width"), [("phone", 320), ("phone", 390), ("laptop", 1280)])
def test_nothing_scrolls_sideways_but_the_boxes_that_say_so(visit, size, width):
    page = visit(size, width=width)

    # not against innerWidth: a phone widens that to what does not fit
    assert page.evaluate("document.documentElement.scrollWidth") == width
    assert page.evaluate("document.querySelector('.sheet').scrollWidth") > (
        0 if size == "laptop" else width
    )


@pytest.mark.parametrize(("size", "least"), [("phone", 44), ("laptop", 24)])
def test_targets_are_large_enough_for_a_thumb(visit, size, least):
    text = "p:not(.back, .house-name), svg, .skip"
    small = too_small(visit(size), least, skipped=text, among=ANYWHERE)
    # a link in a table's cell or a summary of errors is text in a line
    assert [
        target for target in small if 'href="#"' not in target[0] or "Change" in target[0]
    ] == []


def test_refused_form_moves_focus_to_the_summary_and_says_error_in_the_title(visit):
    page = visit()
    page.fill("#id_width", "6 1")
    page.click("text=Save the opening")
    page.wait_for_selector(".error-summary")
    sync_api.expect(page.locator(".error-summary")).to_be_focused()

    assert page.title().startswith("Error: ")
    assert page.input_value("#id_width") == "6 1"
    for link in page.locator(".error-summary a").all():
        link.click()
        assert "#" + page.evaluate("document.activeElement.id") == link.get_attribute("href")


def test_mended_form_is_saved_and_the_live_region_says_so(visit):
    page = visit()
    page.click("text=Save the opening")
    page.wait_for_selector(".error-summary")
    page.fill("#id_name", "Kitchen window")
    page.check("#id_wall_0")
    page.fill("#id_count", "1")
    page.click("text=Save the opening")
    page.wait_for_selector("text=The opening is saved")
    sync_api.expect(page.locator("#live")).to_have_text("Saved 14:32")

    assert not page.title().startswith("Error: ")
    assert page.evaluate("document.activeElement.tagName") == "H1"


def test_without_script_the_same_form_gives_the_same_page(visit):
    page = visit(script=False)
    page.fill("#id_width", "6 1")
    page.click("text=Save the opening")

    assert page.title().startswith("Error: ")
    assert page.input_value("#id_width") == "6 1"
    assert page.locator(".tape-keys").count() == 0


def test_length_is_read_back_while_typing_and_is_no_error(visit):
    page = visit()
    page.fill("#id_width", "")
    page.type("#id_width", "12-6 1/2")
    sync_api.expect(page.locator("output[for=id_width]")).to_have_text("Reads as 12 ft 6 1/2 in")

    assert page.get_attribute("#id_width", "aria-invalid") is None
    assert page.evaluate("document.activeElement.id") == "id_width"


def test_tape_keys_stand_on_a_phone_and_write_at_the_caret(visit):
    page = visit("phone")
    page.fill("#id_width", "")
    page.tap("#id_width")
    page.type("#id_width", "12")
    page.tap(".tape-keys >> text=ft")
    page.type("#id_width", "6")
    page.tap(".tape-keys >> text=1/2")
    page.tap(".tape-keys >> text='in'")

    assert page.input_value("#id_width") == "12' 6 1/2\""
    assert page.evaluate("document.activeElement.id") == "id_width"
    page.focus("#id_name")
    assert page.locator(".tape-keys").count() == 0


def test_tape_keys_keep_away_from_a_laptop(visit):
    page = visit()
    page.focus("#id_width")

    assert page.locator(".tape-keys").count() == 0


def test_what_cannot_be_sent_is_held_and_sent_again(visit):
    page = visit()
    page.fill("#id_name", "Kitchen window")
    page.check("#id_wall_0")
    page.fill("#id_count", "1")
    page.context.set_offline(True)
    page.click("text=Save the opening")
    page.wait_for_selector(".unsent")

    assert page.input_value("#id_name") == "Kitchen window"
    assert "Not saved yet" in page.inner_text("#live")
    page.context.set_offline(False)
    page.wait_for_selector("text=The opening is saved")


def test_focus_goes_to_the_part_when_the_pressed_button_is_gone(visit):
    page = visit()
    page.focus("#swapper")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=New words")
    sync_api.expect(page.locator("#swap")).to_be_focused()


def test_focus_is_seen_on_everything_one_can_tab_to(visit):
    page = visit()
    for _ in range(40):
        page.keyboard.press("Tab")
        tag, width = page.evaluate(
            "[document.activeElement.outerHTML.slice(0, 60), "
            "getComputedStyle(document.activeElement).outlineWidth]"
        )
        assert float(width.removesuffix("px")) >= 2, tag


def test_paper_from_the_browser_has_no_navigation(visit, tmp_path):
    pypdf = pytest.importorskip("pypdf")
    page = visit()
    page.pdf(path=tmp_path / "page.pdf", format="Letter")
    printed = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "page.pdf").pages)
    # some fonts join the two f of offcut into one sign
    text = unicodedata.normalize("NFKC", printed)

    assert "Hang the board" in text
    assert "offcut of A2" in text  # folded reasons are printed open
    for word in ("Orders", "Skip to", "Undo", "Save the opening"):
        assert word not in text


def test_htmx_reads_our_policy(visit):
    page = visit()

    assert page.evaluate(
        "[htmx.config.allowEval, htmx.config.allowScriptTags, htmx.config.includeIndicatorStyles]"
    ) == [
        False,
        False,
        False,
    ]
