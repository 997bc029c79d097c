from django.urls import path

from remodel.pages.history import views

urlpatterns = [
    path("room/<uuid:room_id>/history", views.room_history, name="room-history"),
    path("house/<uuid:house_id>/history", views.house_history, name="house-history"),
    path("undo/<uuid:group>", views.change_undo, name="change-undo"),
]
