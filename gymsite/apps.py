"""The project as an application: base templates, style and the demo command."""

from django.apps import AppConfig


class GymsiteConfig(AppConfig):
    name = "gymsite"

    def ready(self) -> None:
        from gymsite import checks, security_log  # noqa: F401 - they register themselves
        from gymsite import pool_metrics, task_metrics  # noqa: F401 - they listen

        pool_metrics.connect()
