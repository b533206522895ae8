"""Background work. Without a broker, tasks run at once, in the same process."""

import logging.config
import os
from typing import Any

from celery import Celery, signals

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gymsite.settings.base")

app = Celery("gymsite")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@signals.setup_logging.connect
def log_as_the_site_does(**_: Any) -> None:
    """A worker's and beat's lines are the site's; Celery would set up its own."""
    from django.conf import settings

    logging.config.dictConfig(settings.LOGGING)


_request_log: Any = None  # held: signals forget who listens if nobody else knows them


@signals.worker_init.connect
def follow_requests(**_: Any) -> None:
    """Log each task under the number of the request that asked for it."""
    from django_structlog.celery.receivers import CeleryReceiver

    global _request_log
    _request_log = CeleryReceiver()
    _request_log.connect_worker_signals()


@signals.worker_ready.connect
def tell_figures(**_: Any) -> None:
    """Answer Prometheus, if asked to: one address for all processes of a worker."""
    from django.conf import settings

    from gymsite import task_metrics

    if settings.WORKER_METRICS:
        task_metrics.serve(settings.WORKER_METRICS)
