from django.urls import path

from remodel.pages.choices import views

urlpatterns = [
    path("house/<uuid:house_id>/choices", views.house_choices, name="house-choices"),
    path("house/<uuid:house_id>/choices/<str:choice>", views.choice_detail, name="choice-detail"),
]
