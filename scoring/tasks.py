"""Background work: load by id, call one service. Every task can be run again."""

from collections.abc import Callable
from time import monotonic
from typing import Any

from celery import shared_task
from django.conf import settings
from django.utils import timezone

from .messages import due, sending
from .models import ImportRun
from .selectors.forecast_rows import classes_to_forecast, forecast_rows
from .selectors.imports import stopped_imports
from .selectors.questions import questions_to_keep
from .services import (
    closing,
    erasures,
    estimate_runs,
    estimating,
    exporting,
    forecasting,
    questions,
)
from .services import credit_changes as changes
from .services import recompute as recomputing
from .services.erasing import erase_due as erase_all_due
from .services.import_clearing import clear_texts
from .services.import_reading import read_chunk
from .services.import_saving import save_chunk
from .services.import_undoing import undo_chunk


@shared_task(name="scoring.recompute")
def recompute(class_id: int) -> int:
    """Go on with the recompute of a class that is unfinished; returns how many scores changed."""
    run = recomputing.go_on(class_id=class_id, now=timezone.now())
    return 0 if run is None else run.moved


@shared_task(name="scoring.go_on_recomputes")
def go_on_recomputes() -> int:
    """Go on with recomputes whose worker died; how many."""
    stopped = recomputing.stopped_recomputes(now=timezone.now())
    for class_id in stopped:
        recompute.delay(class_id)
    return len(stopped)


@shared_task(name="scoring.forecast_class")
def forecast_class(class_id: int) -> int | None:
    """Keep what is expected of a class; returns the key of a forecast that was made."""
    found = forecast_rows(class_id=class_id)
    if found is None:
        return None
    record, lines = found
    made = forecasting.keep_forecast(record=record, lines=lines, now=timezone.now())
    return None if made is None else made.pk


@shared_task(name="scoring.forecast_again")
def forecast_again(gym_id: int) -> int:
    """Forecast the open classes of a gym by its newest estimate; returns how many."""
    waiting = classes_to_forecast(gym_id=gym_id)
    for class_id in waiting:
        forecast_class.delay(class_id)
    return len(waiting)


@shared_task(name="scoring.send_message")
def send_message(pk: int) -> str:
    """Send one message of the outbox; run twice it is sent once. Returns its state."""
    return sending.send(pk=pk, clock=timezone.now)


def _send(waiting: list[int]) -> int:
    for pk in waiting:
        send_message.delay(pk)
    return len(waiting)


@shared_task(name="scoring.tell_opened")
def tell_opened(class_id: int) -> int:
    """Tell members that a class is open; returns how many messages are sent now."""
    return _send(due.opened(class_id=class_id, now=timezone.now()))


@shared_task(name="scoring.tell_corrected")
def tell_corrected(fact_id: int) -> int:
    """Tell a member that a coach changed their result."""
    return _send(due.corrected(fact_id=fact_id, now=timezone.now()))


@shared_task(name="scoring.tell_answered")
def tell_answered(request_id: int) -> int:
    """Tell a member that their request was answered."""
    return _send(due.answered(request_id=request_id, now=timezone.now()))


@shared_task(name="scoring.tell_closed")
def tell_closed(class_id: int) -> int:
    """Tell a coach that their class closed, and what waits for them."""
    return _send(due.closed(class_id=class_id, now=timezone.now()))


@shared_task(name="scoring.close_due")
def close_due() -> int:
    """Close the classes whose time has come, and tell their coaches."""
    closed = closing.close_due(now=timezone.now())
    for class_id in closed:
        tell_closed.delay(class_id)
    if closed and not settings.CELERY_TASK_ALWAYS_EAGER:
        estimate_due.delay()
    return len(closed)


@shared_task(name="scoring.send_follow_up")
def send_follow_up(letter_id: int) -> int:
    """Send what a coach wrote to a member."""
    return _send(due.follow_up(letter_id=letter_id, now=timezone.now()))


@shared_task(name="scoring.tell_due")
def tell_due() -> int:
    """Send reminders, weekly summaries, what was missed and what waited until now."""
    return _send(due.everything(now=timezone.now()))


@shared_task(name="scoring.make_export")
def make_export(pk: int) -> bool:
    """Make a copy of somebody's data and send its link; one that is made is left alone."""
    return exporting.make_export(pk=pk, now=timezone.now())


@shared_task(name="scoring.make_exports")
def make_exports() -> int:
    """Make the copies of data that were asked for and that nobody is at; how many."""
    waiting = exporting.waiting_exports(now=timezone.now())
    for pk in waiting:
        make_export.delay(pk)
    return len(waiting)


@shared_task(name="scoring.tell_erasure_asked")
def tell_erasure_asked(pk: int, site: str) -> bool:
    """Tell by e-mail that an erasure was asked for, unless it was taken back."""
    return erasures.tell_asked(pk=pk, site=site)


@shared_task(name="scoring.erase_due")
def erase_due() -> int:
    """Erase who asked for it and whose days of grace are over; drop copies that ran out."""
    now = timezone.now()
    exporting.drop_expired(now=now)
    return len(erase_all_due(now=now).erased)


CREDIT_STEPS = 8
"""Classes looked at, or chunks of results recomputed, in one task: a second or two of work."""


@shared_task(name="scoring.credit_change", bind=True)
def credit_change(self: Any, pk: int) -> str:
    """Go on with a change of credits; what is left is a task of its own.

    Without a broker it runs where it was asked for, and the page asks for the rest.
    """
    got = changes.go_on(change_id=pk, now=timezone.now(), steps=CREDIT_STEPS)
    if got == "more" and not self.request.is_eager:
        credit_change.delay(pk)
    return got


@shared_task(name="scoring.credit_changes")
def credit_changes() -> int:
    """Go on with changes of credits whose worker died."""
    waiting = changes.unfinished(now=timezone.now())
    for pk in waiting:
        credit_change.delay(pk)
    return len(waiting)


@shared_task(name="scoring.estimate")
def estimate(gym_id: int) -> str:
    """Work out what a gym's results teach, if that was asked for and nobody is at it."""
    now = timezone.now()
    questions.keep_questions(asked=questions_to_keep(gym_id=gym_id, now=now), now=now)
    run = estimating.estimate(gym_id=gym_id, clock=timezone.now)
    if run is not None and run.state == run.State.GOOD:
        forecast_again.delay(gym_id)
    return "nothing to do" if run is None else run.state


@shared_task(name="scoring.estimate_due")
def estimate_due() -> int:
    """Begin the estimates that wait: the night's, those asked for, those whose worker died."""
    now = timezone.now()
    estimate_runs.ask_nightly(now=now)
    gyms = estimate_runs.waiting(now=now)
    for gym_id in gyms:
        estimate.delay(gym_id)
    return len(gyms)


IMPORT_SECONDS = 20
"""How long an import is worked on in one go: a page may be waiting, or a worker stopping."""


def _in_parts(task: Any, pk: int, step: Callable[[], bool]) -> None:
    """Take steps until none is left. What time is over for a worker takes up again; without
    one the page of the import says so and has a button."""
    until = monotonic() + IMPORT_SECONDS
    while step():
        if monotonic() > until:
            if not settings.CELERY_TASK_ALWAYS_EAGER:
                task.delay(pk)
            return


@shared_task(name="scoring.read_import")
def read_import(pk: int) -> None:
    """Read an import's lines."""
    _in_parts(read_import, pk, lambda: read_chunk(pk=pk, now=timezone.now()))


@shared_task(name="scoring.save_import")
def save_import(pk: int) -> None:
    """Bring a confirmed import's lines in, and tell those whose results it changed."""

    def step() -> bool:
        done = save_chunk(pk=pk, now=timezone.now())
        for fact_id in done.changed:
            tell_corrected.delay(fact_id)
        return done.has_more

    _in_parts(save_import, pk, step)


@shared_task(name="scoring.undo_import")
def undo_import(pk: int) -> None:
    """Take an import back, and tell those whose results had been there before."""

    def step() -> bool:
        done = undo_chunk(pk=pk, now=timezone.now())
        for fact_id in done.changed:
            tell_corrected.delay(fact_id)
        return done.has_more

    _in_parts(undo_import, pk, step)


IMPORT_WORK = {
    ImportRun.State.READING.value: read_import,
    ImportRun.State.SAVING.value: save_import,
    ImportRun.State.UNDOING.value: undo_import,
}


@shared_task(name="scoring.go_on_imports")
def go_on_imports() -> int:
    """Take up imports on which work stopped, as when a worker died; how many."""
    stopped = list(stopped_imports(now=timezone.now()))
    for run in stopped:
        IMPORT_WORK[run.state].delay(run.pk)
    return len(stopped)


@shared_task(name="scoring.clear_imports")
def clear_imports() -> int:
    """Take the words out of imports that are old enough; how many."""
    return clear_texts(now=timezone.now())
