"""Packs on paper: what is on them, how large, and whether they still stand."""

from __future__ import annotations

import base64
import io
import re
from types import SimpleNamespace

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from remodel.archive.files import file_names
from remodel.board.models import Plan
from remodel.bridge import cards as cards_bridge
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.paper_drawings import looks
from remodel.cards import printing
from remodel.cards.models import PrintPack
from remodel.cards.pack_files import pack_files
from remodel.cards.packs import PARTS, changed_since, figure, room_part, side_by_side
from remodel.cards.queries import cards_for
from remodel.cards.services import marking_set
from remodel.history.services import By
from remodel.house.services import room_change, room_resize
from remodel.house.things import cutout_change, surface_choice_set
from remodel.jobs.models import worker_seen
from remodel.pages.cards import views_packs
from tests.remodel.factories import ada, ben, cy
from tests.remodel.project.test_plain_words import old_words
from tests.remodel.site import browser, print_set, share

pypdf = pytest.importorskip("pypdf")
pdfplumber = pytest.importorskip("pdfplumber")
pytest.importorskip("weasyprint")
pytestmark = pytest.mark.django_db

POINT_TO_MM = 25.4 / 72
SIZES = {"letter": (612, 792), "a4": (595, 842)}


@pytest.fixture
def letter(room):
    return print_set(ada(), room)


@pytest.mark.parametrize("paper", SIZES)
def test_pack_says_page_house_room_date_revision_and_code_on_every_page(room, paper):
    reader = pypdf.PdfReader(io.BytesIO(print_set(ada(), room, paper=paper)))
    pack = PrintPack.objects.get()
    count = len(reader.pages)

    assert pack.paper == paper
    for number, page in enumerate(reader.pages, start=1):
        text = page.extract_text()
        assert (round(page.mediabox.width), round(page.mediabox.height)) == SIZES[paper]
        for words in (
            f"{number}/{count}",
            "Elm Street",
            "Kitchen",
            f"revision {pack.revision}",
            f"{pack.code[:4]}-{pack.code[4:]}",
            f"Printed {pack.made_at.day} ",
        ):
            assert words in text, (number, words)


def test_pack_holds_every_drawing_sheet_piece_and_step_on_few_pages(room, letter):
    pages = pypdf.PdfReader(io.BytesIO(letter)).pages
    text = "".join(page.extract_text() for page in pages)

    # a cover, six drawings on three pages, the lists and cards of eleven sheets on the others
    assert len(pages) <= 10
    for wall in "ABCD":
        assert f"Wall {wall}" in text
    assert "seen from below" in text
    for sheet in cards_for(room).sheets:
        assert f"Sheet {sheet.code}" in text
        for piece in sheet.pieces:
            assert piece.code in text
    assert "hanging order" in text
    assert old_words(text) == []
    assert "Switch by the door" in text


def test_what_is_said_of_all_pieces_stands_once_on_the_paper(room, letter):
    pages = pypdf.PdfReader(io.BytesIO(letter)).pages
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))

    assert text.count("Mark it face up. It is drawn as you will see it overhead") == 1
    rule = cards_bridge.screw_rule_in(room.house.units).replace("\u00a0", " ")
    assert text.count(f"Every board: screws {rule}.") == 1


def test_contents_name_the_page_that_each_part_begins_on(room, letter):
    with pdfplumber.open(io.BytesIO(letter)) as pdf:
        pages = [page.extract_text() for page in pdf.pages]
    entry = re.search(r"Hanging order, \d+ steps (\d+)", pages[0])

    assert entry
    assert "hanging order" in pages[int(entry[1]) - 1]


def test_every_drawing_has_its_lines_on_the_page(room):
    with pdfplumber.open(io.BytesIO(print_set(ada(), room, phase="framing"))) as pdf:
        for page in pdf.pages[1:]:
            assert len(page.lines) + len(page.curves) + len(page.rects) > 8


@pytest.mark.parametrize("paper", SIZES)
def test_smallest_word_of_a_drawing_is_three_millimetres_and_nothing_is_cut_off(room, paper):
    with pdfplumber.open(io.BytesIO(print_set(ada(), room, paper=paper))) as pdf:
        for page in pdf.pages:
            for char in page.chars:
                assert char["x0"] >= 0
                assert char["x1"] <= page.width + 0.1
                assert char["bottom"] <= page.height
            sizes = [
                char["size"] if char["upright"] else char["x1"] - char["x0"]
                for char in page.chars
                # the words of the margins stand once more where they come from, in white
                if char["non_stroking_color"] not in ((1, 1, 1), (1,), 1)
            ]
            # the running lines and reasons are 8.5 pt, three millimetres
            assert min(sizes) * POINT_TO_MM > 2.99


def test_words_of_a_drawing_do_not_lie_on_each_other(room):
    with pdfplumber.open(io.BytesIO(print_set(ada(), room, phase="framing"))) as pdf:
        for page in pdf.pages[1:]:
            words = [word for word in page.extract_words(keep_blank_chars=True) if word["upright"]]
            for index, one in enumerate(words):
                for other in words[index + 1 :]:
                    wide = min(one["x1"], other["x1"]) - max(one["x0"], other["x0"])
                    high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
                    assert not (wide > 1 and high > 2), (
                        page.page_number,
                        one["text"],
                        other["text"],
                    )


def test_drawing_on_paper_has_a_line_for_every_class_and_keeps_its_words(room):
    cards = cards_for(room)
    for sheet in cards.sheets:
        drawing = cards_bridge.paper_sheet(sheet, prefix="s")
        assert "class=" not in drawing.svg
        assert drawing.svg.count("<text") == len(drawing.words)
        assert {piece.code for piece in sheet.pieces} <= {word.text for word in drawing.words}
        assert "var(" not in drawing.svg
    assert looks()["saw"]["stroke"] != looks()["face"]["stroke"]


def test_name_written_from_right_to_left_or_as_markup_is_set_as_words(room):
    from remodel.house.things import cutout_change

    cutout_change(by=By(ada()), cutout=room.cutouts.get(), name='<b onload="x">שקע</b>')
    part = room_part(room, list(PARTS))
    pictures = re.findall(r"base64,([^\"]*)", "".join(figure for _, figure in part.drawings))
    svg = "".join(base64.b64decode(picture).decode() for picture in pictures)

    assert "&lt;b onload=&quot;x&quot;&gt;" in svg
    assert "<b onload" not in svg
    with pdfplumber.open(io.BytesIO(print_set(ada(), room, phase="framing"))) as pdf:
        text = "".join(page.extract_text() for page in pdf.pages)
    # set by its shapes from the right: what is read from the left is turned
    assert "שקע"[::-1] in text


def test_code_says_nothing_changed_until_something_does(room, letter):
    pack = PrintPack.objects.get()
    check = reverse("pack-check", args=[f"{pack.code[:4].lower()}-{pack.code[4:]}"])
    assert "Nothing changed since this was printed" in browser(ada()).get(check).content.decode()
    room_change(by=By(ada()), room=room, paint_coats=3)
    assert changed_since(pack) == []
    room_resize(by=By(ada()), room=room, length=12 * FOOT + INCH, width=10 * FOOT)

    ((name, how),) = changed_since(pack)
    assert name == "Kitchen"
    assert how.startswith("is not as it was printed")
    assert "Do not cut by this paper" in browser(ada()).get(check).content.decode()


@pytest.mark.parametrize("paper", SIZES)
def test_printed_code_leads_a_phone_to_the_page_that_says_what_changed(room, paper):
    zxingcpp = pytest.importorskip("zxingcpp")
    with pdfplumber.open(io.BytesIO(print_set(ada(), room, paper=paper, phase="framing"))) as pdf:
        seen = zxingcpp.read_barcodes(pdf.pages[0].to_image(resolution=150).original.convert("L"))
    pack = PrintPack.objects.get()

    assert [(str(code.format), code.text) for code in seen] == [("QR Code", pack.address)]
    page = browser(ada()).get(seen[0].text).content.decode()
    assert "Nothing changed since this was printed" in page


def test_change_of_how_sheets_are_marked_is_told_too(room, letter):
    marking_set(by=By(ada()), house=room.house, allowance=INCH // 4)

    ((name, how),) = changed_since(PrintPack.objects.get())
    assert name == "Kitchen"
    assert how.startswith("is not as it was printed")


def test_room_that_was_removed_is_told(room, letter):
    from remodel.house.services import room_remove

    room_remove(by=By(ada()), room=room)

    assert changed_since(PrintPack.objects.get()) == [("Kitchen", "was removed")]


def test_code_is_for_those_of_the_house(room, letter):
    check = reverse("pack-check", args=[PrintPack.objects.get().code])

    assert browser(cy()).get(check).status_code == 404
    assert browser(ada()).get(reverse("pack-check", args=["ZZZZZZZZ"])).status_code == 404
    assert browser(ada()).post(check).status_code == 405


@pytest.mark.parametrize("name", ["room-pack", "house-packs"])
def test_stranger_and_wrong_verb(room, name):
    to = reverse(name, args=[room.house_id if name == "house-packs" else room.pk])

    assert browser(cy()).post(to).status_code == 404
    assert browser(ada()).delete(to).status_code == 405
    nowhere = reverse(name, args=["00000000-0000-0000-0000-000000000000"])
    assert browser(ada()).post(nowhere).status_code == 404


def test_pack_of_a_room_pressed_twice_is_one_pack(room):
    to = reverse("room-pack", args=[room.pk])
    pressed = {"phase": "framing", "paper": "a4"}
    first, again = (browser(ada()).post(to, pressed) for _ in range(2))
    pack = PrintPack.objects.get()
    assert first["Location"] == again["Location"] == reverse("house-pack", args=[pack.pk])
    assert (pack.title, pack.paper) == ("Kitchen: framing", "a4")
    browser(ada()).post(to, {"phase": "framing", "paper": "letter"})
    assert PrintPack.objects.count() == 2


def test_pack_that_the_worker_makes_at_once_is_opened(room, monkeypatch):
    monkeypatch.setattr(views_packs, "worker_is_here", lambda: True)
    # The view's clock alone: whoever else sleeps while the set is made must not begin it again.
    clock = SimpleNamespace(monotonic=lambda: 0.0, sleep=lambda _: printing.run_once())
    monkeypatch.setattr(views_packs, "time", clock)
    answer = browser(ada()).post(reverse("room-pack", args=[room.pk]), {"phase": "framing"})
    pack = PrintPack.objects.get(state="done")
    assert answer["Location"] == reverse("house-pack-file", args=[pack.pk])


def test_press_waits_no_longer_than_said_for_a_pack(room, monkeypatch):
    monkeypatch.setattr(views_packs, "worker_is_here", lambda: True)
    monkeypatch.setattr(views_packs, "SMALL_SECONDS", 0.2)
    answer = browser(ada()).post(reverse("room-pack", args=[room.pk]), {"phase": "framing"})
    assert answer["Location"] == reverse("house-pack", args=[PrintPack.objects.get().pk])


def test_pack_of_a_room_does_not_wait_behind_one_of_the_house(room):
    ask(room)
    PrintPack.objects.update(state="running", owner="busy", started_at=timezone.now())
    worker_seen("busy")
    browser(ada()).post(reverse("room-pack", args=[room.pk]), {"phase": "framing"})
    pack = printing.run_once(printing.ROOM_PACKS)
    assert pack is not None
    assert pack.room == room


def test_who_may_look_only_prints_and_accepts_nothing_by_it(room):
    share(room.house, ben(), "viewer")
    assert print_set(ben(), room, phase="hanging").startswith(b"%PDF")
    assert not Plan.objects.exists()
    print_set(ada(), room, phase="hanging")
    assert Plan.objects.get().state == "accepted"


def ask(room, **more):
    form = {
        "phase": "all",
        "rooms": [room.key],
        "paper": "a4",
        "key": "6f1d3b0e-6f1d-4b0e-8f1d-3b0e6f1d3b0e",
    }
    return browser(ada()).post(reverse("house-packs", args=[room.house_id]), form | more)


def test_house_pack_is_made_by_the_worker_and_kept(room):
    assert ask(room).status_code == 302
    assert ask(room).status_code == 302  # pressed twice
    pack = PrintPack.objects.get()
    assert pack.state == PrintPack.State.WAITING
    file = reverse("house-pack-file", args=[pack.pk])
    assert browser(ada()).get(file).status_code == 404
    assert printing.run_once() == pack
    assert printing.run_once() is None
    pack.refresh_from_db()
    assert (pack.state, pack.done, pack.of) == ("done", pack.of, len(cards_for(room).sheets))
    answer = browser(ada()).get(file)
    reader = pypdf.PdfReader(io.BytesIO(b"".join(answer.streaming_content)))

    assert pack.revision in reader.pages[0].extract_text()
    assert browser(cy()).get(file).status_code == 404
    assert changed_since(pack) == []


def test_pack_of_no_room_is_refused_with_what_to_choose(room):
    answer = ask(room, rooms=[])

    assert answer.status_code == 422
    assert "&quot;Rooms&quot; is empty. Choose one" in answer.content.decode()
    assert not PrintPack.objects.exists()


def test_pack_that_is_stopped_is_not_made(room):
    ask(room)
    pack = PrintPack.objects.get()
    share(room.house, ben(), "viewer")
    stop = reverse("house-pack-stop", args=[pack.pk])
    assert browser(ben()).post(stop).status_code == 404
    assert browser(ada()).post(stop).status_code == 302
    assert printing.run_once() is None
    assert PrintPack.objects.get().state == PrintPack.State.STOPPED


def test_poll_is_answered_with_nothing_while_nothing_is_new(room):
    ask(room)
    page = reverse("house-pack", args=[PrintPack.objects.get().pk])
    first = browser(ada()).get(page)
    headers = {"HX-Request": "true"}

    assert (
        browser(ada()).get(page, {"seen": first.context["seen"]}, headers=headers).status_code
        == 204
    )
    PrintPack.objects.update(state="running", done=3)
    assert (
        browser(ada()).get(page, {"seen": first.context["seen"]}, headers=headers).status_code
        == 200
    )


def test_pack_whose_worker_fell_silent_is_made_again(room):
    ask(room)
    PrintPack.objects.update(state="running", owner="a worker that is gone")

    assert printing.run_once() is not None
    assert PrintPack.objects.get().state == PrintPack.State.DONE


def test_figure_is_a_picture_that_says_what_it_shows(room):
    sheet = cards_for(room).sheets[0]
    made = figure(cards_bridge.paper_sheet(sheet, prefix="s"))

    assert f'alt="Sheet {sheet.code}' in made


def test_progress_moves_while_the_pages_are_laid_out(room):
    ask(room)
    reports = []
    pack = PrintPack.objects.get()
    tell = printing._tell

    def listen(claim, *, done, of, doing):
        reports.append((doing, done, of))
        return tell(claim, done=done, of=of, doing=doing)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(printing, "_tell", listen)
        patch.setattr("remodel.printing.warm_process.LOOK_SECONDS", 0.01)
        printing.run_once()
    pack.refresh_from_db()

    assert any(doing.startswith("Laying out page ") and done > 1 for doing, done, _ in reports)
    assert any(doing == "Writing the pages" and 0 < done <= of for doing, done, of in reports)


def test_pack_that_is_stopped_while_it_is_laid_out_is_not_made(room, monkeypatch):
    ask(room)
    monkeypatch.setattr("remodel.printing.warm_process.LOOK_SECONDS", 0.01)
    laid_out = printing.lay_out

    def stopped(html, watch):
        PrintPack.objects.update(state=PrintPack.State.STOPPED)
        return laid_out(html, watch)

    monkeypatch.setattr(printing, "lay_out", stopped)
    pack = printing.run_once()
    pack.refresh_from_db()

    assert (pack.state, pack.file) == (PrintPack.State.STOPPED, "")
    assert list(file_names(pack_files())) == []


def test_plain_rectangle_stands_in_a_table_and_only_what_is_marked_has_a_drawing(room):
    part = room_part(room, ("cards",))
    assert part is not None
    cards = {sheet.code: sheet for sheet in cards_for(room).sheets}
    kinds = set()
    for pages in part.sheets:
        sheet = cards[pages.code]
        for piece, on_paper in zip(sheet.pieces, pages.pieces, strict=True):
            marked = bool(piece.holes or piece.notches or piece.last_cuts or piece.turned)
            assert (f'alt="Piece {piece.code}, ' in on_paper.figure) is marked
            assert len(on_paper.edges) == (0 if marked else 4)
            kinds.add(marked)
        # a sheet that is only cut across, or has nothing drawn on it, has its cuts in words
        drawn = f'alt="Sheet {pages.code},' in pages.figure
        assert drawn is (sheet.is_ripped and any(piece.figure for piece in pages.pieces))
        assert drawn or pages.cuts == sheet.cuts
    assert kinds == {True, False}


def test_paper_has_every_word_of_a_piece(room):
    """What a page of the piece says stands on its paper too: beside the figure, or once before all
    cards where it is said of several pieces."""
    part = room_part(room, ("cards",))
    assert part is not None
    rule = cards_bridge.screw_rule_in(room.house.units)
    lying = {code: sentence for codes, sentence in part.ways for code in codes}
    for sheet in part.sheets:
        for on_paper in sheet.pieces:
            paper = render_to_string("packs/_piece.html", {"on_paper": on_paper})
            piece = on_paper.shown
            assert lying[piece.code] == piece.lying
            assert piece.screws in (piece.screw_lines, f"{piece.screw_lines}, {rule}")
            said = [piece.code, piece.size, piece.goes, piece.screw_lines, *piece.notes]
            said += [*piece.last_cuts, *piece.backers]
            for mark in piece.marks:
                said += [mark.name, mark.size, mark.left, mark.right, mark.near, mark.far]
            missing = [text for text in said if escape(text) not in paper]
            assert not missing
            assert ("turned 180°" in paper) is piece.turned


def test_every_step_of_hanging_stands_once_on_paper_in_its_order_with_its_reason(room):
    part = room_part(room, ("hanging",))
    assert part is not None
    told = [step for group in part.hang_groups for step in group.steps]
    lists = {
        "columns": part.hang_columns,
        "groups": part.hang_groups,
        "reasons": part.hang_reasons,
    }
    paper = render_to_string("packs/_hanging_order.html", lists)
    assert part.hang_columns is not None
    left, right = part.hang_columns
    assert (*left, *right) == part.hang_groups
    assert min(len(left), len(right)) > 0

    assert tuple(told) == part.steps
    assert next(group.title for group in part.hang_groups if group.title) == "Ceiling"
    for step in part.steps:
        wanted = [step.code, step.place] if step.piece else [step.what]
        assert all(escape(text) in paper for text in (*wanted, step.reason))
    because = [(code, reason) for codes, reason in part.hang_reasons for code in codes]
    assert sorted(because) == sorted((s.code, s.reason) for s in part.steps if s.piece)


def test_hanging_order_of_more_than_a_page_runs_on_over_pages(room):
    part = room_part(room, ("hanging",))
    assert part is not None
    assert side_by_side(part.hang_groups * 20) is None
    paper = render_to_string("packs/_hanging_order.html", {"groups": part.hang_groups * 20})
    assert paper.count('class="tick-box"') == 20 * len(part.steps)


def test_paper_that_is_out_of_date_names_the_sheets_that_changed(room, letter):
    pack = PrintPack.objects.get()
    switch = room.cutouts.get()
    on = [sheet.code for sheet in cards_for(room).sheets if switch.key in sheet.things]
    assert changed_since(pack) == []

    cutout_change(by=By(ada()), cutout=switch, up_distance=43 * INCH)

    ((name, how),) = changed_since(pack)
    assert name == room.name
    assert how == f"is not as it was printed: sheets {' and '.join(on)}"


def test_first_of_two_layers_has_its_drawing_and_cards_on_paper(room):
    assert room_part(room, ("cards",)).first_sheets == ()
    surface_choice_set(by=By(ada()), room=room, surface="A", action="board", layers=2)

    part = room_part(room, ("cards",))
    codes = {piece.shown.code for sheet in part.first_sheets for piece in sheet.pieces}
    assert len(part.first_drawings) == 1
    assert codes
    assert all(code.startswith("K-A") and code.endswith("f") for code in codes)
    assert {sheet.code for sheet in part.sheets} == {s.code for s in cards_for(room).sheets}
    page = browser(ada()).get(reverse("room-cards", args=[room.pk])).content.decode()
    assert "Two layers here" in page
