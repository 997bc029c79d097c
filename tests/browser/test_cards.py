"""Drawings, cards, the phone beside the sheet, hanging order and packs in a browser."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.urls import reverse

from remodel.board.models import Plan
from remodel.bridge.cards import SheetShown
from remodel.bridge.lengths import INCH
from remodel.cards.models import DoneMark
from remodel.cards.queries import cards_for
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.things import cutout_add
from remodel.people.services import household
from remodel.supply.models import OwnedSheet
from remodel.ticks import Ticked, tick_all
from tests.browser.conftest import sync_api
from tests.browser.reading import faults_of_pages
from tests.remodel.site import small_house

pytestmark = pytest.mark.django_db(transaction=True)
expect = sync_api.expect
# Links in running text, drawings and tables are as large as their words.
TEXT = "p:not(.back), li, dd, svg, td, th, .unseen"


@pytest.fixture
def room() -> Room:
    cache.clear()
    by = By(household())
    house = small_house(by.person, "Kitchen")
    kitchen = Room.objects.get(house=house)
    cutout_add(
        by=by,
        room=kitchen,
        surface="A",
        name="Switch by the door",
        kind="box",
        width=2 * INCH,
        height=4 * INCH,
        across_origin="left",
        across_distance=30 * INCH,
        across_to="near",
        up_origin="floor",
        up_distance=44 * INCH,
        up_to="near",
    )
    return Room.objects.select_related("house", "behind").get(pk=kitchen.pk)


def pages(room: Room) -> list[str]:
    sheet = next(
        sheet for sheet in cards_for(room).sheets if any(piece.holes for piece in sheet.pieces)
    )
    return [
        *(
            reverse(page, args=[room.pk])
            for page in ("room-drawings", "room-cards", "room-cut", "room-hanging")
        ),
        reverse("room-marking", args=[room.pk]),
        reverse("room-card", args=[room.pk, sheet.key]),
        reverse("room-card", args=[room.pk, cut_sheet(room).key]),
        *(
            reverse("phase-detail", args=[room.phases.get(key=key).pk])
            for key in ("taping", "finishing")
        ),
        *(
            reverse(page, args=[room.house_id])
            for page in ("house-cards", "house-marking", "house-packs")
        ),
    ]


def cut_sheet(room: Room) -> SheetShown:
    """A sheet that leaves something worth keeping, with all its pieces ticked as cut."""
    sheet = sheet_with_a_rest(room)
    ticks = [Ticked("cut", piece.key, piece.room_key) for piece in sheet.pieces]
    tick_all(by=By(household()), room=room, ticks=ticks)
    return sheet


def sheet_with_a_rest(room: Room) -> SheetShown:
    return next(
        sheet for sheet in cards_for(room).sheets if any(not rest.planned for rest in sheet.rests)
    )


def all_sent(page) -> None:
    """Wait until the server has every mark; what waits for it is asked of the page, whose policy
    forbids more."""
    for _ in range(300):
        if page.evaluate("localStorage.getItem('halfbay-marks')") == "{}":
            return
        page.wait_for_timeout(100)
    raise AssertionError("marks are still held on the page")


def test_pages_read_well_at_every_size(visit, room):
    page = visit("/help", "phone")
    assert faults_of_pages(page, {path: path for path in pages(room)}, skipped=TEXT) == {}


def least_words(page) -> list[float]:
    """The height of the smallest words of each drawing that is shown, in pixels."""
    return page.evaluate(
        """() => [...document.querySelectorAll('svg.drawing')]
          .filter(svg => svg.getBoundingClientRect().width)
          .map(svg => Math.min(...[...svg.querySelectorAll('text')].map(text =>
            parseFloat(text.getAttribute('font-size')))) *
            svg.getBoundingClientRect().width / svg.viewBox.baseVal.width)"""
    )


def test_smallest_words_of_drawings_and_cards_are_14_pixels_on_a_phone(visit, room):
    page = visit(reverse("room-drawings", args=[room.pk]), "phone")
    of_room = least_words(page)
    assert len(of_room) >= 6
    assert min(of_room) >= 14
    sheet = cards_for(room).sheets[0]
    page.goto(f"{page.url.partition('/room')[0]}{reverse('room-card', args=[room.pk, sheet.key])}")
    assert min(least_words(page)) >= 14


def test_wide_screen_and_paper_laid_sideways_have_drawings_of_their_own_layout(visit, room):
    page = visit(reverse("room-drawings", args=[room.pk]))
    for media, least in (("screen", 14), ("print", 3 / 25.4 * 96)):  # 3 mm
        page.emulate_media(media=media)
        assert page.locator(".drawn-wide svg").first.is_visible()
        assert not page.locator(".drawn-narrow svg").first.is_visible()
        assert min(least_words(page)) >= least
    page.set_viewport_size({"width": 720, "height": 900})
    assert page.locator(".drawn-narrow svg").first.is_visible()


def test_one_piece_at_a_time_and_done_goes_to_the_next(visit, room):
    page = visit(reverse("room-cut", args=[room.pk]), "phone")
    shown = page.locator("[data-step]:visible")
    expect(shown).to_have_count(1)
    first = shown.locator(".piece-code").inner_text()
    shown.get_by_role("button", name="Done").click()
    expect(shown.locator(".piece-code")).not_to_have_text(first)
    expect(page.locator(".mark-said", has_text="Kept on this phone")).to_have_count(0)
    all_sent(page)

    assert DoneMark.objects.get().done
    assert Plan.objects.exclude(state__in=("proposed", "left")).get().state == "accepted"
    shown.locator("[data-back]").click()
    expect(shown.locator(".piece-code")).to_have_text(first)
    expect(shown.locator(".mark-done")).to_contain_text("Cut")
    page.reload()
    expect(shown.locator(".piece-code")).to_have_text(first)


def test_marks_outlive_a_lost_signal_and_the_page_and_are_sent_when_it_is_back(visit, room):
    page = visit(reverse("room-cut", args=[room.pk]), "phone")
    shown = page.locator("[data-step]:visible")
    page.context.set_offline(True)
    for _ in range(2):
        shown.get_by_role("button", name="Done").click()
    assert len(page.evaluate("Object.keys(JSON.parse(localStorage.getItem('halfbay-marks')))")) == 2
    shown.locator("[data-back]").click()
    expect(shown.locator(".mark-said")).to_have_text(
        "Kept on this phone; sent when the signal is back."
    )
    assert not DoneMark.objects.exists()
    page.context.set_offline(False)
    all_sent(page)

    assert DoneMark.objects.filter(done=True).count() == 2
    expect(shown.locator(".mark-said")).to_have_text("")


def test_mark_taken_back_before_it_was_sent_is_sent_as_it_stands(visit, room):
    page = visit(reverse("room-hanging", args=[room.pk]), "phone")
    first = page.locator(".hang-step").first
    page.context.set_offline(True)
    first.get_by_role("button", name="Done").click()
    first.get_by_role("button", name="Undo").click()
    page.context.set_offline(False)
    all_sent(page)

    assert not DoneMark.objects.filter(done=True).exists()


def test_hanging_order_is_ticked_and_counted(visit, room):
    page = visit(reverse("room-hanging", args=[room.pk]))
    page.locator(".hang-step").first.get_by_role("button", name="Done").click()
    expect(page.locator(".progress")).to_contain_text("1 of")
    all_sent(page)
    page.reload()
    expect(page.locator(".progress")).to_contain_text("1 of")


def test_card_asks_for_what_is_left_once_its_last_piece_is_marked(visit, room):
    sheet = sheet_with_a_rest(room)
    page = visit(reverse("room-card", args=[room.pk, sheet.key]), "phone")
    link = page.get_by_role("link", name="Keep or bin what is left of it")
    expect(link).to_be_hidden()
    for button in page.locator(".piece .mark-do").all():
        button.click()
    all_sent(page)
    link.click()
    page.get_by_role("button", name="Keep it").first.click()
    expect(page.get_by_text("Plans may use it")).to_be_visible()

    assert OwnedSheet.objects.get().made_by == sheet.code


def test_wall_hangs_by_keyboard_without_script_and_is_taken_back(visit, room):
    page = visit(reverse("room-hanging", args=[room.pk]), "phone", script=False)
    page.locator(".at-once summary").focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="All of Wall A hangs as planned").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("All of Wall A hangs", exact=True)).to_be_visible()
    assert DoneMark.objects.filter(kind="hung", done=True).exists()
    page.locator(".at-once summary").click()
    page.get_by_role("button", name="Undo all Wall A").click()
    expect(page.get_by_text("Undone: all of Wall A hangs")).to_be_visible()

    assert not DoneMark.objects.filter(kind="hung", done=True).exists()


def test_coats_are_marked_one_by_one_and_all_at_once(visit, room):
    taping = room.phases.get(key="taping")
    page = visit(reverse("phase-detail", args=[taping.pk]), "phone")
    page.get_by_role("button", name="Taped Wall A").click()
    all_sent(page)
    assert DoneMark.objects.get().item == "A"
    page.get_by_role("button", name="All: Taped").click()
    expect(page.get_by_text("Taped: every surface")).to_be_visible()
    expect(page.get_by_role("button", name="Undo all Taped")).to_be_visible()


def test_printed_from_the_browser_a_card_keeps_its_numbers_and_names_and_no_table(visit, room):
    sheet = next(
        sheet
        for sheet in cards_for(room).sheets
        if sheet.cuts and any(piece.holes for piece in sheet.pieces)
    )
    page = visit(reverse("room-card", args=[room.pk, sheet.key]))
    page.emulate_media(media="print")

    names = page.locator("svg.drawing .mark")
    assert names.count() >= len(sheet.cuts) + 1
    assert all(name.is_visible() for name in names.all())
    assert not any(table.is_visible() for table in page.locator("figure details").all())


@pytest.mark.parametrize(
    ("name", "line"), [("room-hanging", ".hang-step"), ("room-cards", ".sheets > .task")]
)
def test_lists_printed_from_the_browser_have_a_box_to_tick_on_every_line(visit, room, name, line):
    page = visit(reverse(name, args=[room.pk]))
    page.emulate_media(media="print")

    box = "li => parseFloat(getComputedStyle(li, '::before').borderTopWidth)"
    lines = page.locator(line).all()
    assert lines
    assert all(one.evaluate(box) > 0 for one in lines)


def test_without_script_all_pieces_stand_one_below_the_other_and_can_be_marked(visit, room):
    page = visit(reverse("room-cut", args=[room.pk]), script=False)
    pieces = sum(len(sheet.pieces) for sheet in cards_for(room).sheets)
    expect(page.locator("[data-step]:visible")).to_have_count(pieces)
    page.locator("[data-step]").first.get_by_role("button", name="Done").click()
    expect(page.locator("[data-step]").first.locator(".mark-done")).to_be_visible()

    assert DoneMark.objects.get().done


def test_buttons_beside_the_sheet_are_large_and_its_words_are_read_at_arms_length(visit, room):
    page = visit(reverse("room-cut", args=[room.pk]), "phone")
    shown = page.locator("[data-step]:visible")
    for button in (
        shown.locator(".mark-do"),
        shown.locator("[data-next]"),
        shown.locator("[data-back]"),
    ):
        assert button.bounding_box()["height"] >= 64
    size = "(element) => parseFloat(getComputedStyle(element).fontSize)"

    assert shown.locator(".piece-code").evaluate(size) >= 48
    assert shown.locator(".piece-size").evaluate(size) >= 28
    assert shown.locator(".lying").evaluate(size) >= 20


def test_house_pack_is_asked_for_and_its_page_follows_the_worker(visit, room, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    page = visit(reverse("house-packs", args=[room.house_id]), "phone")
    page.get_by_role("button", name="Make the print set").click()
    page.get_by_role("heading", name="House pack").wait_for()
    expect(page.locator("#far")).to_contain_text("The worker does not run")
    from remodel.cards import printing

    assert printing.run_once() is not None
    page.get_by_role("link", name="Open the PDF").wait_for()
    page.get_by_role("link", name="Has anything changed since?").click()
    page.get_by_role("heading", name="Nothing changed since this was printed").wait_for()
