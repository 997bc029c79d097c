"""Every address, one app a line; an app without pages yet has none."""

from importlib.util import find_spec

from django.urls import URLPattern, URLResolver, include, path

APPS = ("people", "history", "house", "board", "work", "supply", "cards", "web")

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include(f"remodel.{app}.urls"))
    for app in APPS
    if find_spec(f"remodel.{app}") and find_spec(f"remodel.{app}.urls")
]

handler400 = "remodel.web.errors.bad_request"
handler403 = "remodel.web.errors.forbidden"
handler404 = "remodel.web.errors.not_found"
handler500 = "remodel.web.errors.server_error"
