"""What every template may know about the viewer."""

from typing import Any

from django.http import HttpRequest

from members import selectors


def membership(request: HttpRequest) -> dict[str, Any]:
    """Give templates ``membership`` and, for the switcher, ``memberships``."""
    return {
        "membership": selectors.current_membership(request),
        "memberships": selectors.switchable(request),
    }
