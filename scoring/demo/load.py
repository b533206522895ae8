"""Loads the invented gym through the same services that people use."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from allauth.account.models import EmailAddress

from members.models import Gym, Membership, Role, User
from scoring.core.course import Course
from scoring.core.credits import CreditTable
from scoring.mapping import course_of, prescription
from scoring.models import MessageSettings, StreamedClass
from scoring.services.classes import close_class, create_class, open_class
from scoring.services.credits import new_table
from scoring.services.submitting import ResultInput, submit_result

from .scenario import COACHES, CREDITS, FIRST, GYM, LAST, OWNER, WORKOUTS
from .simulation import Form, new_form, perform

WEEKS = 12
MEMBERS = 60


def is_loaded() -> bool:
    """Whether there is any gym here already."""
    return Gym.objects.exists()


def _person(gym: Gym, name: str, role: str, joined: datetime) -> Membership:
    email = name.lower().replace(" ", ".") + "@example.org"
    user = User.objects.create_user(email)
    # As if each had signed in by a code before: letters reach them.
    EmailAddress.objects.filter(user=user).update(verified=True)
    person = Membership.objects.create(
        gym=gym,
        user=user,
        display_name=name,
        role=role,
        joined_at=joined,
    )
    # A coach's letter does; but nothing goes out by itself where nobody is.
    MessageSettings.objects.create(member=person, opened=False, reminder=False, closed=False)
    return person


def load(
    *,
    now: datetime,
    seed: int = 7,
    opened: Callable[[StreamedClass, int], None] = lambda streamed, left: None,
) -> Gym:
    """Make the gym: twelve weeks of three classes, the last one open and half logged, with one
    figure in it that slipped, so that there is something to ask its coach.

    ``opened`` is told of each class before anybody logs in it, and how many are to follow.
    """
    dice = random.Random(seed)
    gym = Gym.objects.create(name=GYM, slug="lantern-quay", timezone="Europe/Lisbon", is_demo=True)
    start = now - timedelta(weeks=WEEKS)
    _person(gym, OWNER, Role.OWNER, start)
    coaches = [_person(gym, name, Role.COACH, start) for name in COACHES]
    table = CreditTable(options=CREDITS)
    new_table(gym=gym, table=table, by=coaches[0], reason="what our coaches agreed on")
    names = [
        f"{FIRST[i % len(FIRST)]} {LAST[(i * 7 + i // len(FIRST) * 3) % len(LAST)]}"
        for i in range(MEMBERS)
    ]
    people = [_person(gym, name, Role.MEMBER, start) for name in dict.fromkeys(names)]
    forms = {person.pk: new_form(dice) for person in people}
    total = WEEKS * 3
    for number in range(total):
        # Three evenings a week, and the last class an hour ago.
        starts_at = now - timedelta(hours=1, days=(total - 1 - number) * 7 / 3)
        if number < total - 1:
            evening = starts_at.astimezone(ZoneInfo(gym.timezone)).replace(hour=18, minute=30)
            starts_at = evening.replace(second=0, microsecond=0)
        streamed = _class(gym, coaches[number % 2], WORKOUTS[number % len(WORKOUTS)], starts_at)
        opened(streamed, total - 1 - number)
        is_last = number == total - 1
        _results(dice, streamed, people, forms, share=0.5 if is_last else 1.0)
        if is_last:
            _slip(streamed)
        else:
            close_class(streamed_class=streamed, by=streamed.coach, now=starts_at)
        if number % 3 == 2:
            for form in forms.values():
                form.drift(dice)
    create_class(
        gym=gym,
        coach=coaches[0],
        starts_at=now + timedelta(days=2),
        text=WORKOUTS[0],
        note="A draft: only coaches see it.",
    )
    return gym


def _class(gym: Gym, coach: Membership, text: str, starts_at: datetime) -> StreamedClass:
    streamed = create_class(
        gym=gym, coach=coach, starts_at=starts_at, text=text, now=starts_at - timedelta(days=2)
    )
    return open_class(streamed_class=streamed, by=coach, now=starts_at)


def _results(
    dice: random.Random,
    streamed: StreamedClass,
    people: list[Membership],
    forms: dict[int, Form],
    *,
    share: float,
) -> None:
    course = course_of(streamed)
    seconds = Course(prescription(streamed.workout.text), weighted=True)
    for person in people:
        form = forms[person.pk]
        if dice.random() > form.attends * share:
            continue
        mark, options, splits = perform(dice, course, seconds, form)
        submit_result(
            streamed_class=streamed,
            member=person,
            entered_by=person,
            data=ResultInput(mark=mark, options=options, splits=splits, effort=dice.randint(5, 9)),
            key="",
            now=streamed.starts_at + timedelta(minutes=30),
        )


def _slip(streamed: StreamedClass) -> None:
    """Somebody presses a key twice: 3+9 is logged as 33+9."""
    results = streamed.results.filter(current__mark__contains="+").order_by("-pk")
    for result in results.select_related("member", "current"):
        fact = result.current
        if fact is None or fact.mark.startswith("0"):
            continue
        submit_result(
            streamed_class=streamed,
            member=result.member,
            entered_by=result.member,
            data=ResultInput(
                mark=f"{fact.mark[0]}{fact.mark}",
                options=fact.options,
                splits=fact.splits,
                effort=fact.effort,
            ),
            key="",
            now=streamed.starts_at + timedelta(minutes=31),
        )
        return
