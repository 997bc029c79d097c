from django.urls import path

from remodel.pages.help import views

urlpatterns = [
    path("help", views.help_page, name="help"),
    path("house/<uuid:house_id>/help", views.help_page, name="help"),
]
