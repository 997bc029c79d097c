"""Routes of the page that shows every part of the look; it exists in tests alone."""

from django.http import HttpResponse
from django.urls import include, path

from tests.remodel.web import views


def _place(request, house=None):
    return HttpResponse("")


urlpatterns = [
    path("", include("remodel.web.urls")),
    path("sink", views.sink, name="sink"),
    path("part", views.part, name="part"),
    path("house/<slug:house>", _place, name="house-detail"),
    path("house/<slug:house>/rooms", _place, name="room-list"),
    path("house/<slug:house>/orders", _place, name="order-list"),
    path("house/<slug:house>/log", _place, name="log-list"),
    path("house/<slug:house>/prices", _place, name="price-list"),
    path("help", _place, name="help"),
]
handler400 = "remodel.web.errors.bad_request"
handler403 = "remodel.web.errors.forbidden"
handler404 = "remodel.web.errors.not_found"
handler500 = "remodel.web.errors.server_error"
