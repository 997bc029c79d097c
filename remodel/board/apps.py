from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "remodel.board"

    def ready(self) -> None:
        from remodel.board.piles import check_undo
        from remodel.board.services import recompute_written
        from remodel.history.services import before_undo, on_written

        on_written(recompute_written)
        before_undo(check_undo)
