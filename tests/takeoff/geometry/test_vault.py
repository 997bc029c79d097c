"""A ceiling with a flat top between its slopes: heights and widths worked out by hand."""

from dataclasses import replace

import pytest

from takeoff.choices import CeilingKind, SurfaceKind
from takeoff.errors import BadValue
from takeoff.house import Ceiling, Framing
from takeoff.job import take_off
from takeoff.units import FOOT
from tests.takeoff.needs_room import CATALOGUE

from .rooms import house, in_inches, inches, quick, rectangle, shape, surface


def vault(**more) -> Ceiling:
    """Knee walls 4 ft high, the flat part 8 ft up, 3 ft in from Wall A and 5 ft wide."""
    given = {
        "kind": CeilingKind.VAULT,
        "height": inches(48),
        "high": inches(96),
        "low_wall": "A",
        "flat_at": inches(36),
        "flat_width": inches(60),
    }
    return Ceiling(**given | more)


def test_three_planes_of_true_size():
    """Of a room 12 ft deep the near slope rises 48 in over 36 (60 along it: 3, 4, 5), and the far
    one 48 over the 48 that are left (67.882 along it: the root of 2)."""
    made = shape(quick(180, 144, ceiling=vault()))
    sizes = {
        name: in_inches(surface(made, f"ceiling-{name}").outline)
        for name in ("near", "flat", "far")
    }
    assert sizes == {
        "near": rectangle(0, 0, 180, 60),
        "flat": rectangle(0, 0, 180, 60),
        "far": rectangle(0, 0, 180, 67.882),
    }


def test_wall_under_it_has_a_flat_top_between_two_slopes():
    made = shape(quick(180, 144, ceiling=vault()))
    # Wall B is walked from Wall A to Wall C
    assert in_inches(surface(made, "B").outline) == [
        (0, 0),
        (144, 0),
        (144, 48),
        (96, 96),
        (36, 96),
        (0, 48),
    ]
    assert in_inches(surface(made, "A").outline) == rectangle(0, 0, 180, 48)


def test_flat_part_without_a_width_reaches_the_far_wall():
    made = shape(quick(180, 144, ceiling=vault(flat_width=None)))
    ceilings = [s.id for s in made.surfaces if s.kind is SurfaceKind.CEILING]
    assert ceilings == ["kitchen/ceiling-near", "kitchen/ceiling-flat"]
    assert in_inches(surface(made, "ceiling-flat").outline) == rectangle(0, 0, 180, 108)
    assert in_inches(surface(made, "C").outline) == rectangle(0, 0, 180, 96)


def test_far_eave_may_be_higher():
    made = shape(quick(180, 144, ceiling=vault(far_height=inches(60))))
    assert in_inches(surface(made, "C").outline) == rectangle(0, 0, 180, 60)


def test_lines_between_slopes_and_flat_part_are_taped_once():
    made = shape(quick(180, 144, ceiling=vault()))
    bends = [
        (corner.first, corner.second, corner.length / FOOT)
        for corner in made.corners
        if "ceiling" in corner.first and "ceiling" in corner.second
    ]
    # from board to board of Wall B and Wall D: 180 in less 1/2 in twice
    assert bends == [
        ("kitchen/ceiling-flat", "kitchen/ceiling-near", 179 / 12),
        ("kitchen/ceiling-far", "kitchen/ceiling-flat", 179 / 12),
    ]


def test_room_under_it_is_boarded_and_every_plan_passes_the_checker():
    studs = Framing(spacing=inches(16))
    room = quick(180, 144, ceiling=vault(), wall_framing=studs, ceiling_framing=studs)
    made = take_off(replace(house(room), catalogue=CATALOGUE))
    assert made.refused == ()
    assert len(made.surface_plans) == 7


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"flat_at": None}, "must say how far from its low wall the flat part begins"),
        ({"ridge_at": inches(40)}, "has no ridge; leave out ridge_at"),
        (
            {"flat_width": None, "far_height": inches(60)},
            "with a far eave must say how wide its flat part is",
        ),
        ({"kind": CeilingKind.GABLE}, "A gable ceiling has no flat part beside a slope"),
        ({"high": inches(48)}, "high point must be above its eaves"),
    ],
)
def test_vault_that_cannot_be_is_refused_with_what_to_enter(more, message):
    with pytest.raises(BadValue, match=message):
        vault(**more)


@pytest.mark.parametrize("more", [{"flat_at": inches(144)}, {"flat_width": inches(109)}])
def test_flat_part_past_the_far_wall_is_refused_with_how_deep_the_room_is(more):
    with pytest.raises(BadValue, match=r"only 12 ft deep from A|only 12' 0\" deep from A"):
        shape(quick(180, 144, ceiling=vault(**more)))
