from django.urls import path

from remodel.pages.board import views, views_piles

urlpatterns = [
    path("house/<uuid:house_id>/together", views_piles.house_together, name="house-together"),
    path("house/<uuid:house_id>/figures", views.house_figures, name="house-figures"),
    path("house/<uuid:house_id>/apart", views_piles.house_apart, name="house-apart"),
    path("room/<uuid:room_id>/boards", views.room_boards, name="room-boards"),
    path("room/<uuid:room_id>/ways", views.room_ways, name="room-ways"),
    path(
        "room/<uuid:room_id>/keep/<str:board>/<int:thickness>",
        views.room_plan_keep,
        name="room-plan-keep",
    ),
    path("plan/<uuid:plan_id>/compare", views.plan_compare, name="plan-compare"),
    path("plan/<uuid:plan_id>/read", views.plan_note_read, name="plan-note-read"),
    path("plan/<uuid:plan_id>/take", views.plan_take, name="plan-take"),
    path("plan/<uuid:plan_id>/leave", views.plan_leave, name="plan-leave"),
    path("plan/<uuid:plan_id>/step", views.plan_step, name="plan-step"),
]
