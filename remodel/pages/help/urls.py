from django.urls import path

from remodel.pages.help import views

urlpatterns = [
    path("help", views.help_page, name="help"),
    path("measuring-sheet", views.measuring_sheet, name="measuring-sheet"),
    path("house/<uuid:house_id>/help", views.help_page, name="help"),
]
