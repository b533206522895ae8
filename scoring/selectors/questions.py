"""What a coach is asked about in a class: odd marks, each with the reason."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from statistics import median

from django.db.models import prefetch_related_objects

from members.plain import Plain
from scoring import access
from scoring.core.credits import parse_choices
from scoring.core.marks import parse_mark
from scoring.core.oddities import ALL_OUT, Kind, Oddity, all_out_at_first, too_fast, unlike_before
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import parse_splits
from scoring.mapping import course, course_of
from scoring.models import (
    Fact,
    QuestionAnswer,
    QuestionAsked,
    Result,
    Score,
    State,
    StreamedClass,
)

from .estimates import Held, latest
from .impossible import Judged, judged
from .judged_lately import judged_lately

LEAST_IN_CLASS = 5
"""A class of fewer results has no middle to compare with (common practice, no source)."""

LAST_CLASSES = 24
LAST_RESULTS = 12
"""How far back a member's own history is looked at."""

REMEMBERED = timedelta(days=60)
"""Questions of so many days' classes are kept; nobody looks at older ones."""


PACE = {Kind.FAST, Kind.UNLIKE}
"""What is asked about a mark itself."""


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask about a result's current fact; ``kind`` as in core/oddities.py."""

    kind: str
    reason: str
    result: Result
    fact: Fact

    @property
    def key(self) -> str:
        """Names it in a form: ``12-fast``."""
        return f"{self.fact.pk}-{self.kind}"

    @property
    def is_of_mark(self) -> bool:
        """Whether the mark itself is doubtful."""
        return self.kind in PACE


def questions(*, streamed_class: StreamedClass, viewer: access.Viewer) -> list[Question]:
    """What is still to be asked, the newest result first; none for who isn't its coach.

    What was answered for a fact is left out; a correction is a new fact and looked at anew.
    """
    if not access.may_manage(viewer, streamed_class):
        return []
    return _questions(streamed_class)


def questions_to_keep(*, gym_id: int, now: datetime) -> list[QuestionAsked]:
    """What is asked in a gym's classes of late, to be kept before a new estimate, with their
    own marks in it, says what it expects."""
    classes = (
        StreamedClass.objects.filter(
            gym=gym_id, starts_at__gt=now - REMEMBERED, scores__isnull=False
        )
        .exclude(state=State.DRAFT)
        .select_related("workout", "gym")
        .distinct()
        .order_by("pk")
    )
    return [
        QuestionAsked(
            fact=each.fact, member_id=each.result.member_id, kind=each.kind, reason=each.reason
        )
        for streamed in classes
        for each in _questions(streamed)
    ]


def _questions(streamed_class: StreamedClass) -> list[Question]:
    scores = list(
        Score.objects.filter(streamed_class=streamed_class)
        .select_related("fact", "result")
        .order_by("-fact__created_at", "-pk")
    )
    if not scores:
        return []
    for score in scores:
        score.result.streamed_class = streamed_class  # read once, not for each
    answered = set(
        QuestionAnswer.objects.filter(fact__result__streamed_class=streamed_class).values_list(
            "fact", "kind"
        )
    )
    stays = _asked_before(QuestionAsked.objects.filter(fact__result__streamed_class=streamed_class))
    estimated = judged(streamed_class)
    # Of whom the estimate knows the pace nothing is counted out the simple way.
    left = {score.result.member_id for score in scores if score.fact_id not in estimated.known}
    shares, before = _shares(streamed_class, scores) if left else {}, {}
    if shares:
        before = _before(streamed_class, set(shares) & left)
    firsts = _firsts(streamed_class, scores)
    found = []
    for score in scores:
        member = score.result.member_id
        odd = _odd(
            streamed_class,
            score,
            _unlike(estimated, score, shares.get(member), before.get(member, [])),
            estimated.fast.get(score.fact_id, ""),
            is_first=member in firsts,
        )
        found += [
            Question(each.kind.value, each.reason, score.result, score.fact)
            for each in _with_asked(odd, stays.get(score.fact_id, {}))
            if (score.fact_id, each.kind.value) not in answered
        ]
    # Only of those asked about is it told who they are.
    prefetch_related_objects([each.result for each in found], "member")
    return found


def _asked_before(rows: Iterable[QuestionAsked]) -> dict[int, dict[Kind, str]]:
    """Reasons of what was asked once, by fact and kind."""
    found: dict[int, dict[Kind, str]] = {}
    for row in rows:
        found.setdefault(row.fact_id, {})[Kind(row.kind)] = row.reason
    return found


def _with_asked(odd: Iterable[Oddity], stays: Mapping[Kind, str]) -> list[Oddity]:
    """What is odd now, and what was asked once and isn't odd any more."""
    found = list(odd)
    kinds = {each.kind for each in found}
    for kind, reason in stays.items():
        # One thing is asked once: an impossible mark needn't be an unusual one as well.
        if kind not in kinds and not (kind in PACE and kinds & PACE):
            found.append(Oddity(kind, reason))
            kinds.add(kind)
    return found


# Asked for by everybody who opens their own result.
_ANSWERS = Plain(QuestionAnswer, "")
_ASKED = Plain(QuestionAsked, "")


def asked_marks(scores: Iterable[Score], *, are_new: bool = False) -> dict[int, str]:
    """Of a gym's scores, by key, the reasons why a coach is still to look at their marks.

    They come with their fact and their class with its workout and gym. Of a class that the
    estimate has learned from only what was asked before counts, so that a member's whole
    history costs no more than their last class; of an open one what was judged a moment ago
    (``judged_lately``), so that opening a result costs the same in any class. ``are_new`` says
    that their facts were written just now, so that nothing was asked or answered about them
    before.
    """
    by_class: dict[int, list[Score]] = {}
    for score in scores:
        by_class.setdefault(score.streamed_class_id, []).append(score)
    if not by_class:
        return {}
    first = next(iter(by_class.values()))[0]
    answered: set[tuple[int, str]] = set()
    stays: dict[int, dict[Kind, str]] = {}
    if not are_new:
        facts = [score.fact_id for each in by_class.values() for score in each]
        marks = ", ".join(["%s"] * len(facts))
        answers = _ANSWERS.rows(facts, more=f"of.fact_id IN ({marks})")
        answered |= {(row.fact_id, row.kind) for row in answers}
        asked = _ASKED.rows(facts, more=f"of.fact_id IN ({marks})")
        stays |= _asked_before(row for row in asked if row.kind in PACE)
    found: dict[int, str] = {}
    held = latest(gym_id=first.streamed_class.gym_id)
    for own in by_class.values():
        streamed = own[0].streamed_class
        estimated = (
            Judged() if _is_learned(held, streamed, own) else judged_lately(streamed, own, held)
        )
        for score in own:
            odd = _odd(
                streamed,
                score,
                estimated.unlike.get(score.fact_id, ""),
                estimated.fast.get(score.fact_id, ""),
                is_first=False,
            )
            for each in _with_asked(odd, stays.get(score.fact_id, {})):
                if each.kind in PACE and (score.fact_id, each.kind.value) not in answered:
                    found[score.pk] = each.reason
    return found


def _is_learned(held: Held | None, streamed: StreamedClass, scores: Iterable[Score]) -> bool:
    """Whether nothing is left to compare; so without an estimate as well."""
    if held is None or held.made_at is None:
        return True
    if held.class_at(streamed.pk) is None:
        return False
    return all(score.fact.created_at <= held.made_at for score in scores)


def _odd(
    streamed_class: StreamedClass,
    score: Score,
    unlike: str,
    fast_here: str,
    *,
    is_first: bool,
) -> Iterable[Oddity]:
    fact = score.fact
    text, weighted = streamed_class.workout.text, streamed_class.weighted
    fast = _too_fast(text, weighted, fact.mark, fact.options, fact.splits) or fast_here
    reasons = {
        Kind.FAST: fast,
        # Who finds an impossible mark right needn't be asked whether it is an unusual one.
        Kind.UNLIKE: "" if fast else unlike,
        Kind.ALL_OUT: all_out_at_first(fact.effort, is_first=is_first),
    }
    return [Oddity(kind, reason) for kind, reason in reasons.items() if reason]


def _unlike(estimated: Judged, score: Score, share: float | None, before: list[float]) -> str:
    """Why a mark is unlike its member's others. One thing is asked once: by the estimate
    where it knows the member, else by their last classes."""
    found = estimated.unlike.get(score.fact_id, "")
    if found or score.fact_id in estimated.known:
        return found
    return unlike_before(share, before)


@lru_cache(maxsize=20_000)
def _too_fast(text: str, weighted: bool, mark: str, options: str, splits: str) -> str:
    """Hangs on these texts alone, and a page that renews itself asks again and again."""
    on = course(text, weighted)
    return too_fast(
        on, CoreResult(parse_mark(on, mark), parse_choices(on, options), parse_splits(on, splits))
    )


def _shares(streamed_class: StreamedClass, scores: list[Score]) -> dict[int, float]:
    """Each member's pace over the class's median; none where that says nothing.

    The integer key is the pace times a constant, so a quotient of keys is one of paces.
    """
    if not course_of(streamed_class).limit:
        return {}  # a strength piece has no pace
    return _over_median({score.result.member_id: score.key for score in scores})


def _over_median(keys: dict[int, int]) -> dict[int, float]:
    paces = {member: key for member, key in keys.items() if key > 0}
    if len(paces) < LEAST_IN_CLASS:
        return {}
    middle = median(paces.values())
    return {member: key / middle for member, key in paces.items()}


def _before(streamed_class: StreamedClass, members: set[int]) -> dict[int, list[float]]:
    """The same of the members' earlier classes, the newest first."""
    earlier = [
        row.pk
        for row in StreamedClass.objects.filter(
            gym=streamed_class.gym_id, starts_at__lt=streamed_class.starts_at
        )
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("-starts_at", "-pk")[:LAST_CLASSES]
        if course_of(row).limit
    ]
    keys: dict[int, dict[int, int]] = {pk: {} for pk in earlier}
    rows = Score.objects.filter(streamed_class__in=earlier)
    for class_id, member, key in rows.values_list("streamed_class", "result__member", "key"):
        keys[class_id][member] = key
    found: dict[int, list[float]] = {}
    for class_id in earlier:
        for member, share in _over_median(keys[class_id]).items():
            if member in members and len(found.setdefault(member, [])) < LAST_RESULTS:
                found[member].append(share)
    return found


def _firsts(streamed_class: StreamedClass, scores: list[Score]) -> set[int]:
    """Of those who gave all they had, the members without an earlier result."""
    asked = {score.result.member_id for score in scores if score.fact.effort == ALL_OUT}
    if not asked:
        return set()
    had = Result.objects.filter(
        member__in=asked, streamed_class__starts_at__lt=streamed_class.starts_at
    )
    return asked - set(had.values_list("member", flat=True))
