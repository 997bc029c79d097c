"""Every address, one app a line."""

from django.urls import URLPattern, URLResolver, include, path

APPS = ("people", "history", "house", "board", "work", "supply", "cards", "web")

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include(f"remodel.{app}.urls")) for app in APPS
]

handler400 = "remodel.web.errors.bad_request"
handler403 = "remodel.web.errors.forbidden"
handler404 = "remodel.web.errors.not_found"
handler500 = "remodel.web.errors.server_error"
