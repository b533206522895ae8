"""Joining a gym, one's own place in it, and the coach's list of members."""

from django.urls import path

from members import pages

urlpatterns = [
    path("join/<str:token>/", pages.join, name="join"),
    path("me/", pages.profile, name="profile"),
    path("me/devices/", pages.device_list, name="device-list"),
    path("me/gym/", pages.choose_gym, name="gym-choose"),
    path("coach/members/", pages.member_list, name="member-list"),
]
