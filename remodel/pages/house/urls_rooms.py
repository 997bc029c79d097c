from django.urls import path

from remodel.pages.house import (
    views_anew,
    views_house,
    views_money,
    views_partition,
    views_room,
)

urlpatterns = [
    path("house/<uuid:house_id>", views_house.house_detail, name="house-detail"),
    path("house/<uuid:house_id>/rooms", views_house.room_list, name="room-list"),
    path("house/<uuid:house_id>/money", views_money.house_money, name="house-money"),
    path("house/<uuid:house_id>/money.csv", views_money.house_money_csv, name="house-money-csv"),
    path("house/<uuid:house_id>/partitions", views_partition.partition_list, name="partition-list"),
    path(
        "partition/<uuid:partition_id>", views_partition.partition_detail, name="partition-detail"
    ),
    path("room/<uuid:room_id>", views_room.room_detail, name="room-detail"),
    path("room/<uuid:room_id>/needs", views_room.room_needs, name="room-needs"),
    path("room/<uuid:room_id>/surface/<str:key>", views_room.surface_detail, name="surface-detail"),
    path(
        "room/<uuid:room_id>/surface/<str:key>/anew", views_anew.surface_anew, name="surface-anew"
    ),
]
