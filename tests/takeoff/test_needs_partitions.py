from __future__ import annotations

from dataclasses import replace

from takeoff.choices import FramedWhen
from takeoff.framing.partition import Role, partition_frame
from takeoff.geometry.rooms import PartitionShape
from takeoff.needs import partitions
from takeoff.needs.need import Phase
from takeoff.units import UnitSystem
from tests.takeoff.needs_room import RULES, assert_reasons_add_up, by_material, inches

SHAPE = PartitionShape(
    id="p",
    partition="p",
    name="Closet wall",
    room="room",
    framed=FramedWhen.BEFORE,
    outline=tuple((inches(u), inches(v)) for u, v in ((0, 0), (96, 0), (96, 97), (0, 97))),
    openings=(),
    stud="2x4",
    spacing=inches(16),
    tees=0,
    faces=("room/p", "closet/p"),
)


def take(shape):
    frame = partition_frame(shape, RULES)
    needs = partitions.needs(frame, units=UnitSystem.INCH)
    assert_reasons_add_up(needs)
    return frame, by_material(needs)


def test_every_stick_of_the_frame_is_to_be_cut():
    frame, needs = take(SHAPE)
    assert sorted(needs["2x4"].lengths) == sorted(frame.lengths("2x4"))


def test_eight_foot_run_has_seven_studs_with_four_toenails_and_two_end_nails_each():
    # NL-02 and NL-01 of the code's nailing table, from memory; plates nailed every 16 in: 7 nails
    # in 8 ft.
    frame, needs = take(SHAPE)
    assert frame.count(Role.STUD) == 7
    plates = frame.count(Role.SOLE_PLATE) + frame.count(Role.TOP_PLATE)
    assert needs["nails-8d"].amount.value == 7 * 4
    assert needs["nails-16d"].amount.value == 7 * 2 + plates * 7


def test_door_adds_kings_trimmers_and_a_header_with_their_nails():
    door = (inches(32), inches(0), inches(64), inches(82))
    frame, needs = take(replace(SHAPE, openings=(door,)))
    assert frame.count(Role.HEADER) == 1
    assert frame.count(Role.KING) == frame.count(Role.TRIMMER) == 2
    # Plates nailed every 16 in: 7 in the top, 3 in each 32 in of sole. Two into each of seven that
    # stand; trimmers of 80-1/2 in nailed every 24 in: 5 each; 2 at each end of the header. NL-01,
    # NL-04, NL-05 of the code's nailing table, from memory; the header common practice.
    assert needs["nails-16d"].amount.value == (7 + 2 * 3) + 7 * 2 + 2 * 5 + 2 * 2


def test_needs_belong_to_the_room_the_partition_stands_in():
    _, needs = take(SHAPE)
    assert {need.room for need in needs.values()} == {"room"}


def test_backing_of_a_partition_framed_after_board_is_taken_by_the_framing_before_it():
    # Three blocks at each of two ends, between studs 16 in on center: 14-1/2 in each.
    shape = replace(SHAPE, framed=FramedWhen.AFTER, tees=2)
    frame, needs = take(shape)
    backing = partitions.backing_needs(frame, units=UnitSystem.INCH)
    assert {need.phase for need in backing} == {Phase.FRAMING}
    assert by_material(backing)["2x4"].lengths == (inches(14.5),) * 6
    both = [*needs["2x4"].lengths, *by_material(backing)["2x4"].lengths]
    assert sorted(both) == sorted(frame.lengths("2x4"))


def test_partition_framed_before_board_has_no_backing():
    frame, _ = take(replace(SHAPE, tees=2))
    assert partitions.backing_needs(frame, units=UnitSystem.INCH) == ()
