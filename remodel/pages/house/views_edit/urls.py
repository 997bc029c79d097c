from django.urls import path

from remodel.pages.house.views_edit import (
    houses,
    partitions,
    removal,
    rooms,
    surface_lists,
    surfaces,
    things,
)

urlpatterns = [
    path("house/new", houses.house_new, name="house-new"),
    path("house/bring-in", houses.house_import, name="house-import"),
    path("house/<uuid:house_id>/answers", houses.house_edit, name="house-edit"),
    path("house/<uuid:house_id>/remove", removal.house_remove, name="house-remove"),
    path("house/<uuid:house_id>/put-back", removal.house_put_back, name="house-put-back"),
    path("house/<uuid:house_id>/file", houses.house_file, name="house-file"),
    path("house/<uuid:house_id>/house.json", houses.house_export, name="house-export"),
    path("house/<uuid:house_id>/rooms/add", rooms.room_add, name="room-add"),
    path("house/<uuid:house_id>/rooms/add/walls", rooms.room_add_by_walls, name="room-add-walls"),
    path(
        "house/<uuid:house_id>/rooms/add/surfaces",
        surface_lists.room_add_by_surfaces,
        name="room-add-surfaces",
    ),
    path("house/<uuid:house_id>/rooms/outline", rooms.room_outline, name="room-outline"),
    path("line-readback", rooms.line_readback, name="line-readback"),
    path("room/<uuid:room_id>/edit", rooms.room_edit, name="room-edit"),
    path("room/<uuid:room_id>/size", rooms.room_size, name="room-size"),
    path("room/<uuid:room_id>/walls", rooms.room_walls, name="room-walls"),
    path("room/<uuid:room_id>/surfaces", surface_lists.room_surfaces, name="room-surfaces"),
    path("room/<uuid:room_id>/hang-first", surface_lists.room_hang_first, name="room-hang-first"),
    path("room/<uuid:room_id>/framing", rooms.room_framing, name="room-framing"),
    path("room/<uuid:room_id>/finish", rooms.room_finish, name="room-finish"),
    path("room/<uuid:room_id>/remove", rooms.room_remove, name="room-remove"),
    path("room/<uuid:room_id>/surface/<str:key>/edit", surfaces.surface_edit, name="surface-edit"),
    path(
        "room/<uuid:room_id>/surface/<str:key>/clear", surfaces.surface_clear, name="surface-clear"
    ),
    path("room/<uuid:room_id>/openings/add", things.opening_add, name="opening-add"),
    path("opening/<uuid:opening_id>/edit", things.opening_edit, name="opening-edit"),
    path("opening/<uuid:opening_id>/remove", things.opening_remove, name="opening-remove"),
    path("room/<uuid:room_id>/cutouts/add", things.cutout_add, name="cutout-add"),
    path("cutout/<uuid:cutout_id>/edit", things.cutout_edit, name="cutout-edit"),
    path("cutout/<uuid:cutout_id>/remove", things.cutout_remove, name="cutout-remove"),
    path("room/<uuid:room_id>/hidden/add", things.hidden_add, name="hidden-add"),
    path("hidden/<uuid:hidden_id>/edit", things.hidden_edit, name="hidden-edit"),
    path("hidden/<uuid:hidden_id>/remove", things.hidden_remove, name="hidden-remove"),
    path("room/<uuid:room_id>/partitions/add", partitions.partition_add, name="partition-add"),
    path("partition/<uuid:partition_id>/edit", partitions.partition_edit, name="partition-edit"),
    path(
        "partition/<uuid:partition_id>/remove",
        partitions.partition_remove,
        name="partition-remove",
    ),
]
