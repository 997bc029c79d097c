from django.urls import path

from remodel.pages.work import views_next as views

urlpatterns = [
    path("house/<uuid:house_id>/next", views.house_next, name="house-next"),
    path("room/<uuid:room_id>/next", views.room_next, name="room-next"),
    path("house/<uuid:house_id>/step", views.step_said, name="step-said"),
    path("accepted/<uuid:accepted_id>/again", views.stop_again, name="stop-again"),
]
