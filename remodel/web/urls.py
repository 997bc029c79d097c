from django.urls import path

from remodel.web import views
from remodel.web.help import help_page

urlpatterns = [
    path("length-readback", views.length_readback, name="length-readback"),
    path("help", help_page, name="help"),
    path("house/<uuid:house_id>/help", help_page, name="help"),
]
