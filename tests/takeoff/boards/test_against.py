"""What a changed surface has against boards that hang."""

from __future__ import annotations

from dataclasses import replace

from takeoff.boards.against import ClashKind, clashes
from takeoff.boards.hung import place
from takeoff.choices import Action, CutoutKind
from takeoff.geometry.surface import PlacedCutout
from takeoff.units import Nm
from tests.takeoff.boards.hand import framed, inches, opening
from tests.takeoff.boards.test_hung import planned

WALL = framed(144, 96)
ID = WALL.surface.id


def boards(surface=WALL):
    (plan,) = planned(surface).surfaces
    return place(plan, surface.surface, {piece.code for piece in plan.pieces})


def found(after, before=WALL):
    """The kinds of clashes with every board of the wall, by mark."""
    surfaces = {} if after is None else {ID: after}
    return {(one.mark, one.kind) for one in clashes(boards(before), {ID: before}, surfaces)}


def with_surface(**changes):
    return replace(WALL, surface=replace(WALL.surface, **changes))


def with_box(left: float, bottom: float):
    box = PlacedCutout(
        "box", "Box", CutoutKind.BOX, inches(left), inches(bottom), inches(left + 2),
        inches(bottom + 4),
    )  # fmt: skip
    return with_surface(cutouts=(box,))


def highest():
    return max(boards(), key=lambda board: board.high).mark


def test_nothing_speaks_against_boards_where_nothing_changed():
    assert found(WALL) == set()
    assert found(with_surface(name="Another name", finish_level=5)) == set()


def test_box_is_a_hole_in_the_one_board_it_lies_on():
    assert found(with_box(10, 80)) == {(highest(), ClashKind.HOLE)}


def test_box_that_lies_where_it_lay_is_no_news():
    box = with_box(10, 80)
    assert found(replace(box, provisional=True), box) == set()


def test_box_across_a_seam_is_a_hole_in_both_boards():
    low = min(board.low for board in boards() if board.mark == highest())
    across = PlacedCutout("box", "Box", CutoutKind.BOX, inches(10), Nm(low - 1), inches(12),
                          Nm(low + 1))  # fmt: skip
    assert len(found(with_surface(cutouts=(across,)))) == 2
    beside = replace(across, bottom=low)
    assert found(with_surface(cutouts=(beside,))) == {(highest(), ClashKind.HOLE)}


def test_window_that_goes_leaves_its_hole():
    window = framed(144, 96, openings=(opening(60, 30, 96, 80),))
    kinds = {kind for _, kind in found(WALL, window)}
    assert kinds == {ClashKind.LEFT}


def test_surface_that_is_left_bare_or_gone_speaks_against_every_board():
    marks = {board.mark for board in boards()}
    left = with_surface(action=Action.LEAVE, board_area=())
    assert found(left) == {(mark, ClashKind.BARE) for mark in marks}
    assert found(None) == {(mark, ClashKind.GONE) for mark in marks}


def test_other_board_speaks_against_every_board():
    other = with_surface(board=replace(WALL.surface.board, thickness=inches(0.625)))
    assert {kind for _, kind in found(other)} == {ClashKind.BOARD}


def test_shorter_wall_is_told_by_how_much_and_not_again_where_it_grows_back():
    short, shorter = framed(142, 96), framed(140, 96)
    told = clashes(boards(), {ID: WALL}, {ID: short})
    assert {one.by for one in told if one.kind is ClashKind.OUTLINE} == {inches(2)}
    assert any(
        one.kind is ClashKind.OUTLINE for one in clashes(boards(), {ID: short}, {ID: shorter})
    )
    assert not clashes(boards(), {ID: shorter}, {ID: short})


def test_end_that_leaves_its_stud_is_told():
    wall = framed(140, 96)
    assert {kind for _, kind in found(framed(146, 96), wall)} >= {ClashKind.FRAMING}
    assert not found(framed(140, 96, spacing=14), wall)
