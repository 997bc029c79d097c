"""The lumber cut list of a room: on its page, and in its print set."""

from __future__ import annotations

import io

import pytest
from django.urls import reverse

from remodel.cards.packs import room_part
from tests.remodel.factories import ada, cy
from tests.remodel.site import browser, print_set, with_partition

pytestmark = pytest.mark.django_db


def lumber(room, person=None):
    return browser(person or ada()).get(reverse("room-lumber", args=[room.pk]))


def test_page_lists_every_stick_of_a_partition_with_its_cuts_and_its_rest(room):
    with_partition(room, ada())
    (table,) = [
        table
        for table in lumber(room).context["tables"]
        if table.caption.startswith("Partitions: 2x4")
    ]
    cuts = "; ".join(row[2] for row in table.rows)
    # 10 ft between Wall A and Wall C, each plate one stick; 96 in less two plates is 93
    assert cuts.count("10' 0\" Closet wall, top plate") == 1
    assert cuts.count("10' 0\" Closet wall, sole plate") == 1
    assert "7' 9\" Closet wall, stud" in cuts
    assert all(row[3] for row in table.rows)


def test_list_is_not_there_for_a_stranger(room):
    assert lumber(room, cy()).status_code == 404


def test_print_set_of_framing_has_the_list(room):
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("weasyprint")
    with_partition(room, ada())
    pages = pypdf.PdfReader(io.BytesIO(print_set(ada(), room, phase="framing"))).pages
    text = "".join(page.extract_text() for page in pages)
    assert "Kitchen: lumber cut list" in text
    assert "Closet wall, top plate" in text


def test_print_set_is_another_once_other_sticks_are_on_sale(room):
    with_partition(room, ada())
    before = room_part(room, ["lumber"]).revision
    packs = list(room.house.materials.get(key="2x4").packs.order_by("-price"))
    for pack in packs[1:]:
        pack.delete()
    assert room_part(room, ["lumber"]).revision != before
