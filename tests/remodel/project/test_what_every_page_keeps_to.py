"""What every page of the site keeps to, each with the tests that hold it.

A test that is renamed or removed leaves its line without evidence, and this file fails. What no
test can hold, because machines are shared, is measured by `make bench`, which is named instead.
"""

from __future__ import annotations

import ast
from functools import cache

import pytest
from django.conf import settings

FORMS = "tests/remodel/web/test_forms.py::"
FIELDS = "tests/remodel/web/test_fields.py::"
LOOK = "tests/remodel/web/test_look_in_browser.py::"
TEMPLATES = "tests/remodel/web/test_templates.py::"
PAGE = "tests/remodel/web/test_page.py::"
TAGS = "tests/remodel/web/test_tags.py::"
SENDING = "tests/browser/test_sending.py::"
DRAWINGS = "tests/takeoff/drawing/test_drawings.py::"
PRINT_SETS = "tests/remodel/cards/test_packs.py::"
PDF = "tests/remodel/test_pdf.py::"
READS_WELL = tuple(
    f"tests/browser/test_{subject}.py::test_pages_read_well_at_every_size"
    for subject in ("new_house", "rooms", "orders", "stock", "cards", "log", "together")
)

KEPT_TO: dict[str, tuple[str, ...]] = {
    # forms and measuring
    "A field has its label in sight, and no example stands in the field itself": (
        FORMS + "test_every_field_has_a_visible_label_and_none_of_the_attributes_that_cut_or_hide",
        TEMPLATES + "test_template_keeps_the_rules",
        *READS_WELL,
    ),
    "A length is typed with a whole keyboard, a count with the number pad": (
        FORMS + "test_a_length_has_no_number_pad_and_a_count_has",
    ),
    "A length is taken in each way people write it, and is shown as it reads back": (
        FIELDS + "test_each_way_to_write_a_length_gives_the_same_nanometres",
        "tests/properties/test_units.py::test_what_is_shown_reads_back_the_same_in_any_house",
        "tests/properties/test_units.py::test_the_same_reading_in_any_dress_is_the_same_length",
    ),
    "What can be read two ways is refused with an example, never guessed": (
        (
            "tests/takeoff/test_units.py"
            "::test_what_has_two_readings_or_none_is_refused_with_an_example"
        ),
    ),
    "What was read is said beside the field while one types, and is no error": (
        LOOK + "test_length_is_read_back_while_typing_and_is_no_error",
        "tests/remodel/web/test_length_readback.py::test_half_a_length_is_no_error",
    ),
    "Errors come once a form is sent, not on leaving a field": (
        TEMPLATES + "test_template_keeps_the_rules",
        TEMPLATES + "test_the_lint_finds",
    ),
    "The server decides: no form is checked by the browser": (
        TEMPLATES + "test_template_keeps_the_rules",
        FORMS + "test_every_field_has_a_visible_label_and_none_of_the_attributes_that_cut_or_hide",
    ),
    "A refused page comes back with all that was typed": (
        FORMS + "test_what_was_typed_comes_back_good_and_bad",
        "tests/browser/test_new_house.py::test_refused_room_says_so_and_keeps_what_was_typed",
    ),
    "A refused page says Error first in its title": (
        FORMS + "test_refused_page_answers_422_with_error_first_in_the_title",
    ),
    "A summary of errors has the keyboard and leads to each field": (
        LOOK + "test_refused_form_moves_focus_to_the_summary_and_says_error_in_the_title",
    ),
    "The summary has the words at the field, which points at its message": (
        FORMS + "test_summary_says_each_error_in_the_words_at_the_field_and_links_to_it",
        FORMS + "test_a_wrong_field_points_at_its_message_and_its_hint",
    ),
    "An error says what to enter, with the label in quotes and an example": (
        FORMS + "test_no_message_says_invalid",
        FIELDS + "test_what_is_not_one_length_is_refused_with_the_label_and_an_example",
        (
            "tests/remodel/project/test_plain_words.py"
            "::test_what_a_form_says_of_an_empty_field_quotes_its_label"
        ),
        ("tests/remodel/project/test_errors_quoted.py::test_every_error_names_its_field_in_quotes"),
    ),
    "The unit stands with the field, and may be typed as well": (
        FIELDS + "test_hint_and_example_follow_the_units_of_the_house",
        "tests/takeoff/test_units.py::test_metric_readings_read_the_same_in_every_house",
    ),
    "What is too long is refused with the limit, and nothing is cut": (
        FIELDS + "test_words_too_long_say_the_limit_and_nothing_is_cut",
        TEMPLATES + "test_template_keeps_the_rules",
    ),
    "A refusal that is swapped in is the same part, and takes the keyboard": (
        FORMS + "test_htmx_gets_the_same_part_and_not_the_page",
        LOOK + "test_refused_form_moves_focus_to_the_summary_and_says_error_in_the_title",
    ),
    "Every form works without script": (
        SENDING + "test_without_script_the_same_forms_are_plain_posts",
        LOOK + "test_without_script_the_same_form_gives_the_same_page",
    ),
    "What a house said once is offered and not asked again": (
        (
            "tests/remodel/house/test_edit_rooms.py"
            "::test_what_the_last_room_said_is_offered_for_the_next"
        ),
    ),
    # finding the way, and how far things are
    "What is to do is a list whose rows are links, with their state in words": (
        TAGS + "test_a_task_is_one_link_with_its_status_and_what_it_waits_for",
        TAGS + "test_status_is_words_and_an_unknown_one_reads_as_it_is",
    ),
    "What waits says what for": (
        (
            "tests/remodel/work/test_services.py"
            "::test_blocked_phase_says_what_it_waits_for_and_is_not_done_next"
        ),
        (
            "tests/remodel/work/test_stops.py"
            "::test_the_pages_of_what_is_next_tell_what_can_start_and_what_waits"
        ),
    ),
    "What is finished is the quiet state": (TAGS + "test_finished_is_the_quiet_status",),
    "Answers stand as terms and values, each with a Change link of its own name": (
        TAGS + "test_each_change_link_has_a_name_of_its_own",
    ),
    "A page has its skip link, one heading, levels without a gap, and landmarks": (
        PAGE + "test_skip_link_is_first_and_landmarks_are_there",
        PAGE + "test_headings_do_not_skip_a_level",
        *READS_WELL,
    ),
    "An empty list says what belongs there and how to add it": (
        "tests/remodel/supply/test_views_orders.py::test_empty_list_says_what_belongs_there",
        "tests/remodel/work/test_log.py::test_empty_log_says_what_belongs_here",
    ),
    "What takes a while shows that it runs, and pressed twice it is done once": (
        SENDING + "test_sign_of_work_stands_at_both_save_buttons",
        SENDING + "test_presses_on_a_slow_server_are_one_write",
        "tests/browser/test_cards.py::test_house_pack_is_asked_for_and_its_page_follows_the_worker",
    ),
    "One polite region tells what changed": (
        PAGE + "test_one_polite_live_region_is_there_from_the_start",
        "tests/browser/test_rooms.py::test_phase_is_done_from_the_rooms_page_without_leaving_it",
    ),
    "After a swap the keyboard is somewhere on purpose, and Back goes back": (
        LOOK + "test_focus_goes_to_the_part_when_the_pressed_button_is_gone",
        SENDING + "test_after_back_the_button_can_be_pressed_again",
    ),
    "What is removed or overwritten can be undone, and nothing asks whether one is sure": (
        "tests/browser/test_new_house.py::test_removed_door_is_brought_back_with_undo",
        (
            "tests/remodel/house/test_edit_rooms.py"
            "::test_room_removed_is_brought_back_by_undo_with_all_in_it"
        ),
        "tests/remodel/history/test_services.py::test_undo_of_a_change_puts_the_old_value_back",
    ),
    "Each part of a long entry is saved by itself and says when; what cannot be is kept": (
        "tests/browser/test_new_house.py::test_new_house_first_room_door_and_box_need_no_mouse",
        LOOK + "test_what_cannot_be_sent_is_held_and_sent_again",
    ),
    "Two people who change one thing both see both values": (
        (
            "tests/remodel/test_two_people.py"
            "::test_every_field_of_every_edit_page_survives_another_person"
        ),
    ),
    # hands, eyes and keyboard
    "Nothing to press is under 24 pixels": (
        LOOK + "test_targets_are_large_enough_for_a_thumb",
        *READS_WELL,
    ),
    "On a phone what one presses is 44 pixels": (
        LOOK + "test_targets_are_large_enough_for_a_thumb",
        *READS_WELL,
    ),
    "Text and lines stand out, in both themes and on paper": (
        "tests/remodel/web/test_contrast.py::test_text_reads_in_glare_at_7_to_1",
        "tests/remodel/web/test_contrast.py::test_lines_are_seen_at_3_to_1",
        *READS_WELL,
    ),
    "Where the keyboard is, is always seen": (
        LOOK + "test_focus_is_seen_on_everything_one_can_tab_to",
    ),
    "All work is done by keyboard": (
        "tests/browser/test_new_house.py::test_new_house_first_room_door_and_box_need_no_mouse",
        "tests/browser/test_cards.py::test_wall_hangs_by_keyboard_without_script_and_is_taken_back",
        "tests/browser/test_log.py::test_day_is_logged_without_script_by_keyboard_alone",
        (
            "tests/browser/test_rooms.py"
            "::test_room_is_added_within_ten_tabs_however_many_rooms_there_are"
        ),
    ),
    "No page scrolls sideways at 320 pixels, nor with text twice as large": (
        (
            "tests/browser/test_rooms.py"
            "::test_no_page_scrolls_sideways_at_320_px_whatever_a_name_holds"
        ),
        TAGS + "test_wide_table_scrolls_in_a_labelled_box_that_takes_focus",
        *READS_WELL,
    ),
    "A password manager can fill in the sign-in": (
        (
            "tests/remodel/project/test_what_every_page_keeps_to.py"
            "::test_sign_in_names_its_fields_for_a_password_manager"
        ),
    ),
    "Help and the way back stand in the same place": (
        PAGE + "test_way_back_and_help_are_there",
        TAGS + "test_places_stand_in_the_same_order_and_mark_where_one_is",
    ),
    "Who wants no motion has none, and nothing is shown on hovering alone": (
        (
            "tests/remodel/project/test_what_every_page_keeps_to.py"
            "::test_hovering_shows_nothing_and_motion_can_be_switched_off"
        ),
    ),
    # drawings and paper
    "A drawing is an image with a title and a description, and no id stands twice": (
        (
            "tests/takeoff/drawing/test_svg.py"
            "::test_drawing_is_an_image_with_a_title_and_a_description"
        ),
        "tests/remodel/cards/test_views.py::test_ids_of_a_page_are_unique",
        PAGE + "test_ids_are_unique",
    ),
    "All that a drawing says stands in a table beside it": (
        DRAWINGS + "test_every_word_in_a_drawing_stands_in_its_table",
        DRAWINGS + "test_table_tells_all_that_is_drawn_once",
    ),
    "Nothing is told by color alone": (
        (
            "tests/remodel/house/test_views_money.py"
            "::test_three_parts_have_their_figures_words_and_hatches_on_each_page"
        ),
        PRINT_SETS + "test_drawing_on_paper_has_a_line_for_every_class_and_keeps_its_words",
        "tests/browser/test_orders.py::test_order_can_be_read_in_grey_without_its_colours",
    ),
    "Drawings give readings of the tape, 3 mm high on paper": (
        DRAWINGS + "test_smallest_text_is_three_millimetres_on_paper",
    ),
    "Paper fits both sizes, cuts nothing off, and every page says what it is of": (
        PDF + "test_printed_order_has_every_line_and_nothing_is_cut_off",
        PRINT_SETS + "test_pack_says_page_house_room_date_revision_and_code_on_every_page",
        DRAWINGS + "test_nothing_falls_off_the_page",
    ),
    "A page prints from the browser without its buttons": (
        LOOK + "test_paper_from_the_browser_has_no_navigation",
        (
            "tests/browser/test_cards.py"
            "::test_lists_printed_from_the_browser_have_a_box_to_tick_on_every_line"
        ),
    ),
    "A sheet on the wall leads back to its page, which says what changed since": (
        PRINT_SETS + "test_printed_code_leads_a_phone_to_the_page_that_says_what_changed",
        PRINT_SETS + "test_paper_that_is_out_of_date_names_the_sheets_that_changed",
    ),
    "A printed file has a title, a language and tags": (
        PDF + "test_page_has_its_paper_title_language_and_tags",
    ),
    # speed
    "A page comes in 200 ms and a part in 100 ms, and weighs little": (
        "tests/bench/pages.py::pages",
        (
            "tests/remodel/project/test_plain_words.py"
            "::test_pages_say_no_word_that_was_given_up_and_weigh_under_150_kb"
        ),
    ),
}


@cache
def functions_of(path: str) -> frozenset[str]:
    tree = ast.parse((settings.BASE_DIR / path).read_text())
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def test_there_is_a_line_for_each_thing_that_pages_keep_to():
    assert len(KEPT_TO) == 47


@pytest.mark.parametrize("line", KEPT_TO)
def test_each_has_a_test_that_holds_it(line):
    for held in KEPT_TO[line]:
        path, name = held.split("::")
        assert (path, name in functions_of(path)) == (path, True), name
    assert KEPT_TO[line]


def test_sign_in_names_its_fields_for_a_password_manager(client, db, settings):
    settings.HOSTED = True
    page = client.get("/sign-in").content.decode()

    assert 'autocomplete="username"' in page
    assert 'autocomplete="current-password"' in page
    assert "onpaste" not in page


def test_hovering_shows_nothing_and_motion_can_be_switched_off():
    sheets = sorted(settings.BASE_DIR.glob("remodel/*/static/*/*.css"))
    styles = [sheet.read_text() for sheet in sheets]
    moves = [sheet.name for sheet, text in zip(sheets, styles, strict=True) if "animation" in text]
    hovered = [
        rule
        for text in styles
        for rule in text.replace("\n", " ").split("}")
        if ":hover" in rule
        and any(
            f"{word}:" in rule.replace(" ", "") for word in ("display", "visibility", "opacity")
        )
    ]

    assert len(sheets) > 5
    assert hovered == []
    assert moves == ["web.css"]
    web = styles[[sheet.name for sheet in sheets].index("web.css")]
    reduced = web[web.index("prefers-reduced-motion") :]
    assert "animation: none !important; transition: none !important" in reduced
