"""Partitions framed before or after board, from one house."""

from dataclasses import replace

import pytest

from takeoff.cards.frames import room_frames
from takeoff.choices import (
    Action,
    CeilingKind,
    CutoutKind,
    FramedWhen,
    HiddenKind,
    MeasuredTo,
    OpeningKind,
    Runs,
    Side,
    SurfaceKind,
    Turn,
)
from takeoff.errors import BadValue
from takeoff.geometry.rooms import room_shapes
from takeoff.house import (
    BehindPartition,
    Ceiling,
    Cutout,
    Framing,
    HiddenItem,
    Leg,
    Measure,
    Opening,
    Partition,
    PlainSurface,
    Room,
    SurfaceChoice,
    SurfaceList,
)
from takeoff.units import INCH

from .rooms import (
    L_WALLS,
    both_ways,
    corners,
    house,
    in_inches,
    inches,
    outline,
    quick,
    rectangle,
    surface,
)

CLOSET = Room(id="closet", name="Closet", shape=BehindPartition(partition="wall"))


def partition(at=96, side=Side.RIGHT, wall="A", **more) -> Partition:
    return Partition(
        **{
            "id": "wall",
            "name": "Closet wall",
            "room": "kitchen",
            "wall": wall,
            "at": inches(at),
            "side": side,
        }
        | more
    )


def door(at=24, width=32) -> Opening:
    return Opening(
        id="door",
        name="Door",
        kind=OpeningKind.DOOR,
        wall="wall",
        left=inches(at),
        sill=inches(0),
        width=inches(width),
        height=inches(82),
    )


def split(room=None, made=None, behind=CLOSET, **rules):
    return both_ways(house(room or quick(), behind, partitions=(made or partition(),), **rules))


def test_both_ways_make_the_same_rooms_with_the_same_floors():
    (before, _), (after, _) = split()
    for room in ("kitchen", "closet"):
        assert before[room].plan == after[room].plan
        assert before[room].floor_area == after[room].floor_area
    assert in_inches(before["kitchen"].plan) == [(0, 0), (96, 0), (96, 120), (0, 120)]
    assert in_inches(before["closet"].plan) == [(99.5, 0), (144, 0), (144, 120), (99.5, 120)]


def test_before_each_side_has_its_own_walls_and_ceiling():
    (before, _), _ = split()
    assert [surface.id for surface in before["kitchen"].surfaces] == [
        "kitchen/A",
        "kitchen/wall",
        "kitchen/C",
        "kitchen/D",
        "kitchen/ceiling",
    ]
    assert in_inches(surface(before["closet"], "A").outline) == rectangle(0, 0, 44.5, 96)
    assert in_inches(surface(before["closet"], "ceiling").outline) == rectangle(0, 0, 44.5, 120)
    assert in_inches(surface(before["closet"], "wall").outline) == rectangle(0, 0, 120, 96)


def test_after_walls_and_ceiling_run_through_in_the_parent_room():
    _, (after, frame) = split()
    assert in_inches(surface(after["kitchen"], "A").outline) == rectangle(0, 0, 144, 96)
    assert in_inches(surface(after["kitchen"], "ceiling").outline) == rectangle(0, 0, 144, 120)
    assert [surface.id for surface in after["closet"].surfaces] == ["closet/wall"]
    assert in_inches(frame.outline) == rectangle(0, 0, 119, 95.5)
    assert after["kitchen"].hang_order[-1] == "kitchen/wall"


def test_after_face_loses_the_fitting_and_the_floor_gap_only():
    _, (after, _) = split()
    for room in ("kitchen", "closet"):
        assert in_inches(surface(after[room], "wall").board_area) == rectangle(
            0.125, 0.5, 118.875, 95.5
        )


def test_both_ways_tape_two_inside_corners_a_side():
    (before, _), (after, _) = split()
    assert corners(before["closet"])["closet/wall", "closet/A"] == 95.5
    assert corners(before["closet"])["closet/C", "closet/wall"] == 95.5
    assert corners(after["closet"]) == {
        ("closet/wall", "kitchen/A"): 95.5,
        ("closet/wall", "kitchen/C"): 95.5,
        ("closet/wall", "kitchen/ceiling"): 119,
    }
    assert corners(after["kitchen"])["kitchen/wall", "kitchen/ceiling"] == 119


def test_after_frame_stands_between_old_linings_that_stay():
    wall_a = SurfaceChoice(of="A", action=Action.LEAVE, lining=inches(0.75))
    ceiling = SurfaceChoice(of="ceiling", action=Action.BOARD_OVER, lining=inches(0.5))
    _, (_, frame) = split(quick(surfaces=(wall_a, ceiling)))
    assert in_inches(frame.outline) == rectangle(0, 0, 120 - 0.75 - 0.5, 95)


def test_stud_size_is_the_partitions_thickness():
    (before, _), _ = split(made=partition(stud="2x6"))
    assert in_inches(before["closet"].plan)[0] == (96 + 5.5, 0)


def test_side_left_makes_the_left_end_the_room_behind():
    (before, frame), _ = split(made=partition(at=48, side=Side.LEFT))
    assert in_inches(before["closet"].plan) == rectangle(0, 0, 48, 120)
    assert in_inches(before["kitchen"].plan)[0] == (51.5, 0)
    assert frame.faces == ("kitchen/wall", "closet/wall")


@pytest.mark.parametrize("side", list(Side))
def test_door_is_seen_mirrored_from_behind(side):
    for rooms, frame in split(made=partition(at=60, side=side, openings=(door(),))):
        width = frame.outline[1][0]
        seen, behind = (surface(rooms[room], "wall").openings[0] for room in ("kitchen", "closet"))
        assert (seen.left, seen.right) == (inches(24), inches(56))
        assert (behind.left, behind.right) == (width - seen.right, width - seen.left)
        assert frame.openings == ((inches(24), 0, inches(56), inches(82)),)


def test_things_go_to_the_side_they_are_on():
    def window(id_, at):
        return replace(door(at, 24), id=id_, name=id_, kind=OpeningKind.WINDOW, wall="A")

    light = Cutout(
        id="light",
        name="Light",
        kind=CutoutKind.ROUND,
        surface="ceiling",
        across=Measure(origin="B", distance=inches(20)),
        up=Measure(origin="A", distance=inches(60)),
        width=inches(6),
    )
    room = quick(openings=(window("west", 12), window("east", 110)), cutouts=(light,))
    (before, _), (after, _) = split(room)
    assert [opening.id for opening in surface(before["kitchen"], "A").openings] == ["west"]
    (east,) = surface(before["closet"], "A").openings
    assert east.left == inches(110 - 99.5)
    (placed,) = surface(before["closet"], "ceiling").cutouts
    assert placed.left == inches(144 - 20 - 3 - 99.5)
    assert [opening.id for opening in surface(after["kitchen"], "A").openings] == ["west", "east"]
    assert surface(after["kitchen"], "ceiling").cutouts[0].left == inches(144 - 20 - 3)


@pytest.mark.parametrize("when", list(FramedWhen))
def test_window_where_the_partition_would_stand_is_refused_either_way(when):
    window = replace(door(90, 24), kind=OpeningKind.WINDOW, name="Window", wall="A")
    made = house(quick(openings=(window,)), CLOSET, partitions=(partition(),))
    with pytest.raises(BadValue, match="Window: a partition would stand on it"):
        room_shapes(made, framed={"wall": when})


def test_blocking_behind_the_partitions_end_is_cut_at_it():
    blocking = HiddenItem(
        id="nailer",
        name="Nailer",
        kind=HiddenKind.BLOCKING,
        surface="A",
        across=Measure(origin="left", distance=inches(97.75)),
        up=Measure(origin="floor", distance=inches(48)),
        width=inches(14.5),
        height=inches(5.5),
        planned=True,
    )
    (before, _), (after, _) = split(quick(hidden=(blocking,)))
    widths = [
        sum(
            (item.right - item.left) / INCH
            for room in rooms.values()
            for s in room.surfaces
            for item in s.hidden
        )
        for rooms in (before, after)
    ]
    assert widths == [14.5 - 3.5, 14.5]


def test_studs_keep_their_places_on_both_sides():
    studs = Framing(
        spacing=inches(16),
        first=inches(16),
        extra=(inches(120),),
        start_backed=True,
        end_backed=True,
    )
    (before, _), _ = split(quick(wall_framing=studs))
    kitchen, closet = (surface(before[room], "A").framing for room in ("kitchen", "closet"))
    assert (kitchen.first, kitchen.extra, kitchen.start_backed, kitchen.end_backed) == (
        inches(16),
        (),
        True,
        None,
    )
    assert closet.first == inches(112 - 99.5)
    assert (closet.extra, closet.start_backed, closet.end_backed) == (
        (inches(120 - 99.5),),
        None,
        True,
    )


def test_joists_over_the_closet_run_as_over_the_room():
    (before, _), _ = split()
    closet = surface(before["closet"], "ceiling")
    assert closet.framing.runs is Runs.ACROSS, (
        "over the 10 ft way of the whole room, though the closet is narrower"
    )


def test_partition_studs_are_the_same_from_behind():
    (before, _), _ = split(quick(144, 100))
    kitchen, closet = (surface(before[room], "wall") for room in ("kitchen", "closet"))
    seen = {kitchen.framing.first + k * kitchen.framing.spacing for k in range(6)}
    behind = {
        closet.outline[1][0] - (closet.framing.first + k * closet.framing.spacing) for k in range(6)
    }
    assert seen == behind


def with_studs(*beside):
    """The kitchen with studs so far beside the middle of the partition, which is 97-3/4 in along A
    and 46-1/4 in along C, walked the other way; the layout keeps away."""
    studs = [
        SurfaceChoice(
            of=wall,
            framing=Framing(
                spacing=inches(16),
                first=inches((middle + 8) % 16),
                extra=tuple(inches(middle + way) for way in beside),
            ),
        )
        for wall, middle in (("A", 97.75), ("C", 46.25))
    ]
    return quick(surfaces=tuple(studs))


@pytest.mark.parametrize(
    ("beside", "before", "after"),
    [
        ((), 2, 2),
        ((0,), 2, 0),  # behind the middle: neither board bears on it
        ((-2,), 2, 2),
        ((-2, 2), 0, 2),  # 1 in of each stands out beside the partition, 3-1/2 in thick
        ((-1.5, 1.5), 2, 2),  # only 1/2 in
    ],
)
def test_boards_beside_a_partitions_end_need_a_stud_on_each_side(beside, before, after):
    (_, framed_first), (_, framed_after) = split(with_studs(*beside))
    assert (framed_first.tees, framed_after.tees) == (before, after)


def test_closet_says_what_is_done_in_it_before_board():
    own = (
        SurfaceChoice(of="A", action=Action.LEAVE, lining=inches(0.5)),
        SurfaceChoice(of="wall", tiled=True),
    )
    (before, _), (after, _) = split(behind=replace(CLOSET, surfaces=own))
    assert surface(before["closet"], "A").action is Action.LEAVE
    assert surface(before["kitchen"], "A").action is Action.BOARD
    assert surface(before["closet"], "wall").tiled
    assert not surface(before["kitchen"], "wall").tiled
    assert surface(after["closet"], "wall").tiled
    assert any("A is not used" in note.text for note in after["closet"].notes)


def test_what_is_chosen_for_the_parents_wall_holds_on_both_sides_of_the_partition():
    (before, _), _ = split(quick(surfaces=(SurfaceChoice(of="A", wet=True),)))
    assert surface(before["closet"], "A").wet
    assert not surface(before["closet"], "B").wet


def test_closet_ceiling_of_its_own_is_not_passed_over_in_silence():
    (before, _), _ = split(behind=replace(CLOSET, ceiling=Ceiling(height=inches(90))))
    assert any("its own ceiling is not used" in note.text for note in before["closet"].notes)


def test_partition_across_a_gable_has_the_gables_shape():
    gable = Ceiling(kind=CeilingKind.GABLE, height=inches(96), high=inches(132), low_wall="A")
    (before, frame), (_, later) = split(quick(240, 192, ceiling=gable))
    assert in_inches(frame.outline) == [(0, 0), (192, 0), (192, 96), (96, 132), (0, 96)]
    assert {
        surface.id for surface in before["closet"].surfaces if surface.kind is SurfaceKind.CEILING
    } == {
        "closet/ceiling-near",
        "closet/ceiling-far",
    }
    (_, _, east, ridge, west) = in_inches(later.outline)
    # 1/2 in square to a 3 in 8 slope is 0.534 plumb; the ends stand 1/2 in in, where the ceiling is
    # 3/16 higher.
    assert (east, ridge, west) == ((191, 95.653), (95.5, 131.466), (0, 95.653))


def test_partition_along_a_ridge_leaves_the_closet_one_plane():
    gable = Ceiling(kind=CeilingKind.GABLE, height=inches(96), high=inches(132), low_wall="A")
    (before, frame), _ = split(quick(240, 192, ceiling=gable), partition(at=120, wall="B"))
    assert [surface.id for surface in before["closet"].surfaces[-1:]] == ["closet/ceiling-far"]
    assert in_inches(frame.outline) == rectangle(0, 0, 240, 123)
    assert in_inches(surface(before["closet"], "wall").outline) == rectangle(0, 0, 240, 121.688)


def test_partition_flush_with_an_outside_corner_runs_on_into_its_wall():
    (before, _), _ = split(outline(*L_WALLS), partition(at=96))
    assert in_inches(surface(before["kitchen"], "wall").outline) == rectangle(0, 0, 60, 96)
    assert any("runs on in line into kitchen/D" in note.text for note in before["kitchen"].notes)
    assert in_inches(before["closet"].plan) == [(99.5, 0), (144, 0), (144, 60), (99.5, 60)]


def test_partition_astride_an_outside_corner_is_refused():
    with pytest.raises(BadValue, match="Wall E on one face and Wall C on the other"):
        split(outline(*L_WALLS), partition(at=94))


def test_measured_to_finish_the_partition_is_placed_from_the_old_finished_corner():
    (before, _), _ = split(quick(measured_to=MeasuredTo.FINISHED))
    assert in_inches(before["kitchen"].plan) == [
        (-0.5, -0.5),
        (96, -0.5),
        (96, 120.5),
        (-0.5, 120.5),
    ]


def two(*partitions, room=None):
    rooms = [
        Room(id=f"r{p.id}", name=p.id, shape=BehindPartition(partition=p.id)) for p in partitions
    ]
    return house(room or quick(240, 192), *rooms, partitions=partitions)


def test_two_partitions_make_three_rooms():
    made = two(partition(168, id="one"), partition(48, Side.LEFT, id="two"))
    for rooms, _ in both_ways(made):
        assert in_inches(rooms["kitchen"].plan) == [(51.5, 0), (168, 0), (168, 192), (51.5, 192)]
        assert in_inches(rooms["rtwo"].plan) == rectangle(0, 0, 48, 192)


def test_partition_may_run_into_an_earlier_one():
    made = two(partition(168, id="one"), partition(72, wall="D", id="two"))
    (before, frame), (after, _) = both_ways(made)
    assert in_inches(surface(before["kitchen"], "one").outline) == rectangle(0, 0, 72, 96)
    assert in_inches(surface(before["rtwo"], "one").outline) == rectangle(0, 0, 116.5, 96)
    assert in_inches(frame.outline) == rectangle(0, 0, 192, 96), "the frame of the first is whole"
    assert in_inches(surface(after["rtwo"], "two").outline) == rectangle(0, 0, 167, 95.5)


def test_one_before_and_one_after_stand_in_one_room():
    made = two(partition(168, id="one"), partition(48, Side.LEFT, id="two"))
    rooms, frames = room_shapes(made, framed={"one": FramedWhen.BEFORE, "two": FramedWhen.AFTER})
    assert [frame.framed for frame in frames] == [FramedWhen.BEFORE, FramedWhen.AFTER]
    assert in_inches(surface(rooms[0], "A").outline) == rectangle(0, 0, 168, 96)
    assert [surface.id for surface in rooms[2].surfaces] == ["rtwo/two"]


@pytest.mark.parametrize("at", [0.0001, 141, 200])
def test_partition_off_its_wall_is_refused_with_the_limits(at):
    if at < 1:
        split(made=partition(at=at))
    else:
        with pytest.raises(BadValue, match=r"less than 11' 8 1/2\" \(it is 3 1/2\" thick\)"):
            split(made=partition(at=at))


@pytest.mark.parametrize(
    ("rooms", "message"),
    [
        ((quick(),), "no room lies behind it"),
        ((quick(), CLOSET, replace(CLOSET, id="other", name="Other")), "both lie behind"),
        (
            (quick(), CLOSET, replace(CLOSET, id="o", shape=BehindPartition(partition="q"))),
            "no such partition",
        ),
        (
            (
                Room(
                    id="kitchen",
                    name="Kitchen",
                    shape=SurfaceList(
                        surfaces=(
                            PlainSurface(
                                id="A", name="A", kind=SurfaceKind.WALL, width=INCH, height=INCH
                            ),
                        )
                    ),
                ),
                CLOSET,
            ),
            "has no outline of its own",
        ),
    ],
)
def test_partition_and_rooms_that_do_not_fit_are_refused(rooms, message):
    with pytest.raises(BadValue, match=message):
        room_shapes(house(*rooms, partitions=(partition(),)))


def test_things_of_a_closets_other_walls_belong_to_the_room_that_was_measured():
    closet = replace(CLOSET, openings=(replace(door(), id="w", wall="B"),))
    with pytest.raises(
        BadValue, match="give what stands in its other walls and its ceiling in Kitchen"
    ):
        split(behind=closet)


def test_lumber_that_is_not_known_is_refused():
    with pytest.raises(BadValue, match="No stud '9x9'; there are 2x3"):
        split(made=partition(stud="9x9"))


def test_partition_named_like_a_wall_is_refused():
    with pytest.raises(BadValue, match="'A' names two of its surfaces"):
        split(made=partition(id="A"), behind=replace(CLOSET, shape=BehindPartition(partition="A")))


def corner_closet(**more) -> Partition:
    """Out 40 in from Wall A, 48 in from its left end, then to Wall D: a closet in the corner."""
    legs = (Leg(id="wall-2", name="Second leg", turn=Turn.TOWARD),)
    return partition(**{"at": 48, "side": Side.LEFT, "length": inches(40), "legs": legs} | more)


def test_closet_in_a_corner_is_cut_out_of_the_room_by_two_legs():
    (before, _), (after, _) = split(made=corner_closet())
    for rooms in (before, after):
        # 40 in to the outside of the corner, so 36-1/2 in inside it
        assert in_inches(rooms["closet"].plan) == rectangle(0, 0, 48, 36.5)
        assert in_inches(rooms["kitchen"].plan) == [
            (51.5, 0),
            (144, 0),
            (144, 120),
            (0, 120),
            (0, 40),
            (51.5, 40),
        ]


def test_each_leg_has_a_face_of_its_own_length_on_either_side():
    (before, _), (after, _) = split(made=corner_closet())
    widths = {
        (room, leg): [surface(rooms[room], leg).outline[1][0] / INCH for rooms in (before, after)]
        for room in ("kitchen", "closet")
        for leg in ("wall", "wall-2")
    }
    # framed after, each is 1/2 in shorter where it meets the finished face of Wall A or Wall D
    assert widths == {
        ("kitchen", "wall"): [40, 39.5],
        ("kitchen", "wall-2"): [51.5, 51],
        ("closet", "wall"): [36.5, 36],
        ("closet", "wall-2"): [48, 47.5],
    }


@pytest.mark.parametrize("when", [0, 1])
def test_corner_between_legs_is_an_outside_one_in_the_room_and_an_inside_one_in_the_closet(when):
    rooms, _ = split(made=corner_closet())[when]
    met = {
        room: [(c.inside, c.length / INCH) for c in rooms[room].corners if ends(c)]
        for room in ("kitchen", "closet")
    }
    assert met == {"kitchen": [(False, 95.5)], "closet": [(True, 95.5)]}


def ends(corner) -> bool:
    return {corner.first.split("/")[1], corner.second.split("/")[1]} == {"wall", "wall-2"}


def test_frame_of_the_leg_before_the_corner_runs_through_and_the_next_begins_against_it():
    made = house(quick(), CLOSET, partitions=(corner_closet(),))
    of_ways = {
        when: [
            (frame.id, in_inches(frame.outline)[0][0], in_inches(frame.outline)[1][0])
            for frame in room_shapes(made, framed={"wall": when})[1]
        ]
        for when in FramedWhen
    }
    # Faced from the kitchen, Wall D is at the left of the second leg, whose last 3-1/2 in before
    # the corner belong to the first leg: 48 of 51-1/2 in.
    assert of_ways == {
        FramedWhen.BEFORE: [("wall", 0, 40), ("wall-2", 0, 48)],
        FramedWhen.AFTER: [("wall", 0, 39.5), ("wall-2", 0, 47.5)],
    }
    frames = room_shapes(made)[1]
    assert [frame.corners for frame in frames] == [1, 0]
    assert [frame.tee_walls for frame in frames] == [("Wall A",), ("Wall D",)]


def test_studs_of_a_leg_that_begins_against_another_are_the_same_from_both_sides():
    (before, _), _ = split(made=corner_closet(spacing=inches(16)))
    room, closet = (surface(before[id_], "wall-2") for id_ in ("kitchen", "closet"))
    # Both faces start at Wall D, left in the kitchen and right in the closet.
    assert (room.framing.first, closet.framing.first) == (inches(16), inches(16))
    assert room.framing.extra == (inches(48 - 0.75),), "its last stud, against the first leg"
    assert closet.framing.extra == ()


def test_jog_turns_away_and_back():
    """Out 30 in, 24 in away from the closet, then on to Wall C."""
    legs = (
        Leg(id="jog", name="Jog", turn=Turn.AWAY, length=inches(24)),
        Leg(id="rest", name="Rest", turn=Turn.TOWARD),
    )
    made = corner_closet(at=60, side=Side.RIGHT, length=inches(30), legs=legs)
    (before, _), _ = split(made=made)
    # The closet is right of 63-1/2 in; the jog goes 24 in to the left on either of its sides.
    assert in_inches(before["kitchen"].plan) == [
        (0, 0),
        (60, 0),
        (60, 26.5),
        (36, 26.5),
        (36, 120),
        (0, 120),
    ]
    assert in_inches(before["closet"].plan) == [
        (63.5, 0),
        (144, 0),
        (144, 120),
        (39.5, 120),
        (39.5, 30),
        (63.5, 30),
    ]


def test_door_in_a_leg_is_seen_mirrored_from_inside_the_closet():
    made = corner_closet(openings=(replace(door(10, 24), wall="wall-2"),))
    (before, _), _ = split(made=made)
    seen = {id_: surface(before[id_], "wall-2").openings[0].left for id_ in ("kitchen", "closet")}
    # 10 in from Wall D, which is on the right as seen from inside the 48 in closet
    assert seen == {"kitchen": inches(10), "closet": inches(48 - 10 - 24)}


def test_door_that_reaches_into_the_corner_is_refused():
    made = corner_closet(openings=(replace(door(26, 24), wall="wall-2"),))
    with pytest.raises(BadValue, match="Second leg, Door: it would reach into the corner"):
        split(made=made)


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"length": inches(3)}, r'Closet wall: 3" leaves nothing .* more than 3 1/2"'),
        ({"length": inches(120)}, r"Closet wall: it runs into Wall C .* less than 10'"),
        ({"length": None}, "turns a corner, so it needs its length"),
        ({"legs": ()}, "runs to the wall it meets; leave out its length"),
        (
            {
                "legs": (
                    Leg(id="b", name="B", turn=Turn.TOWARD, length=inches(30)),
                    Leg(id="c", name="C", turn=Turn.TOWARD, length=inches(20)),
                    Leg(id="d", name="D", turn=Turn.TOWARD),
                )
            },
            "its legs run into each other",
        ),
    ],
)
def test_legs_that_cannot_stand_are_refused_with_what_to_enter(more, message):
    with pytest.raises(BadValue, match=message):
        split(made=corner_closet(**more))


def test_leg_of_no_length_is_refused():
    with pytest.raises(BadValue, match="Leg B length must be more than zero"):
        Leg(id="b", name="B", turn=Turn.TOWARD, length=inches(0))


def test_partition_may_start_on_an_earlier_one():
    """A wall from Wall C's side that ends on a partition, and one from that partition to Wall B."""
    made = two(partition(96, id="one", wall="D"), partition(60, id="two", wall="one"))
    (before, frame), (after, _) = both_ways(made)
    # "one" stands across the room, 96 in from the left end of Wall D, which is its lower end: the
    # upper side is at 96 in down. "two" starts on the side that the kitchen sees, 60 in along it.
    assert in_inches(frame.outline) == rectangle(0, 0, 240, 96)
    assert before["kitchen"].floor_area + before["rtwo"].floor_area == inches(96) * inches(
        240 - 3.5
    )
    assert before["kitchen"].floor_area == after["kitchen"].floor_area
    assert {one.id for one in before["rtwo"].surfaces} >= {"rtwo/two", "rtwo/one"}


def test_partition_may_stand_in_what_another_cut_off():
    made = two(partition(168, id="one"), partition(200, id="two"))
    for rooms, _ in both_ways(made):
        assert in_inches(rooms["kitchen"].plan) == rectangle(0, 0, 168, 192)
        assert in_inches(rooms["rone"].plan) == rectangle(171.5, 0, 200, 192)
        assert in_inches(rooms["rtwo"].plan) == rectangle(203.5, 0, 240, 192)


def test_partition_that_carries_load_is_framed_before_board_whatever_is_asked():
    made = house(quick(), CLOSET, partitions=(partition(bearing=True),))
    _, (frame,) = room_shapes(made, framed={"wall": FramedWhen.AFTER})
    assert frame.framed is FramedWhen.BEFORE


def along_a_wall(side=Side.RIGHT, turn=Turn.TOWARD) -> Partition:
    """Out 28 in from Wall A, 60 in along it, and back: a closet with both its ends free."""
    legs = (
        Leg(id="front", name="Front", turn=turn, length=inches(60)),
        Leg(id="back", name="Back", turn=turn),
    )
    return partition(at=72 if side is Side.LEFT else 40, side=side, length=inches(28), legs=legs)


@pytest.mark.parametrize("when", [0, 1])
def test_closet_along_a_wall_leaves_the_wall_on_either_side_of_it(when):
    rooms, _ = split(made=along_a_wall())[when]
    assert in_inches(rooms["kitchen"].plan) == [
        (0, 0),
        (40, 0),
        (40, 28),
        (100, 28),
        (100, 0),
        (144, 0),
        (144, 120),
        (0, 120),
    ]
    assert in_inches(rooms["closet"].plan) == rectangle(43.5, 0, 96.5, 24.5)


def test_parts_of_one_wall_are_surfaces_of_their_own_with_marks_of_their_own():
    (before, _), (after, _) = split(made=along_a_wall())
    first, second = surface(before["kitchen"], "A"), surface(before["kitchen"], "A-2")
    assert [face.outline[1][0] / INCH for face in (first, second)] == [40, 44]
    assert [face.mark for face in (first, second)] == ["K-A", "K-AB"]
    assert second.name == "Kitchen, Wall A part 2"
    assert second.origin == (inches(100), 0)
    assert surface(before["closet"], "A").outline[1][0] == inches(53)
    # framed after, the wall runs through
    assert surface(after["kitchen"], "A").outline[1][0] == inches(144)
    assert "A-2" not in {one.id.split("/")[1] for one in after["kitchen"].surfaces}


def test_window_beside_such_a_closet_is_in_the_part_it_stands_in():
    window = replace(door(110, 24), kind=OpeningKind.WINDOW, wall="A", id="w", name="Window")
    (before, _), _ = split(quick(openings=(window,)), along_a_wall())
    assert surface(before["kitchen"], "A").openings == ()
    (placed,) = surface(before["kitchen"], "A-2").openings
    assert placed.left == inches(110 - 100)


def test_closet_along_a_wall_may_lie_on_the_left_of_where_it_starts():
    (before, _), _ = split(made=along_a_wall(Side.LEFT))
    # from 72 + 3-1/2 in back to 15-1/2 in
    assert in_inches(before["closet"].plan) == rectangle(19, 0, 72, 24.5)


def test_partition_that_turns_away_twice_makes_the_rest_of_the_room_the_new_one():
    (before, _), _ = split(made=along_a_wall(Side.LEFT, Turn.AWAY))
    # The new room is all but the nook to the right of where it starts.
    assert in_inches(before["kitchen"].plan) == rectangle(75.5, 0, 128.5, 24.5)
    assert len(before["closet"].plan) == 8


@pytest.mark.parametrize(
    "made",
    [
        two(partition(168, id="one"), partition(72, wall="D", id="two")),
        house(quick(), CLOSET, partitions=(along_a_wall(),)),
        house(quick(), CLOSET, partitions=(corner_closet(),)),
    ],
)
def test_every_wall_stands_in_the_room_where_the_plan_has_it(made):
    """The lower left corner of a wall, as one faces it, is a corner of the plan of its room."""
    geometries, _ = room_shapes(made)
    for geometry in geometries:
        frames = room_frames(geometry, made)
        for index, side in enumerate(geometry.plan_sides):
            x, y, z = frames[f"{geometry.room}/{side.wall}"].to_room((0, 0))
            assert ((x, y), z) == (geometry.plan[index], 0), side
