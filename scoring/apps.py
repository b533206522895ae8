"""The application that keeps workouts, classes, results and boards."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created
from django.db.models.signals import post_save


class ScoringConfig(AppConfig):
    name = "scoring"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register what has to listen before the first request or connection."""
        from . import checks  # noqa: F401 - registers them
        from .selectors.names import teach_sqlite
        from .services.renaming import boards_show_another_name

        connection_created.connect(teach_sqlite, dispatch_uid="scoring.names")
        post_save.connect(
            boards_show_another_name, sender="members.Membership", dispatch_uid="scoring.renaming"
        )
