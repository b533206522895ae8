"""Whether a mark is asked about before it is kept: one mark against the last snapshot, so
that a form can be answered at once."""

from __future__ import annotations

from math import isfinite, nan

from scoring.core.estimation.assumptions import IMPOSSIBLE
from scoring.core.estimation.impossible_words import (
    expected_marks,
    expected_reps,
    first_question,
)
from scoring.core.marks import IntervalReps
from scoring.core.oddities import too_fast
from scoring.core.scoring import Result as CoreResult
from scoring.mapping import course_of
from scoring.models import StreamedClass

from .estimates import latest
from .impossible import is_untimed
from .one_mark import member_at, one_mark


def asked_first(
    *, streamed_class: StreamedClass, member_id: int | None, result: CoreResult, of: str = "you"
) -> str:
    """The question to ask before a mark is kept; empty where nothing is odd about it.

    ``member_id`` is whose it is, ``None`` while that is not known; ``of`` calls them so. It
    refuses nothing: whoever says that the mark is right has it kept as it is.
    """
    course = course_of(streamed_class)
    if is_untimed(course):
        return ""
    mark = result.mark
    is_fast = bool(too_fast(course, result))
    held = latest(gym_id=streamed_class.gym_id)
    if held is None or held.is_prior:
        return first_question(mark, is_too_much=True, of="anybody") if is_fast else ""
    member = member_at(held, member_id)
    found = one_mark(streamed_class, held, member=member, result=result)
    is_fast, surprise = is_fast or bool(found.too_fast), found.surprise
    z = float(surprise.z[0]) if len(surprise.z) else nan
    if not isfinite(z):  # it tells nothing of pace
        return first_question(mark, is_too_much=True, of="anybody here") if is_fast else ""
    if not is_fast and abs(z) <= IMPOSSIBLE:
        return ""
    slowness, spread = float(surprise.slowness[0]), float(surprise.spread[0])
    if isinstance(mark, IntervalReps):
        excess = float(surprise.excess[0])
        expected: tuple[str, str] | None = expected_reps(
            found.estimate, sum(mark.reps), excess, spread
        )
    else:
        expected = expected_marks(found.estimate, course, result.choices, slowness, spread)
    own = of if member >= 0 else "most here"
    return first_question(
        mark,
        is_too_much=is_fast or z < 0,
        of="anybody here" if is_fast else own,
        expected=expected,
        whose=own if is_fast else "",
    )
