"""One mark of a class beside what was to be expected of it, whatever the class's size."""

from __future__ import annotations

from scoring.core.estimation.one_mark import OneByOne, Told
from scoring.core.scoring import Result as CoreResult
from scoring.mapping import course, course_of
from scoring.models import Score, StreamedClass

from .estimates import Held, table_key, table_of
from .impossible import Beside, Judged, common_of, day_in, fitted, is_untimed, read_fact, why_unlike


def member_at(held: Held, member_id: int | None) -> int:
    """Where the estimate has a member, -1 for one it doesn't know, or while that isn't told."""
    at = held.member_at(member_id or 0)
    return -1 if at is None else at


def one_mark(
    streamed: StreamedClass,
    held: Held,
    *,
    member: int,
    result: CoreResult,
    common: tuple[float, float] | None = None,
) -> Told:
    """Compare a mark by a snapshot, and by what is ``common`` to its class where others told.

    All that hangs on the course alone is kept with the snapshot. What others told of the class
    holds some of the doubt about its costs, which is added once more: in doubt nothing is asked.
    """
    text, weighted = streamed.workout.text, streamed.weighted
    table = table_key(gym_id=held.gym_id)
    ready = held.one_by_one(
        (text, weighted, table),
        lambda estimate: OneByOne(estimate, course(text, weighted), table_of(table)),
    )
    effect, variance = common or common_of(streamed, held)
    return ready.against(
        result, member=member, day=day_in(streamed), effect=effect, effect_variance=variance
    )


def judged_alone(
    streamed: StreamedClass, score: Score, held: Held, common: tuple[float, float] | None
) -> Judged:
    """What ``judged`` tells of one score, without reading any other of its class."""
    on, fact = course_of(streamed), score.fact
    if is_untimed(on):
        return Judged()
    member = member_at(held, score.result.member_id)
    result = read_fact(
        streamed.workout.text, streamed.weighted, fact.mark, fact.options, fact.splits
    )
    told = one_mark(streamed, held, member=member, result=result, common=common)
    fast = {fact.pk: told.too_fast} if told.too_fast else {}
    if not len(told.surprise.z):
        return Judged(fast)
    mark = Beside.of(told.surprise, 0, member, fitted(held, score))
    if not mark.is_odd:
        return Judged(fast)
    return Judged(fast, {fact.pk: why_unlike(held, told.estimate, on, result, mark)})
