"""What a result comes to, set by set, with the course's picture, as HTML.

It hangs on the workout, on what the class scores by and on what was done, on nobody and no
time. In a class many did the same, and everybody opens their own when they have logged it: the
picture takes longer than all the rest of the page, so it is kept.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from fractions import Fraction
from threading import Lock

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from scoring.core.figures import figure
from scoring.mapping import core_result, course_of
from scoring.selectors.results import OpenedResult

from .strip import strip

KEPT = 1_000

_parts: OrderedDict[Hashable, SafeString] = OrderedDict()
_lock = Lock()


def forget() -> None:
    """Forget the parts that this process keeps."""
    with _lock:
        _parts.clear()


def opened_part(opened: OpenedResult) -> SafeString:
    """The part of a result that is on the board, else nothing."""
    streamed, fact, score = opened.result.streamed_class, opened.result.current, opened.score
    if score is None or fact is None:
        return SafeString("")
    key = (
        (streamed.workout.text, streamed.weighted, streamed.above_one, streamed.tie_break_block),
        (streamed.credit_table_id, fact.mark, fact.options, fact.splits),
        (score.raw_reps, score.credited),
    )
    with _lock:
        if key in _parts:
            _parts.move_to_end(key)
            return _parts[key]
    course = course_of(streamed)
    context = {
        "opened": opened,
        "strip": strip(course, core_result(course, fact).mark),
        "credited": figure(Fraction(score.credited)),
    }
    made = SafeString(render_to_string("scoring/_opened.html", context))
    with _lock:
        _parts[key] = made
        while len(_parts) > KEPT:
            _parts.popitem(last=False)
    return made
