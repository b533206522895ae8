"""A class while its results come in, as its coach watches it."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Max, Q

from members.models import Membership
from scoring import access, boards
from scoring.core.body import advice
from scoring.core.credits import choices_words
from scoring.mapping import course_of
from scoring.models import ChangeRequest, Pain, QuestionAnswer, Score, StreamedClass

from .boards import board_version
from .classes import missing_members
from .estimates import latest
from .questions import Question, questions
from .requests import pains_of, requests_of
from .usual import Usual, usual

PAGE = 25


@dataclass(frozen=True, slots=True)
class Row:
    """A result as it came in. ``options`` are in words, empty as prescribed."""

    score: Score
    rank: int
    options: str


@dataclass(frozen=True, slots=True)
class Hurt:
    """What hurts somebody, with the usual cautions; ``result_id`` if they logged."""

    pain: Pain
    advice: tuple[str, ...]
    result_id: int | None


@dataclass(frozen=True, slots=True)
class Live:
    """``usual_there`` of ``usual_total`` active members who usually come have logged; both
    lists of the missing are by name. ``newest`` is a part, from number ``offset``, of the
    ``listed`` results that were looked for, the newest first."""

    logged: int
    usual: Usual
    usual_total: int
    usual_there: int
    missing_usual: list[Membership]
    missing_others: list[Membership]
    newest: list[Row]
    listed: int
    offset: int
    hurts: list[Hurt]
    waiting: list[ChangeRequest]
    answered: list[ChangeRequest]
    questions: list[Question]

    @property
    def missing(self) -> int:
        return len(self.missing_usual) + len(self.missing_others)


def live(
    *,
    streamed_class: StreamedClass,
    viewer: access.Viewer,
    offset: int = 0,
    limit: int = PAGE,
    name: str = "",
) -> Live | None:
    """How a class stands; ``None`` for who isn't its coach.

    ``name`` leaves only results in ``newest`` whose member is called so, or in part so.
    """
    if not access.may_manage(viewer, streamed_class):
        return None
    # Of all who logged no more is read than who they are: there may be thousands.
    logged = list(
        Score.objects.filter(streamed_class=streamed_class)
        .order_by("-fact__created_at", "-pk")
        .values_list("pk", "result_id", "result__member_id", "result__member__display_name")
    )
    results = {member_id: result_id for _, result_id, member_id, _ in logged}
    regulars = usual(streamed_class)
    missing = missing_members(streamed_class, results)
    missing_usual = [member for member in missing if member.pk in regulars.members]
    usual_there = len(regulars.members & results.keys())
    asked = list(requests_of(streamed_class=streamed_class, viewer=viewer))
    sought = name.strip().casefold()
    listed = [pk for pk, _, _, called in logged if sought in called.casefold()]
    return Live(
        logged=len(logged),
        usual=regulars,
        usual_total=usual_there + len(missing_usual),
        usual_there=usual_there,
        missing_usual=missing_usual,
        missing_others=[member for member in missing if member.pk not in regulars.members],
        newest=_rows(streamed_class, listed[offset : offset + limit]),
        listed=len(listed),
        offset=offset,
        hurts=[
            Hurt(pain, advice(pain.areas), results.get(pain.member_id))
            for pain in pains_of(streamed_class=streamed_class, viewer=viewer)
        ],
        waiting=[row for row in asked if row.answer == ChangeRequest.Answer.WAITING],
        answered=[row for row in asked if row.answer != ChangeRequest.Answer.WAITING],
        questions=questions(streamed_class=streamed_class, viewer=viewer),
    )


def _rows(streamed_class: StreamedClass, listed: list[int]) -> list[Row]:
    read = Score.objects.select_related("result__member", "fact").in_bulk(listed)
    scores = [read[pk] for pk in listed if pk in read]
    pairs = {score.pk: (score.key, score.tie_key) for score in scores}
    if not pairs:
        return []
    places = boards.store().standings(streamed_class, list(pairs.values()), "all").places
    return [
        Row(
            score=score,
            rank=places[pairs[score.pk]].rank,
            options=choices_words(course_of(streamed_class), score.fact.options),
        )
        for score in scores
    ]


def live_version(*, streamed_class: StreamedClass, viewer: access.Viewer) -> str:
    """A short text that changes whenever what ``live`` tells this coach may change."""
    pains = Pain.objects.filter(streamed_class=streamed_class).aggregate(
        n=Count("pk"), last=Max("told_at")
    )
    asked = ChangeRequest.objects.filter(streamed_class=streamed_class).aggregate(
        n=Count("pk"), last=Max("asked_at"), answered=Max("answered_at")
    )
    found_right = QuestionAnswer.objects.filter(
        fact__result__streamed_class=streamed_class
    ).aggregate(n=Count("pk"), last=Max("pk"))
    members = Membership.objects.filter(gym=streamed_class.gym_id).aggregate(
        n=Count("pk", filter=Q(left_at=None)), last=Max("pk")
    )
    held = latest(gym_id=streamed_class.gym_id)  # a new one may ask otherwise
    told: list[object] = [held.pk if held else 0]
    told += [value for row in (pains, asked, found_right, members) for value in row.values()]
    return ".".join([board_version(streamed_class, viewer), *map(_short, told)])


def _short(value: object) -> str:
    timestamp = getattr(value, "timestamp", None)
    return str(timestamp() if timestamp else value or 0)
