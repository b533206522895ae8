"""Starting background work, on commit only."""

import logging
from typing import Any

from django.conf import settings
from django.db import transaction
from kombu.exceptions import KombuError
from redis.exceptions import RedisError

from members.pause import Pause

from . import tasks

logger = logging.getLogger(__name__)

_pause = Pause()


def _after_commit(task: Any, *args: object, or_here: bool = False) -> None:
    """Start a task once the current transaction is committed.

    A broker that is away neither breaks nor holds up the page that changed something: what was
    not started is found by a task of beat. ``or_here`` is for what none would find; it is then
    done at once.
    """

    # A function and not a partial: Django names what failed in its log.
    def start() -> None:
        if settings.CELERY_TASK_ALWAYS_EAGER:
            task.delay(*args)
            return
        why = "the broker was away just now"
        if not _pause.is_on:
            try:
                task.delay(*args)
                return
            except (KombuError, RedisError, OSError) as error:
                _pause.begin()
                why = type(error).__name__
        logger.warning("%s was not started: %s", task.name, why)
        if or_here:
            task.apply(args)

    transaction.on_commit(start, robust=True)


def forecast_class(*, class_id: int) -> None:
    """Keep what is expected of a class. What a broker lost is made when the class closes."""
    _after_commit(tasks.forecast_class, class_id)


def forecast_again(*, gym_id: int) -> None:
    """Forecast a gym's open classes anew, as after a new estimate."""
    _after_commit(tasks.forecast_again, gym_id)


# Messages: what was not told is found by ``tell_due``.


def class_opened(*, class_id: int) -> None:
    """Tell a gym's members that a class is open."""
    _after_commit(tasks.tell_opened, class_id)


def class_closed(*, class_id: int) -> None:
    """Tell a coach that their class closed."""
    _after_commit(tasks.tell_closed, class_id)


def estimate(*, gym_id: int) -> None:
    """Begin an estimate that was asked for. Without a broker the clock does within a minute, so
    that no page waits for it; one that a broker lost is found by ``estimate_due``."""
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        _after_commit(tasks.estimate, gym_id)


def result_corrected(*, fact_id: int) -> None:
    """Tell a member that their result was changed, if it was and not by themselves."""
    _after_commit(tasks.tell_corrected, fact_id)


def request_answered(*, request_id: int) -> None:
    """Tell a member what a coach answered."""
    _after_commit(tasks.tell_answered, request_id)


def follow_up_written(*, letter_id: int) -> None:
    """Send a member what a coach wrote."""
    _after_commit(tasks.send_follow_up, letter_id)


def make_export(*, pk: int) -> None:
    """Make a copy of somebody's data. One that a broker lost is found by ``make_exports``."""
    _after_commit(tasks.make_export, pk)


def tell_erasure_asked(*, pk: int, site: str) -> None:
    """Tell somebody by e-mail that they asked to be erased."""
    _after_commit(tasks.tell_erasure_asked, pk, site, or_here=True)


def credit_change(*, pk: int) -> None:
    """Go on with a change of credits. One that a broker lost is found by ``credit_changes``."""
    _after_commit(tasks.credit_change, pk)


def work_on_import(*, pk: int, state: str) -> None:
    """Go on with an import that is being read, saved or undone; others are left alone. One that
    a broker lost is found by ``go_on_imports``."""
    task = tasks.IMPORT_WORK.get(state)
    if task is not None:
        # Without a broker the page still comes, with a button to go on.
        _after_commit(task, pk)
