"""What pages read of estimates: the last snapshot, or what is held without one."""

import numpy as np
import pytest

from scoring.core.course import Course
from scoring.core.estimation.estimate import prior
from scoring.core.estimation.packing import packed
from scoring.core.estimation.ways import Way
from scoring.core.notation import parse
from scoring.models import EstimateRun, EstimateSnapshot
from scoring.models.immutable import ImmutableError
from scoring.selectors import estimates
from tests.conftest import NOW
from tests.scoring.classes import make_class

pytestmark = pytest.mark.django_db


def keys(*values):
    return np.array(values, dtype="<i8").tobytes()


def snapshot(gym, **fields):
    run = EstimateRun.objects.create(gym=gym, state="good", finished_at=NOW)
    held = estimates.held(gym_id=gym.pk)
    return EstimateSnapshot.objects.create(
        **{
            "run": run, "gym": gym, "fingerprint": "f" * 64, "rules_version": 1,
            "model_version": 1, "code": "", "result_count": 3, "member_count": 2,
            "class_count": 1, "converged": True, "convergence": "", "made_at": NOW,
            "figures": packed(held.estimate), "members": keys(40, 0, 31), "classes": keys(7),
            "results": keys(12, 5, 9), **fields,
        }
    )  # fmt: skip


def test_a_gym_without_results_gets_what_its_boards_and_the_catalogue_say(people):
    assert estimates.latest(gym_id=people.gym.pk) is None
    empty = estimates.held(gym_id=people.gym.pk)
    assert empty.is_prior and len(empty.estimate.ways) == 0
    make_class(people)
    held = estimates.held(gym_id=people.gym.pk)
    assert held.is_prior and held.until is None and held.results == 0
    ways = held.estimate.ways
    tuck = ways.position(Way("hollow rock", "tuck rock"))
    rock = ways.position(Way("hollow rock"))
    assert held.estimate.cost[tuck] - held.estimate.cost[rock] == pytest.approx(np.log(0.75))
    assert held.member_at(people.ana.pk) is None


def test_the_last_snapshot_is_read_with_the_positions_of_its_keys(people):
    snapshot(people.gym, members=keys(1))
    last = snapshot(people.gym)
    snapshot(people.stranger_gym)
    held = estimates.held(gym_id=people.gym.pk)
    assert held.pk == last.pk and not held.is_prior and held.results == 3
    assert [held.member_at(key) for key in (40, 31, 0, 99)] == [0, 2, None, None]
    assert held.class_at(7) == 0 and held.class_at(8) is None
    assert [held.result_at(key) for key in (12, 5, 9, 1, 99)] == [0, 1, 2, None, None]


def test_it_is_read_once_a_process(people, django_assert_num_queries):
    last = snapshot(people.gym)
    first = estimates.latest(gym_id=people.gym.pk)
    with django_assert_num_queries(1):
        assert estimates.latest(gym_id=people.gym.pk) is first
    assert estimates.snapshot(pk=last.pk) is first


def test_one_of_another_model_is_not_read(people):
    snapshot(people.gym, model_version=99)
    assert estimates.latest(gym_id=people.gym.pk) is None


def test_snapshots_are_never_changed(people):
    row = snapshot(people.gym)
    row.left_out = 3
    with pytest.raises(ImmutableError):
        row.save()
    with pytest.raises(ImmutableError):
        EstimateSnapshot.objects.filter(pk=row.pk).update(left_out=3)


def test_a_draft_brings_ways_that_nothing_was_learned_of(people):
    make_class(people)
    held = estimates.held(gym_id=people.gym.pk)
    draft = Course(parse("New\ncap 9:00\n\n9-6\ngoblet squat @ 12 kg\nburpee\n").workout)
    ready = estimates.with_courses(held, [draft])
    ways = ready.estimate.ways
    light, squat = (ways.position(Way("goblet squat", load=load)) for load in ("12", "20"))
    # Twelve of twenty kilograms: 1 - 0.5 (1 - 0.6) = 0.8 by the load rule.
    got = ready.estimate.cost
    assert got[light] - got[squat] == pytest.approx(np.log(0.8))
    assert ways.parent[light] == squat and ways.position(Way("burpee")) is not None
    assert ready.gym_id == held.gym_id and ready.is_prior
    assert estimates.with_courses(ready, [draft]) is ready
    assert prior(ways).covariance == pytest.approx(ready.estimate.covariance)
