from django.apps import AppConfig


class SupplyConfig(AppConfig):
    name = "remodel.supply"

    def ready(self) -> None:
        from remodel.history.services import on_written
        from remodel.supply.orders import orders_written

        on_written(orders_written)
