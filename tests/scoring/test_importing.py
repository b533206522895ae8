"""A whole chat brought in: every good line in, every bad one explained, nothing twice."""

import pytest

from members.models import AuditEntry, Membership
from scoring import tasks
from scoring.models import Fact, ImportLine, ImportRun, Result, Score, Submission
from scoring.problems import Refused
from scoring.selectors.boards import board
from scoring.selectors.imports import counts_of
from scoring.services import import_saving, import_undoing
from scoring.services.classes import close_class
from scoring.services.import_mending import accept_all, mend_line
from scoring.services.importing import (
    MAX_BYTES,
    MAX_LINES,
    confirm_import,
    drop_import,
    start_import,
    undo_import,
)

from ..conftest import NOW, add_member
from .classes import log, make_class
from .told import chat, fill_gym, text_of


def begin(streamed, people, text, kind="chat"):
    data = text if isinstance(text, bytes) else text.encode()
    run = start_import(streamed_class=streamed, by=people.coach, kind=kind, data=data, now=NOW)
    tasks.read_import(run.pk)
    run.refresh_from_db()
    return run


def bring_in(run, people, reason=""):
    run = confirm_import(run=run, by=people.coach, reason=reason, now=NOW)
    tasks.save_import(run.pk)
    run.refresh_from_db()
    return run


def take_back(run, people):
    run = undo_import(run=run, by=people.coach, reason="", now=NOW)
    tasks.undo_import(run.pk)
    run.refresh_from_db()
    return run


def states(run):
    return {n: s for n, s in run.lines.values_list("number", "state")}


def shown(streamed, viewer):
    streamed.refresh_from_db()
    rows = board(streamed_class=streamed, viewer=viewer, now=NOW).rows
    return [(r.rank, r.name, r.adjusted_text) for r in rows]


@pytest.fixture
def streamed(people):
    return make_class(people)


def test_of_500_lines_every_good_one_comes_in_and_every_bad_one_says_why(streamed, people):
    fill_gym(people.gym)
    expected = chat()
    run = begin(streamed, people, text_of(expected))
    lines = list(run.lines.select_related("member").order_by("number"))
    assert len(lines) == len(expected) == 500
    for line, right in zip(lines, expected, strict=True):
        assert (line.state, line.text) == (right.state, right.text)
        if right.name:
            assert line.member.display_name == right.name, right
        if right.state == "good":
            assert (line.options, line.effort) == (right.options, right.effort)
            assert line.adjusted and not line.problems and not line.doubts
            assert line.mark == right.mark or right.says
        if right.column:
            told = [*line.problems, *line.doubts]
            assert right.column in [one["column"] for one in told], right
            assert right.says in str(told), right
    good = [line for line in expected if line.state == "good"]
    assert len(good) == 334 and Result.objects.count() == 0  # nothing before it is confirmed

    run = bring_in(run, people)
    assert run.state == "done"
    results = {r.member.display_name: r for r in Result.objects.select_related("member", "current")}
    assert sorted(results) == sorted(line.name for line in good)
    for line in good:
        fact = results[line.name].current
        assert (fact.options, fact.effort, fact.number) == (line.options, line.effort, 1)
        assert fact.mark == line.mark or line.says
        assert fact.entered_by == people.coach
    assert Score.objects.count() == Fact.objects.count() == Submission.objects.count() == 334
    left = dict.fromkeys(run.lines.exclude(state="saved").values_list("state", flat=True))
    assert set(left) == {"wrong", "doubtful", "chatter"}


def test_a_bad_line_says_what_would_be_right_and_comes_in_once_it_is_mended(streamed, people):
    run = begin(streamed, people, "Ana: 2+30\nbne 2+5 tuck\nCleo 2+9 hi all")
    wrong, doubtful, good = run.lines.order_by("number")
    assert [line.state for line in (wrong, doubtful, good)] == ["wrong", "doubtful", "good"]
    assert "3+6" in wrong.problems[0]["suggestion"]
    mended = mend_line(line=wrong, by=people.coach, changes={"text": "Ana: 3+6"}, now=NOW)
    assert (mended.state, mended.mark, mended.text, mended.text_now) == (
        "good", "3+6", "Ana: 2+30", "Ana: 3+6",
    )  # fmt: skip
    mended = mend_line(line=doubtful, by=people.coach, accept=True, now=NOW)
    assert (mended.state, mended.member) == ("good", people.ben)
    bring_in(run, people)
    assert [name for _, name, _ in shown(streamed, people.coach)] == [
        "Ana Sol", "Cleo Wren", "Ben Okoro",
    ]  # fmt: skip


def test_an_ambiguous_part_is_asked_and_the_answer_is_read(streamed, people):
    run = begin(streamed, people, "Ana: 12")
    line = run.lines.get()
    assert line.state == "doubtful" and line.doubts[0]["choices"] == ["12 rounds", "12 reps"]
    line = mend_line(line=line, by=people.coach, answers={"12": "12 reps"}, now=NOW)
    assert line.state == "good" and Result.objects.count() == 0
    assert line.mark.startswith("block 1")  # twelve reps are in the first ladder


def test_two_of_one_name_are_told_apart_by_the_coach(streamed, people):
    other = add_member(people.gym, "Ana Bell")
    run = begin(streamed, people, "Ana 2+9")
    line = run.lines.get()
    assert line.state == "doubtful" and set(line.candidates) == {people.ana.pk, other.pk}
    assert accept_all(run=run, by=people.coach) == 0  # not by guessing
    with pytest.raises(Refused, match="several things"):
        mend_line(line=line, by=people.coach, accept=True, now=NOW)
    line = mend_line(line=line, by=people.coach, member=other, now=NOW)
    assert (line.state, line.member, line.doubts) == ("good", other, [])
    bring_in(run, people)
    assert Result.objects.get().member == other


def test_a_line_of_somebody_unsure_gets_in_nobodys_way(streamed, people):
    add_member(people.gym, "Ana Bell")
    run = begin(streamed, people, "Ana Sol: 2+9\nAna: 1+1")
    assert states(run) == {1: "good", 2: "doubtful"}


def test_somebody_who_is_no_member_yet_is_entered_and_their_other_lines_found(streamed, people):
    run = begin(streamed, people, "Dora Lind 2+9\nDora Lind 2+11 tuck")
    first = run.lines.get(number=1)
    assert (first.state, first.problems[0]["column"]) == ("wrong", "member")
    mend_line(line=first, by=people.coach, new_member="Dora Lind", now=NOW)
    run.refresh_from_db()
    tasks.read_import(run.pk)
    dora = Membership.objects.get(display_name="Dora Lind")
    assert (dora.gym, dora.user, dora.role) == (people.gym, None, "member")
    assert states(run) == {1: "skipped", 2: "doubtful"}  # the later line counts, once confirmed
    assert AuditEntry.objects.get(what="add-member").member == dora


def test_of_two_lines_about_one_member_the_later_counts_unless_it_is_left_out(streamed, people):
    run = begin(streamed, people, "Ana: 2+9\nBen: 1+0\nAna: 2+10 sorry")
    assert states(run) == {1: "skipped", 2: "good", 3: "doubtful"}
    later = run.lines.get(number=3)
    assert "Line 1 says 2+9" in later.remarks[0]
    mend_line(line=later, by=people.coach, skip=True, now=NOW)
    assert states(run) == {1: "good", 2: "good", 3: "skipped"}
    mend_line(line=later, by=people.coach, skip=False, accept=True, now=NOW)
    assert states(run) == {1: "skipped", 2: "good", 3: "good"}


def test_the_same_said_twice_is_one_line_and_no_question(streamed, people):
    run = begin(streamed, people, "Ana: 2+9 tuck\nana 2+9 tuck rock")
    assert states(run) == {1: "skipped", 2: "good"}


def test_a_name_on_a_line_of_its_own_is_whose_the_next_line_is(streamed, people):
    run = begin(streamed, people, "Ana Sol 18:42\n2+9 tuck\nBen Okoro\n18:43\n1+3\n18:44\nhello")
    assert states(run) == {
        1: "chatter", 2: "good", 3: "chatter", 4: "chatter", 5: "good", 6: "chatter", 7: "chatter",
    }  # fmt: skip
    assert [line.member for line in run.lines.filter(state="good").order_by("number")] == [
        people.ana, people.ben,
    ]  # fmt: skip


def test_what_is_in_as_it_is_stays_and_what_would_change_something_is_asked(streamed, people):
    log(streamed, people.ana, "2+9", effort=7)
    log(streamed, people.ben, "2+5", "tuck rock", note="hard day")
    run = begin(streamed, people, "Ana: 2+9\nBen: 2+8\nCleo 1+1")
    assert states(run) == {1: "known", 2: "doubtful", 3: "good"}
    ben = run.lines.get(number=2)
    assert ben.remarks == [
        "There is 2+5 (1.2 tuck rock), entered by themselves. This line would change it."
    ]
    bring_in(run, people)
    assert Result.objects.get(member=people.ben).current.mark == "2+5"
    assert accept_all(run=run, by=people.coach) == 1
    bring_in(run, people)
    facts = list(Fact.objects.filter(result__member=people.ben).order_by("number"))
    assert [(f.mark, f.note, f.reason) for f in facts] == [
        ("2+5", "hard day", ""), ("2+8", "hard day", "told in the class's chat"),
    ]  # fmt: skip
    assert Fact.objects.filter(result__member=people.ana).count() == 1


def test_who_logs_while_it_comes_in_keeps_what_they_logged(streamed, people):
    run = begin(streamed, people, "Ana: 2+9\nBen: 2+5")
    log(streamed, people.ana, "3+1")
    run = bring_in(run, people)
    assert states(run) == {1: "doubtful", 2: "saved"}
    assert "it is 3+1" in run.lines.get(number=1).remarks[0]
    assert Result.objects.get(member=people.ana).current.mark == "3+1"


def test_the_same_text_again_doubles_nothing(streamed, people):
    fill_gym(people.gym)
    text = text_of(chat(60))
    first = begin(streamed, people, text)
    again = start_import(
        streamed_class=streamed, by=people.coach, kind="chat", data=text.encode(), now=NOW
    )
    assert again == first  # two taps on the button
    bring_in(first, people)
    before = list(Fact.objects.order_by("pk").values()), shown(streamed, people.coach)
    second = begin(streamed, people, text)
    assert second != first and "brought in before" in second.remarks[0]
    saved = set(first.lines.filter(state="saved").values_list("number", flat=True))
    assert saved == set(second.lines.filter(state="known").values_list("number", flat=True))
    with pytest.raises(Refused, match="No line is ready"):
        bring_in(second, people)
    assert (list(Fact.objects.order_by("pk").values()), shown(streamed, people.coach)) == before


def test_what_was_corrected_since_is_not_set_back_by_the_same_text(streamed, people):
    bring_in(begin(streamed, people, "Ana: 2+9"), people)
    log(streamed, people.ana, "2+11")
    again = begin(streamed, people, "Ana: 2+9")
    line = again.lines.get()
    assert line.state == "known" and "changed since, to 2+11" in line.remarks[0]


def test_an_import_that_dies_in_the_middle_goes_on_where_it_stopped(streamed, people, monkeypatch):
    fill_gym(people.gym)
    run = begin(streamed, people, text_of(chat(60)))
    monkeypatch.setattr(import_saving, "CHUNK", 10)
    real, calls = import_saving.add_facts, []

    def dies(**kwargs):
        made = real(**kwargs)
        calls.append(made)
        if len(calls) == 3:
            raise RuntimeError("the power went")  # inside the third transaction
        return made

    monkeypatch.setattr(import_saving, "add_facts", dies)
    with pytest.raises(RuntimeError):
        bring_in(run, people)
    run.refresh_from_db()
    assert run.state == "saving" and Fact.objects.count() == 20
    assert run.lines.filter(state="saved", fact__isnull=False).count() == 20
    assert (counts_of(run).done, counts_of(run).to_do) == (20, 20)
    monkeypatch.setattr(import_saving, "add_facts", real)
    assert tasks.go_on_imports() == 0  # somebody may still be at it
    ImportRun.objects.update(touched_at=NOW)
    assert tasks.go_on_imports() == 1  # nothing happened to it for a while
    run.refresh_from_db()
    assert run.state == "done"
    assert Fact.objects.count() == Result.objects.count() == Score.objects.count() == 40
    assert run.lines.filter(state="saved").count() == 40


def test_taken_back_the_board_is_the_one_from_before(streamed, people, monkeypatch):
    fill_gym(people.gym)
    expected = chat(90)
    good = [line for line in expected if line.state == "good"]
    members = {m.display_name: m for m in Membership.objects.filter(gym=people.gym)}
    for line in good[:8]:
        log(streamed, members[line.name], "1+13", "tuck rock", effort=6, note="mine")
    log(streamed, people.ana, "2+9")
    before = shown(streamed, people.coach)
    scores = list(Score.objects.order_by("result").values("result", "key", "tie_key", "credited"))
    run = begin(streamed, people, text_of(expected))
    accept_all(run=run, by=people.coach)
    run = bring_in(run, people)
    assert shown(streamed, people.coach) != before and Score.objects.count() == 61
    facts = Fact.objects.count()
    monkeypatch.setattr(import_undoing, "CHUNK", 25)
    run = take_back(run, people)
    assert run.state == "undone" and not run.lines.filter(state__in=("saved", "left")).exists()
    assert shown(streamed, people.coach) == before
    now = list(Score.objects.order_by("result").values("result", "key", "tie_key", "credited"))
    assert now == scores
    assert Fact.objects.count() == facts + 60  # nothing is deleted
    told = Fact.objects.filter(result__member=members[good[0].name]).latest("number")
    assert (told.mark, told.effort, told.note) == ("1+13", 6, "mine")


def test_taking_back_leaves_alone_what_was_changed_since(streamed, people):
    run = bring_in(begin(streamed, people, "Ana: 2+9\nBen: 2+5"), people)
    log(streamed, people.ana, "2+11")
    run = take_back(run, people)
    assert states(run) == {1: "left", 2: "undone"}
    assert "it is 2+11" in run.lines.get(number=1).remarks[0]
    assert [name for _, name, _ in shown(streamed, people.coach)] == ["Ana Sol"]


def test_taking_back_goes_on_where_it_stopped(streamed, people, monkeypatch):
    fill_gym(people.gym)
    run = bring_in(begin(streamed, people, text_of(chat(30))), people)
    monkeypatch.setattr(import_undoing, "CHUNK", 6)
    real, calls = import_undoing.add_facts, []

    def dies(**kwargs):
        calls.append(kwargs)
        made = real(**kwargs)
        if len(calls) == 2:
            raise RuntimeError("the power went")
        return made

    monkeypatch.setattr(import_undoing, "add_facts", dies)
    with pytest.raises(RuntimeError):
        take_back(run, people)
    assert run.lines.filter(state="undone").count() == 6 and Score.objects.count() == 14
    monkeypatch.setattr(import_undoing, "add_facts", real)
    tasks.undo_import(run.pk)
    assert run.lines.filter(state="undone").count() == 20 and Score.objects.count() == 0
    assert Fact.objects.count() == 40


def test_taken_back_it_can_come_in_again(streamed, people):
    run = take_back(bring_in(begin(streamed, people, "Ana: 2+9"), people), people)
    board_of_none = shown(streamed, people.coach)
    again = begin(streamed, people, "Ana: 2+9")
    assert again.pk != run.pk and states(again) == {1: "good"}
    again = bring_in(again, people)
    assert [name for _, name, _ in shown(streamed, people.coach)] == ["Ana Sol"]
    take_back(again, people)
    assert shown(streamed, people.coach) == board_of_none == []


def test_a_member_mended_twice_in_one_import_goes_back_all_the_way(streamed, people):
    log(streamed, people.ana, "1+0")
    run = begin(streamed, people, "Ana: 2+9\nBen: 1+1\nAna 2+10")
    later = run.lines.get(number=3)
    mend_line(line=later, by=people.coach, skip=True, now=NOW)
    accept_all(run=run, by=people.coach)
    run = bring_in(run, people)
    mend_line(line=later, by=people.coach, skip=False, accept=True, now=NOW)
    run = bring_in(run, people)
    assert Result.objects.get(member=people.ana).current.mark == "2+10"
    take_back(run, people)
    assert [(n, a) for _, n, a in shown(streamed, people.coach)] == [("Ana Sol", "1 round + 0")]


def test_a_closed_class_wants_a_reason_and_a_draft_takes_nothing(streamed, people):
    run = begin(streamed, people, "Ana: 2+9\nBen 1+1")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    with pytest.raises(Refused, match="The class is closed"):
        bring_in(run, people)
    run = bring_in(run, people, reason="came late")
    assert run.state == "done" and {f.reason for f in Fact.objects.all()} == {"came late"}
    with pytest.raises(Refused, match="draft"):
        begin(make_class(people, is_open=False), people, "Ana: 2+9")


def test_a_class_closed_after_confirming_stops_it_and_says_so(streamed, people):
    run = begin(streamed, people, "Ana: 2+9")
    confirm_import(run=run, by=people.coach, reason="", now=NOW)
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    tasks.save_import(run.pk)
    run.refresh_from_db()
    assert run.state == "checking" and "not open" in run.fault and not Fact.objects.exists()


def test_only_coaches_of_the_gym_bring_in_and_take_back(streamed, people):
    for other in (people.ana, people.foreign_coach):
        with pytest.raises(Refused, match="Only a coach"):
            start_import(streamed_class=streamed, by=other, kind="chat", data=b"Ana: 2+9", now=NOW)
    run = begin(streamed, people, "Ana: 2+9")
    for other in (people.ana, people.foreign_coach):
        for act in (
            lambda by: confirm_import(run=run, by=by, reason="", now=NOW),
            lambda by: mend_line(line=run.lines.get(), by=by, skip=True, now=NOW),
            lambda by: accept_all(run=run, by=by),
            lambda by: drop_import(run=run, by=by),
        ):
            with pytest.raises(Refused, match="Only a coach"):
                act(other)


def test_too_much_is_refused_before_anything_is_read(streamed, people):
    for data, kind, words in (
        (b"x" * (MAX_BYTES + 1), "chat", "1 MB"),
        (b"Ana 2+9\n" * (MAX_LINES + 1), "chat", "5000 lines"),
        (b"name,mark\n" + b"Ana,2+9\n" * (MAX_LINES + 1), "sheet", "5000 lines"),
        (b" \n\n", "chat", "nothing in it"),
        (b"PK\x03\x04zip", "sheet", "spreadsheet or an archive"),
        (b"what,ever\n1,2", "sheet", "no column"),
    ):
        with pytest.raises(Refused, match=words):
            begin(streamed, people, data, kind)
    assert not ImportRun.objects.exists()


def test_what_a_coach_did_stands_in_the_audit_trail(streamed, people):
    run = bring_in(begin(streamed, people, "Ana: 2+9\nBen 1+1"), people)
    take_back(run, people)
    entries = list(AuditEntry.objects.filter(what__contains="import").order_by("pk"))
    assert [(e.what, e.by, e.details["lines"]) for e in entries] == [
        ("import-results", people.coach, 2), ("undo-import", people.coach, 2),
    ]  # fmt: skip
    assert entries[0].subject == "Two ladders and a tide"


def test_500_lines_take_few_queries_and_few_versions_of_the_board(
    streamed, people, django_assert_max_num_queries
):
    fill_gym(people.gym)
    with django_assert_max_num_queries(100):
        run = begin(streamed, people, text_of(chat()))
    version = streamed.board_version
    with django_assert_max_num_queries(334):  # less than one a result
        bring_in(run, people)
    streamed.refresh_from_db()
    assert streamed.board_version - version == 4  # 334 results, a hundred at a time
    assert Result.objects.count() == 334


def test_an_import_thrown_away_leaves_nothing(streamed, people):
    run = begin(streamed, people, "Ana: 2+9")
    drop_import(run=run, by=people.coach)
    assert not ImportRun.objects.exists() and not ImportLine.objects.exists()
    run = bring_in(begin(streamed, people, "Ana: 2+9"), people)
    with pytest.raises(Refused, match="can't be done now"):
        drop_import(run=run, by=people.coach)
