"""Addresses of people and their way in."""

from django.urls import path

from . import calendar, own, views

urlpatterns = [
    path("me/", views.Me.as_view(), name="api-me"),
    path("me/calendar/", calendar.Calendar.as_view(), name="api-calendar"),
    path("me/body/", own.MyBody.as_view(), name="api-body"),
    path("me/leave/", own.Leave.as_view(), name="api-leave"),
    path("me/sign-out/", own.SignOutEverywhere.as_view(), name="api-sign-out-everywhere"),
    path("gym/", own.GymSettings.as_view(), name="api-gym"),
    path("members/", views.Members.as_view(), name="api-members"),
    path("members/<int:pk>/", views.Member.as_view(), name="api-member"),
    path("invitations/", views.Invitations.as_view(), name="api-invitations"),
    path("invitations/<int:pk>/", views.InvitationOne.as_view(), name="api-invitation"),
    path("tokens/", views.Tokens.as_view(), name="api-tokens"),
    path("tokens/<str:key>/", views.TokenOne.as_view(), name="api-token"),
]
