"""Overlap of holes for any two; shapely is the oracle, never a source of a number."""

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

from takeoff.choices import CutoutKind
from takeoff.geometry.overlaps import free_readings, meet
from takeoff.geometry.surface import Placed, PlacedCutout
from takeoff.units import SIXTEENTH, Nm

BOUNDED = settings(max_examples=300, deadline=None)


@st.composite
def holes(draw, name="hole"):
    """A box or a round hole on a grid of 1/16 in, small enough that two of them often touch."""
    left, bottom = draw(st.integers(0, 24)), draw(st.integers(0, 24))
    if draw(st.booleans()):
        # An even width: its center is on the grid, so that the oracle compares whole numbers.
        width = height = 2 * draw(st.integers(1, 10))
        kind = CutoutKind.ROUND
    else:
        width, height = draw(st.integers(1, 20)), draw(st.integers(1, 20))
        kind = CutoutKind.BOX
    return hole(name, kind, left, bottom, left + width, bottom + height)


def hole(name, kind, *edges) -> PlacedCutout:
    return PlacedCutout(name, name.capitalize(), kind, *(Nm(edge * SIXTEENTH) for edge in edges))


def oracle(one, other) -> bool:
    """Whether two holes share an area. Circles are compared by distances: shapely has polygons
    only."""
    shapes, reach = [], 0
    for each in (one, other):
        left, bottom, right, top = (
            edge // SIXTEENTH for edge in (each.left, each.bottom, each.right, each.top)
        )
        if each.is_round:
            shapes.append(Point((left + right) / 2, (bottom + top) / 2))
            reach += (right - left) / 2
        else:
            shapes.append(box(left, bottom, right, top))
    if reach:
        return shapes[0].distance(shapes[1]) < reach
    return shapes[0].intersection(shapes[1]).area > 0


@given(holes("one"), holes("other"))
@BOUNDED
def test_two_holes_meet_where_they_share_an_area(one, other):
    assert meet(one, other) is oracle(one, other)


@given(holes("one"), holes("other"))
@BOUNDED
def test_neither_comes_first(one, other):
    assert meet(one, other) is meet(other, one)


@given(holes("one"), holes("other"), st.integers(-400, 400), st.integers(-400, 400))
@BOUNDED
def test_holes_moved_together_meet_as_before(one, other, along, up):
    def moved(each):
        edges = (each.left + along, each.bottom + up, each.right + along, each.top + up)
        return PlacedCutout(each.id, each.name, each.kind, *(Nm(edge) for edge in edges))

    assert meet(moved(one), moved(other)) is meet(one, other)


@given(st.lists(holes(), min_size=1, max_size=6), holes("new"), st.booleans())
@BOUNDED
def test_free_readings_are_free_and_no_mark_nearer_is(others, new, from_right):
    others = [
        PlacedCutout(
            f"hole-{k}", each.name, each.kind, each.left, each.bottom, each.right, each.top
        )
        for k, each in enumerate(others)
    ]
    long = Nm(60 * SIXTEENTH)
    high = Nm(44 * SIXTEENTH)
    wall = ((Nm(0), Nm(0)), (long, Nm(0)), (long, high), (Nm(0), high))
    placed = Placed(parts=(wall,), tape_to=long, cutouts=(*others, new))
    at = Nm(long - new.right) if from_right else new.left

    def is_free(reading) -> bool:
        along = (at - reading) if from_right else (reading - at)
        moved = PlacedCutout(
            "new", "New", new.kind, new.left + along, new.bottom, new.right + along, new.top
        )
        return (
            moved.left >= 0
            and moved.right <= long
            and not any(meet(moved, other) for other in others)
        )

    found = free_readings(new, placed, at=at, from_right=from_right, mark=SIXTEENTH)
    marks = range(0, long + 1, SIXTEENTH)
    assert all(is_free(reading) for reading in found)
    boxes_only = not any(other.is_round for other in (*others, new))
    if boxes_only and not is_free(at):
        smaller = [mark for mark in marks if mark < at and is_free(mark)]
        larger = [mark for mark in marks if mark > at and is_free(mark)]
        assert list(found) == [*smaller[-1:], *larger[:1]]
