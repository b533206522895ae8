"""Go on with imports on which work stopped, and clear the words of old ones."""

from typing import Any

from django.core.management.base import BaseCommand

from scoring import tasks


class Command(BaseCommand):
    help = "Go on with imports of results that stopped, and clear the words of old ones."

    def handle(self, *args: Any, **options: Any) -> None:
        gone_on, cleared = tasks.go_on_imports(), tasks.clear_imports()
        self.stdout.write(f"{gone_on} taken up again, {cleared} cleared of their words")
