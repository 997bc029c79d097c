from django.urls import path

from remodel.pages.work import views

urlpatterns = [
    path("house/<uuid:house_id>/log", views.log_list, name="log-list"),
    path("house/<uuid:house_id>/log/add", views.log_pick, name="log-pick"),
    path("house/<uuid:house_id>/log/use", views.use_list, name="use-list"),
    path("phase/<uuid:phase_id>/log", views.log_add, name="log-add"),
    path("log/<uuid:log_id>", views.log_change, name="log-change"),
    path("log/<uuid:log_id>/remove", views.log_remove, name="log-remove"),
    path("photo/<uuid:photo_id>", views.photo_image, name="photo-image"),
]
