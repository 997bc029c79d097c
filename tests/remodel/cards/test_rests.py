"""What is left of a sheet is kept or binned once its pieces are cut."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.urls import reverse

from remodel.bridge.lengths import FOOT
from remodel.cards.queries import cards_for
from remodel.differently import other_sheet, piece_of, sources_of
from remodel.history.errors import Refused
from remodel.history.queries import last_group
from remodel.history.services import undo
from remodel.rests import rest_decide, rests_of
from remodel.supply.models import CutSheet, OwnedSheet
from remodel.ticks import Ticked, tick_all
from tests.remodel.factories import ada
from tests.remodel.site import browser

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(room):
    """A sheet of the kitchen that leaves a rest which the plan itself does not cut."""
    return next(
        sheet for sheet in cards_for(room).sheets if any(not rest.planned for rest in sheet.rests)
    )


@pytest.fixture
def rest(sheet):
    return next(rest for rest in sheet.rests if not rest.planned)


def cut(by, room, sheet, done=True):
    ticks = [Ticked("cut", piece.key, piece.room_key) for piece in sheet.pieces]
    tick_all(by=by, room=room, ticks=ticks, done=done)


def test_rest_is_asked_for_once_every_piece_is_cut(by, room, sheet, rest):
    assert rests_of(room, sheet) == []
    with pytest.raises(Refused, match="Tick all pieces"):
        rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    cut(by, room, sheet)

    assert [stands.keep for stands in rests_of(room, sheet)] == [None] * len(
        [one for one in sheet.rests if not one.planned]
    )


def test_kept_rest_is_an_offcut_of_its_size_and_names_its_sheet(by, room, sheet, rest):
    cut(by, room, sheet)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True, where="Garage")

    kept = OwnedSheet.objects.get()
    assert (kept.length, kept.width, kept.factory_edges) == (
        rest.length,
        rest.width,
        rest.factory_edges,
    )
    assert (kept.made_by, kept.place, kept.count) == (sheet.code, "Garage", 1)
    assert kept.length >= FOOT
    assert kept.width >= FOOT
    assert CutSheet.objects.get().rests == {rest.code: kept.key}


def test_kept_rest_may_be_binned_after_all_and_that_taken_back(by, room, sheet, rest):
    cut(by, room, sheet)
    for keep in (True, False, None):
        rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=keep)
        stands = next(one for one in rests_of(room, sheet) if one.rest == rest)
        assert stands.keep is keep
        assert OwnedSheet.objects.exists() == bool(keep)


def test_sheet_taken_back_takes_its_kept_rest_along(by, room, sheet, rest):
    cut(by, room, sheet)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    cut(by, room, sheet, done=False)

    assert not OwnedSheet.objects.exists()
    assert not CutSheet.objects.exists()


def test_sheet_whose_kept_rest_was_cut_up_is_not_taken_back(by, room, sheet, rest):
    cut(by, room, sheet)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    OwnedSheet.objects.update(cut_up=1)
    with pytest.raises(Refused, match="Another piece was cut"):
        cut(by, room, sheet, done=False)
    with pytest.raises(Refused, match="Another piece was cut"):
        rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=False)

    assert CutSheet.objects.exists()


def test_offcut_larger_than_its_sheet_is_refused(by, room, sheet, rest):
    cut(by, room, sheet)
    large = replace(rest, length=sheet.card.sheet.length + 1)
    grown = replace(sheet, rests=(large,))
    with pytest.raises(Refused, match="cannot be larger"):
        rest_decide(by=by, room=room, sheet=grown, place=large.place, keep=True)
    assert not OwnedSheet.objects.exists()


def test_kept_rest_is_not_undone_from_the_history(by, room, sheet, rest):
    cut(by, room, sheet)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    with pytest.raises(Refused, match="keep it or bin it"):
        undo(by=by, group=last_group(OwnedSheet.objects.get().pk))


def test_page_asks_for_the_rest_and_one_press_keeps_it(room, sheet, rest):
    client, card = browser(ada()), reverse("room-card", args=[room.pk, sheet.key])
    assert "Keep it" not in client.get(card).content.decode()
    whole = {"what": "sheet", "item": sheet.code, "plan": sheet.plan, "done": "yes", "back": card}
    assert client.post(reverse("room-tick-all", args=[room.pk]), whole)["Location"] == card
    assert "Keep it" in client.get(card).content.decode()
    press = {"what": "keep", "place": str(rest.place)}
    client.post(reverse("room-rest", args=[room.pk, sheet.key]), press)

    assert OwnedSheet.objects.get().made_by == sheet.code
    assert "Plans may use it" in client.get(card).content.decode()


def test_rest_kept_twice_is_one_offcut_and_another_place_is_kept(by, room, sheet, rest):
    cut(by, room, sheet)
    to = reverse("room-rest", args=[room.pk, sheet.key])
    for where in ("Garage", "Garage", "Hall"):
        press = {"what": "keep", "place": str(rest.place), "where": where}
        assert browser(ada()).post(to, press).status_code == 302

    assert OwnedSheet.objects.get().place == "Hall"


@pytest.mark.parametrize("press", [{"what": "burn", "place": "0"}, {"what": "keep", "place": "x"}])
def test_press_that_cannot_be_read_keeps_nothing(by, room, sheet, press):
    cut(by, room, sheet)
    browser(ada()).post(reverse("room-rest", args=[room.pk, sheet.key]), press)
    assert not OwnedSheet.objects.exists()


def test_piece_is_not_of_another_sheet_once_the_rest_of_its_own_was_kept(by, room, sheet, rest):
    cut(by, room, sheet)
    rest_decide(by=by, room=room, sheet=sheet, place=rest.place, keep=True)
    (only,) = sheet.pieces
    key = f"{only.surface.rpartition('/')[2]}.{only.code}"
    source = sources_of(piece_of(room, key))[-1].name
    with pytest.raises(Refused, match=f"What is left of sheet {sheet.code} was kept"):
        other_sheet(by=by, room=room, key=key, source=source)
