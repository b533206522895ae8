"""Starting background work, on commit only."""

from functools import partial

from django.conf import settings
from django.db import transaction

from . import tasks


def recompute(*, class_id: int) -> None:
    """Recompute a class's board once the current transaction is committed."""
    transaction.on_commit(partial(tasks.recompute.delay, class_id))


def forecast_class(*, class_id: int) -> None:
    """Keep what is expected of a class. What a broker lost is made when the class closes."""
    transaction.on_commit(lambda: tasks.forecast_class.delay(class_id), robust=True)


def forecast_again(*, gym_id: int) -> None:
    """Forecast a gym's open classes anew, as after a new estimate."""
    transaction.on_commit(lambda: tasks.forecast_again.delay(gym_id), robust=True)


# Messages: a broker that is away must not break the page that caused one, and what was
# not told then is found by ``tell_due``. Lambdas, since Django names what failed in its log
# and a partial has no name.


def class_opened(*, class_id: int) -> None:
    """Tell a gym's members that a class is open."""
    transaction.on_commit(lambda: tasks.tell_opened.delay(class_id), robust=True)


def class_closed(*, class_id: int) -> None:
    """Tell a coach that their class closed."""
    transaction.on_commit(lambda: tasks.tell_closed.delay(class_id), robust=True)


def estimate(*, gym_id: int) -> None:
    """Begin an estimate that was asked for. Without a broker the clock does within a minute, so
    that no page waits for it; one that a broker lost is found by ``estimate_due``."""
    if not settings.CELERY_TASK_ALWAYS_EAGER:
        transaction.on_commit(lambda: tasks.estimate.delay(gym_id), robust=True)


def result_corrected(*, fact_id: int) -> None:
    """Tell a member that their result was changed, if it was and not by themselves."""
    transaction.on_commit(lambda: tasks.tell_corrected.delay(fact_id), robust=True)


def request_answered(*, request_id: int) -> None:
    """Tell a member what a coach answered."""
    transaction.on_commit(lambda: tasks.tell_answered.delay(request_id), robust=True)


def follow_up_written(*, letter_id: int) -> None:
    """Send a member what a coach wrote."""
    transaction.on_commit(lambda: tasks.send_follow_up.delay(letter_id), robust=True)


def make_export(*, pk: int) -> None:
    """Make a copy of somebody's data once the asking is committed."""
    transaction.on_commit(partial(tasks.make_export.delay, pk))


def tell_erasure_asked(*, pk: int, site: str) -> None:
    """Tell somebody by e-mail, once it is committed, that they asked to be erased."""
    transaction.on_commit(partial(tasks.tell_erasure_asked.delay, pk, site))


def credit_change(*, pk: int) -> None:
    """Go on with a change of credits. One that a broker lost is found by ``credit_changes``."""
    transaction.on_commit(lambda: tasks.credit_change.delay(pk), robust=True)


def work_on_import(*, pk: int, state: str) -> None:
    """Go on with an import that is being read, saved or undone; others are left alone."""
    task = tasks.IMPORT_WORK.get(state)
    if task is not None:
        # Without a broker the page still comes, with a button to go on.
        transaction.on_commit(lambda: task.delay(pk), robust=True)
