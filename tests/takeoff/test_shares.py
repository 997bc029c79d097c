"""What each tick of a room uses up: every need is shared whole, and only over ticks there are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.choices import Action, BeadKind, Compound, JointMode, OpeningEdge, OpeningKind, Tape
from takeoff.house import Ceiling, Finish, House, Opening, Patch, QuickRoom, Room, SurfaceChoice
from takeoff.job import Takeoff, take_off
from takeoff.needs.hanging import surface_lines
from takeoff.needs.materials import BEAD, DRYING_COMPOUND, MORTAR, is_screw
from takeoff.needs.need import Need, Phase
from takeoff.needs.shares import Take, Tick, split, takes_of, whole_thousandths
from takeoff.places import PiecePlace, places_of
from takeoff.quantities import Amount
from takeoff.reference import level
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, INCH, MM, Nm, UnitSystem
from tests.takeoff.houses import default_catalogue

COATS = (Tick.TAPED, Tick.SECOND, Tick.THIRD)


def names(done: Takeoff) -> list[str]:
    return [f"plan {index}" for index, _ in enumerate(done.plans)]


def takes(done: Takeoff, room: str = "room") -> tuple[Take, ...]:
    return takes_of(done, room, names(done))


def places(done: Takeoff, room: str = "room") -> tuple[PiecePlace, ...]:
    return places_of(done.plans, names(done), room)


def room(**changes) -> Room:
    given = {
        "id": "room",
        "name": "Room",
        "shape": QuickRoom(length=Nm(14 * FOOT), width=Nm(11 * FOOT)),
        "ceiling": Ceiling(height=Nm(8 * FOOT)),
        "openings": (
            Opening(
                id="window",
                name="Window",
                kind=OpeningKind.WINDOW,
                wall="B",
                left=Nm(30 * INCH),
                width=Nm(40 * INCH),
                height=Nm(48 * INCH),
                sill=Nm(30 * INCH),
                edge=OpeningEdge.BEAD,
            ),
        ),
    }
    return Room(**(given | changes))


def worked_out(rules: Rules | None = None, units: UnitSystem = UnitSystem.INCH, **changes):
    return take_off(
        House(
            id="house",
            name="House",
            units=units,
            rooms=(room(**changes),),
            rules=rules or Rules(),
            catalogue=default_catalogue(),
        )
    )


ROOMS = {
    "plain": {},
    "level 5": {"finish": Finish(wall_level=5, ceiling_level=5)},
    "level 2": {"finish": Finish(wall_level=2, ceiling_level=2)},
    "setting and mesh": {"finish": Finish(compound=Compound.SETTING, tape=Tape.MESH)},
    "water texture": {
        "finish": Finish(texture=True),
        "rules": Rules(texture_coverage=Decimal(10)),
        "ceiling_board": BoardChoice(kind="sag-resistant", thickness=Nm(INCH // 2)),
    },
    "tile backer": {
        "surfaces": (
            SurfaceChoice(
                of="C", board=BoardChoice(kind="cement", thickness=Nm(INCH // 2)), tiled=True
            ),
        )
    },
    "board over": {"surfaces": (SurfaceChoice(of="A", action=Action.BOARD_OVER, lining=INCH),)},
    "adhesive": {"rules": Rules(adhesive=True)},
    "floating seams": {"rules": Rules(joint_mode=JointMode.FLOATING)},
    "wide gaps": {
        "rules": Rules(fitting=Nm(INCH // 4), gap_to_prefill=Nm(INCH // 8)),
        "finish": Finish(compound=Compound.SETTING),
    },
    "metric": {
        "units": UnitSystem.MILLIMETRE,
        "shape": QuickRoom(length=Nm(4310 * MM), width=Nm(3270 * MM)),
    },
}


@pytest.fixture(params=ROOMS)
def done(request) -> Takeoff:
    return worked_out(**ROOMS[request.param])


def by_need(done: Takeoff, room: str) -> list[tuple[Need, list[Take]]]:
    """Every need of a room beside its takes; takes come in the order of the needs."""
    remaining = list(takes(done, room))
    together = []
    for need in (need for need in done.needs if need.room == room):
        total, of_need = whole_thousandths(need.amount), []
        while remaining and sum(take.amount for take in of_need) < total:
            of_need.append(remaining.pop(0))
        together.append((need, of_need))
    assert not remaining
    return together


def assert_shared_whole(done: Takeoff) -> None:
    assert done.needs
    for geometry in done.rooms:
        for need, shares in by_need(done, geometry.room):
            assert {(take.phase, take.item, take.unit) for take in shares} == {
                (need.phase, need.material, need.amount.unit)
            }
            assert sum(take.amount for take in shares) == whole_thousandths(need.amount)
            sticks = sorted((stick for take in shares for stick in take.lengths), reverse=True)
            assert tuple(sticks) == need.lengths
            assert len({(take.kind, take.name, take.plan) for take in shares}) == len(shares)


def test_every_need_of_the_demo_houses_is_shared_whole(takeoff):
    assert_shared_whole(takeoff)


def test_every_need_of_every_kind_of_room_is_shared_whole(done):
    assert_shared_whole(done)


HOLES = (Patch(width=Nm(14 * INCH), height=Nm(10 * INCH), count=3),)
LET_IN = {
    "patches": {"surfaces": (SurfaceChoice(of="A", action=Action.PATCH, patches=HOLES),)},
    "two layers": {"surfaces": (SurfaceChoice(of="C", layers=2),)},
    "hand goods": {"rules": Rules(hand_goods=True, sealant=True, bead=BeadKind.PAPER)},
    "return": {
        "openings": (
            Opening(
                id="window",
                name="Window",
                kind=OpeningKind.WINDOW,
                wall="B",
                left=Nm(30 * INCH),
                width=Nm(40 * INCH),
                height=Nm(48 * INCH),
                sill=Nm(30 * INCH),
                edge=OpeningEdge.RETURN,
                return_depth=Nm(9 * INCH // 2),
            ),
        )
    },
}


@pytest.mark.parametrize("kind", LET_IN)
def test_what_is_let_in_is_shared_whole_and_a_cut_takes_one_sheet(kind):
    done = worked_out(**LET_IN[kind])
    assert_shared_whole(done)
    own = takes(done)
    assert {take.amount for take in own if take.kind is Tick.CUT} == {1000}
    assert all(take.amount >= 0 for take in own)


def assert_ticks_exist(done: Takeoff) -> None:
    """Every take is of a sheet, piece or surface there is, and none but framing's is the rest."""
    digests = names(done)
    for geometry in done.rooms:
        surfaces = {surface.id.partition("/")[2] for surface in geometry.surfaces}
        pieces = {(place.key, place.plan) for place in places(done, geometry.room)}
        bought = {
            (sheet.code, name)
            for plan, name in zip(done.plans, digests, strict=True)
            for sheet in plan.sheets
            if sheet.source is None and sheet.room == geometry.room
        }
        own = takes(done, geometry.room)
        for take in own:
            if take.kind is Tick.REST:
                assert take.phase in (Phase.FRAMING, Phase.PARTITIONS)
                assert (take.name, take.plan) == ("", "")
            elif take.kind is Tick.HUNG:
                assert (take.name, take.plan) in pieces
            elif take.kind is not Tick.CUT:
                assert take.name in surfaces
                assert take.plan == ""
        cut = [take for take in own if take.kind is Tick.CUT]
        assert {(take.name, take.plan) for take in cut} == bought
        assert {take.amount for take in cut} <= {1000}


def test_takes_of_the_demo_houses_are_of_ticks_there_are(takeoff):
    assert_ticks_exist(takeoff)


def test_takes_of_every_kind_of_room_are_of_ticks_there_are(done):
    assert_ticks_exist(done)


def test_each_surface_uses_up_what_the_reasons_give_for_it(done):
    """Where one level of finish holds in the room, the side that is ticked is the one that reasons
    name. What reasons give for no surface is spread like the others."""
    for need, shares in by_need(done, "room"):
        given: dict[str, Fraction] = defaultdict(Fraction)
        for reason in need.reasons:
            if reason.surface is not None:
                given[reason.surface.partition("/")[2]] += reason.amount.value
        if not given or need.phase == Phase.FRAMING:
            continue
        used: dict[str, list[int]] = defaultdict(list)
        for take in shares:
            if take.kind is not Tick.CUT:
                used[take.name.partition(".")[0]].append(take.amount)
        for surface, parts in used.items():
            expected = whole_thousandths(need.amount) * given[surface] / sum(given.values())
            assert abs(sum(parts) - expected) <= len(parts), (need.material, surface)


@pytest.mark.parametrize("number", range(6))
def test_surface_has_the_coats_that_its_level_asks_for(number):
    done = worked_out(finish=Finish(wall_level=number, ceiling_level=number))
    at = level(number)
    asked = set(COATS[: max(at.flat, at.angle, at.fastener, at.bead)])
    compound = [take for take in takes(done) if take.item == DRYING_COMPOUND.id]
    for surface in ("A", "B", "C", "D", "ceiling"):
        assert {take.kind for take in compound if take.name == surface} == asked


def test_coats_of_a_corner_go_with_the_side_that_asks_for_more():
    done = worked_out(finish=Finish(wall_level=4, ceiling_level=2))
    compound = [take for take in takes(done) if take.item == DRYING_COMPOUND.id]
    on_ceiling = {take.kind for take in compound if take.name == "ceiling"}
    on_walls = {take.kind for take in compound if take.name != "ceiling"}
    assert on_ceiling == {Tick.TAPED}
    assert on_walls == set(COATS)


def test_corner_of_a_surface_that_is_left_goes_with_the_board_beside_it():
    done = worked_out(surfaces=(SurfaceChoice(of="B", action=Action.LEAVE),))
    taping = [take for take in takes(done) if take.phase == Phase.TAPING]
    assert any(
        reason.surface == "room/B" and need.phase == Phase.TAPING
        for need in done.needs
        for reason in need.reasons
    )
    assert {take.name for take in taping} == {"A", "C", "D", "ceiling"}


def test_skim_goes_on_with_the_last_coat():
    at_4, at_5 = (
        {
            (take.kind, take.name): take.amount
            for take in takes(worked_out(finish=Finish(wall_level=number, ceiling_level=number)))
            if take.item == DRYING_COMPOUND.id
        }
        for number in (4, 5)
    )
    assert set(at_4) == set(at_5)
    for (kind, name), amount in at_4.items():
        if kind is Tick.THIRD:
            assert at_5[kind, name] > 2 * amount
        else:
            assert abs(at_5[kind, name] - amount) <= 1


def test_first_coat_of_tape_takes_more_than_the_fasteners_alone():
    """Fasteners take the same in each coat; seams differ, the bedding coat the most."""
    done = worked_out()
    compound = {
        (take.kind, take.name): take.amount
        for take in takes(done)
        if take.item == DRYING_COMPOUND.id
    }
    for surface in ("A", "C"):
        first, second, third = (compound[kind, surface] for kind in COATS)
        assert first > second > third > 0


def test_screws_of_a_piece_are_those_of_its_lines_with_their_part_of_the_spare():
    done = worked_out()
    framed = {of.surface.id: of for of in done.framed}
    counted: dict[str, int] = {}
    for plan in done.surface_plans:
        for line in surface_lines(
            framed[plan.surface], plan, rules=done.house.rules, catalogue=done.house.catalogue
        ):
            key = f"{plan.surface.partition('/')[2]}.{line.piece}"
            counted[key] = counted.get(key, 0) + line.screws
    screws = {take.name: take.amount for take in takes(done) if is_screw(take.item)}
    assert screws.keys() == counted.keys()
    need = sum(need.amount.value for need in done.needs if is_screw(need.material))
    for key, count in counted.items():
        assert abs(screws[key] - 1000 * count * need / sum(counted.values())) < 1


def test_what_has_no_line_goes_by_the_area_of_the_pieces():
    done = worked_out(**ROOMS["floating seams"])
    shims = {
        take.name: take.amount
        for take in takes(done)
        if take.item == "shim-strip" and take.phase == Phase.HANGING
    }
    on_ceiling = [place for place in places(done) if place.key in shims]
    assert len(on_ceiling) > 2
    for surface in {place.key.partition(".")[0] for place in on_ceiling}:
        pieces = [place for place in on_ceiling if place.key.startswith(f"{surface}.")]
        a_mm2 = {shims[place.key] / place.area for place in pieces}
        assert max(a_mm2) == pytest.approx(min(a_mm2), rel=0.01)


def test_bead_tells_the_sticks_of_each_surface():
    done = worked_out()
    (bead,) = (take for take in takes(done) if take.item == BEAD.id)
    assert (bead.kind, bead.name) == (Tick.TAPED, "B")
    assert bead.lengths == (48 * INCH, 48 * INCH, 40 * INCH, 40 * INCH)


def test_tile_backer_takes_mortar_as_it_is_taped():
    done = worked_out(**ROOMS["tile backer"])
    mortar = [take for take in takes(done) if take.item == MORTAR.id]
    assert {take.kind for take in mortar} == {Tick.TAPED}
    assert "C" in {take.name for take in mortar}


def test_finish_is_used_up_coat_by_coat():
    kinds: dict[str, set[Tick]] = {}
    for take in takes(worked_out(**ROOMS["water texture"])):
        if take.phase == Phase.FINISHING:
            kinds.setdefault(take.item, set()).add(take.kind)
    assert kinds == {
        "sanding-sheet": {Tick.SANDED},
        "primer": {Tick.PRIMED},
        "texture": {Tick.PAINTED},
        "paint-wall": {Tick.PAINTED},
        "paint-ceiling": {Tick.PAINTED},
    }


def test_finished_room_takes_nothing():
    assert takes(worked_out(finished=True)) == ()


def test_takes_are_the_same_each_time(takeoff):
    room = takeoff.rooms[0].room
    assert takes(takeoff, room) == takes(replace(takeoff), room)


def test_need_is_rounded_up_once():
    assert whole_thousandths(Amount(Fraction(1, 3), "gal")) == 334
    assert whole_thousandths(Amount(Fraction(7), "each")) == 7000


@given(
    st.integers(0, 10**9),
    st.lists(st.fractions(0, 1000, max_denominator=997), min_size=1, max_size=12).filter(any),
)
def test_parts_add_up_and_none_is_a_whole_away_from_its_share(total, weights):
    parts = split(total, weights)
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / sum(weights)) < 1


def test_what_rounding_leaves_goes_to_the_largest_remainders_first():
    assert split(10, [Fraction(1), Fraction(1), Fraction(1)]) == [4, 3, 3]
    assert split(1, [Fraction(1, 3), Fraction(2, 3)]) == [0, 1]
