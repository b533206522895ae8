"""What a gym's boards say of options: how they call them, and which credits they write."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db.models import Count

from members.models import Gym
from scoring.core.course import Course
from scoring.core.credits import Choice, ChoiceError, parse_choices
from scoring.core.estimation.naming import way_of
from scoring.core.estimation.ways import Way
from scoring.mapping import course, course_of
from scoring.models import Result, State, StreamedClass, Workout

Key = tuple[str, str]
"""A movement and an option's label, as a credit table has them."""

MOST_PLACES = 4
"""So many workouts are named with a credit that they write."""


@dataclass(frozen=True, slots=True)
class Place:
    """A class whose workout writes a credit; a draft's can still be changed."""

    class_id: int
    title: str
    starts_at: datetime
    is_draft: bool


@dataclass(frozen=True, slots=True)
class Written:
    """A credit that workouts write for an option.

    ``classes`` counts those that are no drafts. ``places`` are the drafts first, then the
    newest class of each workout, the newest first.
    """

    credit: Fraction
    classes: int
    places: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class Boards:
    """What boards say. ``offered`` is the most usual name of each way that they offer."""

    offered: dict[Way, Key]
    written: dict[Key, tuple[Written, ...]]


def boards_of(gym: Gym) -> Boards:
    """All boards of a gym. Only what drafts write counts of them, not how they call it."""
    names: dict[Way, Counter[Key]] = {}
    found: dict[Key, dict[Fraction, list[StreamedClass]]] = {}
    rows = StreamedClass.objects.filter(gym=gym).select_related("workout").order_by("pk")
    for streamed in rows:
        seen: set[tuple[Key, Fraction]] = set()
        for line in course_of(streamed).lines:
            for number, option in enumerate(line.line.options):
                key = (line.line.movement, option.label)
                if streamed.state != State.DRAFT:
                    way = way_of(line, Choice(line.index, number))
                    names.setdefault(way, Counter())[key] += 1
                if option.credit is not None and (key, option.credit) not in seen:
                    seen.add((key, option.credit))
                    found.setdefault(key, {}).setdefault(option.credit, []).append(streamed)
    return Boards(
        {way: min(keys, key=lambda key: (-keys[key], key)) for way, keys in names.items()},
        {
            key: tuple(_written(credit, classes) for credit, classes in sorted(credits.items()))
            for key, credits in found.items()
        },
    )


def _written(credit: Fraction, classes: list[StreamedClass]) -> Written:
    newest = sorted(classes, key=lambda c: (c.starts_at, c.pk), reverse=True)
    drafts = [each for each in newest if each.state == State.DRAFT]
    past: dict[int, StreamedClass] = {}
    for each in newest:
        if each.state != State.DRAFT:
            past.setdefault(each.workout_id, each)
    shown = (*drafts, *past.values())[:MOST_PLACES]
    return Written(
        credit,
        len(classes) - len(drafts),
        tuple(
            Place(each.pk, each.workout.title, each.starts_at, each.state == State.DRAFT)
            for each in shown
        ),
    )


def _courses(gym_id: int) -> Iterator[tuple[Course, int]]:
    """Every workout that classes gave, and in how many."""
    rows = (
        StreamedClass.objects.filter(gym=gym_id)
        .exclude(state=State.DRAFT)
        .order_by()
        .values_list("workout")
        .annotate(count=Count("pk"))
    )
    counts = dict(rows)
    for workout in Workout.objects.filter(pk__in=counts).order_by("pk"):
        yield course(workout.text, weighted=False), counts[workout.pk]


def prescribed_in(gym_id: int) -> Counter[Way]:
    """In how many classes each way is as prescribed."""
    found: Counter[Way] = Counter()
    for each, classes in _courses(gym_id):
        for way in {way_of(line) for line in each.lines}:
            found[way] += classes
    return found


def swapped_loads(gym_id: int) -> set[Way]:
    """Ways that are a movement with a load that somebody took in place of the prescribed one."""
    rows = (
        Result.objects.filter(
            streamed_class__gym=gym_id,
            current__is_withdrawn=False,
            current__options__contains=" @ ",
        )
        .order_by()
        .values_list("streamed_class__workout", "current__options")
        .distinct()
    )
    by_workout: dict[int, set[str]] = {}
    for workout, options in rows.iterator():
        by_workout.setdefault(workout, set()).add(options)
    found: set[Way] = set()
    for held in Workout.objects.filter(pk__in=by_workout):
        found.update(_chosen(course(held.text, weighted=False), by_workout[held.pk]))
    return {way for way in found if not way.option}


def _chosen(written: Course, options: Iterable[str]) -> Iterator[Way]:
    for text in options:
        try:
            choices = parse_choices(written, text)
        except ChoiceError:
            continue  # can't be read any more, so it teaches nothing either
        for choice in choices:
            yield way_of(written.lines[choice.line], choice)
