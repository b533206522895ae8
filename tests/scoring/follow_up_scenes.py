"""Classes after which somebody should hear from their coach."""

from datetime import timedelta

from scoring.selectors.follow_up import person_of
from scoring.services.classes import create_class, open_class

from ..conftest import NOW, TWO_LADDERS, add_member
from .classes import log

AFTER = NOW + timedelta(hours=2)
OTHER = "Another evening\ncap 10:00\n\namrap 10:00\n5 hand-release push-up\n10 air squat\n"
LIFT = "Heavy day\n\nmax load, 3 reps\nback squat\n"


def held(people, days=0, text=TWO_LADDERS):
    """A class that many days before the Tuesday of the tests."""
    at = NOW - timedelta(days=days)
    streamed = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=text)
    return open_class(streamed_class=streamed, by=people.coach, now=at)


def found(people, member, streamed=None, now=AFTER):
    """The reasons of a member by name."""
    person = person_of(viewer=people.coach, member=member, now=now, streamed_class=streamed)
    return {one.reason.value: one for one in person.reasons} if person else {}


def falling(people, efforts=(7, 7, 8, 7), marks=("6+0", "4+0", "2+0", "0+0")):
    """Ana slower from class to class, while five others stay where they are."""
    others = [add_member(people.gym, f"Other {n}") for n in range(5)]
    for number, (mark, effort) in enumerate(zip(marks, efforts, strict=True)):
        streamed = held(people, 7 * (len(marks) - 1 - number))
        log(streamed, people.ana, mark, effort=effort)
        for n, other in enumerate(others):
            log(streamed, other, f"{1 + n}+0", effort=5)
    return streamed


def easy_rocks(people, *, effort=6, mark="5+0", option="tuck rock", last=None):
    """Four classes in which Ana does tuck rocks, second of six."""
    others = [add_member(people.gym, f"Other {n}") for n in range(5)]
    for number in range(4):
        streamed = held(people, 7 * (3 - number))
        is_last = number == 3 and last is not None
        log(streamed, people.ana, mark, option, effort=last if is_last else effort)
        for n, other in enumerate(others):
            log(streamed, other, f"{n}+0" if n < 4 else "9+0")
    return streamed


def usual(people, *, times=3, of=6):
    for number in range(of):
        streamed = held(people, 10 - number)
        log(streamed, people.ben, "2+5")
        if number < times:
            log(streamed, people.ana, "2+9")


def first_of(people, member, streamed):
    log(streamed, member, "2+9", effort=10)
    return found(people, member, streamed)["effort"]
