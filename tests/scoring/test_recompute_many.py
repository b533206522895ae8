"""A recompute of many: the same as one by one, whatever is written, wherever it stops."""

import pytest
from django.core.management import call_command
from django.db import connection

from scoring.core.scoring import RULES_VERSION, score
from scoring.mapping import core_result, course_of, rules_of, score_fields
from scoring.models import RecomputeRun, Result, Score
from scoring.services import recompute
from scoring.services.correcting import withdraw_result
from scoring.services.recompute import differences, moving, recompute_class
from scoring.services.recompute_writing import _TYPES, _WRITTEN

from ..conftest import NOW, add_member
from .classes import log, make_class
from .test_recompute import generous

OPTIONS = ("", "tuck rock", "knee push-up; tuck rock", "goblet squat @ 12 kg")


@pytest.fixture
def streamed(people):
    """Twenty results, many of them alike, one withdrawn, one corrected, one without a score."""
    found = make_class(people, tie_break_block=1)
    sent = []
    for number in range(20):
        member = add_member(people.gym, f"M {number:02d}")
        splits = {"1": f"4:{number:02d}"} if number % 3 == 0 else {}
        sent.append(
            log(found, member, f"{number % 4}+{number % 3}", OPTIONS[number % 4], splits=splits)
        )
    withdraw_result(result=sent[3].result, by=people.coach, reason="not theirs", now=NOW)
    log(found, sent[4].result.member, "7+0", "tuck rock")
    Score.objects.filter(result=sent[5].result).delete()
    found.refresh_from_db()
    return found


def demand_right(streamed):
    """Every score is what scoring its fact alone says."""
    streamed.refresh_from_db()
    course, rules = course_of(streamed), rules_of(streamed)
    results = Result.objects.filter(streamed_class=streamed, current__is_withdrawn=False)
    for result in results.select_related("current", "score"):
        alone = score_fields(score(course, core_result(course, result.current), rules))
        assert {name: getattr(result.score, name) for name in alone} == alone
        assert result.score.fact_id == result.current_id
        assert result.score.rules_version == RULES_VERSION
        assert result.score.credit_table_id == streamed.credit_table_id
    assert Score.objects.filter(streamed_class=streamed).count() == results.count() == 19


@pytest.mark.parametrize("chunk", [1, 4, 19, 20, 100])
def test_it_gives_what_scoring_one_by_one_gives(streamed, people, monkeypatch, chunk):
    monkeypatch.setattr(recompute, "CHUNK", chunk)
    Score.objects.filter(pk__in=list(Score.objects.values_list("pk", flat=True)[:3])).update(
        credited="1", adjusted_text="wrong", as_prescribed=False, key=7
    )
    run = recompute_class(streamed_class=streamed, table=generous(people), now=NOW)
    assert run.finished_at and run.done == 19
    demand_right(streamed)
    assert recompute_class(streamed_class=streamed, now=NOW).moved == 0
    demand_right(streamed)


def test_it_goes_on_from_any_chunk(streamed, people, monkeypatch):
    monkeypatch.setattr(recompute, "CHUNK", 3)
    table = generous(people)
    for number in range(1, 8):
        run = recompute_class(streamed_class=streamed, table=table, now=NOW, chunks=1)
        assert run.done == min(3 * number, 19)
    assert run.finished_at and RecomputeRun.objects.count() == 1
    demand_right(streamed)


def test_a_result_logged_between_reading_and_writing_is_not_written_over(
    streamed, people, monkeypatch
):
    real = recompute._read
    reads = []

    def then_somebody_logs(run, row):
        found = real(run, row)
        reads.append(len(found))
        if len(reads) == 1:
            member = Result.objects.filter(streamed_class=streamed).order_by("pk")[0].member
            log(streamed, member, "9+9", "tuck rock")
        return found

    monkeypatch.setattr(recompute, "_read", then_somebody_logs)
    recompute_class(streamed_class=streamed, table=generous(people), now=NOW)
    assert len(reads) == 2  # once more, with the class's row held
    demand_right(streamed)


def test_rows_that_are_right_already_are_not_written(streamed, people, monkeypatch):
    recompute_class(streamed_class=streamed, now=NOW)
    written = []

    def note(execute, sql, params, many, context):
        if "scoring_score" in sql and sql.lstrip().startswith(("UPDATE", "INSERT", "DELETE")):
            written.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        recompute_class(streamed_class=streamed, now=NOW)
    assert written == []


def test_a_score_of_an_older_fact_is_told_the_current_one(streamed):
    row = Score.objects.filter(result__current__number=2).get()
    Score.objects.filter(pk=row.pk).update(fact=row.result.facts.get(number=1))
    run = recompute_class(streamed_class=streamed, now=NOW)
    assert run.moved == 1  # the one without a score
    demand_right(streamed)


def test_only_the_first_who_move_are_held_and_all_are_counted(streamed, people, monkeypatch):
    monkeypatch.setattr(recompute, "CHUNK", 2)
    table = generous(people)
    Score.objects.filter(streamed_class=streamed).update(adjusted_text="wrong")
    whole = differences(streamed_class=streamed, table=table)
    assert len(whole) == 19
    found = moving(streamed_class=streamed, table=table, most=4)
    assert (found.moved, found.first) == (19, whole[:4])
    assert moving(streamed_class=streamed, table=table, most=0).first == []


def test_the_command_says_how_many_it_did_not_tell(streamed, capsys):
    Score.objects.filter(streamed_class=streamed).update(adjusted_text="wrong")
    call_command("rescore", "--class", str(streamed.pk), "--dry-run", "--most", "2")
    out = capsys.readouterr().out
    assert "19 would move" in out and "and 17 more" in out and out.count("→") == 4


def test_the_types_that_rows_are_written_by_are_the_table_s():
    for name, kind in zip(_WRITTEN, _TYPES, strict=True):
        field = Score._meta.get_field(name.removesuffix("_id"))
        plain = {"BigAutoField": "bigint", "ForeignKey": "bigint", "BigIntegerField": "bigint",
                 "PositiveIntegerField": "int", "BooleanField": "boolean"}  # fmt: skip
        assert plain.get(type(field).__name__, "text") == kind
