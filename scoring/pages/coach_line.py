"""The one line by which a coach logs for somebody: what it comes to, and what is asked."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from members.keys import is_key
from members.models import Membership
from members.selectors import members_of
from scoring import enqueue, metrics
from scoring.core.credits import choices_words
from scoring.core.marks import examples
from scoring.mapping import course_of
from scoring.models import Fact, State, StreamedClass
from scoring.problems import Item, Refused
from scoring.selectors.asked_first import asked_first
from scoring.services.line_reading import LineRead
from scoring.services.lines import log_line

MOST_ANSWERS = 20
USUAL_REASON = "As told to me."


@dataclass(slots=True)
class LineForm:
    """The state of the form. ``answered`` are doubts that were settled, part and answer;
    ``done`` is the fact that was kept last, with what can be said of it."""

    text: str = ""
    member: str = ""
    key: str = ""
    reason: str = ""
    read: LineRead | None = None
    items: list[Item] = field(default_factory=list)
    answered: list[tuple[str, str]] = field(default_factory=list)
    example: str = ""
    names: list[str] = field(default_factory=list)
    needs_reason: bool = False
    has_focus: bool = False
    done: dict[str, Any] | None = None
    was_options: str = ""

    @property
    def doubts(self) -> list[dict[str, Any]]:
        """What is to be asked of the line's parts; those that were answered have the first
        numbers."""
        if self.read is None:
            return []
        return [
            {
                "number": number,
                "text": doubt.text,
                "words": doubt.words,
                "choices": doubt.choices,
                "can_leave": doubt.column != "mark",
            }
            for number, doubt in enumerate(self.read.reading.doubts, len(self.answered) + 1)
        ]

    @property
    def asks_correction(self) -> bool:
        """Whether only the changing of a result that is there is still to be asked."""
        return self.read is not None and not self.read.asks and self.read.asks_correction


def line_form(request: HttpRequest, viewer: Membership, streamed: StreamedClass) -> LineForm:
    """The form as it stands at first, with a name put into it (``for``) or after ``done``."""
    form = LineForm(key=uuid.uuid4().hex, needs_reason=streamed.state == State.CLOSED)
    people = list(members_of(streamed.gym))
    form.names = list(dict.fromkeys(row.display_name for row in people))
    course = course_of(streamed)
    first = form.names[0].split()[0] if form.names else "Name"
    option = next((o.label for line in course.lines for o in line.line.options), "")
    mark = examples(course).split(" (")[0].split(" if ")[0].split(", or")[0]
    form.example = f"{first} {mark}" + (f", {option}" if option else "") + ", effort 7"
    asked = request.GET.get("for", "")
    chosen = next((row for row in people if is_key(asked) and row.pk == int(asked)), None)
    if chosen is not None:
        form.text, form.member, form.has_focus = f"{chosen.display_name} ", str(chosen.pk), True
    form.done = _done(request.GET.get("done", ""), viewer, streamed)
    form.has_focus = form.has_focus or form.done is not None
    return form


def _done(asked: str, viewer: Membership, streamed: StreamedClass) -> dict[str, Any] | None:
    fact = (
        Fact.objects.filter(
            pk=int(asked) if is_key(asked) else 0,
            result__streamed_class=streamed,
            entered_by=viewer,
            is_withdrawn=False,
        )
        .select_related("result__member", "result__score")
        .first()
    )
    if fact is None or fact.result.current_id != fact.pk:
        return None
    return {
        "fact": fact,
        "name": fact.result.member.display_name,
        "options": choices_words(course_of(streamed), fact.options),
        "score": getattr(fact.result, "score", None),
    }


def log_the_line(
    request: HttpRequest, viewer: Membership, streamed: StreamedClass, form: LineForm
) -> HttpResponse | None:
    """Keep what was sent, and lead to where it can be seen and undone; ``None`` if something
    must be asked or can't be, and then the form says so and has all that was typed."""
    post = request.POST
    form.text, form.key = post.get("line", ""), post.get("key", "")[:255] or form.key
    form.reason, form.has_focus, form.done = post.get("reason", ""), True, None
    form.member = next((m for m in reversed(post.getlist("member")) if is_key(m)), "")
    form.answered = _answers(request)
    try:
        line = log_line(
            streamed_class=streamed,
            by=viewer,
            line=form.text,
            key=form.key,
            now=timezone.now(),
            member=int(form.member) if form.member else None,
            answers=dict(form.answered),
            correct="correct" in post,
            reason=form.reason,
            ask_first=lambda whose, result: asked_first(
                streamed_class=streamed, member_id=whose, result=result, of="them"
            ),
        )
    except Refused as refused:
        form.items = refused.items
        if refused.kind == "conflict":
            form.key = uuid.uuid4().hex
            form.items = [Item("", "You sent this before and then changed it.", "Send it again.")]
        form.needs_reason = form.needs_reason or any(i.column == "reason" for i in refused.items)
        return None
    if line.done is None:
        form.read = line.read
        if form.asks_correction:
            form.needs_reason, form.reason = True, form.reason or USUAL_REASON
            current = line.read.before.current if line.read.before else None
            form.was_options = (
                choices_words(course_of(streamed), current.options) if current else ""
            )
        return None
    metrics.result_sent("coach", line.done)
    if not line.done.replayed:
        enqueue.result_corrected(fact_id=line.done.fact.pk)
    where = reverse("class-manage", args=[streamed.pk])
    return redirect(f"{where}?{urlencode({'done': line.done.fact.pk})}#log")


def _answers(request: HttpRequest) -> list[tuple[str, str]]:
    """What was picked for each doubtful part: ``part-1`` with ``answer-1`` and so on."""
    post = request.POST
    found = []
    for number in range(1, MOST_ANSWERS + 1):
        part, answer = post.get(f"part-{number}", ""), post.get(f"answer-{number}")
        if part and answer is not None:
            found.append((part, answer))
    return found
