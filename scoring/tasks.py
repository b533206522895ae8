"""Background work: load by id, call one service. Every task can be run again."""

from celery import shared_task
from django.utils import timezone

from .models import StreamedClass
from .services.recompute import recompute_class


@shared_task(name="scoring.recompute")
def recompute(class_id: int) -> int:
    """Recompute a class's board; returns how many scores changed."""
    streamed_class = StreamedClass.objects.select_related("workout", "credit_table").get(
        pk=class_id
    )
    return recompute_class(streamed_class=streamed_class, now=timezone.now()).moved
