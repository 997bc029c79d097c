from django.urls import path

from remodel.pages.cards import (
    views,
    views_differently,
    views_lumber,
    views_packs,
    views_take_along,
)

urlpatterns = [
    path("room/<uuid:room_id>/drawings", views.room_drawings, name="room-drawings"),
    path(
        "room/<uuid:room_id>/drawings/<str:which>.svg", views.drawing_svg, name="room-drawing-svg"
    ),
    path(
        "room/<uuid:room_id>/drawings/<str:which>.dxf", views.drawing_dxf, name="room-drawing-dxf"
    ),
    path("room/<uuid:room_id>/cards", views.room_cards, name="room-cards"),
    path("room/<uuid:room_id>/cards/<str:sheet>", views.card_detail, name="room-card"),
    path("room/<uuid:room_id>/cards/<str:sheet>/rest", views.room_rest, name="room-rest"),
    path("room/<uuid:room_id>/cut", views.room_cut, name="room-cut"),
    path("room/<uuid:room_id>/lumber", views_lumber.room_lumber, name="room-lumber"),
    path("room/<uuid:room_id>/hanging", views.room_hanging, name="room-hanging"),
    path(
        "room/<uuid:room_id>/take-along",
        views_take_along.room_take_along,
        name="room-take-along",
    ),
    path(
        "room/<uuid:room_id>/take-along.html",
        views_take_along.room_take_along_file,
        name="room-take-along-file",
    ),
    path("room/<uuid:room_id>/piece/<str:piece>", views_differently.room_piece, name="room-piece"),
    path(
        "room/<uuid:room_id>/piece/<str:piece>/undo",
        views_differently.room_piece_undo,
        name="room-piece-undo",
    ),
    path(
        "room/<uuid:room_id>/piece/<str:piece>/<str:way>",
        views_differently.room_piece_told,
        name="room-piece-told",
    ),
    path("room/<uuid:room_id>/tick", views.room_tick, name="room-tick"),
    path("room/<uuid:room_id>/tick-all", views.room_tick_all, name="room-tick-all"),
    path("room/<uuid:room_id>/marking", views.room_marking, name="room-marking"),
    path("house/<uuid:house_id>/cards", views.house_cards, name="house-cards"),
    path("house/<uuid:house_id>/cards/thrown", views.cards_thrown, name="cards-thrown"),
    path("house/<uuid:house_id>/marking", views.house_marking, name="house-marking"),
    path("room/<uuid:room_id>/pack", views_packs.room_pack, name="room-pack"),
    path("house/<uuid:house_id>/packs", views_packs.house_packs, name="house-packs"),
    path("pack/<uuid:pack_id>", views_packs.pack_detail, name="house-pack"),
    path("pack/<uuid:pack_id>/stop", views_packs.pack_stop, name="house-pack-stop"),
    path("pack/<uuid:pack_id>.pdf", views_packs.pack_file, name="house-pack-file"),
    path("p/<str:code>", views_packs.pack_check, name="pack-check"),
]
