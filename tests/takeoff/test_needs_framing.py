from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from takeoff.choices import Action, HiddenKind, Remedy, Substrate
from takeoff.framing.edges import Support, UnsupportedEdge, UnsupportedEdgeKind
from takeoff.geometry.surface import PlacedHidden
from takeoff.house import UnevenMember
from takeoff.needs import framing
from takeoff.units import UnitSystem
from tests.takeoff.needs_room import (
    CATALOGUE,
    assert_reasons_add_up,
    by_material,
    face,
    framed,
    framing_of,
    inches,
    room_of,
)


def take(surface, unsupported=()):
    needs = framing.needs(
        room_of(surface), [framed(surface)], unsupported, catalogue=CATALOGUE, units=UnitSystem.INCH
    )
    assert_reasons_add_up(needs)
    return by_material(needs)


def uneven(remedy: Remedy, out_by: str = "3/16", at: int = 32):
    return framing_of(
        face(), uneven=(UnevenMember(at=inches(at), out_by=inches(out_by), remedy=remedy),)
    )


def blocking(**changes) -> PlacedHidden:
    given = {
        "id": "b",
        "name": "Grab bar",
        "kind": HiddenKind.BLOCKING,
        "left": inches(36),
        "bottom": inches(33),
        "right": inches(60),
        "top": inches("77/2"),
        "planned": True,
        "lumber": "2x6",
    }
    return PlacedHidden(**(given | changes))


def edge(
    support: Support,
    *,
    length: int = 96,
    certain: bool = True,
    counted: bool = True,
    kind=UnsupportedEdgeKind.INSIDE_CORNER,
) -> UnsupportedEdge:
    return UnsupportedEdge(
        kind=kind,
        surface="room/wall",
        length=inches(length),
        support=support,
        certain=certain,
        counted=counted,
        text="nothing at the corner",
    )


def test_even_wall_takes_nothing():
    assert take(face()) == {}


def test_member_set_back_is_shimmed_in_layers_along_its_length():
    need = take(uneven(Remedy.SHIM))["shim-strip"]
    assert (need.amount.value, need.amount.unit) == (3 * 8, "ft")


def test_part_of_a_layer_is_a_whole_one():
    assert take(uneven(Remedy.SHIM, "13/64"))["shim-strip"].amount.value == 4 * 8


def test_sister_is_as_long_as_its_member_and_nailed():
    needs = take(uneven(Remedy.SISTER))
    assert needs["2x4"].lengths == (inches(96),)
    assert needs["nails-16d"].amount.value == 7


@pytest.mark.parametrize(("out_by", "strip"), [("1/2", "1x2"), ("3/4", "1x2"), ("7/8", "2x2")])
def test_furring_strip_is_at_least_as_thick_as_the_member_is_out(out_by, strip):
    assert take(uneven(Remedy.FURRING, out_by))[strip].lengths == (inches(96),)


def test_member_left_as_it_is_takes_nothing():
    surface = replace(uneven(Remedy.SHIM), action=Action.LEAVE)
    assert take(surface) == {}


def test_blocking_is_cut_to_every_bay_it_reaches_into():
    # From 36 to 60 in: the bays 32-48 and 48-64, 14-1/2 in clear.
    needs = take(face(hidden=(blocking(),)))
    assert needs["2x6"].lengths == (inches("29/2"), inches("29/2"))
    assert needs["nails-16d"].amount.value == 2 * 2 * 2


def test_high_blocking_takes_courses():
    assert len(take(face(hidden=(blocking(top=inches(44)),)))["2x6"].lengths) == 4


@pytest.mark.parametrize("changes", [{"planned": False}, {"kind": HiddenKind.PIPE}])
def test_only_planned_blocking_is_bought(changes):
    assert take(face(hidden=(blocking(**changes),))) == {}


@pytest.mark.parametrize("support", [Support.NAILER, Support.STUD])
def test_loose_edge_takes_a_stick_along_it(support):
    needs = take(face(), [edge(support)])
    assert needs["2x4"].lengths == (inches(96),)
    assert needs["nails-16d"].amount.value == 7


def test_edge_in_steel_framing_takes_a_steel_stud_and_framing_screws():
    steel = framing_of(face(), substrate=Substrate.STEEL)
    needs = take(steel, [edge(Support.NAILER)])
    assert needs["steel-stud"].lengths == (inches(96),)
    assert needs["screw-framing"].amount.value == 7
    assert set(needs) == {"steel-stud", "screw-framing"}


def test_blocking_between_steel_studs_is_screwed_through_them():
    steel = framing_of(face(hidden=(blocking(),)), substrate=Substrate.STEEL)
    needs = take(steel)
    assert set(needs) == {"2x6", "screw-fine-1.625"}
    # Two at each end of each block.
    assert needs["screw-fine-1.625"].amount.value == 4 * len(needs["2x6"].lengths)


def test_edge_counted_until_one_looks_is_bought_for():
    assert take(face(), [edge(Support.NAILER, certain=False)])["2x4"].lengths == (inches(96),)


def test_nailer_longer_than_any_stick_comes_in_even_parts():
    assert take(face(), [edge(Support.NAILER, length=240)])["2x4"].lengths == (
        inches(120),
        inches(120),
    )


@pytest.mark.parametrize(
    "unsupported",
    [
        edge(Support.CLIP),
        edge(Support.NAILER, certain=False, counted=False),
        edge(Support.STUD, kind=UnsupportedEdgeKind.TEE),
    ],
)
def test_clips_edges_to_look_at_and_tees_take_no_stick_here(unsupported):
    assert take(face(), [unsupported]) == {}


def test_other_rooms_edges_are_passed_by():
    elsewhere = replace(edge(Support.NAILER), surface="other/wall")
    assert take(face(), [elsewhere]) == {}


def test_amount_is_the_sticks_laid_end_to_end():
    need = take(face(hidden=(blocking(),)))["2x6"]
    assert need.amount.value == Fraction(sum(need.lengths), inches(12))


def test_reason_of_a_nailer_does_not_name_its_surface_twice():
    surface = face()
    named = replace(edge(Support.NAILER), text=f"{surface.name}: nothing at the corner")
    (reason,) = take(surface, [named])["2x4"].reasons
    assert reason.text == "nothing at the corner: a nailer"
