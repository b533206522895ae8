"""The project as an application: base templates, style and the demo command."""

from django.apps import AppConfig


class GymsiteConfig(AppConfig):
    name = "gymsite"
