"""Classes beside each other: by class, week, coach, time of day, weekday."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log
from typing import Any
from zoneinfo import ZoneInfo

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from members.models import Membership
from scoring.core import compare_words as words
from scoring.core.comparing import Estimate
from scoring.core.estimation.class_words import short_text
from scoring.problems import Item, Refused
from scoring.selectors.compare import Comparison, Group, compare
from scoring.selectors.compare_asked import BY, read_asked, usual
from scoring.selectors.levels import class_effects

from .interval_bar import Bar, interval_bar, unbroken
from .viewer import coaches_only

GROUPS_A_PAGE = 24
NAMES = {
    "logged": "Logged, of those who usually come",
    "prescribed": "As prescribed",
    "effort": "Effort, 0 to 10",
    "pace": "Pace, 100: the same people's mean",
}
NOTHING = {"logged": "nobody usually came yet", "prescribed": "no results"}
LEAST_REACH = log(1.1)
MOST_REACH = log(2)


@dataclass(frozen=True, slots=True)
class Measure:
    """A figure of a group in words, how it differs, and its picture where there is one."""

    name: str
    text: str
    differs: str
    is_clear: bool
    bar: Bar | None


@dataclass(frozen=True, slots=True)
class Card:
    """A group as the page shows it. ``effect`` is of a single class that has been learned
    from, else empty."""

    group: Group
    pk: int | None
    measures: list[Measure]
    effect: str = ""


@require_safe
@coaches_only
def compare_page(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """The page: what to compare, then a card for each group."""
    now = timezone.now()
    today = now.astimezone(ZoneInfo(viewer.gym.timezone)).date()
    given = {name: request.GET.get(name, "") for name in ("by", "from", "to")}
    faults: list[Item] = []
    found: Comparison | None = None
    try:
        asked = read_asked(by=given["by"], first=given["from"], last=given["to"], today=today)
        found = compare(viewer=viewer, asked=asked, now=now)
        given = {"by": asked.by, "from": str(asked.first), "to": str(asked.last)}
    except Refused as refused:
        faults, asked = refused.items, usual(today)
    cards = cards_of(found) if found else []
    page = Paginator(cards, GROUPS_A_PAGE).get_page(request.GET.get("page"))
    page.object_list = with_effects(list(page.object_list), viewer)
    context = {
        "given": given,
        "ways": BY.items(),
        "faults": faults,
        "fault": {item.column: f"{item.problem} {item.suggestion}" for item in faults},
        "asked": asked,
        "whole": _card(found.whole, found, 1.0) if found and found.whole else None,
        "page": page,
        "query": "&".join(f"{name}={value}" for name, value in given.items()),
        "chance": words.CHANCE,
    }
    return render(request, "scoring/coach/compare.html", context, status=422 if faults else 200)


def cards_of(found: Comparison) -> list[Card]:
    """One card for each group, all on the same scales."""
    paces = [group.measures.pace for group in found.groups]
    reach = [abs(end) for p in paces if not p.is_from_few for end in (p.low, p.high) if end]
    widest = min(MOST_REACH, max([LEAST_REACH, *reach]))
    return [_card(group, found, widest) for group in found.groups]


def with_effects(cards: Sequence[Card], viewer: Membership) -> list[Card]:
    """The same, each of a single class with what was common to all in it."""
    classes = [card.group.classes[0] for card in cards if card.pk is not None]
    effects = class_effects(classes=classes, viewer=viewer)
    return [
        replace(card, effect=unbroken(short_text(effects[card.pk])))
        if card.pk is not None and card.pk in effects
        else card
        for card in cards
    ]


def _card(group: Group, found: Comparison, widest: float) -> Card:
    is_class = found.asked.by == "class" and len(group.classes) == 1 and bool(group.differs)
    whole = found.whole.measures if found.whole and group.differs else None
    measures = []
    for name, label in NAMES.items():
        figure = getattr(group.measures, name)
        how = group.differs.get(name, "alone")
        text = measure_text(group, name)
        measures.append(
            Measure(
                label,
                unbroken(text),
                ""
                if "too few" in text and how == "few"
                else words.differs_text(name, how, group.pace_by),
                how in ("higher", "lower"),
                _bar(name, figure, getattr(whole, name) if whole else None, widest, text)
                if group.differs
                else None,
            )
        )
    return Card(group, group.classes[0].pk if is_class else None, measures)


def _says_few(text: str, how: str) -> bool:
    """Whether the figure's own words say already that it is from too few."""
    return how == "few" and "too few" in text


def measure_text(group: Group, name: str) -> str:
    """A figure of a group in words."""
    measures = group.measures
    if name == "effort":
        return words.effort_text(measures.effort)
    if name == "pace":
        if not group.differs:
            return "100: what the others are beside"
        return words.pace_text(measures.pace, group.pace_by)
    return words.share_text(getattr(measures, name), NOTHING[name])


def _bar(name: str, figure: Any, whole: Estimate | None, widest: float, told: str) -> Bar | None:
    if figure is None or figure.is_from_few or figure.low is None:
        return None
    middle = whole.value if whole else None
    told = f"{NAMES[name]}: {told}"
    if name == "effort":
        ends = ("0", "10")
        return interval_bar(
            figure.value, figure.lower, figure.upper,
            scale=(0, 10), ends=ends, told=told, middle=middle,
        )  # fmt: skip
    if name == "pace":
        ends = (f"{round(100 * exp(-widest))}", f"{round(100 * exp(widest))}")
        return interval_bar(
            figure.value, figure.low, figure.high,
            scale=(-widest, widest), ends=ends, told=told, middle=0.0,
        )  # fmt: skip
    return interval_bar(
        figure.value, figure.low, figure.high,
        scale=(0, 1), ends=("0 %", "100 %"), told=told, middle=middle,
    )  # fmt: skip
