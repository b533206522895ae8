"""Is it alive, is it ready, and how is it doing."""

import secrets
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.views.decorators.http import require_safe
from django_prometheus.exports import ExportToDjangoView
from health_check.views import HealthCheckView


@require_safe
def live(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is asked."""
    return JsonResponse({"status": "alive"}, headers={"Cache-Control": "no-store"})


class Ready(HealthCheckView):
    """The database and the cache answer too: 200 or 500, always as JSON."""

    checks = ("health_check.checks.Database", "health_check.checks.Cache")

    async def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        # The library would choose by ?format= and by Accept, and fail on one it can't read.
        request.GET = QueryDict("format=json")
        return await super().get(request, *args, **kwargs)


@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """Numbers for Prometheus: for staff, or who holds METRICS_TOKEN."""
    sent = request.headers.get("Authorization", "")
    token = settings.METRICS_TOKEN
    by_token = bool(token) and secrets.compare_digest(sent.encode(), f"Bearer {token}".encode())
    if not by_token and not getattr(request.user, "is_staff", False):
        raise PermissionDenied
    return ExportToDjangoView(request)
