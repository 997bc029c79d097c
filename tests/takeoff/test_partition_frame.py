"""The sticks of a planned partition."""

from dataclasses import replace

import pytest

from takeoff.choices import FramedWhen
from takeoff.errors import BadValue, NeedsEngineer
from takeoff.framing.partition import FramePiece, PartitionFrame, Role, partition_frame, stud_count
from takeoff.geometry.rooms import PartitionShape
from takeoff.rules import Rules
from takeoff.units import INCH, Nm, UnitSystem


def nm(inches: float) -> Nm:
    return Nm(round(inches * INCH))


def shape(
    width: float,
    height: float,
    *openings: tuple[float, ...],
    framed=FramedWhen.BEFORE,
    tees=0,
    far=None,
):
    outline = ((0, 0), (nm(width), 0), (nm(width), nm(far or height)), (0, nm(height)))
    return PartitionShape(
        id="closet",
        partition="closet",
        name="Closet wall",
        room="bedroom",
        framed=framed,
        outline=outline,
        openings=tuple(tuple(nm(side) for side in opening) for opening in openings),
        stud="2x4",
        spacing=nm(16),
        tees=tees,
        faces=("bedroom/closet", "closet/a"),
    )


DOOR = (30, 0, 64, 82)
WINDOW = (30, 36, 64, 80)


def of(frame: PartitionFrame, role: Role) -> list[tuple[float, int]]:
    return [(piece.length / INCH, piece.count) for piece in frame.pieces if piece.role is role]


def test_plain_run_has_studs_at_the_spacing_and_one_more():
    frame = partition_frame(shape(120, 97.125), Rules())
    assert of(frame, Role.STUD) == [(94.125, 9)]
    assert of(frame, Role.SOLE_PLATE) == [(120, 1)]
    assert of(frame, Role.TOP_PLATE) == [(120, 1)]
    assert frame.notes == ()


def test_sentences_are_in_the_units_of_the_house():
    metric = replace(shape(120, 97.125, (30, 0, 110, 82), tees=1), units=UnitSystem.MILLIMETRE)
    with_tees = replace(metric, tee_walls=("Wall B",))
    frame = partition_frame(with_tees, Rules())
    sentences = [*frame.notes, *(piece.text for piece in frame.pieces)]
    assert any(text.startswith("406 mm on center") for text in sentences)
    assert any(text.startswith("in Wall B where the partition meets it") for text in sentences)
    assert not any(
        '"' in text or "' " in text.replace("room's ", "").replace("wall's ", "")
        for text in sentences
    )


def test_no_sentence_says_the_role_again():
    for piece in partition_frame(
        replace(shape(120, 97.125, DOOR, tees=1), corners=1), Rules()
    ).pieces:
        assert str(piece.role) not in piece.text


def test_second_top_plate_shortens_the_studs():
    frame = partition_frame(shape(120, 97.125), Rules(partition_top_plates=2))
    assert of(frame, Role.TOP_PLATE) == [(120, 2)]
    assert of(frame, Role.STUD) == [(92.625, 9)]


def test_stud_under_a_finished_ceiling_is_cut_to_the_height_less_plates_and_slack():
    frame = partition_frame(
        shape(120, 96, framed=FramedWhen.AFTER), Rules(partition_slack=nm(0.25))
    )
    assert of(frame, Role.STUD) == [(96 - 3 - 0.25, 9)]


def test_last_narrow_bay_counts_one_more_stud():
    frame = partition_frame(shape(120.5, 97), Rules())
    assert frame.count(Role.STUD) == stud_count(nm(120.5), nm(16)) == 9
    assert (
        partition_frame(shape(112, 97), Rules()).count(Role.STUD)
        == stud_count(nm(112), nm(16))
        == 8
    )


def test_door_is_framed_with_kings_trimmers_header_and_cripples():
    frame = partition_frame(shape(120, 97, DOOR), Rules())
    assert of(frame, Role.KING) == [(94, 2)]
    assert of(frame, Role.TRIMMER) == [(80.5, 2)]
    assert of(frame, Role.HEADER) == [(37, 1)]
    assert of(frame, Role.CRIPPLE) == [(12, 2)]  # on the layout at 32 and 48
    assert of(frame, Role.SILL) == []


def test_sole_plate_is_cut_out_at_a_door_and_runs_under_a_window():
    assert of(partition_frame(shape(120, 97, DOOR), Rules()), Role.SOLE_PLATE) == [(56, 1), (30, 1)]
    assert of(partition_frame(shape(120, 97, WINDOW), Rules()), Role.SOLE_PLATE) == [(120, 1)]


def test_window_has_a_sill_and_cripples_below_and_above():
    frame = partition_frame(shape(120, 97, WINDOW), Rules())
    assert of(frame, Role.SILL) == [(34, 1)]
    assert of(frame, Role.CRIPPLE) == [(33, 2), (14, 2)]


def test_opening_wider_than_a_flat_header_may_span_gets_two_on_edge_and_a_note():
    frame = partition_frame(shape(144, 97, (20, 0, 117, 82)), Rules())
    assert of(frame, Role.HEADER) == [(100, 2)]
    assert of(frame, Role.CRIPPLE) == [(95.5 - 82 - 3.5, 6)]
    assert "check your local code" in frame.notes[0]
    assert of(partition_frame(shape(144, 97, (20, 0, 116, 82)), Rules()), Role.HEADER) == [(99, 1)]


def test_opening_up_to_the_plate_has_no_header_and_says_so():
    frame = partition_frame(shape(120, 97, (30, 0, 64, 95)), Rules())
    assert of(frame, Role.HEADER) == of(frame, Role.CRIPPLE) == []
    assert of(frame, Role.TRIMMER) == [(94, 2)]
    assert "no room for a header" in frame.notes[0]


def test_layout_studs_beside_an_opening_give_way_to_kings_and_trimmers():
    frame = partition_frame(shape(120, 97, DOOR), Rules())
    # layout: 0.75, 16, 32, 48, 64, 80, 96, 112, 119.25; the door's frame stands from 27 to 67
    assert frame.count(Role.STUD) == 6


def test_plate_longer_than_a_stick_comes_in_parts_that_meet_on_the_layout():
    frame = partition_frame(shape(300, 97), Rules(partition_top_plates=2))
    assert of(frame, Role.SOLE_PLATE) == [(192, 1), (108, 1)]
    # meets at 192; 96 and 256
    assert of(frame, Role.TOP_PLATE) == [(192, 1), (160, 1), (108, 1), (96, 1), (44, 1)]


def test_no_part_of_a_plate_is_longer_than_the_longest_stick_and_none_is_a_scrap():
    for width in (192, 193, 250, 384, 385, 700):
        frame = partition_frame(shape(width, 97), Rules(partition_top_plates=2), longest=nm(192))
        for role in (Role.SOLE_PLATE, Role.TOP_PLATE):
            lengths = of(frame, role)
            assert all(32 <= length <= 192 for length, _ in lengths), lengths
            assert sum(length * count for length, count in lengths) == width * (
                2 if role is Role.TOP_PLATE else 1
            )


def test_studs_under_a_slope_are_cut_to_their_long_points():
    frame = partition_frame(shape(96, 96, far=120), Rules())
    lengths = [length for length, count in of(frame, Role.STUD) for _ in range(count)]
    plumb = 1.5 * (96**2 + 24**2) ** 0.5 / 96
    assert len(lengths) == 7
    assert lengths[-1] == pytest.approx(96 + 1.5 / 4 - plumb - 1.5, abs=1e-6)
    assert lengths[0] == pytest.approx(120 - plumb - 1.5, abs=1e-6)
    assert of(frame, Role.TOP_PLATE) == [(pytest.approx((96**2 + 24**2) ** 0.5, abs=1e-6), 1)]


def test_tee_held_by_clips_takes_no_stud():
    frame = partition_frame(shape(120, 97, tees=2), Rules(edge_support="clip"))
    assert frame.count(Role.TEE_STUD) == 0
    assert frame.count(Role.STUD) == 9


def test_corner_takes_one_more_stud_than_its_legs_bring_and_a_tee_two():
    frame = partition_frame(replace(shape(120, 97, tees=2), corners=1), Rules())
    assert of(frame, Role.CORNER_STUD) == [(94, 1)]
    assert of(frame, Role.TEE_STUD) == [(94, 4)]


def test_partition_on_finished_faces_asks_for_blocks_in_the_wall_it_meets():
    frame = partition_frame(shape(120, 97, tees=1, framed=FramedWhen.AFTER), Rules())
    assert of(frame, Role.BACKING) == [(14.5, 3)]
    assert of(frame, Role.TEE_STUD) == []


def test_lengths_lists_every_stick_of_a_size():
    frame = partition_frame(shape(120, 97, DOOR), Rules())
    assert len(frame.lengths("2x4")) == sum(piece.count for piece in frame.pieces)
    assert frame.lengths("2x6") == ()


def test_bearing_partition_is_left_to_an_engineer():
    with pytest.raises(NeedsEngineer, match="need an engineer"):
        partition_frame(shape(120, 97), Rules(), bearing=True)


@pytest.mark.parametrize(
    ("made", "message"),
    [
        (shape(120, 97, (2, 0, 34, 82)), 'leaves less than 3" at an end'),
        (
            shape(120, 97, (10, 0, 40, 82), (42, 0, 70, 82)),
            'leave at least 3" of frame between two openings',
        ),
        (shape(120, 3), "too low for a stud"),
        (shape(120, 97, (30, 0, 60, 98)), "higher than the frame"),
        (shape(2, 97), 'at least 3" long'),
    ],
)
def test_frame_without_room_is_refused(made, message):
    with pytest.raises(BadValue, match=message):
        partition_frame(made, Rules())


def test_tall_studs_and_wide_spacing_are_pointed_out():
    tall = partition_frame(shape(120, 180), Rules())
    wide = partition_frame(replace(shape(120, 97), spacing=nm(32)), Rules())
    assert "without support" in tall.notes[0]
    assert "check your local code" in wide.notes[0]


def test_like_sticks_are_one_piece():
    frame = partition_frame(shape(240, 97, DOOR, (150, 0, 184, 82)), Rules())
    keys = [(piece.role, piece.length) for piece in frame.pieces]
    assert len(keys) == len(set(keys))
    assert isinstance(frame.pieces[0], FramePiece)
