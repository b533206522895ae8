"""The class on one screen, and as a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.formats import date_format
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core.course import CourseSet
from scoring.core.estimation import class_words
from scoring.core.estimation.level_words import UNSETTLED
from scoring.core.prescription import clock_text
from scoring.core.told_class import percent
from scoring.selectors.forecast_record import none_kept
from scoring.selectors.forecasts import typical
from scoring.selectors.levels import ClassEffectSeen, class_effect_of
from scoring.selectors.paces import pace as pace_of
from scoring.selectors.questions import questions
from scoring.selectors.review import Review, review
from scoring.selectors.review_file import review_file
from scoring.selectors.review_rows import Row

from .crowd_picture import picture
from .forecast_record import beside_context
from .interval_bar import Bar, interval_bar, unbroken
from .review_tables import ROW, blocks_table, effort_bars, last_table, stopped_table, used_table
from .viewer import class_to_manage, coaches_only

LEAST_REACH = 10.0
"""Percent to each side that the picture of a class's effect shows at the least."""


@require_safe
@coaches_only
def class_review(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """What happened in a class: a paragraph, and under it the figures of every claim."""
    streamed = class_to_manage(viewer, pk)
    found = review(streamed_class=streamed, viewer=viewer)
    context: dict[str, object] = {"streamed": streamed, "review": found}
    if found is not None:
        pace = found.pace or typical(gym=streamed.gym, workout=found.course.workout)
        waiting = questions(streamed_class=streamed, viewer=viewer)
        asked = {each.result.pk for each in waiting if each.is_of_mark}
        context |= _told(found, pace.lengths if pace else None, asked)
        context["questions"] = len(waiting)
        context["is_learned"] = pace is not None
        seen = class_effect_of(streamed_class=streamed, viewer=viewer)
        context["effect"] = effect_shown(seen) if seen else None
        context["forecast"] = beside_context(found.foreseen) if found.foreseen else None
        context["no_forecast"] = "" if found.foreseen else none_kept(streamed)
    return render(request, "scoring/coach/review.html", context)


@require_safe
@coaches_only
def class_review_csv(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Everybody's result for a spreadsheet, with names as the coach sees them."""
    streamed = class_to_manage(viewer, pk)
    found = review(streamed_class=streamed, viewer=viewer)
    if found is None:
        raise Http404
    answer = HttpResponse(review_file(found), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="review-{pk}.csv"'
    return answer


@dataclass(frozen=True, slots=True)
class EffectShown:
    """Whether it was the workout or the day, in words, with its picture where it is known."""

    text: str
    bar: Bar | None
    source: str
    why: str


def effect_shown(seen: ClassEffectSeen) -> EffectShown:
    """The effect of a class as the page shows it."""
    found = seen.effect
    if found is None:
        return EffectShown(class_words.nothing_text(), None, "", class_words.WHY)
    text = class_words.effect_text(found, seen.times)
    reach = max(LEAST_REACH, abs(found.low), abs(found.high))
    until = f" until {date_format(seen.until, 'j F Y')}" if seen.until else ""
    then = f", {seen.times.others.results:,} of this workout's other times" if seen.times else ""
    return EffectShown(
        text=unbroken(text),
        bar=interval_bar(
            found.percent, found.low, found.high,
            scale=(-reach, reach), ends=("faster", "slower"), told=text, middle=0.0,
        ),
        source=f"From {found.results:,} results here{then}, and {seen.known:,} of the gym{until}."
        + ("" if seen.is_settled else f" {UNSETTLED}"),
        why=class_words.WHY,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Quarter:
    """``share`` of the class had stopped by a place."""

    share: str
    place: str
    has_finished: bool


def _share_text(found: Review) -> str:
    share = found.plan.share if found.plan else None
    return "" if share is None else f"{round(share * 100)} %"


def _told(
    found: Review, lengths: Callable[[CourseSet], Fraction] | None, asked: set[int]
) -> dict[str, object]:
    """What the page shows beside the review itself, as text."""
    quarters: list[tuple[str, str, Row]] = []
    if found.quarters:
        four = found.quarters
        quarters = [("¼", "a quarter", four.low), ("½", "half", four.half)]
        quarters += [("¾", "three quarters", four.high)]
    efforts = effort_bars(found.effort)
    return {
        "picture": picture(
            found.course, found.rows, [(sign, row) for sign, _, row in quarters], lengths, asked
        )
        if found.rows
        else None,
        "quarters": [
            Quarter(words, row.place, row.stop.seconds is not None) for _, words, row in quarters
        ],
        "shares": {
            "logged": percent(found.logged, found.members) if found.members else "",
            "prescribed": percent(found.prescribed, found.logged) if found.rows else "",
            "finished": percent(found.finished, found.logged) if found.rows else "",
        },
        "stopped": stopped_table(found),
        "blocks": blocks_table(found),
        "used": used_table(found),
        "efforts": efforts,
        "efforts_height": len(efforts) * ROW + 2,
        "middle_share": _share_text(found),
        "last": last_table(found),
        "can_finish": found.kind == "course" and not found.course.is_endless,
        "everybody": [
            {
                "row": row,
                "pace": pace_of(row.score, found.streamed_class),
                "splits": ", ".join(
                    f"block {number} {clock_text(split)}"
                    for number, split in sorted(row.splits.items())
                ),
            }
            for row in found.rows
        ],
        "pace_unit": "kg" if found.kind == "lift" else "Pace",
    }
