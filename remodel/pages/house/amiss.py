"""What is amiss of boards and sheets in a room, and which surfaces can be planned anew for it."""

from __future__ import annotations

from remodel.board.models import PlacedPiece, Plan
from remodel.board.queries import ever_cut, head_of
from remodel.board.rounds import STANDING
from remodel.bridge.amiss import SurfaceAmiss, amiss_shown, sheets_amiss_shown
from remodel.bridge.views import RoomView
from remodel.house.models import Room

__all__ = ["amiss_in", "surfaces_with_open_pieces"]


def amiss_in(room: Room, view: RoomView) -> list[SurfaceAmiss]:
    """What is amiss of boards that hang in a room, surface by surface, and of its sheets."""
    keys = {surface.key for surface in view.surfaces}
    gone = [(mark, key) for mark, key in _placed(room) if key and key not in keys]
    sheets = sheets_amiss_shown(view, ever_cut(room.house_id)) if view.amiss_sheets else None
    return [*amiss_shown(view, gone), *([sheets] if sheets else [])]


def surfaces_with_open_pieces(room: Room, view: RoomView) -> set[str]:
    """The keys of the surfaces of which a plan stands with pieces that are not cut yet: those can
    be planned anew."""
    standing = set(
        Plan.objects.filter(room=head_of(room), state__in=STANDING).values_list(
            "board", "thickness"
        )
    )
    if not standing:
        return set()
    placed = {mark for mark, _ in _placed(room)}
    return {
        surface.key
        for surface in view.surfaces
        if (surface.framed.surface.board.kind, surface.framed.surface.board.thickness) in standing
        and any(piece.code not in placed for piece in surface.pieces)
    }


def _placed(room: Room) -> list[tuple[str, str]]:
    """The marks of the pieces that are cut or hang, with their surfaces' keys."""
    here = (PlacedPiece.State.CUT, PlacedPiece.State.HUNG)
    return list(
        PlacedPiece.objects.filter(room=room, state__in=here).values_list("mark", "surface")
    )
