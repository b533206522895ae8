"""How members usually do a movement: as prescribed, by which option, with which load."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from scoring import mapping
from scoring.core.course import Course, CourseLine
from scoring.core.credits import Choice, parse_choices
from scoring.core.estimation.naming import load_text
from scoring.core.prescription import Load
from scoring.models import Score, Setup, State, StreamedClass

LOOK_BACK = 36
"""So many of the gym's last classes are looked at."""

LAST = 6
"""So many times that a member did a movement say how they usually do it."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A movement done in its place, empty for itself, and a load that isn't the board's."""

    movement: str = ""
    load: Load | None = None


AS_PRESCRIBED = Habit()

Habits = Mapping[int, Mapping[str, Habit]]
"""By member and movement of the board; where there is none nothing is known."""


def habits(*, gym_id: int, members: Iterable[int], before: datetime) -> Habits:
    """How each member most often did each movement of late, the later one of equals. Of a
    movement that somebody has not done, what they told that they usually take.

    Where somebody changed within a line, what they did most of it by is unknown as often as
    not, so the first change they told of is taken.
    """
    classes = list(
        StreamedClass.objects.filter(gym=gym_id, starts_at__lt=before)
        .exclude(state=State.DRAFT)
        .select_related("workout")
        .order_by("-starts_at", "-pk")[:LOOK_BACK]
    )
    by_key = {streamed.pk: streamed for streamed in classes}
    rows = Score.objects.filter(
        streamed_class__in=classes, result__member__in=list(members)
    ).values_list("streamed_class", "result__member", "fact__options")
    told: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for class_id, member, options in rows:
        told[class_id][options].append(member)
    done: dict[int, dict[str, list[Habit]]] = defaultdict(lambda: defaultdict(list))
    for class_id in by_key:
        course = mapping.course_of(by_key[class_id])
        for options, who in told.get(class_id, {}).items():
            did = _did(course, options)
            for member in who:
                for movement, habit in did:
                    if len(done[member][movement]) < LAST:
                        done[member][movement].append(habit)
    found = {
        member: {movement: _usual(these) for movement, these in by_movement.items()}
        for member, by_movement in done.items()
    }
    setups = Setup.objects.filter(member__in=list(members)).values_list("member", "usual")
    for member, usual in setups:
        own = found.setdefault(member, {})
        for movement, label in usual.items():
            own.setdefault(movement, Habit(label.partition(" @ ")[0]))
    return found


def _usual(newest_first: Sequence[Habit]) -> Habit:
    """The most frequent; ``Counter`` keeps the order, so of equals the newest."""
    return Counter(newest_first).most_common(1)[0][0]


def _did(course: Course, options: str) -> list[tuple[str, Habit]]:
    """How each line was done by somebody who told these options."""
    told: dict[int, Choice] = {}
    for choice in parse_choices(course, options):
        told.setdefault(choice.line, choice)
    return [(line.line.movement, _habit(line, told.get(line.index))) for line in course.lines]


def _habit(course_line: CourseLine, choice: Choice | None) -> Habit:
    if choice is None:
        return AS_PRESCRIBED
    line = course_line.line
    option = None if choice.option is None else line.options[choice.option]
    load = choice.load or (option.load if option else None)
    movement = option.movement if option and option.movement != line.movement else ""
    return Habit(movement, load)


def choice_for(course_line: CourseLine, habit: Habit) -> Choice | None:
    """A habit as a choice that this line allows; ``None`` is as prescribed.

    A movement that isn't offered here can't be taken, so the line is done as prescribed. Of
    an option that stands there with several loads the one nearest to the usual load is taken.
    """
    line = course_line.line
    if habit.movement:
        offered = [n for n, o in enumerate(line.options) if o.movement == habit.movement]
        if not offered:
            return None
        wanted = _kilograms(habit.load)
        nearest = min(offered, key=lambda n: (abs(_kilograms(line.options[n].load) - wanted), n))
        return Choice(course_line.index, nearest)
    if habit.load is None or line.load is None:
        return None
    if min(line.load.kilograms) <= _kilograms(habit.load) <= max(line.load.kilograms):
        return None
    for number, option in enumerate(line.options):
        if option.movement == line.movement and load_text(option.load) == load_text(habit.load):
            return Choice(course_line.index, number)
    return Choice(course_line.index, load=habit.load)


def _kilograms(load: Load | None) -> float:
    return float(load.kilograms[0]) if load else 0.0
