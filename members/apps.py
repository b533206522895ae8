"""The application that knows who somebody is and which gym they belong to."""

from django.apps import AppConfig


class MembersConfig(AppConfig):
    name = "members"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from members import security_log

        security_log.connect()
