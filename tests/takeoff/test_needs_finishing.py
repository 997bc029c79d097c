from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from takeoff.choices import Action, OpeningEdge, OpeningKind
from takeoff.geometry.surface import PlacedOpening
from takeoff.house import Finish
from takeoff.needs import finishing
from takeoff.seams import Seam, SeamKind
from takeoff.units import UnitSystem
from tests.takeoff.needs_room import (
    RULES,
    assert_reasons_add_up,
    by_material,
    face,
    inches,
    room_of,
)

WALL = Fraction(12 * 8)


def take(surface=None, finish=None, seams=(), *, rules=RULES, units=UnitSystem.INCH):
    needs = finishing.needs(
        room_of(surface or face()), finish or Finish(), seams, rules=rules, units=units
    )
    assert_reasons_add_up(needs)
    return by_material(needs)


def test_wall_is_primed_once_and_painted_twice():
    needs = take()
    assert needs["primer"].amount.value == WALL / 250
    assert needs["paint-wall"].amount.value == 2 * WALL / 300
    assert needs["paint-wall"].amount.unit == "gal"


def test_coats_are_the_rooms_own():
    needs = take(finish=Finish(primer_coats=0, paint_coats=3))
    assert set(needs) == {"paint-wall"}
    assert needs["paint-wall"].amount.value == 3 * WALL / 300


def test_openings_take_no_paint():
    door = PlacedOpening(
        id="d",
        name="Door",
        kind=OpeningKind.DOOR,
        left=inches(24),
        bottom=inches(0),
        right=inches(60),
        top=inches(84),
        edge=OpeningEdge.CASED,
    )
    assert take(face(openings=(door,)))["primer"].amount.value == (WALL - 21) / 250


def test_ceiling_takes_ceiling_paint():
    assert set(take(face("ceiling"))) == {"primer", "paint-ceiling"}


def test_left_surface_is_painted_and_not_primed():
    assert set(take(face(action=Action.LEAVE))) == {"paint-wall"}


def test_tiled_surface_takes_no_paint():
    assert take(face(tiled=True)) == {}


TEXTURED = face("ceiling", water_texture=True)


def test_textured_ceiling_takes_more_paint():
    assert take(TEXTURED)["paint-ceiling"].amount.value == 2 * WALL / 250


def test_texture_is_counted_by_what_its_bag_says_and_not_before():
    assert "texture" not in take(TEXTURED)
    needs = take(TEXTURED, rules=replace(RULES, texture_coverage=Decimal("7.5")))
    assert needs["texture"].amount.value == WALL / Fraction("7.5")
    assert needs["texture"].reasons[0].figures == ("PT-texture",)
    # 96 sq ft are 8.918 m2; at 2 m2 a kilogram they take 9.831 lb.
    metric = take(
        TEXTURED,
        rules=replace(RULES, texture_coverage=Decimal(2)),
        units=UnitSystem.MILLIMETRE,
    )
    assert round(float(metric["texture"].amount.value), 3) == 9.831


def seam(**changes) -> Seam:
    given = {
        "kind": SeamKind.TAPERED,
        "room": "room",
        "surfaces": ("room/wall",),
        "length": inches(120),
    }
    return Seam(**(given | changes))


def test_sanding_goes_by_seams_from_level_three_up():
    assert take(seams=[seam()])["sanding-sheet"].amount.value == Fraction(1, 10)
    assert "sanding-sheet" not in take(seams=[seam(level=2)])


def test_mortar_casings_and_other_rooms_are_not_sanded():
    seams = [
        seam(mortar=True),
        seam(kind=SeamKind.OPENING_EDGE, edge=OpeningEdge.CASED),
        seam(room="other"),
    ]
    assert "sanding-sheet" not in take(seams=seams)


def test_skimmed_face_is_sanded_all_over():
    assert take(face(finish_level=5))["sanding-sheet"].amount.value == WALL / 100
