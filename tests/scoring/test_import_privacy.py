"""What members said in a chat: seen by coaches, in their copy, erased with them, not kept."""

from datetime import timedelta

from scoring import tasks
from scoring.models import Erasure, Fact, ImportLine, ImportRun
from scoring.selectors.imports import import_for, imports_of, lines_of
from scoring.services.erasing import erase_due
from scoring.services.import_clearing import KEPT_DAYS, clear_texts
from scoring.services.own_data import own_data

from ..conftest import NOW
from .classes import make_class
from .test_erasing import all_text, stands_in
from .test_importing import begin, bring_in, take_back

CHAT = (
    "Ana: 2+9 tuck, with Ben\nBen Okoro 2+5\nAna Sol looked tired today\nanna 1+1\n"
    "Cleo 2+30, next to Ana Sol\nCleo 1+3"
)


def test_only_coaches_of_the_gym_see_it(people):
    streamed = make_class(people)
    run = begin(streamed, people, CHAT)
    for viewer in (people.coach, people.owner):
        assert import_for(viewer=viewer, pk=run.pk) == run
        assert list(imports_of(streamed_class=streamed, viewer=viewer)) == [run]
        assert lines_of(run=run, viewer=viewer).count() == 6
    for viewer in (None, people.ana, people.foreigner, people.foreign_coach):
        assert import_for(viewer=viewer, pk=run.pk) is None
        assert not imports_of(streamed_class=streamed, viewer=viewer).exists()
        assert not lines_of(run=run, viewer=viewer).exists()


def test_who_is_erased_is_gone_from_what_was_brought_in(people):
    run = bring_in(begin(make_class(people), people, CHAT), people)
    assert stands_in("Ana", all_text())
    Erasure.objects.create(user=people.ana.user, results="anonymous", due_at=NOW)
    erase_due(now=NOW)
    told = all_text()
    assert not stands_in("Ana", told) and not stands_in("Sol", told)
    kept = run.lines.order_by("number")
    assert [line.member for line in kept if line.state == "saved"] == [people.ben, people.cleo]
    assert Fact.objects.count() == 3  # Ana's result stays, of nobody
    take_back(run, people)
    assert Fact.objects.filter(is_withdrawn=True).count() == 2


def test_an_erased_coach_leaves_what_they_brought_in_and_it_can_be_taken_back(people):
    streamed = make_class(people)
    run = bring_in(begin(streamed, people, "Ana: 2+9"), people)
    run.by = None
    run.save()
    run = take_back(run, people)
    assert run.state == "undone" and not streamed.scores.exists()


def test_a_members_copy_holds_their_lines_and_names_nobody_else(people):
    run = bring_in(begin(make_class(people), people, CHAT), people)
    [line] = own_data(people.ana.user)["brought_in"][:1]
    assert (line["mark"], line["options"], line["state"]) == ("2+9", "1.2 tuck rock", "brought in")
    assert line["line"] == "Ana: 2+9 tuck, with …"
    assert "Ben" not in str(own_data(people.ana.user)["brought_in"])
    assert run.lines.filter(member=people.ana).count() == len(
        own_data(people.ana.user)["brought_in"]
    )


def test_the_words_go_after_thirty_days_and_the_results_can_still_be_taken_back(people):
    streamed = make_class(people)
    run = bring_in(begin(streamed, people, CHAT), people)
    assert clear_texts(now=NOW + timedelta(days=KEPT_DAYS, seconds=-1)) == 0
    assert clear_texts(now=NOW + timedelta(days=KEPT_DAYS)) == 1
    assert clear_texts(now=NOW + timedelta(days=KEPT_DAYS)) == 0
    assert set(run.lines.values_list("state", "text", "name", "note")) == {("saved", "", "", "")}
    assert not stands_in("tired", all_text())
    run.refresh_from_db()
    assert take_back(run, people).state == "undone" and not streamed.scores.exists()


def test_an_import_that_was_never_confirmed_is_cleared_too_and_the_task_is_on_the_beat(
    people, settings
):
    begin(make_class(people), people, CHAT)
    ImportRun.objects.update(started_at=NOW - timedelta(days=400))
    assert tasks.clear_imports() == 1
    assert not ImportLine.objects.exists()
    beat = {job["task"] for job in settings.CELERY_BEAT_SCHEDULE.values()}
    assert {tasks.clear_imports.name, tasks.go_on_imports.name} <= beat
