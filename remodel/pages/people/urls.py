from django.urls import path

from remodel.pages.people.views import archive, health, home, hosted, members, start

urlpatterns = [
    path("", start.start, name="start"),
    path("houses", start.house_list, name="house-list"),
    path("who", home.who, name="who"),
    path("who/add", home.person_add, name="person-add"),
    path("pair", home.pair, name="pair"),
    path("devices", home.device_list, name="device-list"),
    path("devices/code", home.device_code, name="device-code"),
    path("device/<uuid:device_id>/withdraw", home.device_withdraw, name="device-withdraw"),
    path("sign-in", hosted.sign_in_page, name="sign-in"),
    path("sign-out", hosted.sign_out, name="sign-out"),
    path("password", hosted.password_change_own, name="password-change"),
    path("join/<str:token>", hosted.invitation, name="invitation"),
    path("join/<str:token>/sign-up", hosted.sign_up_page, name="sign-up"),
    path("house/<uuid:house_id>/people", members.house_people, name="house-people"),
    path("house/<uuid:house_id>/people/invite", members.invitation_add, name="invitation-add"),
    path(
        "invitation/<uuid:invitation_id>/withdraw",
        members.invitation_withdraw,
        name="invitation-withdraw",
    ),
    path("member/<int:membership_id>/role", members.membership_role, name="membership-role"),
    path("member/<int:membership_id>/end", members.membership_end, name="membership-end"),
    path("archive", archive.archive, name="archive"),
    path("archive/file.zip", archive.archive_file, name="archive-file"),
    path("archive/restore", archive.archive_restore, name="archive-restore"),
    path("health", health.health, name="health"),
]
