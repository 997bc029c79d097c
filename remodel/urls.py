"""Every address: those of each subject's pages, and those that any page asks."""

from django.urls import URLPattern, URLResolver, include, path

SUBJECTS = ("people", "history", "house", "board", "choices", "work", "supply", "cards", "help")

urlpatterns: list[URLPattern | URLResolver] = [
    *(path("", include(f"remodel.pages.{subject}.urls")) for subject in SUBJECTS),
    path("", include("remodel.web.urls")),
]

handler400 = "remodel.web.errors.bad_request"
handler403 = "remodel.web.errors.forbidden"
handler404 = "remodel.web.errors.not_found"
handler500 = "remodel.web.errors.server_error"
