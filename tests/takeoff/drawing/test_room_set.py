import re

import pytest

from takeoff.drawing.room_set import room_set
from takeoff.errors import BadValue
from tests.takeoff.drawing.house import takeoff


def test_set_is_plan_then_ceilings_then_section_then_walls():
    titles = [drawing.title for drawing in room_set(takeoff(), "loft")]
    ceilings = ["Ceiling, near slope · L-CLA", "Ceiling, far slope · L-CLB"]
    walls = ["Wall A · L-A", "Wall B · L-B", "Wall C · L-C", "Wall D · L-D"]
    assert titles == ["Loft", *ceilings, "Section", *walls]


def test_flat_room_has_no_section():
    assert "Section" not in [drawing.title for drawing in room_set(takeoff(), "odd")]


def test_no_two_drawings_of_a_house_share_an_id():
    made = takeoff()
    ids = [
        id_
        for room in made.rooms
        for d in room_set(made, room.room)
        for id_ in re.findall(r' id="([^"]+)"', d.svg)
    ]
    assert len(ids) == len(set(ids)) > 20


def test_unknown_room_is_refused():
    with pytest.raises(BadValue, match="No room"):
        room_set(takeoff(), "cellar")
