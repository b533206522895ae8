"""Logs: one JSON object a line, with a request id and nothing about a person.

What people typed can be in three things that programs like to log: in the values put into a
line, in what an exception says (a database repeats the row that it refused), and in
addresses. So libraries' lines keep only those values that can't be such a text, exceptions
are told by their kind and by where they came from, and an address loses what is asked with
it and whatever in it doesn't look like our own words.
"""

from __future__ import annotations

import os
import re
import sys
import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import Any, ClassVar

import structlog
from structlog.typing import EventDict, Processor, WrappedLogger

# The addresses of an invitation, of a calendar, of a copy of one's data and of a message's end
# are their own secrets; a page that leads back to one names it quoted.
_TOKEN = re.compile(
    r"((?:/|%2F)(?:join|calendar|unsubscribe|export|tokens)(?:/|%2F))[^/\s?&%]+", re.IGNORECASE
)
# It begins where a run of letters does: tried from each of them, a long run would take as many
# steps as its square.
_RUN = r"[^\s@\"'<>(),;:]"
_EMAIL = re.compile(rf"(?<!{_RUN}){_RUN}+(?:@|%40){_RUN}+")
_WORD = r"[^\s?\"'<>]"
_ASKED = re.compile(rf"(?<!{_WORD})({_WORD}+)\?[^\s\"'<>]+")
_QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"")
_OWN_PART = re.compile(r"[a-z0-9._-]{0,32}|\d{4}-W\d\d")
_NOT_LOGGED = ("ip", "user_agent", "email", "error", "reason")

# Whose lines may hold texts: our own, and those that tell of addresses, hosts and processes.
_TRUSTED = (
    "scoring",
    "members",
    "gymsite",
    "gunicorn",
    "celery",
    "kombu",
    "django.request",
    "django.security.csrf",
    "django_structlog",
    "psycopg.pool",
)
# What Celery says of a task that failed has the words of the exception in it, twice.
_OF_TASKS = "celery.app.trace"
_TASK_VALUES = ("name", "id", "description", "runtime")
# A child of a worker that was killed, out of memory mostly: which, and by what signal.
_OF_A_CHILD = "Process %r pid:%r exited with %r"
# Told by the program's text alone, never by what somebody sent.
_SPEAKING = ("AttributeError", "NameError", "ImportError", "ModuleNotFoundError",
             "ImproperlyConfigured")  # fmt: skip
MOST_FRAMES = 30


def safe_path(path: str) -> str:
    """An address without what is asked with it, tokens, or parts that somebody made up."""
    parts = _TOKEN.sub(r"\1[token]", path.split("?", 1)[0]).split("/")
    return "/".join(
        part if part == "[token]" or _OWN_PART.fullmatch(part) else "[text]" for part in parts
    )


def _masked(text: str) -> str:
    return _EMAIL.sub("[e-mail]", _ASKED.sub(r"\1", _TOKEN.sub(r"\1[token]", text)))


def _is_of(name: str, loggers: tuple[str, ...]) -> bool:
    return any(name == one or name.startswith(one + ".") for one in loggers)


def _value(value: Any, *, is_trusted: bool) -> Any:
    if value is None or isinstance(value, int | float):
        return value
    if not is_trusted:
        return "[text]"
    return safe_path(value) if isinstance(value, str) and value.startswith("/") else value


def without_values(_logger: WrappedLogger, _name: str, event: EventDict) -> EventDict:
    """Fill a library's line with those of its values that can be no words of a person."""
    record = event.get("_record")
    arguments = event.pop("positional_args", ())
    if record is None or event.get("_from_structlog"):
        return event
    is_trusted = record.msg == _OF_A_CHILD or (
        _is_of(record.name, _TRUSTED) and record.name != _OF_TASKS
    )
    if not arguments:
        if not is_trusted:  # values that were put in before it came here are quoted
            event["event"] = _QUOTED.sub("[text]", str(event["event"]))
        return event
    filled: Any
    if isinstance(arguments, Mapping):
        filled = {
            key: value if key in _TASK_VALUES else _value(value, is_trusted=is_trusted)
            for key, value in arguments.items()
        }
    else:
        filled = tuple(_value(value, is_trusted=is_trusted) for value in arguments)
    try:
        event["event"] = str(record.msg) % filled
    except (TypeError, ValueError):  # a number was wanted where a text was masked
        event["event"] = str(record.msg)
    return event


def _frames(error: BaseException) -> list[str]:
    found = traceback.extract_tb(error.__traceback__)[-MOST_FRAMES:]
    return [f"{'/'.join(Path(f.filename).parts[-3:])}:{f.lineno} in {f.name}" for f in found]


def _kind(error: BaseException) -> str:
    kind = type(error).__qualname__
    told = ""
    if kind in _SPEAKING:
        told = str(error)
    elif isinstance(error, OSError):
        told = error.strerror or ""
    elif code := getattr(error, "sqlstate", None):
        told = f"SQLSTATE {code}"
    return f"{kind}: {told}" if told else kind


def told_exception(error: BaseException) -> list[dict[str, Any]]:
    """An exception and what led to it, the first last: its kind and where, not its words."""
    told: list[dict[str, Any]] = []
    seen: set[int] = set()
    current: BaseException | None = error
    while current is not None and id(current) not in seen:
        seen.add(id(current))
        told.append({"kind": _kind(current), "at": _frames(current)})
        hidden = current.__suppress_context__
        current = current.__cause__ or (None if hidden else current.__context__)
    return told


def exceptions_without_words(_logger: WrappedLogger, _name: str, event: EventDict) -> EventDict:
    """Say of an exception what and where, and nothing that it says itself."""
    info = event.pop("exc_info", None)
    error = event.pop("exception", None)
    if isinstance(info, BaseException):
        error = info
    elif isinstance(info, tuple):
        error = info[1] or error
    elif info:
        error = sys.exc_info()[1] or error
    for key in ("stack", "stack_info"):
        event.pop(key, None)
    if isinstance(error, BaseException):
        event["exception"] = told_exception(error)
    return event


def without_persons(_logger: WrappedLogger, _name: str, event: EventDict) -> EventDict:
    """Drop or mask what would say who somebody is."""
    for key in _NOT_LOGGED:
        event.pop(key, None)
    for key, value in event.items():
        if isinstance(value, str):
            event[key] = _masked(value)
    return event


_shared: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.stdlib.add_logger_name,
    without_values,
    structlog.stdlib.PositionalArgumentsFormatter(),
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    exceptions_without_words,
    without_persons,
]


def _is_read_by_the_journal() -> bool:
    """Whether standard error leads to systemd's journal, by ``JOURNAL_STREAM`` as the manual of
    systemd.exec has it."""
    try:
        stream = os.fstat(2)
    except OSError:
        return False
    return os.environ.get("JOURNAL_STREAM") == f"{stream.st_dev}:{stream.st_ino}"


class Line:
    """One JSON object a line. The journal takes the number before it off and keeps it as the
    line's priority (sd-daemon(3)), so that ``journalctl -p warning`` finds it."""

    PRIORITIES: ClassVar[dict[str, int]] = {
        "critical": 2, "error": 3, "warning": 4, "info": 6, "debug": 7,
    }  # fmt: skip

    def __init__(self) -> None:
        self._render = structlog.processors.JSONRenderer()
        self._has_priority = _is_read_by_the_journal()

    def __call__(self, logger: WrappedLogger, name: str, event: EventDict) -> str:
        line = str(self._render(logger, name, event))
        if not self._has_priority:
            return line
        return f"<{self.PRIORITIES.get(str(event.get('level')), 6)}>{line}"


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
                    Line(),
                ],
                "foreign_pre_chain": _shared,
                "pass_foreign_args": True,
            }
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            "django": {"handlers": [], "propagate": True},
            # One line a request comes from django_structlog already, and one a task.
            "django.server": {"handlers": [], "level": "WARNING", "propagate": True},
            "celery.app.trace": {"handlers": [], "level": "WARNING", "propagate": True},
            # It would tell each statement with its values.
            "django.db.backends": {"handlers": [], "level": "INFO", "propagate": True},
            # A worker's pool; it tells nobody above it.
            "multiprocessing": {"handlers": ["stderr"], "level": "WARNING", "propagate": False},
            "gunicorn.error": {"handlers": [], "level": level, "propagate": True},
            "gunicorn.access": {"handlers": [], "level": "INFO", "propagate": True},
        },
    }
