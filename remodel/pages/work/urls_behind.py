from django.urls import path

from remodel.pages.work import views_behind as views

urlpatterns = [
    path("room/<uuid:room_id>/surface/<str:key>/behind", views.behind, name="surface-behind"),
    path("room/<uuid:room_id>/surface/<str:key>/close", views.close, name="surface-close"),
    path("room/<uuid:room_id>/surface/<str:key>/photo", views.photo_add, name="surface-photo"),
    path("closed/<uuid:face_id>/open", views.open_again, name="face-open"),
    path("photo/<uuid:photo_id>/remove", views.photo_remove, name="photo-remove"),
    path("hidden/<uuid:hidden_id>/in", views.hidden_in, name="hidden-in"),
]
