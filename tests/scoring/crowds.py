"""Classes of hundreds, quickly: the demo's simulation, written in bulk."""

import random
from datetime import timedelta

from members.models import Membership, Role, User
from scoring.core.course import Course
from scoring.core.credits import parse_choices
from scoring.core.marks import parse_mark
from scoring.core.scoring import RULES_VERSION, parse_splits
from scoring.core.scoring import Result as CoreResult
from scoring.core.scoring import score as score_of
from scoring.demo.simulation import new_form, perform
from scoring.mapping import course_of, fact_texts, prescription, rules_of, score_fields
from scoring.models import Fact, Result, Score


def many_members(gym, count):
    """Members of a gym, all with names of their own."""
    users = User.objects.bulk_create(
        [User(email=f"many{gym.pk}.{n}@example.org") for n in range(count)]
    )
    return Membership.objects.bulk_create(
        [
            Membership(gym=gym, user=user, display_name=f"Member {n:03}", role=Role.MEMBER)
            for n, user in enumerate(users)
        ]
    )


def crowd(streamed, members, seed=1):
    """Log for each of ``members`` what the simulation makes of them; their scores."""
    dice = random.Random(seed)
    course, rules = course_of(streamed), rules_of(streamed)
    seconds = Course(prescription(streamed.workout.text), weighted=True)
    results = Result.objects.bulk_create(
        [Result(streamed_class=streamed, member=member) for member in members]
    )
    facts, scores = [], []
    for result in results:
        mark, options, splits = perform(dice, course, seconds, new_form(dice))
        core = CoreResult(
            mark=parse_mark(course, mark),
            choices=parse_choices(course, options),
            splits=parse_splits(course, "; ".join(f"block {n} {s}" for n, s in splits.items())),
        )
        facts.append(
            Fact(
                result=result,
                number=1,
                effort=dice.randint(5, 9),
                entered_by=result.member,
                created_at=streamed.starts_at + timedelta(minutes=30),
                **fact_texts(course, core),
            )
        )
        scores.append(score_fields(score_of(course, core, rules)))
    facts = Fact.objects.bulk_create(facts)
    for result, fact in zip(results, facts, strict=True):
        result.current = fact
    Result.objects.bulk_update(results, ["current"])
    return Score.objects.bulk_create(
        [
            Score(
                result=result,
                streamed_class=streamed,
                fact=fact,
                rules_version=RULES_VERSION,
                credit_table_id=streamed.credit_table_id,
                **fields,
            )
            for result, fact, fields in zip(results, facts, scores, strict=True)
        ]
    )
