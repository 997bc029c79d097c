"""An archive of a house with one of everything, and an empty Halfbay to bring it into."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.test import override_settings

from remodel.archive.restoring import WORKPLACE
from remodel.archive.writing import write_archive
from remodel.board.models import RoomResult
from remodel.bridge.cards import BACK_UP
from remodel.cards.queries import hanging_for
from remodel.cards.services import marking_set
from remodel.history.services import By
from remodel.house.models import House
from remodel.house.things import surface_choice_set
from remodel.supply.models import OrderLine
from remodel.supply.orders import order_return
from remodel.ticks import Ticked, tick_all
from remodel.work.services import note_add
from tests.remodel.archive.pages import pages_of
from tests.remodel.everything import Everything


def raw_rows() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table as the database has it, by the model's label."""
    tables = {}
    for model in apps.get_models(include_auto_created=True):
        meta = model._meta
        columns = ", ".join(f'"{field.column}"' for field in meta.local_concrete_fields)
        with connection.cursor() as cursor:
            cursor.execute(f'SELECT {columns} FROM "{meta.db_table}" ORDER BY "{meta.pk.column}"')
            tables[meta.label_lower] = cursor.fetchall()
    return tables


def raw_files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for part in ("media", "packs")
        for path in (folder / part).rglob("*")
        if path.is_file()
    }


def carry_on(everything: Everything) -> None:
    """What is left to be done so that every table has a row."""
    by, house, room = By(everything.ada, key="sent-once"), everything.house, everything.room
    note_add(by=by, house=house, room=room, text="Sent with a key")
    by = By(everything.ada)
    order_return(
        by=by, line=OrderLine.objects.get(pk=everything.values["line_id"]), packs=1, refund=5
    )
    marking_set(by=by, house=house, side_up=BACK_UP)
    surface_choice_set(by=by, room=room, surface=everything.values["key"], wet=True)
    boards = [step for step in hanging_for(room) or () if step.plan]
    tick_all(by=by, room=room, ticks=[Ticked("hung", step.piece) for step in boards[:2]])


@dataclass(frozen=True)
class Archived:
    """An archive, and what it was made of."""

    path: Path
    rows: dict[str, list[tuple[Any, ...]]]
    files: dict[str, bytes]
    house: str
    pages: dict[str, str]


@pytest.fixture(scope="session")
def archived(django_db_setup, django_db_blocker, tmp_path_factory) -> Archived:
    folder = tmp_path_factory.mktemp("archived")
    data = folder / "data"
    places = {"DATA_DIR": data, "MEDIA_ROOT": data / "media"}
    with (
        django_db_blocker.unblock(),
        override_settings(HOSTED=True, **places),
        transaction.atomic(),
    ):
        everything = Everything()
        carry_on(everything)
        # What the latest change did to a room is shown until the next one, and is not kept.
        RoomResult.objects.update(before=None)
        write_archive(folder / "halfbay.zip")
        made = Archived(
            path=folder / "halfbay.zip",
            rows=raw_rows(),
            files=raw_files(data),
            house=str(everything.house.pk),
            pages=pages_of(everything.house, everything.ada),
        )
        transaction.set_rollback(True)
    assert made.files
    return made


@pytest.fixture
def empty(db, settings, tmp_path) -> Path:
    """A Halfbay without anything: the data folder."""
    settings.HOSTED = True
    settings.DATA_DIR = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA_DIR / "media"
    settings.DATA_DIR.mkdir()
    return settings.DATA_DIR


def is_untouched(data: Path) -> bool:
    """Whether nothing was restored, nor anything left behind."""
    return (
        not House.all_objects.exists() and raw_files(data) == {} and not (data / WORKPLACE).exists()
    )
