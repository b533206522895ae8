"""Joining a gym, one's own place in it, and the coach's list of members."""

from django.urls import path

from members import pages, pages_own

urlpatterns = [
    path("join/<str:token>/", pages.join, name="join"),
    path("me/", pages.profile, name="profile"),
    path("me/devices/", pages.device_list, name="device-list"),
    path("me/calendar/", pages.calendar, name="calendar"),
    path("me/gym/", pages.choose_gym, name="gym-choose"),
    path("me/body/", pages_own.my_body, name="body"),
    path("me/sign-out/", pages_own.signed_out_everywhere, name="sign-out-everywhere"),
    path("coach/gym/", pages_own.gym_settings, name="gym-settings"),
    path("coach/members/", pages.member_list, name="member-list"),
    # The library of accounts has pages about passwords; here is nothing to them.
    path("accounts/password/<path:rest>", pages.no_passwords),
    path("accounts/reauthenticate/", pages.no_passwords),
]
