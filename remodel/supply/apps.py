from django.apps import AppConfig


class SupplyConfig(AppConfig):
    name = "remodel.supply"
