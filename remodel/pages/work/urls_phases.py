from django.urls import path

from remodel.pages.work import views_added
from remodel.pages.work import views_phases as views

urlpatterns = [
    path("phase/<uuid:phase_id>", views.phase_detail, name="phase-detail"),
    path("phase/<uuid:phase_id>/move", views.phase_move, name="phase-move"),
    path("phase/<uuid:phase_id>/leave-out", views.phase_leave_out, name="phase-leave-out"),
    path("phase/<uuid:phase_id>/remove", views.phase_remove, name="phase-remove"),
    path("phase/<uuid:phase_id>/added/add", views_added.added_add, name="added-add"),
    path("added/<uuid:added_id>", views_added.added_edit, name="added-edit"),
    path("added/<uuid:added_id>/remove", views_added.added_remove, name="added-remove"),
    path("room/<uuid:room_id>/phases", views.room_phases, name="room-phases"),
    path("room/<uuid:room_id>/close", views.room_close, name="room-close"),
    path("room/<uuid:room_id>/phases/add", views.phase_add, name="phase-add"),
    path("room/<uuid:room_id>/notes/add", views.room_note_add, name="note-add"),
    path("note/<uuid:note_id>/remove", views.note_remove, name="note-remove"),
]
