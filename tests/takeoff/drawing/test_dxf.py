import pytest

from takeoff.drawing.dxf import LAYERS, surface_dxf
from takeoff.errors import BadValue
from takeoff.units import UnitSystem
from tests.takeoff.drawing.house import takeoff
from tests.takeoff.houses import demo_takeoff


def entities(text):
    """Each entity as (kind, its pairs by group code), as a reader of the format takes them: two
    lines a pair."""
    lines = text.split("\r\n")
    assert lines.pop() == ""
    pairs = [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    start = pairs.index((2, "ENTITIES"))
    records = []
    for code, value in pairs[start + 1 :]:
        if code == 0:
            records.append((value, {}))
        else:
            records[-1][1][code] = value
    assert [kind for kind, _ in records[-2:]] == ["ENDSEC", "EOF"]
    return records[:-2]


def on(layer, text):
    return [pairs for _, pairs in entities(text) if pairs[8] == layer]


def test_every_entity_is_on_a_layer_of_the_table():
    for surface in ("loft/A", "loft/ceiling-near", "odd/A"):
        assert {pairs[8] for _, pairs in entities(surface_dxf(takeoff(), surface))} <= set(LAYERS)


def test_opening_is_drawn_at_its_place_in_inches():
    lines = on("OPENINGS", surface_dxf(takeoff(), "loft/A"))
    corners = {(pairs[10], pairs[20]) for pairs in lines}
    assert corners == {
        ("100.000000", "0.000000"),
        ("138.000000", "0.000000"),
        ("138.000000", "82.000000"),
        ("100.000000", "82.000000"),
    }


def test_metric_house_is_drawn_in_millimetres():
    lines = on("OPENINGS", surface_dxf(takeoff(UnitSystem.MILLIMETRE), "loft/A"))
    assert {pairs[10] for pairs in lines} == {"2540.000000", "3505.200000"}


def test_round_hole_is_a_circle_of_its_radius():
    (circle,) = [
        pairs
        for kind, pairs in entities(surface_dxf(takeoff(), "loft/ceiling-near"))
        if kind == "CIRCLE"
    ]
    assert circle[40] == "3.000000"


def test_level_ceiling_has_its_first_wall_at_the_top():
    """The kitchen of the demo house is 13 ft 4 1/2 in by 11 ft 8 in at the framing, with a light in
    its ceiling 6 ft 8 in from the left end of its first wall and 5 ft 10 in away from it."""
    made = demo_takeoff("hollow-lane")
    text = surface_dxf(made, "kitchen/ceiling")
    (circle,) = [pairs for kind, pairs in entities(text) if kind == "CIRCLE"]
    assert (float(circle[10]), float(circle[20])) == (160.5 - 80, 140 - 70)
    assert "Wall A at the top" in text


def test_floating_seam_is_on_a_layer_of_its_own():
    assert on("SEAM-FLOATING", surface_dxf(takeoff(), "loft/A"))
    assert not on("SEAM-FLOATING", surface_dxf(takeoff(), "loft/B"))


def test_hostile_names_stay_one_line_of_ascii():
    text = surface_dxf(takeoff(), "odd/A")
    assert text.isascii()
    words = [pairs[1] for pairs in on("WORDS", text)]
    assert any(word.startswith("<script>") for word in words)
    assert any("\\U+05E9" in word for word in words)
    assert all("\n" not in word and "\r" not in word for word in words)


def test_unknown_surface_is_refused():
    with pytest.raises(BadValue, match="No surface"):
        surface_dxf(takeoff(), "odd/Z")


@pytest.mark.parametrize(
    ("surface", "way"),
    [("loft/A", "seen from inside the room"), ("odd/ceiling", "seen from below")],
)
def test_file_says_its_room_its_surface_how_it_is_seen_and_its_unit(surface, way):
    made = takeoff()
    text = surface_dxf(made, surface)
    room = next(room for room in made.rooms if room.room == surface.partition("/")[0])
    name = next(s.name for s in room.surfaces if s.id == surface)
    assert name.partition(", ")[2] in text
    assert way in text
    assert "all lengths in inches" in text
    metric = surface_dxf(takeoff(UnitSystem.MILLIMETRE), surface)
    assert "all lengths in millimeters" in metric
