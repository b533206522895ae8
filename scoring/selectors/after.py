"""How did I do: a result beside the time before, and the bests it beats."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from members.plain import Plain, moment
from scoring import access
from scoring.core.credits import choices_words
from scoring.core.figures import figure
from scoring.mapping import course_of
from scoring.models import Fact, Score

from .paces import pace


@dataclass(frozen=True, slots=True)
class Then:
    """The same workout an earlier time, and what changed since: ``reps`` more or less,
    ``percent`` of the credited pace, the texts of options and loads then and now."""

    score: Score
    fact: Fact
    pace: str
    reps: int
    percent: str | None
    options_then: str
    options_now: str

    @property
    def reps_fewer(self) -> int:
        return -self.reps

    @property
    def has_other_options(self) -> bool:
        return self.options_then != self.options_now


@dataclass(frozen=True, slots=True)
class After:
    """``times`` is how often the workout was done, this time included. ``is_best`` where no
    earlier time was better; ``beaten`` is the best of them, ``None`` for a first time."""

    times: int
    before: Then | None
    is_best: bool
    beaten: Score | None


# Asked for by everybody who has just logged.
_EARLIER = Plain(
    Score,
    "result.member_id = %s AND streamed_class__workout.fingerprint = %s "
    "AND streamed_class.weighted = %s AND streamed_class.starts_at < %s "
    "ORDER BY streamed_class.starts_at, of.id",
    joined=(
        "result", "fact", "streamed_class", "streamed_class__workout", "streamed_class__gym",
    ),
)  # fmt: skip


def after(*, score: Score, viewer: access.Viewer) -> After | None:
    """A result beside the earlier times of the same workout; ``None`` for who may not see
    its member's history."""
    member = score.result.member
    if not access.may_see_history(viewer, member):
        return None
    streamed_class = score.streamed_class
    earlier = _EARLIER.rows(
        [
            member.pk,
            streamed_class.workout.fingerprint,
            streamed_class.weighted,
            moment(streamed_class.starts_at),
        ]
    )
    if not earlier:
        return After(1, None, False, None)
    best = max(earlier, key=lambda row: (row.key, -row.tie_key))
    return After(
        times=len(earlier) + 1,
        before=_then(earlier[-1], score),
        is_best=(score.key, -score.tie_key) > (best.key, -best.tie_key),
        beaten=best,
    )


def _then(before: Score, now: Score) -> Then:
    then_pace, now_pace = Fraction(before.performance), Fraction(now.performance)
    percent = None
    if then_pace:
        change = (now_pace / then_pace - 1) * 100
        percent = ("+" if change > 0 else "") + figure(change, most=1)
    return Then(
        score=before,
        fact=before.fact,
        pace=pace(before, before.streamed_class),
        reps=now.raw_reps - before.raw_reps,
        percent=percent,
        options_then=choices_words(course_of(before.streamed_class), before.fact.options),
        options_now=choices_words(course_of(now.streamed_class), now.fact.options),
    )
