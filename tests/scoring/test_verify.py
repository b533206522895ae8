"""``verify`` finds nothing in what the services wrote, and each thing that is broken since."""

import json
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from scoring.models import (
    CreditChange,
    DataExport,
    Erasure,
    EstimateRun,
    Fact,
    ImportRun,
    Message,
    RecomputeRun,
    Result,
    Score,
    Submission,
)
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.credits import new_table
from scoring.services.erasing import erase
from scoring.services.erasures import ask_erasure
from scoring.services.submitting import ResultInput, submit_result
from scoring.verifying import CannotVerify, Looked, boards, findings

from ..conftest import NOW
from .audit_scenes import COACH_SCENES
from .classes import log, make_class
from .test_audit import SCENES

LONG_AGO = NOW - timedelta(days=2)


def found(**kwargs):
    return list(findings(now=NOW, **kwargs))


def checks(**kwargs):
    return sorted({finding.check for finding in found(**kwargs)})


def sql(statement, *params):
    with connection.cursor() as cursor:
        cursor.execute(statement, params)


@pytest.fixture
def world(people):
    """Two classes with all that can become of a result: it stands, was corrected, entered by a
    coach, withdrawn, and stays of somebody who is erased."""
    streamed, other = make_class(people), make_class(people)
    log(streamed, people.ana, "2+9", note="steady")
    log(streamed, people.ben, "2+5", "tuck rock")
    log(streamed, people.cleo, "1+3")
    log(streamed, people.owner, "1+3")
    submit_result(
        streamed_class=streamed, member=people.coach, entered_by=people.owner,
        data=ResultInput("3+0"), key="", now=NOW,
    )  # fmt: skip
    ben = Result.objects.get(member=people.ben)
    correct_result(
        result=ben, by=people.coach, data=ResultInput("2+5", options="tuck rock", note="seen"),
        reason="a word to it", now=NOW + timedelta(minutes=1),
    )  # fmt: skip
    cleo = Result.objects.get(member=people.cleo)
    withdraw_result(result=cleo, by=people.coach, reason="not hers", now=NOW)
    log(other, people.ana, "2+1")
    log(other, people.cleo, "2+9", note="words", effort=7)
    pk = ask_erasure(user=people.cleo.user, results="anonymous", now=NOW - timedelta(days=90)).pk
    assert erase(pk=pk, now=NOW)
    return people


def of(member):
    return Result.objects.filter(member=member).order_by("pk").first()


def test_what_services_wrote_is_as_it_must_be(world):
    looked = Looked()
    assert found(looked=looked) == [] and looked.notes == []
    seen = dict(looked.counts)
    assert (seen["classes"], seen["results"], seen["facts"]) == (2, 7, 9)
    assert seen["scores derived again"] == 6 and seen["erased members"] == 1
    assert seen["views of boards"] == 6


@pytest.mark.parametrize("name", {**SCENES, **COACH_SCENES})
def test_no_deed_of_a_coach_leaves_anything_to_be_found(people, name):
    scene = {**SCENES, **COACH_SCENES}[name][0]
    scene(people)
    assert found() == []


def _another_table(world):
    streamed = of(world.ana).streamed_class
    from scoring.mapping import rules_of

    table = new_table(gym=world.gym, table=rules_of(streamed).table, by=world.coach, reason="same")
    sql(
        "UPDATE scoring_score SET credit_table_id = %s WHERE result_id = %s",
        table.pk,
        of(world.ana).pk,
    )


def _first_counts(world):
    ben = of(world.ben)
    first = ben.facts.get(number=1).pk
    sql("UPDATE scoring_result SET current_id = %s WHERE id = %s", first, ben.pk)
    sql("UPDATE scoring_score SET fact_id = %s WHERE result_id = %s", first, ben.pk)


def _to_result(statement, who, value=lambda world: None):
    """A statement of plain SQL on the result of somebody, with a value before it if there is one."""

    def broken(world):
        given = value(world)
        sql(statement, *([] if given is None else [given]), of(getattr(world, who)).pk)

    return broken


BREAKS = {
    "score-differs": _to_result(
        'UPDATE scoring_score SET "key" = "key" + 1 WHERE result_id = %s', "ana"
    ),
    "score-missing": _to_result("DELETE FROM scoring_score WHERE result_id = %s", "ana"),
    "score-of-withdrawn": _to_result(
        "UPDATE scoring_fact SET is_withdrawn = true WHERE result_id = %s", "ana"
    ),
    "score-of-another-fact": _to_result(
        "UPDATE scoring_score SET fact_id = %s WHERE result_id = %s", "ben",
        lambda world: of(world.ben).facts.get(number=1).pk,
    ),
    "score-on-another-board": _to_result(
        "UPDATE scoring_score SET streamed_class_id = %s WHERE result_id = %s", "ana",
        lambda world: Result.objects.filter(member=world.ana).last().streamed_class_id,
    ),
    "score-by-other-rules": _to_result(
        "UPDATE scoring_score SET rules_version = 99 WHERE result_id = %s", "ana"
    ),
    "score-by-other-credits": _another_table,
    "fact-unreadable": _to_result(
        "UPDATE scoring_fact SET mark = 'far' WHERE result_id = %s", "ana"
    ),
    "fact-numbers": _to_result(
        "UPDATE scoring_fact SET number = 5 WHERE number = 2 AND result_id = %s", "ben"
    ),
    "fact-missing": _to_result("UPDATE scoring_result SET current_id = NULL WHERE id = %s", "ana"),
    "fact-not-current": _first_counts,
    "class-of-two-gyms": lambda world: sql(
        "UPDATE scoring_streamedclass SET coach_id = %s WHERE id = %s",
        world.foreign_coach.pk, of(world.ana).streamed_class_id,
    ),
    "result-of-another-gym": _to_result(
        "UPDATE scoring_result SET member_id = %s WHERE id = %s", "coach",
        lambda world: world.foreigner.pk,
    ),
    "fact-by-another-gym": _to_result(
        "UPDATE scoring_fact SET entered_by_id = %s WHERE result_id = %s", "coach",
        lambda world: world.foreign_coach.pk,
    ),
    "key-of-another-result": lambda world: sql(
        "UPDATE scoring_submission SET fact_id = %s WHERE fact_id = %s",
        of(world.ben).current_id, of(world.ana).current_id,
    ),
    "fact-unrecorded": lambda world: sql(
        "UPDATE scoring_fact SET created_at = %s WHERE id = %s",
        NOW + timedelta(seconds=9), of(world.ben).current_id,
    ),
    "erased-but-there": lambda world: sql(
        "UPDATE scoring_fact SET note = 'words' WHERE result_id = %s",
        of(world.cleo).pk,
    ),
}  # fmt: skip


@pytest.mark.parametrize("check", BREAKS)
def test_each_thing_that_is_broken_by_hand_is_found_and_nothing_else(world, check):
    BREAKS[check](world)
    [finding] = found()
    assert finding.check == check
    assert finding.subject and finding.detail and finding.remedy


def test_whoever_was_erased_and_is_named_anew_is_found(world):
    submission = Submission.objects.filter(member=world.ana).first()
    sql(
        "UPDATE scoring_submission SET member_id = %s, fact_id = %s WHERE id = %s",
        world.cleo.pk, of(world.cleo).current_id, submission.pk,
    )  # fmt: skip
    assert [(f.check, f.detail) for f in found()] == [("erased-but-there", "1 keys of submissions")]


def test_a_reference_to_nothing_is_found(world):
    workout = of(world.ana).streamed_class.workout
    sql("UPDATE scoring_workout SET author_id = 987654 WHERE id = %s", workout.pk)
    try:
        [finding] = found()
        assert finding.check == "reference-to-nothing"
        assert finding.subject == f"row {workout.pk} of scoring_workout"
    finally:  # the test's own transaction is checked at its end
        sql("UPDATE scoring_workout SET author_id = NULL WHERE id = %s", workout.pk)


STOPPED = {
    "recompute-stopped": lambda p, c: RecomputeRun.objects.create(
        streamed_class=c, rules_version=1, credit_table=c.credit_table, started_at=LONG_AGO
    ),
    "import-stopped": lambda p, c: ImportRun.objects.create(
        gym=p.gym, streamed_class=c, kind="chat", state="saving", touched_at=LONG_AGO
    ),
    "change-of-credits-stopped": lambda p, c: CreditChange.objects.create(
        gym=p.gym, entries=[], reason="x", from_version=c.credit_table, went_on_at=LONG_AGO
    ),
    "estimate-stopped": lambda p, c: EstimateRun.objects.create(
        gym=p.gym, asked_at=LONG_AGO, state="fitting", held_until=LONG_AGO
    ),
    "message-stopped": lambda p, c: Message.objects.create(
        member=p.ana, kind="opened", subject_key="1", state="sending", not_before=LONG_AGO,
        claimed_at=NOW - timedelta(minutes=61),
    ),
    "waiting-message-stopped": lambda p, c: Message.objects.create(
        member=p.ana, kind="opened", subject_key="1", not_before=LONG_AGO
    ),
    "copy-of-data-stopped": lambda p, c: DataExport.objects.create(
        user=p.ana.user, site="http://x", asked_at=LONG_AGO
    ),
    "erasure-stopped": lambda p, c: Erasure.objects.create(
        user=p.ana.user, results="gone", due_at=LONG_AGO
    ),
}  # fmt: skip


@pytest.mark.parametrize("check", STOPPED)
def test_work_that_nobody_is_at_any_more_is_found(people, check):
    STOPPED[check](people, make_class(people))
    assert checks() == [check]
    assert list(findings(now=LONG_AGO)) == []  # somebody may yet be at it


def test_between_two_credit_tables_a_class_that_is_being_recomputed_is_not_wrong(world):
    _another_table(world)
    ana = of(world.ana)
    RecomputeRun.objects.create(
        streamed_class=ana.streamed_class, rules_version=1, started_at=NOW,
        credit_table=ana.score.credit_table,
    )  # fmt: skip
    assert found() == []


def test_a_list_in_another_order_than_the_recount_is_found(world, monkeypatch):
    kept = boards.ordered
    monkeypatch.setattr(boards, "ordered", lambda *args: kept(*args).reverse())
    assert checks() == ["board-order"]


def test_inside_a_tie_the_list_goes_by_name(people, monkeypatch):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9"), log(streamed, people.ana, "2+9")
    assert found() == []
    kept = boards.ordered
    monkeypatch.setattr(boards, "ordered", lambda *a: kept(*a).order_by("-key", "tie_key", "pk"))
    assert checks() == ["board-order"]


def test_a_store_that_counts_otherwise_is_found(world, monkeypatch):
    from scoring.boards import DatabaseBoards, Standing, Standings

    class Wrong(DatabaseBoards):
        def standings(self, *args):
            told = super().standings(*args)
            shifted = {p: Standing(s.rank + 1, s.equal) for p, s in told.places.items()}
            return Standings(told.total, shifted)

    monkeypatch.setattr(boards, "store", Wrong)
    assert checks() == ["board-ranks"]


@pytest.mark.parametrize("how", ["dropped", "weakened"])
def test_an_audit_trail_that_could_be_changed_is_found(world, how):
    on = "" if connection.vendor == "sqlite" else " ON members_auditentry"
    if how == "dropped":
        sql(f"DROP TRIGGER audit_no_delete{on}")
    elif connection.vendor == "sqlite":
        sql("DROP TRIGGER audit_no_delete")
        sql(
            "CREATE TRIGGER audit_no_delete BEFORE DELETE ON members_auditentry "
            "WHEN OLD.id < 0 BEGIN SELECT RAISE(ABORT, 'no'); END"
        )
    else:
        sql("SET CONSTRAINTS ALL IMMEDIATE")
        sql("ALTER TABLE members_auditentry DISABLE TRIGGER audit_no_delete")
    [finding] = found()
    assert finding.check == "audit-unlocked" and "audit_no_delete" in finding.subject


@pytest.mark.skipif(connection.vendor == "sqlite", reason="SQLite has no such switches")
def test_a_constraint_that_is_not_enforced_is_found(world):
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    sql(
        "ALTER TABLE scoring_pain ADD CONSTRAINT unchecked "
        "FOREIGN KEY (member_id) REFERENCES members_membership NOT VALID"
    )
    assert [f.subject for f in found()] == ["unchecked of scoring_pain"]
    sql("ALTER TABLE scoring_pain DROP CONSTRAINT unchecked")
    sql("ALTER TABLE scoring_pain DISABLE TRIGGER ALL")
    assert checks() == ["constraint-off"]


def test_one_class_is_looked_at_alone(world):
    first, second = sorted(Result.objects.filter(member=world.ana), key=lambda row: row.pk)
    BREAKS["score-differs"](world)
    assert checks(class_ids=[first.streamed_class_id]) == ["score-differs"]
    assert found(class_ids=[second.streamed_class_id]) == []


def test_an_old_database_can_not_be_verified(world):
    MigrationRecorder.Migration.objects.filter(app="members").order_by("-pk").first().delete()
    with pytest.raises(CannotVerify, match=r"1 migrations .* manage.py migrate"):
        found()


def run(*args):
    out = StringIO()
    try:
        call_command("verify", *args, stdout=out)
    except SystemExit as ended:
        return ended.code, out.getvalue()
    return 0, out.getvalue()


def test_the_command_says_what_it_looked_at_and_answers_by_its_exit_status(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    code, told = run()
    assert code == 0 and "1 results" in told and "Nothing found." in told
    Score.objects.all().delete()
    code, told = run("--gym", "harbour")
    assert code == 1 and "score-missing: result " in told and "1 findings." in told
    assert run("--gym", "hilltop")[0] == 0
    code, told = run("--class", str(streamed.pk), "--json")
    told = json.loads(told)
    assert code == 1 and told["count"] == 1 and told["findings"][0]["check"] == "score-missing"
    assert told["looked_at"]["classes"] == 1 and told["notes"] == []


@pytest.mark.parametrize("args", [["--class", "987654"], ["--gym", "nowhere"]])
def test_what_is_not_there_can_not_be_verified(people, args):
    with pytest.raises(CommandError) as refused:
        call_command("verify", *args)
    assert refused.value.returncode == 2
    assert Fact.objects.count() == 0
