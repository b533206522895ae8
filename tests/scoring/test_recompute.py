"""Recomputing: shown first, whole, and able to go on where it died."""

from fractions import Fraction

import pytest
from django.core.management import call_command

from scoring.core.credits import CreditTable
from scoring.models import RecomputeRun, Score
from scoring.services import recompute
from scoring.services.credits import new_table
from scoring.services.recompute import differences, recompute_class

from ..conftest import NOW, add_member
from .classes import log, make_class

UNCREDITED = """Rocks
amrap 10:00
10 hollow rock
  or tuck rock
"""


@pytest.fixture
def streamed(people):
    found = make_class(people, UNCREDITED)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")  # 100 x 0.8 = 80
    log(found, people.cleo, "1+0")
    found.refresh_from_db()
    return found


def generous(people):
    table = CreditTable(options={("hollow rock", "tuck rock"): Fraction("0.95")})
    return new_table(gym=people.gym, table=table, by=people.coach, reason="tuck rocks are hard")


def test_differences_are_shown_and_nothing_is_changed(streamed, people):
    table = generous(people)
    before = list(Score.objects.values())
    found = differences(streamed_class=streamed, table=table)
    assert [(d.name, d.old_rank, d.new_rank) for d in found] == [
        ("Ben Okoro", 2, 1), ("Ana Sol", 1, 2),
    ]  # fmt: skip
    assert list(Score.objects.values()) == before
    assert differences(streamed_class=streamed) == []


def test_a_recompute_moves_the_class_to_the_new_credits(streamed, people):
    table = generous(people)
    run = recompute_class(streamed_class=streamed, table=table, now=NOW)
    assert (run.done, run.moved) == (3, 1) and run.finished_at
    ben = Score.objects.get(result__member=people.ben)
    assert ben.credited == "95" and ben.credit_table == table
    streamed.refresh_from_db()
    assert streamed.credit_table == table
    assert recompute_class(streamed_class=streamed, now=NOW).moved == 0


def test_a_recompute_that_died_goes_on_where_it_stopped(streamed, people, monkeypatch):
    monkeypatch.setattr(recompute, "CHUNK", 1)
    table = generous(people)
    real, calls = recompute.score, []

    def dies_at_the_second(*args):
        calls.append(args)
        if len(calls) == 2:
            raise RuntimeError("killed")
        return real(*args)

    monkeypatch.setattr(recompute, "score", dies_at_the_second)
    with pytest.raises(RuntimeError):
        recompute_class(streamed_class=streamed, table=table, now=NOW)
    run = RecomputeRun.objects.get()
    assert (run.done, run.finished_at) == (1, None)
    monkeypatch.setattr(recompute, "score", real)
    recompute_class(streamed_class=streamed, table=table, now=NOW)
    run.refresh_from_db()
    assert run.done == 3 and run.finished_at and RecomputeRun.objects.count() == 1
    assert {s.credit_table_id for s in Score.objects.all()} == {table.pk}


def test_the_command_shows_who_would_move_and_changes_nothing_when_dry(streamed, people, capsys):
    Score.objects.filter(result__member=people.cleo).update(key=1, adjusted_text="wrong")
    call_command("rescore", "--class", str(streamed.pk), "--dry-run")
    out = capsys.readouterr().out
    assert "1 would move" in out and "Cleo Wren: 3 → 3, wrong → 1 round + 0" in out
    assert Score.objects.get(result__member=people.cleo).key == 1
    call_command("rescore", "--all")
    assert "3 recomputed, 1 changed" in capsys.readouterr().out
    assert Score.objects.get(result__member=people.cleo).key > 1


def test_a_missing_score_is_made_again(streamed, people):
    Score.objects.filter(result__member=people.ana).delete()
    assert differences(streamed_class=streamed)[0].old_rank is None
    recompute_class(streamed_class=streamed, now=NOW)
    assert Score.objects.count() == 3


def test_withdrawn_results_get_no_score(streamed, people):
    from scoring.services.correcting import withdraw_result

    late = add_member(people.gym, "Late Leo")
    withdraw_result(
        result=log(streamed, late, "5+0").result, by=people.coach, reason="not him", now=NOW
    )
    recompute_class(streamed_class=streamed, now=NOW)
    assert Score.objects.count() == 3


def test_a_result_logged_by_a_page_from_before_the_recompute_scores_by_the_new_credits(
    streamed, people
):
    late = add_member(people.gym, "Late Leo")
    table = generous(people)
    recompute_class(streamed_class=streamed, table=table, now=NOW)  # ``streamed`` is older
    assert streamed.credit_table_id != table.pk
    sent = log(streamed, late, "10+0", "tuck rock")
    assert (sent.score.credited, sent.score.credit_table_id) == ("95", table.pk)
    assert differences(streamed_class=streamed) == []
