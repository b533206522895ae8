"""Erasing somebody: days of grace, then gone for good, and boards stay right."""

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.management import call_command
from django.db import models
from django.db.models.deletion import CASCADE

from members.bodies import save_body
from members.models import Body, Membership, User
from members.services import change_role
from scoring import boards, tasks
from scoring.boards import RedisBoards
from scoring.boards.members import prefix_of
from scoring.models import (
    ChangeRequest,
    Erasure,
    Fact,
    Pain,
    Result,
    Score,
    Setup,
    StreamedClass,
    Submission,
)  # fmt: skip
from scoring.problems import Refused
from scoring.selectors.boards import board
from scoring.services import erasing
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.erasing import erase, erase_due
from scoring.services.erasures import GRACE_DAYS, ask_erasure, erasure_of, take_back
from scoring.services.exporting import ask_export, make_export
from scoring.services.notes import add_note, strike_note
from scoring.services.pains import tell_pain
from scoring.services.requests import ask_for_change
from scoring.services.setups import save_setup
from scoring.services.submitting import ResultInput

from ..conftest import NOW
from .classes import log, make_class

DUE = NOW + timedelta(days=GRACE_DAYS)
WORDS = "planted words of ana"


@pytest.fixture
def full(people):
    """A class of three in which Ana told everything there is to tell."""
    streamed = make_class(people)
    log(streamed, people.ana, "2+9", note=WORDS, effort=7)
    log(streamed, people.ben, "2+5", note="of ben")
    log(streamed, people.cleo, "1+3")
    result = Result.objects.get(member=people.ana)
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="2+8", note=WORDS, effort=7),
        reason=WORDS, now=NOW,
    )  # fmt: skip
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words=WORDS, now=NOW)
    save_body(membership=people.ana, year_of_birth="1987", weight="61.37", this_year=2026)
    save_setup(member=people.ana, pieces=["kettlebell"], loads={}, usual={}, unit="kg")
    streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    ask_for_change(
        streamed_class=streamed, member=people.ana, data=ResultInput(mark="2+9"),
        words=WORDS, now=NOW,
    )  # fmt: skip
    note = add_note(member=people.ana, by=people.coach, words=WORDS, now=NOW)
    strike_note(note=note, by=people.owner, why=WORDS, now=NOW)
    make_export(pk=ask_export(user=people.ana.user, site="http://x", now=NOW).pk, now=NOW)
    streamed.refresh_from_db()
    return streamed


def ask(member, results="anonymous"):
    return ask_erasure(user=member.user, results=results, now=NOW)


def all_text():
    """Every row of every table of ours, as one text."""
    from django.apps import apps

    found = []
    for model in apps.get_models(include_auto_created=True):
        if model is Session:
            continue
        for values in models.QuerySet(model).values_list():
            found += [str(bytes(v) if isinstance(v, memoryview) else v) for v in values]
    return "\n".join(found)


def stands_in(word, told):
    # Whole words: hashes hold any four digits now and then.
    return re.search(rf"(?<![A-Za-z0-9]){re.escape(word)}(?![A-Za-z0-9])", told) is not None


def names(streamed, viewer):
    streamed = StreamedClass.objects.select_related("workout", "gym", "credit_table").get(
        pk=streamed.pk
    )
    return [(r.rank, r.name) for r in board(streamed_class=streamed, viewer=viewer, now=DUE).rows]


def test_nothing_happens_before_the_day_and_until_then_it_is_taken_back(full, people):
    ask(people.ana)
    before = DUE - timedelta(seconds=1)
    assert erase_due(now=before).erased == []
    assert take_back(user=people.ana.user) and erasure_of(people.ana.user) is None
    assert erase_due(now=DUE).erased == [] and User.objects.filter(pk=people.ana.user_id).exists()
    assert not take_back(user=people.ana.user)


def test_asked_again_the_first_day_stays_and_the_choice_is_the_newer(people):
    first = ask(people.ana)
    again = ask_erasure(user=people.ana.user, results="gone", now=NOW + timedelta(days=3))
    assert (again.due_at, again.results) == (first.due_at, "gone")
    with pytest.raises(Refused):
        ask(people.ben, "somehow")


@pytest.mark.parametrize("results", ["anonymous", "gone"])
def test_no_word_of_theirs_is_left_in_any_table(full, people, results, client):
    client.force_login(people.ana.user)
    planted = [WORDS, "Ana Sol", "ana.sol@example.org", "61.37", "1987"]
    told = all_text()
    assert all(stands_in(word, told) for word in planted)
    erasure = ask(people.ana, results)
    assert erase_due(now=DUE).erased == [erasure.pk]
    told = all_text()
    assert [word for word in planted if stands_in(word, told)] == []
    assert not any((Pain.objects.exists(), Setup.objects.exists(), Body.objects.exists()))
    assert not ChangeRequest.objects.exists() and not Erasure.objects.exists()
    assert not Submission.objects.filter(member=people.ana.pk).exists()
    assert not Session.objects.exists()
    # What others told is untouched.
    assert Fact.objects.filter(note="of ben").exists()


def test_results_that_stay_stand_where_they_stood_without_a_name(full, people):
    before = names(full, people.ben)
    scores = list(Score.objects.order_by("pk").values())
    ask(people.ana)
    erase_due(now=DUE)
    assert list(Score.objects.order_by("pk").values()) == scores
    assert before == [(1, "Ana Sol"), (2, "Ben Okoro"), (3, "Cleo Wren")]
    assert names(full, people.ben) == [(1, "a member"), (2, "Ben Okoro"), (3, "Cleo Wren")]
    assert names(full, people.coach)[0] == (1, "somebody")
    facts = list(Fact.objects.filter(result__member=people.ana.pk).order_by("number"))
    assert [(f.mark, f.note, f.effort) for f in facts] == [("2+9", "", None), ("2+8", "", None)]
    assert [f.reason for f in facts] == ["", "erased with its member"]


def test_results_that_go_leave_their_boards_and_the_others_move_up(full, people):
    ask(people.ana, "gone")
    erase_due(now=DUE)
    assert names(full, people.ben) == [(1, "Ben Okoro"), (2, "Cleo Wren")]
    assert Result.objects.count() == 2 and Fact.objects.count() == 2
    assert not Membership.objects.filter(pk=people.ana.pk).exists()


@pytest.mark.skipif(not settings.REDIS_URL, reason="the embedded default has no second store")
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("results", ["anonymous", "gone"])
def test_both_stores_count_the_same_after_it(full, people, results):
    pairs = list(Score.objects.values_list("key", "tie_key"))
    redis = boards.store()
    assert isinstance(redis, RedisBoards)
    full.refresh_from_db()
    redis.standings(full, pairs, "all")  # in step before
    ask(people.ana, results)
    erase_due(now=DUE)
    full.refresh_from_db()
    kept = redis.kept(full.pk)
    for view in boards.VIEWS:
        redis.standings(full, pairs, view)
        assert kept.version() == full.board_version
        by_database = boards.DatabaseBoards().standings(full, pairs, view)
        told = [by_database.places[pair] for pair in pairs]
        total, counted = kept.counted(view, [prefix_of(*pair) for pair in pairs])
        assert total == by_database.total
        assert counted == [(standing.rank - 1, standing.equal) for standing in told]


def test_a_board_has_another_version_after_it(full, people):
    for member, results in ((people.ana, "anonymous"), (people.ben, "gone")):
        full.refresh_from_db()
        before = full.board_version
        ask(member, results)
        erase_due(now=DUE)
        full.refresh_from_db()
        assert full.board_version > before


def test_all_gyms_go_together_also_those_that_were_left(full, people):
    there = Membership.objects.create(
        gym=people.stranger_gym, user=people.ana.user, display_name="Ana Elsewhere", left_at=NOW
    )
    ask(people.ana)
    erase_due(now=DUE)
    assert not Membership.objects.filter(pk=there.pk).exists()


def test_the_last_owner_waits_until_somebody_else_owns_the_gym(people):
    with pytest.raises(Refused, match="last owner of Harbour Street"):
        ask(people.owner)
    change_role(membership=people.coach, by=people.owner, role="owner")
    ask(people.owner)
    second = ask(people.coach)
    done = erase_due(now=DUE)
    assert len(done.erased) == 1 and done.hindered == [second.pk]
    assert Membership.objects.get(pk=people.coach.pk).display_name == "Carl Coach"


def test_an_erased_coach_stays_without_a_name_on_their_classes(full, people):
    ask(people.coach)
    erase_due(now=DUE)
    full.refresh_from_db()
    assert (full.coach.display_name, full.coach.user, full.coach.role) == (
        "somebody", None, "member",
    )  # fmt: skip
    assert "Carl" not in all_text()


def test_a_failure_in_the_middle_changes_nothing_and_stops_nobody_else(full, people, monkeypatch):
    broken, fine = ask(people.ana), ask(people.ben)
    kept = erasing._erase_name

    def fails(membership, **kwargs):
        if membership.display_name == "Ana Sol":
            raise RuntimeError("the power went")
        kept(membership, **kwargs)

    monkeypatch.setattr(erasing, "_erase_name", fails)
    assert erase_due(now=DUE).erased == [fine.pk]
    assert WORDS in all_text() and Erasure.objects.filter(pk=broken.pk).exists()
    monkeypatch.setattr(erasing, "_erase_name", kept)
    assert erase_due(now=DUE).erased == [broken.pk]


def test_a_second_worker_finds_nothing_to_do(full, people):
    pk = ask(people.ana).pk
    assert erase(pk=pk, now=DUE) and not erase(pk=pk, now=DUE)


def test_the_last_email_tells_that_it_is_done(people, django_capture_on_commit_callbacks, capsys):
    Erasure.objects.create(user=people.ana.user, results="gone", due_at=NOW - timedelta(days=400))
    with django_capture_on_commit_callbacks(execute=True):
        call_command("erase_due")
    [letter] = mail.outbox
    assert letter.to == ["ana.sol@example.org"] and "gone as well" in letter.body
    assert "1 erased, 0 wait" in capsys.readouterr().out


# What refers to a membership and does not go with it. Whoever adds one says here why.
STAYS = {
    "scoring.Result.member": "a result that stays is somebody's",
    "scoring.Submission.member": "deleted by hand, for facts are immutable",
    "scoring.Fact.entered_by": "a coach entered it for somebody else",
    "scoring.StreamedClass.coach": "a class that others took part in",
    "scoring.Workout.author": "a workout of the gym",
    "scoring.CreditTableVersion.created_by": "a table of the gym",
    "scoring.ClassTemplate.author": "a frame of the gym",
    "scoring.EstimateRun.by": "a coach asked for figures of the gym",
    "scoring.CreditChange.by": "a change of the gym's table",
    "scoring.ChangeRequest.answered_by": "a coach answered somebody else",
    "scoring.MemberNote.written_by": "a note on somebody else, who has a right to it",
    "scoring.NoteStrike.struck_by": "a note on somebody else",
    "scoring.QuestionAnswer.answered_by": "a coach found somebody else's result right",
    "scoring.FollowUp.by": "a coach followed up somebody else",
    "scoring.FollowUpLetter.by": "a coach wrote to somebody else",
    "members.Invitation.created_by": "a link of the gym",
    "scoring.ImportRun.by": "a coach brought in results of others",
    "members.AuditEntry.by": "a deed stays on record",
    "members.AuditEntry.member": "a deed stays on record, without whom and what was said",
}


def test_every_row_that_refers_to_a_membership_goes_or_says_why_it_stays():
    kept = {
        f"{r.related_model._meta.app_label}.{r.related_model.__name__}.{r.field.name}"
        for r in erasing.references(Membership)
        if r.on_delete is not CASCADE
    }
    assert kept == set(STAYS)


def test_every_row_that_refers_to_an_account_goes_with_it_but_for_memberships():
    kept = {
        r.related_model.__name__ for r in erasing.references(User) if r.on_delete is not CASCADE
    }
    assert kept == {"Membership"}


def test_nothing_else_goes_around_the_lock_on_facts():
    """The plain query sets that would change a fact are named in one file only."""
    root = Path(__file__).resolve().parents[2]
    ways = ("_base_manager", "_raw_delete", "models.QuerySet(", "._unlocked(", "cursor()")
    found = {
        path.relative_to(root).as_posix()
        for package in ("members", "scoring", "gymsite")
        for path in (root / package).rglob("*.py")
        if any(way in path.read_text(encoding="utf-8") for way in ways)
    }
    # The checker only reads, in transactions that the database itself lets write nothing.
    assert found <= {
        "scoring/services/erasing.py", "gymsite/health.py", "scoring/verifying/sql.py",
        # Whether there is any data; rows that are read, or added to an empty database; and
        # what indexes a migration finds.
        "gymsite/backups/restoring.py", "gymsite/backups/rows.py", "gymsite/backups/moving.py",
        "gymsite/gently.py",
        # Counts of boards; what is there of a member; a class's version; scores, not facts.
        "scoring/boards/database.py", "scoring/services/submitting.py",
        "scoring/services/writing.py", "scoring/services/recompute_writing.py",
        # Rows read by statements written out, and new ones written.
        "members/plain.py",
        # The order of a board, read.
        "scoring/selectors/moments.py",
    }  # fmt: skip


def test_the_hourly_task_erases_and_drops_copies_and_can_be_run_again(people):
    Erasure.objects.create(user=people.ana.user, results="gone", due_at=NOW - timedelta(days=400))
    row = ask_export(user=people.ben.user, site="http://x", now=NOW - timedelta(days=400))
    make_export(pk=row.pk, now=NOW - timedelta(days=400))
    assert tasks.erase_due() == 1
    row.refresh_from_db()
    assert row.state == "expired" and bytes(row.archive) == b""
    assert tasks.erase_due() == 0
    beat = {job["task"] for job in settings.CELERY_BEAT_SCHEDULE.values()}
    assert tasks.erase_due.name in beat
