"""What a person is asked about a room's surfaces."""

from dataclasses import replace

import pytest

from takeoff.choices import SurfaceKind
from takeoff.errors import BadValue
from takeoff.geometry.rooms import room_shapes
from takeoff.house import Ceiling, Framing, PlainSurface, QuickRoom, SurfaceChoice
from takeoff.rules import BoardChoice
from takeoff.units import FOOT, INCH, MM, Nm, UnitSystem
from tests.takeoff.geometry.rooms import house, quick
from tests.takeoff.houses import default_catalogue


def notes(room, units=UnitSystem.INCH) -> list[str]:
    rooms, _ = room_shapes(replace(house(room), catalogue=default_catalogue(), units=units))
    return [note.text for note in rooms[0].notes]


def board(kind: str, eighths: int = 4) -> BoardChoice:
    return BoardChoice(kind=kind, thickness=Nm(eighths * INCH // 8))


def test_tiled_wall_of_ordinary_board_is_pointed_out():
    room = quick(surfaces=(SurfaceChoice(of="B", tiled=True),))
    assert notes(room) == [
        "Wall B is tiled, but the board chosen is no tile backer; choose board kind 'cement'"
    ]
    room = quick(
        surfaces=(SurfaceChoice(of="B", tiled=True), SurfaceChoice(of="C", tiled=True, wet=True))
    )
    assert notes(room)[0].startswith("Wall B, Wall C are tiled")


def test_tiled_wall_of_tile_backer_is_not():
    assert (
        notes(quick(surfaces=(SurfaceChoice(of="B", tiled=True, wet=True, board=board("cement")),)))
        == []
    )


def test_wet_wall_asks_for_board_that_bears_water():
    (text,) = notes(quick(surfaces=(SurfaceChoice(of="B", wet=True),)))
    assert text.startswith("Wall B is wet, but the board chosen is not moisture-resistant")
    assert (
        notes(quick(surfaces=(SurfaceChoice(of="B", wet=True, board=board("moisture-resistant")),)))
        == []
    )


@pytest.mark.parametrize(
    ("eighths", "spacing", "count"), [(4, 12, 0), (4, 16, 1), (5, 16, 0), (5, 24, 1)]
)
def test_moisture_resistant_ceiling_wants_close_framing(eighths, spacing, count):
    ceiling = Framing(spacing=Nm(spacing * INCH))
    texts = notes(
        quick(ceiling_framing=ceiling, ceiling_board=board("moisture-resistant", eighths))
    )
    assert len(texts) == count
    assert all("check your local code" in text for text in texts)


def test_room_of_a_size_few_houses_have_is_asked_about_in_its_units():
    high = quick(length=101 * 12, ceiling=Ceiling(height=Nm(21 * FOOT)))
    assert notes(high) == [
        "Wall A is 101' 0\" long: is that so, and not a slip of the units?",
        "Wall A is 21' 0\" high: is that so, and not a slip of the units?",
    ]
    assert (
        notes(high, UnitSystem.MILLIMETRE)[1]
        == "Wall A is 6401 mm high: is that so, and not a slip of the units?"
    )
    assert notes(quick(length=100 * 12, ceiling=Ceiling(height=Nm(20 * FOOT)))) == []


def test_sizes_that_no_house_has_are_refused_with_what_was_meant():
    with pytest.raises(
        BadValue, match=r"Ceiling height must be at most 40 ft \(12.2 m\); did you mean 96 in\?"
    ):
        Ceiling(height=Nm(96 * FOOT))
    with pytest.raises(BadValue, match=r"did you mean 2400 mm\?"):
        Ceiling(height=Nm(24000 * MM))
    with pytest.raises(BadValue, match=r"Room length must be at most 300 ft \(91.4 m\)"):
        QuickRoom(length=Nm(500 * FOOT), width=Nm(500 * FOOT))
    with pytest.raises(BadValue, match="height must be at most 40 ft"):
        PlainSurface(id="a", name="A", kind=SurfaceKind.WALL, width=Nm(FOOT), height=Nm(41 * FOOT))
