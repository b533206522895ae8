"""What ``manage.py check --deploy`` says beside what the libraries do."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Tags, Warning, register

YEAR = 365 * 24 * 3600


@register(Tags.security, deploy=True)
def tls_is_remembered_for_a_year(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Browsers keep to TLS for a year at least (OWASP ASVS 5.0.0, 3.4.1)."""
    if settings.SECURE_HSTS_SECONDS >= YEAR:
        return []
    return [
        Warning(
            "Browsers are told to keep to TLS for less than a year.",
            hint="Leave HSTS_SECONDS out once everything works over TLS.",
            id="gymsite.W001",
        )
    ]
