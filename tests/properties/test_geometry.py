"""Geometry that must hold for any room; shapely is the oracle for areas and validity, never a
source of a number."""

import math
from decimal import Decimal

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from takeoff.choices import CeilingKind, FramedWhen, Side, SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.polygon import (
    area2,
    clip_band,
    clip_half_plane,
    first_crossing,
    holds_rectangle,
    move_sides,
)
from takeoff.geometry.rooms import room_shapes
from takeoff.house import BehindPartition, Ceiling, House, Outline, Partition, QuickRoom, Room, Wall
from takeoff.rules import Rules
from takeoff.units import INCH, SIXTEENTH, Nm

BOUNDED = settings(max_examples=60)
STUD_DEPTH = Nm(7 * INCH // 2)


@st.composite
def towers(draw, narrowest=1):
    """A right-angled outline like a row of towers hung from a beam: bends up and down, never on
    itself."""
    count = draw(st.integers(1, 5))
    widths = draw(st.lists(st.integers(narrowest, 12), min_size=count, max_size=count))
    tops = draw(st.lists(st.integers(13, 24), min_size=count, max_size=count))
    bottoms = draw(st.lists(st.integers(0, 12), min_size=count, max_size=count))
    x, under, over = 0, [], []
    for width, top, bottom in zip(widths, tops, bottoms, strict=True):
        under += [(x, bottom), (x + width, bottom)]
        over += [(x, top), (x + width, top)]
        x += width
    corners = under + over[::-1]
    corners = [corner for k, corner in enumerate(corners) if corner != corners[k - 1]]
    return [
        here
        for k, here in enumerate(corners)
        if not (
            corners[k - 1][0] == here[0] == corners[(k + 1) % len(corners)][0]
            or corners[k - 1][1] == here[1] == corners[(k + 1) % len(corners)][1]
        )
    ]


def walked(corners, scale, **more) -> Room:
    """A room walked round the corners (counter-clockwise with y up is clockwise with y down)."""
    count = len(corners)
    steps = [
        (corners[(k + 1) % count][0] - corners[k][0], corners[(k + 1) % count][1] - corners[k][1])
        for k in range(count)
    ]
    walls = []
    for k, (dx, dy) in enumerate(steps):
        ex, ey = steps[(k + 1) % count]
        turn = Decimal(90 if dx * ey - dy * ex > 0 else -90)
        walls.append(
            Wall(id=f"w{k}", name=f"Wall {k}", length=Nm((abs(dx) + abs(dy)) * scale), turn=turn)
        )
    return Room(id="room", name="Room", shape=Outline(walls=tuple(walls)), **more)


def shapes(room: Room, *others, partitions=(), framed=None, **rules):
    house = House(
        id="h", name="H", rooms=(room, *others), partitions=partitions, rules=Rules(**rules)
    )
    return room_shapes(house, framed=framed)


def areas(geometry, kind) -> list[int]:
    return sorted(area2(surface.outline) for surface in geometry.surfaces if surface.kind is kind)


@given(towers(), st.integers(1, 200))
@BOUNDED
def test_floor_and_walls_are_as_large_as_plan_and_perimeter(corners, sixteenths):
    scale = sixteenths * SIXTEENTH
    (geometry,), _ = shapes(walked(corners, scale))
    oracle = Polygon(corners)
    assert geometry.floor_area == int(oracle.area) * scale**2
    assert areas(geometry, SurfaceKind.CEILING) == [2 * geometry.floor_area]
    assert sum(areas(geometry, SurfaceKind.WALL)) == 2 * int(oracle.length) * scale * 96 * INCH


@given(towers(), st.data())
@BOUNDED
def test_starting_the_walk_at_another_wall_changes_no_area(corners, data):
    turned = data.draw(st.integers(1, len(corners) - 1))
    (one,), _ = shapes(walked(corners, 12 * INCH))
    (other,), _ = shapes(walked(corners[turned:] + corners[:turned], 12 * INCH))
    for kind in SurfaceKind:
        assert areas(one, kind) == areas(other, kind)


@given(towers(3))
@BOUNDED
def test_board_area_lies_within_the_ceiling_and_is_simple(corners):
    (geometry,), _ = shapes(walked(corners, 12 * INCH))
    for surface in geometry.surfaces:
        assert surface.board_area
        board = Polygon(surface.board_area)
        assert board.is_valid
        if surface.kind is SurfaceKind.CEILING:
            assert Polygon(surface.outline).contains(board)


@given(
    st.lists(
        st.tuples(st.integers(24, 400), st.sampled_from([30, 45, 60, 72, 90])),
        min_size=2,
        max_size=5,
    ),
)
@BOUNDED
def test_slanted_room_that_nearly_closes_is_valid_and_right_to_the_tolerance(turns):
    """Walls at odd angles, closed by two more walls worked out in floats, so that they miss by a
    little."""
    heading, x, y, walls = 0, 0.0, 0.0, []
    for length, turn in turns:
        if heading + turn > 250:
            break
        walls.append((length, turn))
        x += length * math.cos(math.radians(heading))
        y += length * math.sin(math.radians(heading))
        heading += turn
    # Back to the start along `heading`, and then straight up the page.
    hx, hy = math.cos(math.radians(heading)), math.sin(math.radians(heading))
    assume(abs(hx) > 0.01)
    back = -x / hx
    up = y + back * hy
    assume(back > 10 and up > 10)
    walls += [(back, 270 - heading), (up, 90)]
    made = tuple(
        Wall(
            id=f"w{k}",
            name=f"Wall {k}",
            length=Nm(round(length * 16) * SIXTEENTH),
            turn=Decimal(turn),
        )
        for k, (length, turn) in enumerate(walls)
    )
    (geometry,), _ = shapes(Room(id="room", name="Room", shape=Outline(walls=made)))
    plan = Polygon(geometry.plan)
    assert plan.is_valid
    assert geometry.closing_error < INCH
    assert abs(plan.area / geometry.floor_area - 1) < 1e-9
    for surface in geometry.surfaces:
        assert Polygon(surface.board_area).is_valid


@given(
    st.integers(60, 300),
    st.integers(60, 300),
    st.integers(80, 110),
    st.integers(1, 80),
    st.sampled_from("ABCD"),
    st.sampled_from([CeilingKind.SLOPE, CeilingKind.GABLE]),
)
@BOUNDED
def test_ceiling_planes_lie_over_the_whole_floor_and_walls_meet_at_one_height(
    length, width, low, rise, wall, kind
):
    ceiling = Ceiling(kind=kind, height=Nm(low * INCH), high=Nm((low + rise) * INCH), low_wall=wall)
    (geometry,), _ = shapes(
        Room(
            id="room",
            name="Room",
            shape=QuickRoom(length=Nm(length * INCH), width=Nm(width * INCH)),
            ceiling=ceiling,
        )
    )
    run = (width if wall in "AC" else length) / (2 if kind is CeilingKind.GABLE else 1)
    stretch = (1 + (rise / run) ** 2) ** 0.5
    assert (
        abs(sum(areas(geometry, SurfaceKind.CEILING)) / 2 / stretch / geometry.floor_area - 1)
        < 1e-9
    )
    walls = [surface for surface in geometry.surfaces if surface.kind is SurfaceKind.WALL]
    for here, after in zip(walls, walls[1:] + walls[:1], strict=True):
        assert here.outline[2][1] == after.outline[-1][1]


@given(towers(4), st.data())
@BOUNDED
def test_partition_before_board_leaves_all_but_its_strip_and_after_has_the_same_rooms(
    corners, data
):
    room = walked(corners, 12 * INCH)
    index = data.draw(st.integers(0, len(corners) - 1))
    wall = room.shape.walls[index]
    at = Nm(data.draw(st.integers(1, 16 * 144)) * SIXTEENTH)
    partition = Partition(
        id="p",
        name="P",
        room="room",
        wall=wall.id,
        at=at,
        side=data.draw(st.sampled_from(list(Side))),
    )
    behind = Room(id="behind", name="Behind", shape=BehindPartition(partition="p"))
    (whole,), _ = shapes(room)
    try:
        before, (frame,) = shapes(
            room, behind, partitions=(partition,), framed={"p": FramedWhen.BEFORE}
        )
    except BadValue:
        assume(False)
    after, _ = shapes(room, behind, partitions=(partition,), framed={"p": FramedWhen.AFTER})
    strip = frame.outline[1][0] * STUD_DEPTH
    assert sum(room.floor_area for room in before) == whole.floor_area - strip
    assert [(room.room, room.plan) for room in before] == [(room.room, room.plan) for room in after]
    ceilings = [areas(room, SurfaceKind.CEILING) for room in before]
    assert sum(map(sum, ceilings)) == 2 * (whole.floor_area - strip)
    walls = sum(sum(areas(room, SurfaceKind.WALL)) for room in before)
    added = 2 * (frame.outline[1][0] - STUD_DEPTH) * 2 * 96 * INCH
    assert walls == sum(areas(whole, SurfaceKind.WALL)) + added


@given(towers(), st.integers(-5, 5), st.integers(-5, 5), st.integers(-150, 150))
@BOUNDED
def test_cutting_by_a_line_keeps_every_bit_of_area(corners, a, b, c):
    assume(a or b)
    above = clip_half_plane(corners, a, b, c)
    below = clip_half_plane(corners, -a, -b, -c)
    assert sum(map(area2, above)) + sum(map(area2, below)) == area2(corners)
    for part in (*above, *below):
        assert area2(part) > 0
        assert first_crossing(part) is None


@given(towers(), st.sampled_from([0, 1]), st.integers(-2, 30), st.integers(1, 30))
@BOUNDED
def test_band_is_what_shapely_cuts(corners, axis, low, height):
    high = low + height
    window = box(low, -99, high, 99) if axis == 0 else box(-99, low, 99, high)
    cut = Polygon(corners).intersection(window)
    parts = clip_band(corners, axis, low, high)
    assert sum(map(area2, parts)) == 2 * cut.area
    assert len(parts) == sum(1 for part in getattr(cut, "geoms", [cut]) if part.area)


@given(towers(), st.integers(0, 40), st.integers(0, 20), st.integers(1, 20), st.integers(1, 20))
@BOUNDED
def test_rectangle_is_held_where_shapely_covers_it(corners, start, bottom, width, height):
    held = holds_rectangle(corners, start, bottom, start + width, bottom + height)
    assert held == Polygon(corners).covers(box(start, bottom, start + width, bottom + height))


@given(towers(), st.integers(1, 4))
@BOUNDED
def test_moving_every_side_in_is_a_mitred_buffer(corners, quarter):
    large = [(x * 40, y * 40) for x, y in corners]
    moved = move_sides(large, [quarter] * len(large))
    oracle = Polygon(large).buffer(-quarter, join_style="mitre")
    assert area2([corner for _, corner in moved]) == round(2 * oracle.area)
