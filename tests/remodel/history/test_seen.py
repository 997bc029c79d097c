"""What a page was made from: as text, and against what stands when it is saved."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remodel.cards.models import Marking
from remodel.cards.services import marking_set
from remodel.history.errors import Stale
from remodel.history.seen import Seen
from remodel.history.services import By
from remodel.house.models import Wall
from remodel.house.services import room_resize, wall_change
from remodel.supply.models import Store
from remodel.supply.services import store_add, store_change
from remodel.work.services import note_add, note_change
from tests.remodel.factories import ben, shared_house
from tests.remodel.site import small_house

FOOT = 304_800_000
ROW = "0123456789abcdef0123456789abcdef"
pytestmark = pytest.mark.django_db


@given(
    versions=st.dictionaries(st.uuids(), st.integers(0, 10**9 - 1), max_size=20),
    lists=st.frozensets(st.sampled_from(["house.wall", "cards.marking"])),
    facts=st.dictionaries(
        st.sampled_from(["movements", "role"]), st.from_regex(r"[a-z0-9_.-]{0,10}", fullmatch=True)
    ),
)
def test_text_reads_back_to_what_was_seen(versions, lists, facts):
    seen = Seen(versions, lists, facts)
    assert Seen.read(str(seen)) == seen


@pytest.mark.parametrize("text", ["nonsense:1", f"{ROW}:x", f"{ROW}:12345678901", ":"])
def test_text_nobody_wrote_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        Seen.read(text)


def test_row_made_since_is_a_conflict_where_the_page_found_none():
    house, owner, helper = shared_house()
    nothing = Seen.of(None, Marking)
    marking_set(by=By(helper, seen=nothing), house=house, boxes="place")
    with pytest.raises(Stale) as refused:
        marking_set(by=By(owner, seen=nothing), house=house, boxes="floor")
    assert [(conflict.theirs, conflict.mine) for conflict in refused.value.conflicts] == [
        ("place", "floor")
    ]
    assert Marking.objects.get().boxes == "place"


def test_row_that_is_not_the_pages_is_no_conflict():
    house, owner, helper = shared_house()
    note, other = (note_add(by=By(owner), house=house, text=text) for text in ("One", "Two"))
    note_change(by=By(helper), note=other, text="Three")
    note_change(by=By(owner, seen=Seen.of(note)), note=note, text="Four")


def test_every_row_that_would_be_overwritten_is_told_at_once():
    helper = ben()
    room = small_house(helper).rooms.get()
    walls = list(room.walls.all())
    seen = Seen.of(room, *walls)
    for wall in walls[:2]:
        wall_change(by=By(helper), wall=Wall.objects.get(pk=wall.pk), name=f"{wall.key} again")
    with pytest.raises(Stale) as refused:
        room_resize(by=By(helper, seen=seen), room=room, length=14 * FOOT, width=11 * FOOT)
    assert {conflict.row.pk for conflict in refused.value.conflicts} == {
        wall.pk for wall in walls[:2]
    }
    assert [wall.length for wall in room.walls.all()] == [
        12 * FOOT,
        10 * FOOT,
        12 * FOOT,
        10 * FOOT,
    ]


def test_only_what_the_other_person_changed_is_told():
    house, owner, helper = shared_house()
    store = store_add(by=By(owner), house=house, name="Mill Street Lumber")
    press = By(owner, seen=Seen.of(store))
    store_change(by=By(helper), store=Store.objects.get(pk=store.pk), name="Corner Lumber")
    with pytest.raises(Stale) as refused:
        store_change(by=press, store=store, name="Mill Street", note="Delivers on Fridays")
    assert [conflict.field for conflict in refused.value.conflicts] == ["name"]


def test_the_same_value_from_an_older_page_is_no_conflict():
    house, owner, helper = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    seen = Seen.of(note)
    note_change(by=By(helper, seen=seen), note=note, text="Two")
    assert note_change(by=By(owner, seen=seen), note=note, text="Two").text == "Two"


def test_press_sent_again_is_answered_as_before():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    press = By(owner, "a-press", Seen.of(note))
    note_change(by=press, note=note, text="Two")
    assert note_change(by=press, note=note, text="Two").text == "Two"
    assert note.version == 2


def test_press_sent_again_after_somebody_elses_is_told_and_not_answered_as_saved():
    house, owner, helper = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    press = By(owner, "a-press", Seen.of(note))
    note_change(by=press, note=note, text="Two")
    note_change(by=By(helper), note=note, text="Three")
    with pytest.raises(Stale):
        note_change(by=press, note=note, text="Two")
    note.refresh_from_db()
    assert note.text == "Three"
