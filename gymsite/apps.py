"""The project as an application: base templates, style and the demo command."""

from django.apps import AppConfig


class GymsiteConfig(AppConfig):
    name = "gymsite"

    def ready(self) -> None:
        from gymsite import checks, pool_metrics, task_metrics  # noqa: F401 - they register

        pool_metrics.connect()
