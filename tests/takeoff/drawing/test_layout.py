from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.drawing.layout import Box, inside, spread, text_box
from takeoff.drawing.picture import Picture
from takeoff.units import UnitSystem

boxes = st.builds(
    lambda x, y, w, h: Box(x, y, x + w, y + h),
    st.integers(-50, 50),
    st.integers(-50, 50),
    st.integers(1, 40),
    st.integers(1, 40),
)


@given(
    wanted=st.lists(st.integers(-500, 3000), max_size=12),
    size=st.integers(1, 400),
    low=st.integers(0, 500),
    room=st.integers(0, 3000),
)
@settings(max_examples=60)
def test_labels_spread_in_a_lane_neither_meet_nor_leave_it(wanted, size, low, room):
    wanted = sorted(wanted)
    middles = spread(wanted, [size] * len(wanted), low, low + room)
    if size * len(wanted) > room:
        assert middles is None
        return
    starts = [middle - size // 2 for middle in middles]
    assert all(b - a >= size for a, b in pairwise(starts))
    assert all(low <= start and start + size <= low + room for start in starts)


def test_labels_with_room_stay_where_they_are_wanted():
    assert spread([100, 300, 500], [50, 50, 50], 0, 600) == [100, 300, 500]


@given(
    box=boxes, corner=st.tuples(st.integers(-60, 60), st.integers(-60, 60)), size=st.integers(5, 90)
)
@settings(max_examples=60)
def test_box_inside_a_rectangle_is_one_the_rectangle_holds(box, corner, size):
    x, y = corner
    shape = [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
    assert inside(box, shape) == Box(x, y, x + size, y + size).holds(box)


def test_box_over_the_corner_of_an_l_is_not_inside_it():
    shape = [(0, 0), (100, 0), (100, 40), (40, 40), (40, 100), (0, 100)]
    assert inside(Box(10, 10, 35, 90), shape)
    assert inside(Box(10, 10, 90, 35), shape)
    assert not inside(Box(30, 30, 50, 50), shape)
    assert not inside(Box(60, 60, 80, 80), shape)


@given(
    names=st.lists(
        st.tuples(st.text(max_size=40), st.integers(0, 9000), st.integers(0, 5000), st.booleans()),
        max_size=40,
    )
)
@settings(max_examples=60)
def test_words_placed_at_random_never_meet_nor_leave_the_page(names):
    picture = Picture("t", 9_400, title="Title", under="", units=UnitSystem.INCH)
    page = Box(0, picture.y, 9_400, 6_000)
    for name, x, y, turn in names:
        spots = [(x, y, "middle"), (x + 900, y, "start"), (x, y + 700, "end")]
        picture.label(name, spots, page, kind="Name", says="a name", turn=turn)
        picture.words(x, y + 300, name, kind="Name", says="a name")
    taken = picture.places.taken
    assert not [(a, b) for k, a in enumerate(taken) for b in taken[k + 1 :] if a.meets(b)]
    assert all(box.left >= 0 and box.right <= 9_400 for box in taken)


def test_turned_text_is_as_high_as_it_is_long():
    flat = text_box(500, 500, "Window wall", 310)
    turned = text_box(500, 500, "Window wall", 310, turned=True)
    assert flat.right - flat.left == turned.bottom - turned.top
    assert flat.bottom - flat.top == turned.right - turned.left
