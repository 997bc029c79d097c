"""What a surface hides, in words and drawn: distances from two sides, backers, studs."""

from dataclasses import replace

import pytest

from takeoff.boards.plan import JointKind
from takeoff.cards.behind import behind_face, seam_backers
from takeoff.cards.lookup import see
from takeoff.cards.tape import tape
from takeoff.choices import Runs
from takeoff.drawing.elevation import behind_drawing, surface_drawing
from takeoff.units import FOOT, INCH, Nm
from tests.takeoff.houses import demo_takeoff


def hiding(takeoff):
    """The surfaces with something noted behind them."""
    return [surface for room in takeoff.rooms for surface in room.surfaces if surface.hidden]


@pytest.fixture(scope="module")
def takeoff():
    return demo_takeoff("hollow-lane")


def test_everything_noted_is_told_from_two_sides(takeoff):
    for surface in hiding(takeoff):
        face = behind_face(takeoff, surface.id)
        told = {one.id: one for one in face.things if one.id}
        assert told.keys() == {item.id for item in surface.hidden}
        for item in surface.hidden:
            one = told[item.id]
            assert one.across.endswith(f" from {face.left}")
            assert one.up.endswith(f" from {face.bottom}")
            assert one.planned == item.planned


def test_distances_are_read_from_the_left_wall_and_the_floor(takeoff):
    surface = next(one for one in hiding(takeoff) if one.kind == "wall")
    item = replace(
        surface.hidden[0],
        left=Nm(FOOT),
        right=Nm(3 * FOOT),
        bottom=Nm(30 * INCH),
        top=Nm(36 * INCH),
    )
    rooms = tuple(
        replace(
            room,
            surfaces=tuple(
                replace(one, hidden=(item,)) if one.id == surface.id else one
                for one in room.surfaces
            ),
        )
        for room in takeoff.rooms
    )
    face = behind_face(replace(takeoff, rooms=rooms), surface.id)
    one = next(one for one in face.things if one.id == item.id)
    assert one.across.startswith("1' 0\" to 3' 0\" from ")
    assert one.up == "2' 6\" to 3' 0\" from the floor"
    assert face.left in see(takeoff, surface.id).names.values()


def test_studs_are_told_by_their_centers(takeoff):
    surface = next(one for one in hiding(takeoff) if one.kind == "wall")
    seen = see(takeoff, surface.id)
    (line,) = [line for line in behind_face(takeoff, surface.id).members if "Studs" in line]
    stud = next(
        member
        for member in seen.framed.members
        if member.runs is Runs.ACROSS and member.kind == "layout"
    )
    assert tape(stud.centre, seen.house.units) in line


def test_a_floating_seam_has_its_backer_in_its_middle_and_one_on_framing_has_none(takeoff):
    plan = next(one for one in takeoff.surface_plans if one.joints and one.rows_run is Runs.ALONG)
    joint, seen = plan.joints[0], see(takeoff, plan.surface)
    row = next(row for row in plan.rows if row.index == joint.row)

    def backers(kind):
        only = replace(plan, joints=(replace(joint, kind=kind),))
        return list(seam_backers(replace(seen, plan=only)))

    assert backers(JointKind.FRAMING) == []
    (one,) = backers(JointKind.FLOATING)
    assert (one.left + one.right) // 2 == joint.at
    assert one.right - one.left == 9 * INCH  # design: a strip about 9 in x 48 in
    assert row.low <= one.bottom < one.top <= row.high


def test_the_drawing_shows_what_is_hidden_and_no_boards(takeoff):
    surface = hiding(takeoff)[0]
    behind, boarded = (draw(takeoff, surface.id) for draw in (behind_drawing, surface_drawing))
    kinds = {fact.kind for fact in behind.facts}
    assert "Behind the board" in kinds
    assert "Stud or joist" in kinds
    assert "Board" not in kinds
    assert "Board" in {fact.kind for fact in boarded.facts}
    says = " ".join(fact.says for fact in behind.facts)
    assert f"left edge of {surface.hidden[0].name}" in says
