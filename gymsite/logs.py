"""Logs: one JSON object a line, with a request id and nothing about a person."""

import re
from typing import Any

import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

# The addresses of an invitation, of a calendar and of a message's end are their own
# secrets, so they stay out of the log; a page that leads back to one names it quoted.
_TOKEN = re.compile(r"((?:/|%2F)(?:join|calendar|unsubscribe)(?:/|%2F))[^/\s?&%]+", re.IGNORECASE)
# It begins where a run of letters does: tried from each of them, a long run would take as many
# steps as its square.
_RUN = r"[^\s@\"'<>(),;:]"
_EMAIL = re.compile(rf"(?<!{_RUN}){_RUN}+@{_RUN}+")
_NOT_LOGGED = ("ip", "user_agent", "email")


def without_persons(_logger: WrappedLogger, _name: str, event: EventDict) -> EventDict:
    """Drop or mask what would say who somebody is."""
    for key in _NOT_LOGGED:
        event.pop(key, None)
    for key, value in event.items():
        if isinstance(value, str):
            event[key] = _EMAIL.sub("[e-mail]", _TOKEN.sub(r"\1[token]", value))
    return event


_shared: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    structlog.stdlib.PositionalArgumentsFormatter(),
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.format_exc_info,
    without_persons,
]


def logging_config(*, level: str) -> dict[str, Any]:
    """Set structlog up and return what Django's LOGGING wants."""
    structlog.configure(
        processors=[*_shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "json": {
                "()": structlog.stdlib.ProcessorFormatter,
                "processors": [
                    structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                    structlog.processors.JSONRenderer(),
                ],
                "foreign_pre_chain": _shared,
            }
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            "django": {"handlers": [], "propagate": True},
            # One line a request comes from django_structlog already.
            "django.server": {"handlers": [], "level": "WARNING", "propagate": True},
        },
    }
