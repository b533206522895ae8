"""What the marks of an open class were judged to be a moment ago (see ``lately.py``).

One judgement does for all marks that it compared; a newer one is compared by itself, with what
the others' judgement says is common to the class. Coaches' own lists (``questions``) are of the
whole class as it is.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db import connection

from scoring.mapping import course_of
from scoring.models import Score, State, StreamedClass

from .estimates import Held
from .impossible import Judged, is_untimed, judged_by
from .lately import Lately
from .one_mark import judged_alone

FEW = 20
"""Who asks about more marks waits for another's judgement rather than compare each by itself."""

_lately: Lately[Judged] = Lately()


def forget() -> None:
    """Forget every judgement that this process keeps."""
    _lately.forget()


def judged_lately(streamed: StreamedClass, scores: Sequence[Score], held: Held | None) -> Judged:
    """Of some scores of a class, with their facts and results, what the estimate finds all but
    impossible: in an open class as it was a moment ago, else as it is.

    ``held`` is the gym's last snapshot and the class was read just now. Inside a transaction
    nothing is kept: what is seen there may be undone.
    """
    if streamed.state != State.OPEN or connection.in_atomic_block:
        return judged_by(streamed, held)
    if held is None or held.is_prior or is_untimed(course_of(streamed)):
        return Judged()
    found = _lately.of_class(
        streamed,
        (held.pk, held.blanked),
        lambda: judged_by(streamed, held),
        waits=len(scores) > FEW,
    )
    found = found or Judged()
    fast: dict[int, str] = {}
    unlike: dict[int, str] = {}
    for score in scores:
        is_told = score.fact_id <= found.last_fact
        own = found if is_told else judged_alone(streamed, score, held, found.common)
        for of, told in ((fast, own.fast), (unlike, own.unlike)):
            if score.fact_id in told:
                of[score.fact_id] = told[score.fact_id]
    return Judged(fast, unlike)
