"""Overlap of holes for any two; shapely is the oracle, never a source of a number."""

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

from takeoff.choices import CutoutKind
from takeoff.geometry.overlaps import free_readings, meet
from takeoff.geometry.surface import Placed, PlacedCutout
from takeoff.units import SIXTEENTH, Nm

BOUNDED = settings(max_examples=300)


@st.composite
def holes(draw, name="hole"):
    """A box or a round hole on a grid of 1/16 in, small enough that two of them often touch."""
    start, bottom = draw(st.integers(0, 24)), draw(st.integers(0, 24))
    if draw(st.booleans()):
        # An even width: its center is on the grid, so that the oracle compares whole numbers.
        width = height = 2 * draw(st.integers(1, 10))
        kind = CutoutKind.ROUND
    else:
        width, height = draw(st.integers(1, 20)), draw(st.integers(1, 20))
        kind = CutoutKind.BOX
    return hole(name, kind, start, bottom, start + width, bottom + height)


def hole(name, kind, *edges) -> PlacedCutout:
    return PlacedCutout(name, name.capitalize(), kind, *(Nm(edge * SIXTEENTH) for edge in edges))


def oracle(one, other) -> bool:
    """Whether two holes share an area. Circles are compared by distances: shapely has polygons
    only."""
    shapes, reach = [], 0
    for hole in (one, other):
        start, bottom, end, top = (
            edge // SIXTEENTH for edge in (hole.left, hole.bottom, hole.right, hole.top)
        )
        if hole.is_round:
            shapes.append(Point((start + end) / 2, (bottom + top) / 2))
            reach += (end - start) / 2
        else:
            shapes.append(box(start, bottom, end, top))
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
    def moved(cutout):
        edges = (cutout.left + along, cutout.bottom + up, cutout.right + along, cutout.top + up)
        return PlacedCutout(cutout.id, cutout.name, cutout.kind, *(Nm(edge) for edge in edges))

    assert meet(moved(one), moved(other)) is meet(one, other)


@given(st.lists(holes(), min_size=1, max_size=6), holes("new"), st.booleans())
@BOUNDED
def test_free_readings_are_free_and_no_mark_nearer_is(others, new, from_right):
    others = [
        PlacedCutout(
            f"hole-{k}",
            cutout.name,
            cutout.kind,
            cutout.left,
            cutout.bottom,
            cutout.right,
            cutout.top,
        )
        for k, cutout in enumerate(others)
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

    readings = free_readings(new, placed, at=at, from_right=from_right, mark=SIXTEENTH)
    marks = range(0, long + 1, SIXTEENTH)
    assert all(is_free(reading) for reading in readings)
    boxes_only = not any(other.is_round for other in (*others, new))
    if boxes_only and not is_free(at):
        smaller = [mark for mark in marks if mark < at and is_free(mark)]
        larger = [mark for mark in marks if mark > at and is_free(mark)]
        assert list(readings) == [*smaller[-1:], *larger[:1]]
