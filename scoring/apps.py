"""The application that keeps workouts, classes, results and boards."""

from django.apps import AppConfig


class ScoringConfig(AppConfig):
    name = "scoring"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from . import checks  # noqa: F401 - registers them
