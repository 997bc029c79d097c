from django.urls import path

from remodel.web import views

urlpatterns = [
    path("length-readback", views.length_readback, name="length-readback"),
    path("service-worker.js", views.service_worker, name="service-worker"),
]
