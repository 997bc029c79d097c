"""Which surfaces of a plan can no longer stand, and why: the checker alone says so."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from takeoff.boards.check import Breach, Findings, examine_plan
from takeoff.boards.hung import on_surface
from takeoff.boards.plan import AsBuilt, BoardPlan, Piece, PlacedBoard, SurfacePlan
from takeoff.boards.renewal.now import Now
from takeoff.boards.renewal.sheets import Sheets
from takeoff.boards.renewal.values import Fallen, is_at
from takeoff.boards.spares import place_stands
from takeoff.framing.members import FramedSurface

__all__ = ["TURNED", "Falls"]

# Where one of these is in the way, no piece cut for the surface fits it any more.
TURNED = frozenset({"board", "orientation", "framing_table", "tile_backer_framing", "surfaces"})

# A sheet that is not begun cannot be cut as planned where one of these is in the way.
_UNCUTTABLE = frozenset(
    {
        "board",
        "factory_edges",
        "kerf",
        "offcut",
        "owned",
        "piece_cut",
        "piece_size",
        "rip",
        "sheet_layout",
        "sheet_width",
    }
)


@dataclass
class Falls:
    """What fell of the plans there are, as far as each was looked at."""

    now: Now
    sheets: Sheets
    _findings: dict[int, Findings] = field(init=False, default_factory=dict)

    def of(self, plan: BoardPlan) -> Iterator[Fallen]:
        """The surfaces of a plan that cannot stay as they are planned, each with the first
        reason."""
        found = self._examine(plan)
        self._findings[id(plan)] = found
        reasons: dict[str, Fallen] = {}
        named = {surface.surface for surface in plan.surfaces}
        for breach in found.broken:
            if breach.where in named and breach.where not in reasons:
                reasons[breach.where] = Fallen(
                    surface=breach.where, rule=breach.rule, message=breach.message
                )
        for surface in plan.surfaces:
            if surface.surface not in reasons:
                reasons |= {one.surface: one for one in self._told_otherwise(surface)}
        for surface in plan.surfaces:
            if surface.surface in reasons:
                yield reasons[surface.surface]

    def uncuttable(self) -> frozenset[str]:
        """The codes of the sheets that cannot be cut as they were planned."""
        return frozenset(
            breach.where
            for found in self._findings.values()
            for breach in found.broken
            if breach.rule in _UNCUTTABLE
        )

    def leaning(self, fallen: Collection[str]) -> Iterator[str]:
        """The surfaces that stand, and could not without what hangs there, or was cut for there, as
        planned."""
        others = [board for board in self.now.done.boards if board.mark in self.now.done.off_plan]
        known = self.now.done.off_plan
        on = {board.surface for board in self.now.done.boards if board.mark not in known} - set(
            fallen
        )
        for plan in self.now.plans:
            mine = on.intersection(surface.surface for surface in plan.surfaces)
            if mine:
                broken = {breach.where for breach in self._examined(plan, others).broken}
                yield from sorted(mine & broken)

    def amiss_sheets(self, codes: Collection[str]) -> Iterator[Breach]:
        """What is said of sheets that stay and are not begun, which no plan falls for."""
        for plan in self.now.plans:
            waiting = {sheet.code for sheet in plan.sheets if sheet.code in codes} - set(
                self.sheets.begun
            )
            for breach in self._findings[id(plan)].broken:
                if breach.where in waiting:
                    yield replace(breach, amiss=True)

    def stands_there(
        self, board: PlacedBoard, now: FramedSurface, others: Sequence[PlacedBoard]
    ) -> bool:
        # One that no plan of then had there was not cut to the sides and members of its place.
        off_plan = board.mark in self.now.done.off_plan
        plan = None if off_plan else self.now.given.get(board.surface)
        return place_stands(board, now, plan, others)

    def _examine(self, plan: BoardPlan) -> Findings:
        """What the checker says with everything standing, and fixed what hangs or is cut for a
        place that is still its own."""
        hung = [board for board in self.now.done.boards if not self.now.is_loose(board)]
        found = self._examined(plan, hung)
        if not found.broken:
            return found
        pieces = {piece.code: piece for surface in plan.surfaces for piece in surface.pieces}
        lie = [board for board in self.now.done.boards if self.now.is_loose(board)]
        lie = [board for board in lie if self._lies(board, pieces)]
        if lie:
            known = {(b.where, b.rule) for b in self._examined(plan, (*hung, *lie)).broken}
            broken = [b for b in found.broken if b.rule in TURNED or (b.where, b.rule) in known]
            found = replace(found, broken=tuple(broken))
        if all(breach.rule != "rows" for breach in found.broken):
            return found
        # Rows may have been planned from a board that is cut for its place and lies there.
        lie = [
            board
            for one in self.now.members.values()
            for board in on_surface(self.now.done.boards, one.surface)
            if not self.now.is_loose(board)
            or (board.mark in pieces and is_at(pieces[board.mark], board))
        ]
        still = {b.where for b in self._examined(plan, lie).broken if b.rule == "rows"}
        return replace(
            found,
            broken=tuple(b for b in found.broken if b.rule != "rows" or b.where in still),
        )

    def _lies(self, board: PlacedBoard, pieces: Mapping[str, Piece]) -> bool:
        """Whether a board that is cut and does not hang is where a plan has it, and still can be
        there: what is planned beside it was planned around it."""
        now = self.now.members.get(board.surface)
        if now is None or board.mark not in pieces:
            return False
        (lies,) = on_surface((board,), now.surface)
        others = [other for other in self.now.done.boards if other.surface == board.surface]
        others = [other for other in others if not self.now.is_loose(other)]
        return is_at(pieces[board.mark], lies) and self.stands_there(board, now, others)

    def _examined(self, plan: BoardPlan, boards: Iterable[PlacedBoard]) -> Findings:
        surfaces = {surface.surface for surface in plan.surfaces}
        rooms = {surface.room for surface in plan.surfaces}
        built = AsBuilt(
            boards=tuple(board for board in boards if board.surface in surfaces),
            sheets=tuple(sheet for sheet in plan.sheets if sheet.code in self.sheets.begun),
            standing=plan.surfaces,
        )
        members = [one for one in self.now.members.values() if one.surface.room in rooms]
        return examine_plan(
            plan, members, self.now.house.rules, self.now.house.catalogue, built=built
        )

    def _told_otherwise(self, plan: SurfacePlan) -> Iterator[Fallen]:
        """The first piece of a surface that was cut otherwise than its plan says."""
        pieces = {piece.code: piece for piece in plan.pieces}
        marks = {board.mark for board in self.now.done.boards}
        wrong = next((code for code in pieces if code in self.now.done.cut - marks), None)
        surface = self.now.members[plan.surface].surface
        if wrong is not None:
            message = f"{surface.name}: {wrong} was cut wrong, so its place is open again"
            yield Fallen(surface=plan.surface, rule="cut_wrong", message=message)
            return
        for board in on_surface(self.now.done.boards, surface):
            piece = pieces.get(board.mark)
            if piece is None or not is_at(piece, board):
                message = f"{surface.name}: {board.mark} is cut otherwise than the plan has it"
                yield Fallen(surface=plan.surface, rule="placed", message=message)
                return
