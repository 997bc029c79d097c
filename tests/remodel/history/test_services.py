"""Every write goes through one mechanism: recorded, versioned, done once a key, undoable."""

import pytest
from django.db import IntegrityError, transaction

from remodel.history import services
from remodel.history.errors import AlreadyUndone, CannotUndo, Refused, Stale
from remodel.history.models import Change, Write
from remodel.history.queries import entries, last_group
from remodel.history.seen import Seen
from remodel.history.services import By, change, recorded, undo
from remodel.house.models import House
from remodel.work.models import Note
from remodel.work.services import note_add, note_change, note_remove
from tests.remodel.factories import shared_house

pytestmark = pytest.mark.django_db


def test_write_notes_who_what_and_both_states():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="Left wall leans")
    note_change(by=By(owner), note=note, text="Left wall leans 3/8 in")
    made, changed = Change.objects.filter(row=note.pk)
    assert (made.who, made.what, made.before, made.version) == ("Ada", "wrote a note", None, 1)
    assert changed.fields == {"text": ("Left wall leans", "Left wall leans 3/8 in")}
    assert changed.house == house.pk


def test_stale_version_is_refused_with_both_values_and_nothing_is_written():
    house, owner, helper = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    seen = Seen.of(note)
    note_change(by=By(owner, seen=seen), note=Note.objects.get(pk=note.pk), text="Two")
    with pytest.raises(Stale) as refused:
        note_change(by=By(helper, seen=seen), note=note, text="Three")
    conflict = refused.value.conflicts[0]
    assert (conflict.field, conflict.theirs, conflict.mine) == ("text", "Two", "Three")
    assert Note.objects.get(pk=note.pk).text == "Two"


def test_edit_of_a_deleted_row_is_stale():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_remove(by=By(owner), note=note)
    with pytest.raises(Stale):
        note_change(by=By(owner), note=note, text="Two")


def test_same_key_twice_writes_once_and_answers_with_the_first_row():
    house, owner, _ = shared_house()
    first = note_add(by=By(owner, "a-key"), house=house, text="One")
    again = note_add(by=By(owner, "a-key"), house=house, text="One")
    assert first.pk == again.pk
    assert Note.objects.count() == 1
    assert Write.objects.count() == 1


def test_same_key_of_another_person_is_another_write():
    house, owner, helper = shared_house()
    note_add(by=By(owner, "a-key"), house=house, text="One")
    note_add(by=By(helper, "a-key"), house=house, text="Two")
    assert Note.objects.count() == 2


def test_failed_write_leaves_its_key_free():
    house, owner, _ = shared_house()
    with pytest.raises(Refused):
        note_add(by=By(owner, "a-key"), house=house, text="  ")
    assert note_add(by=By(owner, "a-key"), house=house, text="One").text == "One"


def test_write_that_changes_nothing_makes_no_change():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_change(by=By(owner), note=note, text="One")
    assert Change.objects.filter(row=note.pk).count() == 1


def test_row_cannot_be_written_outside_a_recorded_service():
    house, _, _ = shared_house()
    with pytest.raises(RuntimeError, match="recorded"):
        change(house, name="Other")


def test_undo_of_a_deletion_brings_the_row_back():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_remove(by=By(owner), note=note)
    assert not Note.objects.filter(pk=note.pk).exists()
    undo(by=By(owner), group=last_group(note.pk))
    assert Note.objects.get(pk=note.pk).text == "One"


def test_undo_of_a_change_puts_the_old_value_back():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_change(by=By(owner), note=note, text="Two")
    undo(by=By(owner), group=last_group(note.pk))
    assert Note.objects.get(pk=note.pk).text == "One"


def test_undo_of_a_new_row_takes_it_away():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    undo(by=By(owner), group=last_group(note.pk))
    assert not Note.objects.filter(pk=note.pk).exists()


def test_undo_is_refused_with_both_values_where_somebody_changed_it_since():
    house, owner, helper = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_change(by=By(owner), note=note, text="Two")
    mine = last_group(note.pk)
    note_change(by=By(helper), note=note, text="Three")
    with pytest.raises(CannotUndo) as refused:
        undo(by=By(owner), group=mine)
    conflict = refused.value.conflicts[0]
    assert (conflict.field, conflict.theirs, conflict.mine) == ("text", "Three", "One")
    assert Note.objects.get(pk=note.pk).text == "Three"


def test_undo_keeps_what_others_changed_in_other_fields():
    house, owner, helper = shared_house()

    @recorded("renamed the house")
    def rename(*, by, **values):
        return change(House.objects.get(pk=house.pk), **values)

    rename(by=By(owner), name="New name")
    mine = last_group(house.pk)
    rename(by=By(helper), note="Key under the mat")
    undo(by=By(owner), group=mine)
    now = House.objects.get(pk=house.pk)
    assert (now.name, now.note) == ("Our house", "Key under the mat")


def test_undo_of_an_undo_is_a_redo_and_a_second_undo_is_refused():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_change(by=By(owner), note=note, text="Two")
    group = last_group(note.pk)
    undo(by=By(owner), group=group)
    with pytest.raises(AlreadyUndone):
        undo(by=By(owner), group=group)
    undo(by=By(owner), group=last_group(note.pk))
    assert Note.objects.get(pk=note.pk).text == "Two"


def test_entries_come_latest_first_and_say_what_was_undone():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    note_change(by=By(owner), note=note, text="Two")
    undo(by=By(owner), group=last_group(note.pk))
    history = entries(house=house.pk)
    assert [entry.what for entry in history] == [
        "undid: changed a note",
        "changed a note",
        "wrote a note",
    ]
    assert [entry.undone for entry in history] == [False, True, False]


def test_failed_service_leaves_no_change_behind():
    house, owner, _ = shared_house()

    @recorded("fails half-way")
    def fails(*, by):
        change(house, name="Half")
        raise Refused("No")

    with pytest.raises(Refused):
        fails(by=By(owner))
    assert House.objects.get(pk=house.pk).name == "Our house"
    assert not Change.objects.exists()


def test_listeners_hear_of_a_write_once_with_all_it_touched(monkeypatch):
    house, owner, _ = shared_house()
    heard = []
    monkeypatch.setattr(services, "_listeners", [])
    services.on_written(heard.append)

    @recorded("two in one")
    def two(*, by):
        note_add(by=by, house=house, text="One")
        note_add(by=by, house=house, text="Two")

    two(by=By(owner))
    assert [write.houses for write in heard] == [{house.pk: frozenset({"work.note"})}]
    assert Change.objects.values("group").distinct().count() == 1


def test_two_changes_of_one_version_cannot_be_stored():
    house, owner, _ = shared_house()
    note = note_add(by=By(owner), house=house, text="One")
    twin = Change.objects.get(row=note.pk)
    twin.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        twin.save()
