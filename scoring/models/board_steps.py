"""How many scores of a class lie in each step of their keys: what a rank among many rests on."""

from django.db import models

from .classes import StreamedClass

STEP = 10**13
"""The keys of one step: a thousandth of a rep a second, see scoring/core/ranking.py. Of a
million results some thousands lie in one, and a class has some hundred steps."""


class BoardStep(models.Model):
    """``entries`` scores of a class have keys from ``step * STEP`` to just below the next.

    Triggers on the scores keep these rows, and the counters of the class, in the same
    statement, whoever writes: a row that comes or goes by hand is counted too. So a rank is the
    sum of some hundred steps and the count of one, not of everybody above.
    """

    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.CASCADE, related_name="+", db_index=False
    )
    as_prescribed = models.BooleanField()
    step = models.IntegerField()
    entries = models.IntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("streamed_class", "as_prescribed", "step"), name="board_step_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.entries} from {self.step}"
