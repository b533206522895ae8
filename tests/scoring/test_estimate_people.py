"""Estimates and people: who is erased is in none, a copy of one's data has one's own levels."""

from datetime import timedelta

import numpy as np
import pytest

from scoring import snapshots
from scoring.core.estimation.packing import unpacked
from scoring.models import Erasure, EstimateSnapshot, Result
from scoring.selectors import estimates
from scoring.services import estimating
from scoring.services.erasing import erase
from scoring.services.estimate_runs import waiting
from scoring.services.own_data import own_data

from ..conftest import NOW
from .past_classes import held_class, made


class TestErasing:
    def erased(self, people, member, results):
        row = Erasure.objects.create(
            user=member.user, results=results, due_at=NOW - timedelta(days=1)
        )
        assert erase(pk=row.pk, now=NOW)

    @pytest.mark.parametrize("results", ["anonymous", "gone"])
    def test_every_snapshot_loses_their_level(self, past, results):
        made(past.gym)
        held_class(past, 8)
        made(past.gym)
        before = estimates.latest(gym_id=past.gym.pk)
        at, key = before.member_at(past.ana.pk), past.ana.pk
        own = [before.result_at(r.pk) for r in Result.objects.filter(member=past.ana)]
        self.erased(past, past.ana, results)
        assert EstimateSnapshot.objects.count() == 2
        for row in EstimateSnapshot.objects.all():
            assert key not in snapshots.read_keys(row.members) and row.blanked == 1
            levels = unpacked(bytes(row.figures)).levels
            assert levels.start[at] == levels.start[at + 1]
            assert not levels.lean[at].any()
        after = estimates.latest(gym_id=past.gym.pk)
        assert after.pk == before.pk and after.member_at(key) is None  # not as read before
        assert np.isnan(after.estimate.expected[own]).all()
        # Others' figures are as they were.
        assert after.estimate.cost.tobytes() == before.estimate.cost.tobytes()
        for member in (past.ben, past.cleo):
            was, now = (h.member_at(member.pk) for h in (before, after))
            one, two = (
                h.estimate.levels.mean[h.estimate.levels.start[i] : h.estimate.levels.start[i + 1]]
                for h, i in ((before, was), (after, now))
            )
            assert one.tobytes() == two.tobytes() and len(one) == 5

    def test_a_snapshot_nobody_can_read_any_more_goes_as_a_whole(self, past, monkeypatch):
        made(past.gym)
        held_class(past, 8)
        monkeypatch.setattr(estimating, "packed", lambda estimate: b"of another version")
        made(past.gym)
        assert estimates.held(gym_id=past.gym.pk).is_prior  # pages go on without it
        self.erased(past, past.ana, "anonymous")
        [left] = EstimateSnapshot.objects.all()
        assert bytes(left.figures) != b"of another version"
        assert past.ana.pk not in snapshots.read_keys(left.members)

    @pytest.mark.parametrize("results", ["anonymous", "gone"])
    def test_who_is_erased_while_one_is_worked_out_is_not_in_it(self, past, monkeypatch, results):
        real, key = estimating.fit, past.ana.pk

        def slow(*args):
            self.erased(past, past.ana, results)
            return real(*args)

        monkeypatch.setattr(estimating, "fit", slow)
        assert made(past.gym).state == "good"
        row = EstimateSnapshot.objects.get()
        assert key not in snapshots.read_keys(row.members)
        starts = unpacked(bytes(row.figures)).levels.start
        assert sorted(np.diff(starts).tolist()) == [0, 4, 4]

    def test_results_that_go_are_learned_from_no_more(self, past):
        made(past.gym)
        self.erased(past, past.ana, "gone")
        assert waiting(now=NOW) == [past.gym.pk]
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW)
        assert run.state == "good" and run.snapshot.result_count == 8

    def test_who_stays_as_nobody_has_no_level_in_new_ones_either(self, past, monkeypatch):
        made(past.gym)
        self.erased(past, past.ana, "anonymous")
        blanked = EstimateSnapshot.objects.get()
        monkeypatch.setattr(estimating, "CODE", "other")
        made(past.gym)
        anew = EstimateSnapshot.objects.order_by("-pk").first()
        assert anew.result_count == 12  # their results still teach what a rep costs
        for name in ("figures", "members", "classes", "results"):
            assert bytes(getattr(anew, name)) == bytes(getattr(blanked, name)), name

    def test_when_all_are_gone_nothing_is_held_of_anybody(self, past):
        made(past.gym)
        for member in past.members:
            self.erased(past, member, "gone")
        run = estimating.estimate(gym_id=past.gym.pk, clock=lambda: NOW)
        assert run.state == "good" and run.snapshot.result_count == 0
        assert estimates.held(gym_id=past.gym.pk).is_prior


def test_a_copy_of_ones_data_has_ones_levels_and_nobody_elses(past):
    assert own_data(past.ana.user)["levels"] == []
    made(past.gym)
    rows = own_data(past.ana.user)["levels"]
    assert len(rows) == 4 and {row["gym"] for row in rows} == {past.gym.name}
    assert [row["results"] for row in rows] == [1] * 4
    assert all(row["level_low"] < row["level"] < row["level_high"] for row in rows)
    assert rows != own_data(past.ben.user)["levels"]
    assert own_data(past.coach.user)["levels"] == []
