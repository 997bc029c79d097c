import pytest
from PIL import ImageFont

from takeoff.cards.clean_text import clean
from takeoff.drawing.metrics import fit, width_of


def test_control_characters_direction_marks_and_line_ends_are_left_out():
    assert clean("a\x00b\x07 c\u202ed\u2066e\nf\u2028g") == "ab cde fg"


def test_text_from_right_to_left_is_held_between_isolates():
    assert clean("שקע") == "\u2068שקע\u2069"
    assert clean("outlet") == "outlet"
    assert clean("שקע ליד: 3 in") == "\u2068שקע ליד\u2069: 3 in"


@pytest.mark.parametrize(
    "text",
    ["Door", "שקע ליד הדלת: 3 in", "a שקע b ליד", "e\u0301\u05bb x", "\u2068שקע\u2069 \u2066"],
)
def test_cleaning_twice_is_cleaning_once_and_isolates_close(text):
    once = clean(text)
    assert clean(once) == once
    assert once.count("\u2068") == once.count("\u2069")
    assert not set("\u2066\u202e") & set(once)


def test_a_lone_surrogate_does_not_reach_the_page():
    assert clean("x\ud800y") == "xy"


@pytest.mark.parametrize(
    "text", ["Window wall", "12' 6 1/2\"", "שקע ליד הדלת", "コンセント", "Ω≈ç√"]
)
def test_width_grows_with_every_letter(text):
    widths = [width_of(text[:n], 300) for n in range(len(text) + 1)]
    assert widths == sorted(widths)
    assert widths[0] == 0 < widths[-1]


def test_width_is_more_than_helvetica_draws():
    # Helvetica AFM, from memory: "Wall" is W 944, a 556, l 222, l 222 thousandths of the size
    assert width_of("Wall", 1000) > 944 + 556 + 222 + 222


@pytest.mark.parametrize("bold", [False, True])
def test_width_holds_the_widest_of_the_common_faces(bold):
    face = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    try:
        drawn = ImageFont.truetype(face, 1000)
    except OSError:
        pytest.skip(f"{face} is not on this machine")
    for text in (
        "12' 6 1/2\"",
        "8' 0\" x 4' 0\"",
        "2440 mm x 1200 mm",
        "Counter receptacle",
        "toward the floor",
        "A-03",
    ):
        assert drawn.getlength(text) <= width_of(text, 1000, bold=bold) * 1.01


@pytest.mark.parametrize("width", [0, 100, 500, 1500, 5000])
def test_fit_never_comes_out_wider_than_asked(width):
    shown = fit("A very long name of a switch by the door", 310, width)
    assert width_of(shown, 310) <= width


def test_fit_leaves_a_text_that_fits_as_it_is():
    assert fit("Door", 310, 5000) == "Door"
    assert fit("Door to the hall", 310, 1600).endswith("…")
