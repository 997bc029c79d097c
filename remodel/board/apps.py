from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "remodel.board"

    def ready(self) -> None:
        from remodel.board.services import recompute_written
        from remodel.history.services import on_written

        on_written(recompute_written)
