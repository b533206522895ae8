"""The number of the request, for a page that depends on nothing else."""

from __future__ import annotations

import structlog
from django import template

register = template.Library()


@register.simple_tag
def request_number() -> str:
    """The number under which this request is logged, empty outside one."""
    return str(structlog.contextvars.get_contextvars().get("request_id", ""))
