from django.urls import path

from remodel.board import views

urlpatterns = [
    path("room/<uuid:room_id>/boards", views.room_boards, name="room-boards"),
    path("room/<uuid:room_id>/keep/<str:board>/<int:thickness>", views.room_plan_keep, name="room-plan-keep"),
    path("plan/<uuid:plan_id>/take", views.plan_take, name="plan-take"),
    path("plan/<uuid:plan_id>/leave", views.plan_leave_it, name="plan-leave"),
    path("plan/<uuid:plan_id>/step", views.plan_step, name="plan-step"),
]
