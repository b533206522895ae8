"""A workout that was given again: its runs beside each other."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core import compare_words as words
from scoring.core.comparing import Estimate
from scoring.selectors.runs import Run, runs_of

from .finish_table import finish_table
from .interval_bar import Bar, interval_bar, unbroken
from .viewer import coaches_only

LEAST_REACH = log(1.1)
MOST_REACH = log(2)


@dataclass(frozen=True, slots=True)
class RunShown:
    """A run in words, with a picture of its change where it can be said."""

    run: Run
    marks: str
    prescribed: str
    effort: str
    change: str
    bar: Bar | None


def change_of(run: Run) -> str:
    """What changed since the run before, in words."""
    if run.is_first:
        return "the first run"
    if not run.is_alike:
        return "reps weigh otherwise than the time before, so the two don't compare"
    return words.change_text(run.change)


def shown(runs: list[Run]) -> list[RunShown]:
    """The newest first, all changes on one scale."""
    told = [run.change for run in runs if run.change and not run.change.is_from_few]
    ends = [abs(end) for change in told for end in (change.low, change.high) if end is not None]
    widest = min(MOST_REACH, max([LEAST_REACH, *ends]))
    found = []
    for run in reversed(runs):
        text, bar = change_of(run), None
        change = run.change
        if change and not change.is_from_few:
            bar = _bar(change, widest, text)
        found.append(
            RunShown(
                run,
                " and ".join(run.marks),
                unbroken(words.share_text(run.prescribed, "no results")),
                words.effort_text(run.effort),
                unbroken(text),
                bar,
            )
        )
    return found


def _bar(change: Estimate, widest: float, text: str) -> Bar | None:
    if change.value is None or change.low is None or change.high is None:
        return None
    slower, faster = 100 - 100 * exp(-widest), 100 * exp(widest) - 100
    return interval_bar(
        change.value,
        change.low,
        change.high,
        scale=(-widest, widest),
        ends=(f"−{round(slower)} %", f"+{round(faster)} %"),
        told=f"Change since the run before: {text}",
        middle=0.0,
    )


@require_safe
@coaches_only
def workout_runs(request: HttpRequest, viewer: Membership, pk: int) -> HttpResponse:
    """Each time a workout was given, the newest first."""
    found = runs_of(viewer=viewer, pk=pk, now=timezone.now())
    if found is None:
        raise Http404
    context = {
        "workout": found.workout,
        "runs": shown(found.runs),
        "chance": words.CHANCE,
        "finishers": finish_table(found.finishers) if found.finishers else None,
    }
    return render(request, "scoring/coach/runs.html", context)
