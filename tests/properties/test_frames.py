"""A hole is carried from the room to the sheet on the floor, and by another way back: the sheet is
taken up as a stiff body that may be turned and moved but never mirrored, and hung by what is said
of its top and of its face."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.boards.plan import Piece
from takeoff.cards.frames import Lay, OnSheet, SideUp, lay_of, room_frames
from takeoff.choices import CeilingKind, Runs, SurfaceKind
from takeoff.geometry.rooms import room_shapes
from takeoff.house import Ceiling, House, Outline, QuickRoom, Room, Wall
from takeoff.units import FOOT, INCH, Nm

lengths = st.integers(30 * INCH, 20 * FOOT)

# Which side of the lying piece is its top as it hangs, told in words and held against the algebra:
# a level piece lies face up with its top away; an upright one with its top to the right; turned
# over about its long edge a level piece has its top near, an upright one keeps it; turned end for
# end every side is opposite.
AWAY, NEAR, RIGHT, LEFT = (0, 1, 0), (0, -1, 0), (1, 0, 0), (-1, 0, 0)
OPPOSITE = {AWAY: NEAR, NEAR: AWAY, RIGHT: LEFT, LEFT: RIGHT}


def top_side(upright, up, turned):
    side = RIGHT if upright else AWAY if up is SideUp.FACE else NEAR
    return OPPOSITE[side] if turned else side


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def righted(vector):
    """Room coordinates have y down in plan; a stiff body is turned in right-handed ones."""
    return (vector[0], -vector[1], vector[2])


def hang(mark, *, middle, top, up, hung_middle, hung_top, inward):
    """Where `mark` on the lying sheet ends when its `top` is turned to `hung_top` and its face to
    `inward`."""
    face = (0, 0, 1) if up is SideUp.FACE else (0, 0, -1)
    lying = (top, face, cross(top, face))
    hung_top, inward = righted(hung_top), righted(inward)
    hung = (hung_top, inward, cross(hung_top, inward))
    off = (Fraction(mark[0]) - middle[0], Fraction(mark[1]) - middle[1], Fraction(0))
    parts = [sum(o * axis[k] for k, o in enumerate(off)) for axis in lying]
    moved = [sum(part * axis[k] for part, axis in zip(parts, hung, strict=True)) for k in range(3)]
    return tuple(m + h for m, h in zip(righted(moved), hung_middle, strict=True))


rooms = st.one_of(
    st.builds(lambda a, b: QuickRoom(length=Nm(a), width=Nm(b)), lengths, lengths),
    # five walls, one of them slanted and no two of the others alike
    st.just(
        Outline(
            walls=(
                Wall(id="A", name="Wall A", length=Nm(120 * INCH), turn=45),
                Wall(id="B", name="Wall B", length=Nm(60 * INCH), turn=45),
                Wall(id="C", name="Wall C", length=Nm(100 * INCH), turn=90),
                Wall(id="D", name="Wall D", length=Nm(round(162.4264068 * INCH)), turn=90),
                Wall(id="E", name="Wall E", length=Nm(round(142.4264068 * INCH)), turn=90),
            )
        )
    ),
)
ceilings = st.one_of(
    st.just(Ceiling()),
    st.builds(
        lambda kind, wall, rise: Ceiling(
            kind=kind, low_wall=wall, height=Nm(90 * INCH), high=Nm(90 * INCH + rise)
        ),
        st.sampled_from([CeilingKind.SLOPE, CeilingKind.GABLE]),
        st.sampled_from("ABCD"),
        st.integers(INCH, 10 * FOOT),
    ),
)


def height_at(point, corners, ceiling, part):
    """The ceiling's height over a place of the plan, from the words a person gives: how far it is
    from the low wall."""
    if ceiling.kind is CeilingKind.FLAT:
        return Fraction(ceiling.height)
    index = "ABCDE".index(ceiling.low_wall)
    (x0, y0), (x1, y1) = corners[index], corners[(index + 1) % len(corners)]

    def inwards(place):
        return (place[1] - y0) * (x1 - x0) - (place[0] - x0) * (y1 - y0)

    depth = max(inwards(corner) for corner in corners)
    away = Fraction(inwards(point)) / depth
    rise = ceiling.high - ceiling.height
    if ceiling.kind is CeilingKind.SLOPE:
        return ceiling.height + rise * away
    return ceiling.height + rise * 2 * (1 - away if part.endswith("far") else away)


def walls_and_rooms():
    return st.tuples(rooms, ceilings).filter(
        lambda pair: isinstance(pair[0], QuickRoom) or pair[1].low_wall != "B"
    )


def made(shape, ceiling):
    house = House(
        id="h", name="House", rooms=(Room(id="r", name="Room", shape=shape, ceiling=ceiling),)
    )
    geometry = room_shapes(house)[0][0]
    return geometry, room_frames(geometry, house)


def exact(frame, u, v):
    return tuple(
        o + u * r + v * w for o, r, w in zip(frame.origin, frame.right, frame.up, strict=True)
    )


def box_in_room(surface, geometry, ceiling, across, upwards):
    """A place on a wall or ceiling from the plan and the ceiling's heights alone, exact."""
    if surface.kind is SurfaceKind.WALL:
        index = "ABCDE".index(surface.id[-1])
        start, end = geometry.plan[index], geometry.plan[(index + 1) % len(geometry.plan)]
        return (
            *(s + across * (e - s) for s, e in zip(start, end, strict=True)),
            upwards * 90 * INCH,
        )
    xs, ys = [x for x, _ in geometry.plan], [y for _, y in geometry.plan]
    place = (min(xs) + across * (max(xs) - min(xs)), min(ys) + upwards * (max(ys) - min(ys)))
    return (*place, height_at(place, geometry.plan, ceiling, surface.id))


@given(
    room=walls_and_rooms(),
    which=st.integers(0, 20),
    across=st.fractions(0, 1, max_denominator=997),
    upwards=st.fractions(0, 1, max_denominator=997),
    upright=st.booleans(),
    up=st.sampled_from(SideUp),
    turned=st.booleans(),
    start=st.integers(0, 10 * FOOT),
    low=st.integers(0, 4 * FOOT),
)
@settings(max_examples=60)
def test_hole_marked_on_the_lying_sheet_hangs_where_the_box_is(
    room, which, across, upwards, upright, up, turned, start, low
):
    geometry, frames = made(*room)
    surface = geometry.surfaces[which % len(geometry.surfaces)]
    frame = frames[surface.id]
    box = box_in_room(surface, geometry, room[1], across, upwards)

    piece = whole_piece(surface, upright)
    lay = lay_of(piece, Runs.ACROSS if upright else Runs.ALONG, up)
    placed = OnSheet(lay=lay, start=Nm(start), low=Nm(low), turned=turned)
    mark = placed.to_sheet(frame.to_surface(box))

    middle = lay.left + Fraction(lay.width, 2), lay.bottom + Fraction(lay.height, 2)
    hung = hang(
        mark,
        middle=(start + Fraction(lay.long, 2), low + Fraction(lay.across, 2)),
        top=top_side(upright, up, turned),
        up=up,
        hung_middle=exact(frame, *middle),
        hung_top=frame.up,
        inward=frame.inward,
    )
    # u and v are each rounded once to a whole nanometre: half of one each, and at most 0.71 nm
    # along any line
    assert all(abs(hung_at - wanted) <= 1 for hung_at, wanted in zip(hung, box, strict=True))
    if room[1].kind is CeilingKind.FLAT and isinstance(room[0], QuickRoom):
        assert all(
            abs(hung_at - wanted) <= Fraction(1, 2)
            for hung_at, wanted in zip(hung, box, strict=True)
        )


@given(room=walls_and_rooms())
@settings(max_examples=60)
def test_corners_of_neighbouring_surfaces_meet_in_the_room(room):
    geometry, frames = made(*room)
    over = {}
    for surface in geometry.surfaces:
        frame = frames[surface.id]
        places = [exact(frame, *corner) for corner in surface.outline]
        if surface.kind is SurfaceKind.WALL:
            index = "ABCDE".index(surface.id[-1])
            ends = geometry.plan[index], geometry.plan[(index + 1) % len(geometry.plan)]
            for place, end in zip(places[:2], ends, strict=True):
                assert max(abs(place[0] - end[0]), abs(place[1] - end[1]), abs(place[2])) <= 1
        else:
            over[surface.id] = places
    for places in over.values():
        for x, y, z in places:
            # over a corner of a wall, or at the end of a ridge; outlines are rounded once each
            tops = [
                exact(frames[wall.id], *corner)
                for wall in geometry.surfaces
                if wall.kind is SurfaceKind.WALL
                for corner in wall.outline[2:]
            ]
            assert any(max(abs(x - a), abs(y - b), abs(z - c)) <= 2 for a, b, c in tops)


@given(room=walls_and_rooms())
@settings(max_examples=40)
def test_inward_points_into_the_room_and_frames_are_square(room):
    geometry, frames = made(*room)
    middle = [Fraction(sum(c[k] for c in geometry.plan), len(geometry.plan)) for k in (0, 1)]
    for surface in geometry.surfaces:
        frame = frames[surface.id]
        place = exact(frame, *surface.outline[0])
        inside = (middle[0] - place[0], middle[1] - place[1], 40 * INCH - place[2])
        assert sum(a * b for a, b in zip(inside, frame.inward, strict=True)) > 0
        for one, other in (
            (frame.right, frame.up),
            (frame.right, frame.inward),
            (frame.up, frame.inward),
        ):
            assert abs(sum(a * b for a, b in zip(one, other, strict=True))) < Fraction(1, 10**30)


@given(
    at=st.tuples(st.integers(0, 300 * INCH), st.integers(0, 120 * INCH)),
    corner=st.tuples(st.integers(0, 100 * INCH), st.integers(0, 100 * INCH)),
    size=st.tuples(st.integers(1, 200 * INCH), st.integers(1, 60 * INCH)),
    upright=st.booleans(),
    up=st.sampled_from(SideUp),
    turned=st.booleans(),
)
@settings(max_examples=60)
def test_surface_to_sheet_and_back_is_exact(at, corner, size, upright, up, turned):
    piece = Piece(
        code="A-01",
        surface="r/A",
        row=0,
        start=corner[0],
        end=corner[0] + size[0],
        low=corner[1],
        high=corner[1] + size[1],
        outline=(),
    )
    lay = lay_of(piece, Runs.ACROSS if upright else Runs.ALONG, up)
    placed = OnSheet(lay=lay, start=Nm(7), low=Nm(11), turned=turned)
    assert placed.from_sheet(placed.to_sheet(at)) == at
    assert lay.from_lying(lay.to_lying(at)) == at
    assert (lay.long, lay.across) == size


def whole_piece(surface, upright):
    us, vs = [u for u, _ in surface.outline], [v for _, v in surface.outline]
    along, square = (
        ((min(vs), max(vs)), (min(us), max(us)))
        if upright
        else ((min(us), max(us)), (min(vs), max(vs)))
    )
    return Piece(
        code="A-01",
        surface=surface.id,
        row=0,
        start=along[0],
        end=along[1],
        low=square[0],
        high=square[1],
        outline=(),
    )


@pytest.mark.parametrize(("up", "near"), [(SideUp.FACE, False), (SideUp.BACK, True)])
def test_ceiling_piece_back_up_reads_as_the_plan_from_above(up, near):
    """Seen from above with the first wall at the top, as a plan is drawn, that wall is away; face
    up it is near."""
    lay = Lay(
        left=Nm(0), bottom=Nm(0), width=Nm(96 * INCH), height=Nm(48 * INCH), upright=False, up=up
    )
    x, y = lay.to_lying((Nm(10 * INCH), Nm(INCH)))
    assert x == 10 * INCH
    assert (y == 47 * INCH) is near
