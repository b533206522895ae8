"""What a member has, and what that makes of a class."""

from __future__ import annotations

from collections import Counter

from django.db.models import F

from members.models import Membership
from scoring import access
from scoring.core.credits import parse_choices
from scoring.core.fitting import Fit, my_version
from scoring.mapping import course_of, rules_of, setup_of
from scoring.models import Fact, Setup, StreamedClass

LOOKED_AT = 30


def setup_for(*, member: Membership, viewer: access.Viewer) -> Setup | None:
    """What a member told, for themselves and their coaches; ``None`` if nothing."""
    if not access.may_see_history(viewer, member):
        return None
    return Setup.objects.filter(member=member).first()


def version_for(*, streamed_class: StreamedClass, member: Membership) -> tuple[Fit, ...]:
    """A member's own version of a class, a fit for each line of its course."""
    row = Setup.objects.filter(member=member).first()
    return my_version(course_of(streamed_class), rules_of(streamed_class), setup_of(row))


def habits_seen(*, member: Membership, viewer: access.Viewer) -> dict[str, str]:
    """The option a member took most at each movement lately, where it was more than half.

    Something to suggest as usual, by the movement it stands for.
    """
    if not access.may_see_history(viewer, member):
        return {}
    facts = (
        Fact.objects.filter(result__member=member, result__score__fact_id=F("pk"))
        .select_related("result__streamed_class__workout")
        .order_by("-created_at")[:LOOKED_AT]
    )
    taken: dict[str, Counter[str]] = {}
    for fact in facts:
        course = course_of(fact.result.streamed_class)
        by_line = {choice.line: choice for choice in parse_choices(course, fact.options)}
        for line in course.lines:
            choice = by_line.get(line.index)
            option = ""
            if choice is not None and choice.option is not None:
                option = line.line.options[choice.option].label
            taken.setdefault(line.line.movement, Counter())[option] += 1
    found = {}
    for movement, counts in taken.items():
        option, times = counts.most_common(1)[0]
        if option and times * 2 > counts.total():
            found[movement] = option
    return found
