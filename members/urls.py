"""Joining a gym, and the coach's list of members."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
