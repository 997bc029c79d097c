"""Choices of a house on pages: listed, worked out, taken, undone, overtaken."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.urls import reverse

from remodel.board.queries import pile_result_of
from remodel.bridge import house_value
from remodel.bridge.choices import ChoiceKind, priced
from remodel.bridge.drawings import draw_room
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.records import board_kinds_value
from remodel.choices import choice_take, choices_of_room, open_choices, work_out_choices
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import House, Partition, Room, SurfaceChoice
from remodel.house.partitions import partition_change
from remodel.house.queries import house_bought_with, whole_house
from remodel.house.services import house_set_rules, room_add, room_change
from remodel.house_files.new import house_add
from remodel.order_of_work import order_of
from remodel.people.models import Role
from remodel.piles import pile_make
from remodel.ticks import tick
from remodel.work.services import phase_set_state
from tests.remodel.board.test_placed import keys_of
from tests.remodel.factories import accept_stops, ada, ben, cy
from tests.remodel.made_once import made_once
from tests.remodel.site import browser, share, small_house, with_partition

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


@pytest.fixture
def house() -> House:
    """A house with a kitchen of 12 ft by 10 ft, and a closet cut off it, framed before board."""
    person = ada()

    def make() -> None:
        made = house_add(by=By(person), name="Elm Street")
        size = {"length": 12 * FOOT, "width": 10 * FOOT}
        with_partition(room_add(by=By(person), house=made, name="Kitchen", **size), person)
        accept_stops(made)

    made_once(("house with a closet", person.pk), make)
    return House.objects.get()


@pytest.fixture
def kitchen(house) -> Room:
    return Room.objects.get(house=house, key="kitchen")


@pytest.fixture
def partition(house) -> Partition:
    return Partition.objects.get(house=house)


def url(house: House, choice: str) -> str:
    return reverse("choice-detail", args=[house.pk, choice])


def one_of(house: House, kind: str):
    return next(one for one in open_choices(house) if one.choice.kind == kind)


def take(house: House, choice: str, side: str, **more):
    return browser(ada()).post(url(house, choice), {"side": side, **more})


def test_page_tells_what_the_engine_works_out(house, partition):
    page = browser(ada()).get(url(house, "partition.closet-wall"))
    shown = page.context["shown"]
    both = priced(house_value(whole_house(house.pk)), one_of(house, ChoiceKind.PARTITION).choice)

    assert shown.leaning == both.leaning
    rows = {row[0]: row[1:3] for row in shown.table.rows}
    assert rows["Sheets"] == [str(both.one.figures.sheets), str(both.other.figures.sheets)]
    assert [side.is_now for side in shown.sides] == [True, False]
    assert shown.surfaces


def test_looking_changes_nothing(house, partition):
    browser(ada()).get(url(house, "partition.closet-wall"))
    browser(ada()).get(reverse("house-choices", args=[house.pk]))

    assert Partition.objects.get().framed == "before"


def test_list_says_what_each_is_worth_and_the_house_page_then_too(house):
    cache.clear()
    before = browser(ada()).get(reverse("house-detail", args=[house.pk])).context["choices"]
    assert "" in {choice.note for choice in before}
    listed = browser(ada()).get(reverse("house-choices", args=[house.pk]))
    names = [name for name, _ in listed.context["groups"]]
    after = browser(ada()).get(reverse("house-detail", args=[house.pk])).context["choices"]

    assert names == ["Kitchen"]
    assert "than Before board" in after[0].note
    assert {choice.name for choice in after} == {choice.name for choice in before}


def test_list_is_worked_out_as_far_as_a_person_waits(house):
    cache.clear()
    some = work_out_choices(house, open_choices(house), seconds=0)

    assert all(one.difference is None for one in some)


def test_edit_makes_what_was_worked_out_old(house, kitchen, partition):
    done = work_out_choices(house, open_choices(house), seconds=60)
    assert all(one.difference for one in done)
    room_change(by=By(ada()), room=kitchen, ceiling_height=9 * FOOT)

    assert all(one.difference is None for one in open_choices(house))


def test_room_page_lists_its_own_choices(house, kitchen, partition):
    listed = choices_of_room(kitchen, order_of(kitchen))

    assert {one.choice.kind for one in listed} == {
        ChoiceKind.PARTITION,
        ChoiceKind.JOINTS,
        ChoiceKind.LEVEL,
    }
    page = browser(ada()).get(reverse("room-detail", args=[kitchen.pk])).content.decode()
    assert url(house, "partition.closet-wall") in page


def test_button_writes_the_field_of_the_form_and_undo_takes_it_back(house, partition):
    page = browser(ada()).get(url(house, "partition.closet-wall"))
    answer = take(
        house, "partition.closet-wall", "after", seen=page.context["form"]["seen"].value()
    )

    assert answer.headers["Location"] == url(house, "partition.closet-wall")
    assert Partition.objects.get().framed == "after"
    undo = reverse("change-undo", args=[last_group(partition.pk)])
    browser(ada()).post(undo)
    assert Partition.objects.get().framed == "before"


def test_level_is_written_to_the_room(house, kitchen):
    take(house, "level.kitchen", "level-5", seen=str(Seen.of(kitchen)))

    kitchen.refresh_from_db()
    assert (kitchen.wall_level, kitchen.ceiling_level) == (5, 5)
    assert one_of(house, ChoiceKind.LEVEL).now == "level-5"


def test_floating_seams_are_written_to_every_surface_in_one_undo(house, kitchen):
    take(house, "joints.kitchen", "floating", seen="house.surfacechoice")
    rows = list(SurfaceChoice.objects.filter(room=kitchen))

    assert len(rows) == 5
    assert {row.joint_mode for row in rows} <= {"floating", "framing"}
    assert {last_group(row.pk) for row in rows} == {last_group(rows[0].pk)}


def test_ceiling_is_written_to_its_surface(house, kitchen):
    assert "ceiling" not in {one.choice.kind for one in open_choices(house)}
    house_set_rules(by=By(ada()), house=house, assumed_ceiling_spacing=16 * INCH)
    take(house, "ceiling.kitchen", "along", seen="house.surfacechoice")

    assert SurfaceChoice.objects.get(room=kitchen).orientation == "along"
    assert one_of(house, ChoiceKind.CEILING).now == "along"


def test_sheets_are_shared_and_bought_apart_again():
    house = small_house(ada(), "Den", "Nook")
    assert one_of(house, ChoiceKind.SHEETS).now == "apart"
    answer = take(house, "sheets", "shared")
    assert answer.status_code == 302
    assert len({room.pile for room in house.rooms.all()}) == 1
    assert one_of(house, ChoiceKind.SHEETS).now == "shared"
    take(house, "sheets", "apart")
    assert {room.pile for room in house.rooms.all()} == {""}


def test_how_many_rooms_at_once_has_no_button():
    house = small_house(ada(), "Den", "Nook")
    page = browser(ada()).get(url(house, "rounds")).content.decode()

    assert "Choose All at once" not in page
    assert take(house, "rounds", "at-once").status_code == 422


def test_partition_that_is_framed_is_not_flipped_by_a_press(house, partition):
    phase_set_state(by=By(ada()), phase=partition.room.phases.get(key="partitions"), state="done")
    page = browser(ada()).get(url(house, "partition.closet-wall")).content.decode()
    assert "The work has overtaken this choice" in page
    assert "Choose After board" not in page
    answer = take(house, "partition.closet-wall", "after", seen=str(Seen.of(partition)))

    assert answer.status_code == 422
    assert "Closet wall is framed" in answer.content.decode()
    assert Partition.objects.get().framed == "before"


def test_board_that_is_up_overtakes_the_partition_and_the_seams(house, kitchen, partition):
    tick(by=By(ada()), room=kitchen, kind="hung", item=keys_of(kitchen)[0])
    with pytest.raises(Refused, match="Board is up"):
        choice_take(
            by=By(ada()),
            house=house,
            choice=one_of(house, ChoiceKind.PARTITION).choice,
            side="after",
        )
    kinds = {one.choice.kind for one in open_choices(house) if one.overtaken}

    assert {ChoiceKind.PARTITION, ChoiceKind.JOINTS} <= kinds
    assert ChoiceKind.LEVEL not in kinds


def test_somebody_elses_change_meanwhile_is_shown(house, partition):
    share(house, ben())
    seen = str(Seen.of(partition))
    partition_change(by=By(ben()), partition=partition, blocking_recorded=True)

    assert take(house, "partition.closet-wall", "after", seen=seen).status_code == 409
    assert Partition.objects.get().framed == "before"


def test_stranger_finds_nothing_and_a_viewer_sees_no_button(house, partition):
    assert browser(cy()).get(url(house, "partition.closet-wall")).status_code == 404
    assert browser(ada()).get(url(house, "partition.attic")).status_code == 404
    share(house, cy(), Role.VIEWER)
    page = browser(cy()).get(url(house, "partition.closet-wall"))

    assert page.status_code == 200
    assert "Choose After board" not in page.content.decode()
    assert browser(cy()).post(url(house, "partition.closet-wall")).status_code == 404


def test_choices_and_drawings_of_a_room_are_the_same_from_what_is_bought_with_it_alone(
    by, house, kitchen
):
    """What pages of a room read is a part of the house, and nothing is missing in it."""
    den, attic = (
        room_add(by=by, house=house, name=name, length=11 * FOOT, width=9 * FOOT)
        for name in ("Den", "Attic")
    )
    pile_make(by=by, house=house, rooms=[Room.objects.get(pk=kitchen.pk), den])
    whole = house_value(whole_house(house.pk))
    for room, with_it in ((kitchen, 3), (den, 3), (attic, 1)):
        row = house_bought_with(room)
        assert len(row.rooms.all()) == with_it
        part = house_value(row, catalogue=board_kinds_value(row))
        result = pile_result_of(room)
        assert draw_room(part, room.key, result) == draw_room(whole, room.key, result)
        of_house = {
            one.choice: one.now for one in open_choices(house) if room.key in one.choice.rooms
        }
        near = choices_of_room(room, order_of(room))
        assert near
        assert all(of_house[one.choice] == one.now for one in near)
