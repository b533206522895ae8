"""Background work: load by id, call one service. Every task can be run again."""

from celery import shared_task
from django.utils import timezone

from .messages import due, sending
from .models import StreamedClass
from .services import closing, erasures, exporting
from .services.erasing import erase_due as erase_all_due
from .services.recompute import recompute_class


@shared_task(name="scoring.recompute")
def recompute(class_id: int) -> int:
    """Recompute a class's board; returns how many scores changed."""
    streamed_class = StreamedClass.objects.select_related("workout", "credit_table").get(
        pk=class_id
    )
    return recompute_class(streamed_class=streamed_class, now=timezone.now()).moved


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
    return len(closed)


@shared_task(name="scoring.tell_due")
def tell_due() -> int:
    """Send reminders, weekly summaries, what was missed and what waited until now."""
    return _send(due.everything(now=timezone.now()))


@shared_task(name="scoring.make_export")
def make_export(pk: int) -> bool:
    """Make a copy of somebody's data and send its link; one that is made is left alone."""
    return exporting.make_export(pk=pk, now=timezone.now())


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
