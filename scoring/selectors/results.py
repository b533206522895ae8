"""Results opened up, and members' histories."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import NamedTuple, overload

from members.models import Membership
from members.plain import Plain
from scoring import access, boards
from scoring.core.breakdown import Breakdown, breakdown
from scoring.core.figures import figure
from scoring.mapping import core_result, course_of, rules_of
from scoring.models import Fact, Result, Score, StreamedClass

from .levels import LevelSeen
from .paces import pace
from .progress import scores_of
from .questions import asked_marks

REPEATED = 12
TIMES = 8
"""How many repeated workouts a history lists, and how many times of each."""


@dataclass(frozen=True, slots=True)
class OpenedResult:
    """A result with its score, breakdown and standing. ``facts`` is empty for viewers who
    may not see corrections, notes and effort; ``score`` is ``None`` once withdrawn.

    ``question`` is why a coach is still to look at the mark, for its owner and coaches:
    while it is open nothing is made of the result, as a best."""

    result: Result
    name: str
    score: Score | None
    breakdown: Breakdown | None
    rank: int | None
    total: int
    facts: list[Fact]
    is_own: bool
    question: str = ""


# Everybody opens their own result when they have logged it.
_WITH_FACT = Plain(
    Result,
    "of.id = %s",
    joined=(
        "streamed_class", "streamed_class__workout", "streamed_class__gym",
        "streamed_class__credit_table", "member", "current",
    ),
)  # fmt: skip
_SCORE = Plain(Score, "of.result_id = %s")


def result_for(*, viewer: access.Viewer, pk: int) -> Result | None:
    """One result with its class, member, current fact and score, ``None`` if there is none
    that the viewer may see."""
    for result in _WITH_FACT.rows([pk]):
        if not access.may_see_result(viewer, result):
            return None
        scores = _SCORE.rows([pk])
        for score in scores:
            score.result, score.streamed_class = result, result.streamed_class
            if result.current is not None:
                score.fact = result.current  # what has a score is the current fact
        if not scores:
            Result._meta.get_field("score").set_cached_value(result, None)
        return result
    return None


def breakdown_for(
    *, result: Result, viewer: access.Viewer, is_new: bool = False
) -> OpenedResult | None:
    """Open a result up, from its stored fact and the credits its class scores by.

    ``is_new`` says that it was logged just now for the first time: so its fact is the only
    one, and nobody has asked or answered anything about it.
    """
    if not access.may_see_result(viewer, result):
        return None
    streamed_class = result.streamed_class
    score = getattr(result, "score", None)
    opened, rank, total = None, None, 0
    if score is not None and result.current is not None:
        course = course_of(streamed_class)
        opened = breakdown(course, core_result(course, result.current), rules_of(streamed_class))
        pair = (score.key, score.tie_key)
        standings = boards.store().standings(streamed_class, [pair], "all")
        rank, total = standings.places[pair].rank, standings.total
    facts: list[Fact] = []
    question = ""
    if access.may_see_private(viewer, result):
        only = result.current
        if only is not None and (is_new or only.number == 1):
            if only.entered_by_id == result.member_id:
                only.entered_by = result.member
            facts = [only]
        else:
            facts = list(result.facts.select_related("entered_by").order_by("-number"))
        if score is not None:
            question = asked_marks([score], are_new=is_new).get(score.pk, "")
    return OpenedResult(
        result=result,
        name=access.shown_name(viewer, result.member),
        score=score,
        breakdown=opened,
        rank=rank,
        total=total,
        facts=facts,
        is_own=viewer is not None and viewer.pk == result.member_id,
        question=question,
    )


def newest_result(*, member: Membership, viewer: access.Viewer) -> OpenedResult | None:
    """A member's result in the latest class they logged in, if there is one to see."""
    found = (
        Result.objects.filter(member=member, score__isnull=False)
        .order_by("-streamed_class__starts_at", "-pk")
        .values_list("pk", flat=True)
        .first()
    )
    result = result_for(viewer=viewer, pk=found) if found else None
    return breakdown_for(result=result, viewer=viewer) if result else None


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One result of a member. ``pace`` is credited reps a minute (kg in a strength piece);
    ``level`` is the member's on that day, rounded, ``None`` where the estimate doesn't reach;
    ``change`` compares with the repeat before, in percent. While ``is_asked`` a coach is still
    to look at the mark, and nothing is made of it."""

    result_id: int
    score: Score
    rank: int
    total: int
    pace: str
    level: int | None
    repeats: int
    change: str | None
    is_asked: bool


def history(
    *, member: Membership, viewer: access.Viewer, level: LevelSeen | None = None
) -> Sequence[HistoryRow]:
    """Every result of a member, the newest first; empty for who may not see it. ``level``
    tells the level on the days of results. Only the rows that are taken out of it are read."""
    if not access.may_see_history(viewer, member):
        return []
    return History(member, level)


class _Done(NamedTuple):
    """A result as its place in a history needs it."""

    score_id: int
    fingerprint: str
    weighted: bool

    @property
    def workout(self) -> tuple[str, bool]:
        return self.fingerprint, self.weighted


class History(Sequence[HistoryRow]):
    """A member's results, the newest first. Of all of them only their order and their workouts
    are known; what a page shows of its own is read with the page, whatever came before."""

    def __init__(self, member: Membership, level: LevelSeen | None) -> None:
        rows = Score.objects.filter(result__member=member).order_by(
            "streamed_class__starts_at", "pk"
        )
        names = ("pk", "streamed_class__workout__fingerprint", "streamed_class__weighted")
        done = list(map(_Done._make, rows.values_list(*names)))
        self._member, self._level = member, level
        self._newest = [one.score_id for one in reversed(done)]
        self._before: dict[int, int] = {}
        self._times: dict[int, int] = {}
        self._workouts: dict[tuple[str, bool], list[int]] = {}
        for one in done:
            same = self._workouts.setdefault(one.workout, [])
            if same:
                self._before[one.score_id] = same[-1]
            same.append(one.score_id)
            self._times[one.score_id] = len(same)

    def __len__(self) -> int:
        return len(self._newest)

    @overload
    def __getitem__(self, index: int) -> HistoryRow: ...
    @overload
    def __getitem__(self, index: slice) -> list[HistoryRow]: ...
    def __getitem__(self, index: int | slice) -> HistoryRow | list[HistoryRow]:
        if isinstance(index, slice):
            return self._rows(self._newest[index])
        return self._rows([self._newest[index]])[0]

    def __iter__(self) -> Iterator[HistoryRow]:
        return iter(self[:])

    def workouts(self, *, most: int) -> list[list[int]]:
        """Scores in workouts done more than once, the oldest first; of so many workouts at
        most, those done last."""
        place = {pk: number for number, pk in enumerate(self._newest)}
        several = [same for same in self._workouts.values() if len(same) > 1]
        return sorted(several, key=lambda same: place[same[-1]])[:most]

    def of_scores(self, wanted: Sequence[int]) -> list[HistoryRow]:
        """The rows of some scores of the history, as ordered."""
        return self._rows(wanted)

    def _rows(self, wanted: Sequence[int]) -> list[HistoryRow]:
        read, asked = self._read(wanted)
        fields = _fields([read[pk] for pk in wanted])
        return [self._row(pk, read, asked, fields) for pk in wanted]

    def _read(self, wanted: Sequence[int]) -> tuple[dict[int, Score], dict[int, str]]:
        """Scores with those that they are compared with: of each the one before in its
        workout, and while that is in doubt the one before that."""
        read: dict[int, Score] = {}
        asked: dict[int, str] = {}
        missing = {*wanted, *(self._before[pk] for pk in wanted if pk in self._before)}
        while missing:
            found = scores_of(self._member, missing)
            asked |= asked_marks(found)
            read |= {score.pk: score for score in found}
            doubtful = (self._before.get(pk) for pk in missing if pk in asked)
            missing = {pk for pk in doubtful if pk is not None and pk not in read}
        return read, asked

    def _row(
        self,
        pk: int,
        read: dict[int, Score],
        asked: dict[int, str],
        fields: dict[int, list[tuple[int, int]]],
    ) -> HistoryRow:
        score, before = read[pk], self._before.get(pk)
        while before in asked:
            before = self._before.get(before)
        change = None
        if before is not None and pk not in asked and (old := Fraction(read[before].performance)):
            percent = (Fraction(score.performance) / old - 1) * 100
            change = ("+" if percent > 0 else "") + figure(percent, most=1)
        field = fields[score.streamed_class_id]
        return HistoryRow(
            result_id=score.result_id,
            score=score,
            rank=1 + bisect_left(field, (-score.key, score.tie_key)),
            total=len(field),
            pace=pace(score, score.streamed_class),
            level=_level(self._level, score.streamed_class),
            repeats=self._times[pk],
            change=change,
            is_asked=pk in asked,
        )


def _level(seen: LevelSeen | None, streamed_class: StreamedClass) -> int | None:
    reading = seen.on(streamed_class.starts_at) if seen else None
    return round(reading.level) if reading else None


def _fields(scores: list[Score]) -> dict[int, list[tuple[int, int]]]:
    """(-key, tie_key) of everybody in the classes of these scores, best first.

    One query for all of a member's classes, where a board store would be asked for each.
    """
    found: dict[int, list[tuple[int, int]]] = {}
    rows = Score.objects.filter(streamed_class__in={s.streamed_class_id for s in scores})
    for class_id, key, tie_key in rows.order_by("-key", "tie_key").values_list(
        "streamed_class_id", "key", "tie_key"
    ):
        found.setdefault(class_id, []).append((-key, tie_key))
    return found


@dataclass(frozen=True, slots=True)
class Repeated:
    """A workout done ``times``, more than once: the last of its results, the oldest first."""

    times: int
    rows: list[HistoryRow]


def repeats(*, found: Sequence[HistoryRow]) -> list[Repeated]:
    """Of a history the workouts done more than once: the last so many times of the last so
    many, so that a page of ten years is no longer than one of a year."""
    if not isinstance(found, History):
        return []  # of whose history nothing may be seen
    groups = found.workouts(most=REPEATED)
    last = [same[-TIMES:] for same in groups]
    rows = iter(found.of_scores([pk for same in last for pk in same]))
    return [
        Repeated(len(whole), list(islice(rows, len(same))))
        for whole, same in zip(groups, last, strict=True)
    ]
