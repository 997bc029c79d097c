"""Houses, rooms and walls: what is written, what is refused, what is worked out."""

from decimal import Decimal

import pytest

from remodel.board.queries import board_of, view_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.history.errors import Refused, Stale
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By, undo
from remodel.house import services
from remodel.house.models import House, Room, Wall
from remodel.house.partitions import partition_add, partition_remove
from remodel.house.things import (
    cutout_add,
    hidden_add,
    opening_add,
    opening_change,
    opening_remove,
    surface_choice_set,
)
from remodel.house_files.new import house_add
from tests.remodel.factories import ada, cy, room_add_line

pytestmark = pytest.mark.django_db

RIGHT = Decimal(90)


@pytest.fixture
def house(by):
    return house_add(by=by, name="Our house", rules={"longest_board": 10 * FOOT})


@pytest.fixture
def kitchen(by, house):
    return room_add_line(by=by, house=house, name="Kitchen", line="12' 6\" x 10' 2\" x 8'")


def door(by, room, **values):
    asked = {"kind": "door", "left": 3 * FOOT, "sill": 0, "width": 34 * INCH, "height": 82 * INCH}
    return opening_add(by=by, room=room, surface="A", **{**asked, **values})


def test_new_house_has_the_default_catalogue_with_sample_prices(house):
    assert house.sample_prices
    assert house.materials.count() > 20
    assert house.sheets.filter(confirmed_at__isnull=False).count() == 0
    assert house.rules == {"longest_board": 10 * FOOT}


def test_new_house_belongs_to_who_made_it_alone(by, house):
    assert list(House.objects.for_person(by.person)) == [house]
    assert not House.objects.for_person(cy()).exists()


def test_house_without_a_name_is_refused_at_its_field(by):
    with pytest.raises(Refused) as refused:
        house_add(by=by, name=" ")
    assert refused.value.field == "name"


def test_rule_that_cannot_be_is_refused_by_name(by, house):
    with pytest.raises(Refused) as refused:
        services.house_set_rules(by=by, house=house, floor_gap=3 * FOOT)
    assert "floor_gap" in str(refused.value)
    assert House.objects.get(pk=house.pk).rules == {"longest_board": 10 * FOOT}


def test_line_makes_a_room_of_four_walls_with_phases_and_a_plan(kitchen):
    assert [wall.length for wall in kitchen.walls.all()] == [
        150 * INCH,
        122 * INCH,
        150 * INCH,
        122 * INCH,
    ]
    assert kitchen.ceiling_height == 8 * FOOT
    assert kitchen.phases.count() == 8
    view = view_of(kitchen)
    assert view is not None
    assert [surface.key for surface in view.surfaces] == ["A", "B", "C", "D", "ceiling"]
    assert all(surface.pieces for surface in view.surfaces)


def test_rooms_of_one_name_get_keys_of_their_own_and_deleted_keys_stay_taken(by, house, kitchen):
    services.room_remove(by=by, room=kitchen)
    again = room_add_line(by=by, house=house, name="Kitchen", line="10' x 10' x 8'")
    assert (kitchen.key, again.key) == ("kitchen", "kitchen-2")


def test_walk_that_does_not_close_is_refused_with_what_to_measure(by, house):
    walls = [
        ("", 10 * FOOT, RIGHT),
        ("", 10 * FOOT, RIGHT),
        ("", 9 * FOOT, RIGHT),
        ("", 10 * FOOT, RIGHT),
    ]
    with pytest.raises(Refused, match="does not close"):
        services.room_add_walls(by=by, house=house, name="Den", walls=walls)


def test_size_of_a_right_angled_room_changes_both_walls_of_a_pair(by, kitchen):
    services.room_resize(by=by, room=kitchen, length=11 * FOOT, width=9 * FOOT)
    assert [wall.length for wall in kitchen.walls.all()] == [
        11 * FOOT,
        9 * FOOT,
        11 * FOOT,
        9 * FOOT,
    ]


def test_wall_left_half_way_is_kept_and_the_room_says_what_to_put_right(by, kitchen):
    wall = kitchen.walls.get(key="A")
    services.wall_change(by=by, wall=wall, length=11 * FOOT)
    board = board_of(kitchen)
    assert board.view is None
    assert "does not close" in board.refusal
    services.wall_change(by=by, wall=kitchen.walls.get(key="C"), length=11 * FOOT)
    assert board_of(kitchen).refusal == ""
    assert Room.objects.get(pk=kitchen.pk).shape == "walls"


def test_removed_wall_takes_what_stands_on_it_and_undo_brings_all_back(by, kitchen):
    opening = door(by, kitchen)
    wall = kitchen.walls.get(key="A")
    services.wall_remove(by=by, wall=wall)
    assert not kitchen.openings.exists()
    undo(by=By(by.person), group=last_group(wall.pk))
    assert kitchen.openings.get() == opening
    assert Wall.objects.filter(room=kitchen).count() == 4
    assert board_of(kitchen).refusal == ""


def test_opening_is_worked_out_at_once(by, kitchen):
    before = board_of(kitchen)
    opening = door(by, kitchen)
    after = board_of(kitchen)
    assert after.digest != before.digest
    assert after.view.surfaces[0].framed.surface.openings[0].id == opening.key


def test_opening_outside_its_wall_is_refused_and_not_saved(by, kitchen):
    with pytest.raises(Refused, match="Door"):
        door(by, kitchen, left=12 * FOOT)
    assert not kitchen.openings.exists()


def test_opening_added_twice_with_one_key_is_one_opening(kitchen):
    once = By(ada(), "posted-twice")
    assert door(once, kitchen).pk == door(once, kitchen).pk
    assert kitchen.openings.count() == 1


def test_opening_changed_from_an_old_page_is_stale(by, kitchen):
    opening = door(by, kitchen)
    stale = By(by.person, seen=Seen.of(opening))
    opening_change(by=stale, opening=opening, width=36 * INCH)
    with pytest.raises(Stale) as refused:
        opening_change(by=stale, opening=opening, width=30 * INCH)
    assert refused.value.conflicts[0].theirs == 36 * INCH


def test_removed_opening_comes_back_with_the_same_plan(by, kitchen):
    opening = door(by, kitchen)
    before = board_of(kitchen).digest
    opening_remove(by=by, opening=opening)
    undo(by=By(by.person), group=last_group(opening.pk))
    assert board_of(kitchen).digest == before


def test_round_cut_out_takes_no_height(by, kitchen):
    values = {
        "kind": "round",
        "across_origin": "D",
        "across_distance": 3 * FOOT,
        "up_origin": "A",
        "up_distance": 3 * FOOT,
        "width": 4 * INCH,
    }
    with pytest.raises(Refused, match="diameter"):
        cutout_add(by=by, room=kitchen, surface="ceiling", **values, height=4 * INCH)
    assert cutout_add(by=by, room=kitchen, surface="ceiling", **values).plane == "ceiling"


def test_hidden_item_stands_behind_its_wall(by, kitchen):
    item = hidden_add(
        by=by,
        room=kitchen,
        surface="C",
        name="Cabinet rail",
        kind="blocking",
        across_origin="left",
        across_to="near",
        across_distance=FOOT,
        up_origin="floor",
        up_distance=7 * FOOT,
        width=4 * FOOT,
        height=6 * INCH,
        planned=True,
    )
    assert item.wall == kitchen.walls.get(key="C")
    view = view_of(kitchen)
    assert [hidden.id for hidden in view.surfaces[2].framed.surface.hidden] == [item.key]


def test_choice_for_a_surface_is_one_row_however_often_it_is_set(by, kitchen):
    surface_choice_set(by=by, room=kitchen, surface="B", action="leave", lining=INCH // 2)
    surface_choice_set(by=by, room=kitchen, surface="B", insulated=True)
    choice = kitchen.choices.get()
    assert (choice.action, choice.insulated) == ("leave", True)
    assert view_of(kitchen).surfaces[1].pieces == ()


def test_partition_makes_a_room_and_takes_it_along(by, kitchen):
    partition = partition_add(
        by=by,
        room=kitchen,
        surface="A",
        name="Pantry wall",
        behind="Pantry",
        at=9 * FOOT,
        side="right",
    )
    pantry = Room.objects.get(behind=partition)
    assert view_of(pantry).head == kitchen.key
    partition_remove(by=by, partition=partition)
    assert not Room.objects.filter(name="Pantry").exists()
    undo(by=By(by.person), group=last_group(partition.pk))
    assert view_of(Room.objects.get(name="Pantry")) is not None


def test_partition_that_misses_is_refused(by, kitchen):
    with pytest.raises(Refused):
        partition_add(
            by=by,
            room=kitchen,
            surface="A",
            name="Wall",
            behind="Closet",
            at=40 * FOOT,
            side="right",
        )
    assert not Room.objects.filter(name="Closet").exists()


def test_removed_room_comes_back_whole(by, kitchen):
    door(by, kitchen)
    services.room_remove(by=by, room=kitchen)
    assert not Room.objects.exists()
    undo(by=By(by.person), group=last_group(kitchen.pk))
    assert Room.objects.get().openings.count() == 1


def test_finished_room_has_its_phases_done(by, house):
    room = room_add_line(by=by, house=house, name="Hall", line="10' x 4' x 8'", finished=True)
    assert set(room.phases.values_list("state", flat=True)) == {"done"}
