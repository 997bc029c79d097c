"""Counts of studs and plates against worked examples in print, each with the rounding its source
uses.

Examples whose printed answer contradicts their own inputs are left out.
"""

from dataclasses import replace

from takeoff.choices import FramedWhen
from takeoff.cutting.sticks import StickStock, cut_sticks
from takeoff.framing.partition import Role, partition_frame, stud_count
from takeoff.geometry.rooms import PartitionShape
from takeoff.quantities import Cents
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, Nm

SIXTEEN = Nm(16 * INCH)


def feet(length: float) -> Nm:
    return Nm(round(length * FOOT))


def partition(
    width: Nm, height: Nm, *, spacing: Nm = SIXTEEN, framed=FramedWhen.BEFORE, openings=(), tees=0
):
    return PartitionShape(
        id="p",
        partition="p",
        name="Partition",
        room="room",
        framed=framed,
        outline=((Nm(0), Nm(0)), (width, Nm(0)), (width, height), (Nm(0), height)),
        openings=openings,
        stud="2x4",
        spacing=spacing,
        tees=tees,
        faces=("room/p", "closet/p"),
    )


def test_wall_of_14_ft_6_in_takes_12_studs():
    """vbhomerepair.com, wall studs: 174 / 16 = 10.875, rounded up to 11 spaces, and 1. Corners and
    openings extra."""
    assert stud_count(feet(14.5), SIXTEEN) == 12
    assert partition_frame(partition(feet(14.5), feet(8)), Rules()).count(Role.STUD) == 12


def test_perimeter_of_148_ft_taken_as_one_run_takes_112_studs():
    """Dagostino and Peterson, *Estimating in Building Construction*, example 13-11, p. 157: 148 x
    0.75 = 111 spaces, and 1 for the whole perimeter taken as one run; nothing to round."""
    assert partition_frame(partition(feet(148), feet(8)), Rules()).count(Role.STUD) == 112


def test_same_house_as_four_runs_takes_a_last_stud_on_each():
    """Our own convention beside example 13-11: every separate run has its last stud (24 x 50 ft: 19
    and 39)."""
    runs = [
        partition_frame(partition(feet(run), feet(8)), Rules()).count(Role.STUD)
        for run in (50, 24, 50, 24)
    ]
    assert runs == [39, 19, 39, 19]
    assert sum(runs) == 116


def test_corners_of_that_perimeter_taken_leg_by_leg_take_the_published_8_studs_more():
    """Dagostino and Peterson, examples 13-11 and 13-12, p. 157: 111 spaces of the perimeter, and 2
    more studs at each of four outside corners of 2x4s. Leg by leg, the first stud of the next leg
    is one of the two."""
    frames = [
        partition_frame(replace(partition(feet(run), feet(8)), corners=1), Rules())
        for run in (50, 24, 50, 24)
    ]
    counted = (Role.STUD, Role.CORNER_STUD)
    # Each leg of 50 ft has half a space more than the perimeter as a whole gives it.
    rounded_up = 1
    assert sum(frame.count(role) for frame in frames for role in counted) == (
        111 + 4 * 2 + rounded_up
    )


def test_240_ft_of_walls_with_corners_intersections_and_openings_take_264_studs():
    """*Modern Carpentry*, 2022 ed., s. 11.15.1, p. 269: three quarters of a stud a foot, without
    the last one, and 2 for each of 12 corners, 10 intersections and 20 openings; nothing to
    round. Here as 12 legs of 20 ft that come round to the first one."""
    doors = tuple((Nm(at * INCH), Nm(0), Nm((at + 34) * INCH), Nm(82 * INCH)) for at in (36, 180))
    frames = [
        partition_frame(
            replace(
                partition(
                    feet(20),
                    feet(8),
                    openings=doors if leg < 8 else doors[:1],
                    tees=1 if leg < 10 else 0,
                ),
                corners=1,
            ),
            Rules(),
        )
        for leg in range(12)
    ]
    counted = (Role.STUD, Role.KING, Role.TRIMMER, Role.CORNER_STUD, Role.TEE_STUD)
    assert sum(frame.count(role) for frame in frames for role in counted) == 264


def test_opening_that_interrupts_two_layout_studs_adds_two_to_the_run():
    """The same rule, p. 269: two kings and two trimmers come in, two layout studs become
    cripples."""
    opening = (Nm(36 * INCH), Nm(0), Nm(70 * INCH), Nm(82 * INCH))
    plain = partition_frame(partition(feet(12), feet(8)), Rules())
    frame = partition_frame(partition(feet(12), feet(8), openings=(opening,)), Rules())
    assert frame.count(Role.KING) == frame.count(Role.TRIMMER) == frame.count(Role.CRIPPLE) == 2
    assert (
        frame.count(Role.STUD) + frame.count(Role.KING) + frame.count(Role.TRIMMER)
        == plain.count(Role.STUD) + 2
    )


def test_three_plates_of_240_ft_take_57_sticks_of_14_ft():
    """*Modern Carpentry*, p. 269: 240 x 3 x 1.10 = 792 ft; / 14 = 56.57, rounded up once at the end
    to 57."""
    total = feet(240) * 3 * (100 + figures.number("WS-plates")) / 100
    assert total == feet(792)
    assert -(-total // feet(14)) == 57
    # The same 792 ft as pieces of a stick each and the rest, cut from 14 ft sticks.
    pieces = [feet(14)] * 56 + [feet(8)]
    assert len(cut_sticks(pieces, [StickStock(feet(14), Cents(812))], kerf=Nm(0)).sticks) == 57


def test_24_ft_of_form_at_14_in_takes_22_studs():
    """US Army subcourse EN5151, a question with the choices 19 to 22: 288 / 14 = 20.57, up to 21,
    and 1."""
    assert stud_count(feet(24), Nm(14 * INCH)) == 22
    assert (
        partition_frame(partition(feet(24), feet(8), spacing=Nm(14 * INCH)), Rules()).count(
            Role.STUD
        )
        == 22
    )


def test_precut_stud_under_two_top_plates_frames_97_and_an_eighth():
    """92-5/8 in stud and three plates of 1-1/2 in: 97-1/8 in, just over 8 ft (sum derived; precut
    length FR-13)."""
    frame = partition_frame(
        partition(feet(10), Nm(97 * INCH + INCH // 8)), Rules(partition_top_plates=2)
    )
    assert {piece.length for piece in frame.pieces if piece.role is Role.STUD} == {
        Nm(92 * INCH + 5 * INCH // 8)
    }


def test_stud_under_a_finished_ceiling_is_its_height_less_3_in_and_the_slack():
    """Derived: floor to ceiling, less two plates of 1-1/2 in, less the fitting slack (1/4 in usual,
    FR-slack)."""
    frame = partition_frame(partition(feet(10), Nm(95 * INCH), framed=FramedWhen.AFTER), Rules())
    assert {piece.length for piece in frame.pieces if piece.role is Role.STUD} == {
        Nm(92 * INCH - INCH // 4)
    }


def test_intersection_takes_two_more_studs():
    """Dagostino and Peterson, ch. 13 p. 157: 2 more at each intersection."""
    assert partition_frame(partition(feet(10), feet(8), tees=1), Rules()).count(Role.TEE_STUD) == 2
