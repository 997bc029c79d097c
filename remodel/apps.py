"""Which app is told of what another one does.

An app never imports the apps above it. Where one of them has to act on what happens below, it is
registered here, in the order in which it is called.
"""

from django.apps import AppConfig


class RemodelConfig(AppConfig):
    name = "remodel"

    def ready(self) -> None:
        from remodel import ticks, used_marks
        from remodel.board.hooks import on_renewed, whole_sheets_from
        from remodel.board.services import recompute_written
        from remodel.history.services import before_undo, on_written
        from remodel.house.hooks import (
            before_room_removed,
            on_code_changed,
            on_codes_asked,
            on_marks_asked,
            on_painted,
            on_room_added,
        )
        from remodel.piles import check_removal, check_undo
        from remodel.supply import empty_shelf
        from remodel.supply.colors import colors_follow
        from remodel.supply.doneness import estimate_rest
        from remodel.supply.sheets_at_hand import follow_renewed, sheets_at_hand
        from remodel.work.hooks import before_phase_done
        from remodel.work.services import phases_add

        on_room_added(lambda by, room: phases_add(by=by, rooms=[room]))
        before_room_removed(check_removal)
        before_room_removed(ticks.check_removal)
        on_marks_asked(used_marks.is_ticked)
        on_marks_asked(used_marks.is_printed)
        on_marks_asked(used_marks.is_ordered)
        on_codes_asked(used_marks.sheet_codes)
        on_code_changed(used_marks.mark_plans_anew)
        on_painted(lambda by, room: colors_follow(by=by, room=room))
        before_phase_done(estimate_rest)
        whole_sheets_from(sheets_at_hand)
        on_renewed(follow_renewed)
        on_written(recompute_written)
        before_undo(check_undo)
        before_undo(empty_shelf.undone_as_one)
        before_undo(ticks.check_undo)
        before_undo(used_marks.check_undo)
