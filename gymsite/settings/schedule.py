"""What is started by the clock: by Celery's beat, or without a broker by ``gymsite/clock.py``."""

from datetime import timedelta
from typing import Any

CELERY_BEAT_SCHEDULE: dict[str, dict[str, Any]] = {
    # Reminders, Monday's summaries by each member's own clock, and what waited for the
    # end of quiet hours. One that was not run in time is made up for by the next.
    "messages": {
        "task": "scoring.tell_due",
        "schedule": timedelta(minutes=15),
        "options": {"expires": 900},
    },
    "close-due": {"task": "scoring.close_due", "schedule": 60.0, "options": {"expires": 60}},
    # Seconds. Without a broker, manage.py erase_due does the same from a timer.
    "erase-due": {"task": "scoring.erase_due", "schedule": 3600.0},
    # Changes of credits whose worker died. Without a broker: manage.py credit_changes.
    "credit-changes": {
        "task": "scoring.credit_changes",
        "schedule": 120.0,
        "options": {"expires": 120},
    },
    # Recomputes whose worker died, and copies of data that nobody made: also manage.py due.
    "go-on-recomputes": {
        "task": "scoring.go_on_recomputes",
        "schedule": 120.0,
        "options": {"expires": 120},
    },
    "make-exports": {
        "task": "scoring.make_exports",
        "schedule": 300.0,
        "options": {"expires": 300},
    },
    # Without a broker, manage.py imports does both from a timer.
    "go-on-imports": {
        "task": "scoring.go_on_imports",
        "schedule": 60.0,
        "options": {"expires": 60},
    },
    # The night's estimates, and those that were asked for and that nobody is at.
    # Without a broker: manage.py estimate.
    "estimate-due": {
        "task": "scoring.estimate_due",
        "schedule": 60.0,
        "options": {"expires": 60},
    },
    "clear-imports": {"task": "scoring.clear_imports", "schedule": 3600.0},
}
