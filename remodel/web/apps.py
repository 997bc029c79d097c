from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "remodel.web"
    label = "web"
    verbose_name = "Pages"
