"""The pages people use."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
