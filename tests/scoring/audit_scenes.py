"""What coaches do before and after a class, and what of it the audit trail must tell."""

from datetime import date, timedelta

from scoring import tasks
from scoring.core.follow_up import Reason
from scoring.core.iso_week import IsoWeek
from scoring.models import Result
from scoring.services import (
    after_restore,
    credit_changes,
    follow_up,
    follow_up_words,
    import_mending,
    importing,
    lines,
    notes,
    planning,
    questions,
    templates,
)

from ..conftest import NOW
from .classes import log, make_class

CLASS = ["make-class", "open-class"]
FIRST = {"reason": Reason.FIRST, "occasion": "class-1"}


def _propose(people):
    return credit_changes.propose(
        gym=people.gym,
        by=people.coach,
        entries=[credit_changes.EntryInput("hollow rock", "tuck rock", "0.9")],
        reason="tuck rocks are hard",
        scope="new",
        now=NOW,
    )


def _accept(people, change=None):
    change = change or _propose(people)
    credit_changes.go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    credit_changes.accept(
        change=change, by=people.coach, seen=credit_changes.seen_of(change), now=NOW
    )
    credit_changes.go_on(change_id=change.pk, now=NOW)
    change.refresh_from_db()
    return change


def _undo(people):
    change = _accept(people)
    undone = credit_changes.propose_undo(change=change, by=people.coach, reason="too high", now=NOW)
    _accept(people, undone)


def _bring_in(people, text="Ana Sol: 2+9"):
    run = importing.start_import(
        streamed_class=make_class(people), by=people.coach, kind="chat", data=text.encode(), now=NOW
    )
    tasks.read_import(run.pk)
    run.refresh_from_db()
    return run


def _confirm(people):
    run = importing.confirm_import(run=_bring_in(people), by=people.coach, reason="", now=NOW)
    tasks.save_import(run.pk)
    run.refresh_from_db()
    return run


def _new_member(people):
    run = _bring_in(people, "Nell Newcomb: 2+9")
    import_mending.mend_line(
        line=run.lines.get(), by=people.coach, new_member="Nell Newcomb", now=NOW
    )


def _line(people):
    return lines.log_line(
        streamed_class=make_class(people), by=people.coach, line="ana sol 2+9", key="k", now=NOW
    )


def _undo_line(people):
    done = _line(people)
    result = Result.objects.select_related("streamed_class").get()
    assert done is not None
    lines.undo_line(
        streamed_class=result.streamed_class, fact_id=result.current_id, by=people.coach, now=NOW
    )


def _question(people):
    streamed = make_class(people)
    log(streamed, people.ana, "99+9")
    fact = Result.objects.get().current
    questions.answer_question(
        streamed_class=streamed, fact_id=fact.pk, kind="fast", by=people.coach, now=NOW
    )


def _done(people):
    return follow_up.mark_done(member=people.ana, by=people.coach, now=NOW, **FIRST)


def _template(people):
    return templates.save_template(by=people.coach, name="A frame", text="cap ___", now=NOW)


def _note(people):
    return notes.add_note(member=people.ana, by=people.coach, words="likes mornings", now=NOW)


def _words(people):
    return follow_up_words.save_words(
        by=people.coach, reason=Reason.FIRST, text="Welcome, {name}!", for_gym=False, now=NOW
    )


def _copy(people):
    make_class(people)
    planning.copy_week(
        by=people.coach, source=IsoWeek.read("2026-W48"), target=IsoWeek.read("2026-W49"), now=NOW
    )


COACH_SCENES = {
    "scoring.services.after_restore.record_restore": (
        lambda p: after_restore.record_restore(taken=NOW, now=NOW),
        None, "nobody", None, "",
    ),
    "scoring.services.credit_changes.accept": (
        _accept, ["change-credits"], "coach", None, "tuck rocks are hard",
    ),
    "scoring.services.credit_changes.propose_undo": (
        _undo, ["change-credits", "undo-credits"], "coach", None, "too high",
    ),
    "scoring.services.importing.confirm_import": (
        _confirm, [*CLASS, "import-results"], "coach", None, "",
    ),
    "scoring.services.importing.undo_import": (
        lambda p: importing.undo_import(run=_confirm(p), by=p.owner, reason="wrong class", now=NOW),
        [*CLASS, "import-results", "undo-import"], "owner", None, "wrong class",
    ),
    "scoring.services.import_mending.mend_line": (
        _new_member, [*CLASS, "add-member"], "coach", "Nell Newcomb", "",
    ),
    "scoring.services.lines.log_line": (
        _line, [*CLASS, "log-for-member"], "coach", "Ana Sol", "",
    ),
    "scoring.services.lines.undo_line": (
        _undo_line, [*CLASS, "log-for-member", "withdraw-result"], "coach", "Ana Sol", None,
    ),
    "scoring.services.questions.answer_question": (
        _question, [*CLASS, "find-result-right"], "coach", "Ana Sol", "",
    ),
    "scoring.services.follow_up.mark_done": (_done, ["follow-up-done"], "coach", "Ana Sol", ""),
    "scoring.services.follow_up.put_off": (
        lambda p: follow_up.put_off(
            member=p.ana, by=p.coach, until=date(2026, 12, 5), now=NOW, **FIRST
        ),
        ["follow-up-later"], "coach", "Ana Sol", "",
    ),
    "scoring.services.follow_up.hide_for_good": (
        lambda p: follow_up.hide_for_good(
            member=p.ana, by=p.coach, reason=Reason.BEST, now=NOW
        ),
        ["follow-up-never"], "coach", "Ana Sol", "",
    ),
    "scoring.services.follow_up.take_back": (
        lambda p: follow_up.take_back(row=_done(p), by=p.owner, now=NOW),
        ["follow-up-done", "follow-up-open"], "owner", "Ana Sol", "",
    ),
    "scoring.services.follow_up.write_letter": (
        lambda p: follow_up.write_letter(
            member=p.ana, by=p.coach, words="Welcome!", key="a", now=NOW, **FIRST
        ),
        ["send-follow-up"], "coach", "Ana Sol", "",
    ),
    "scoring.services.follow_up_words.save_words": (
        _words, ["save-words"], "coach", None, "",
    ),
    "scoring.services.follow_up_words.restore_words": (
        lambda p: (
            _words(p),
            follow_up_words.restore_words(by=p.coach, reason=Reason.FIRST, for_gym=False, now=NOW),
        ),
        ["save-words", "restore-words"], "coach", None, "",
    ),
    "scoring.services.follow_up_words.save_silent_days": (
        lambda p: follow_up_words.save_silent_days(by=p.coach, days=21, now=NOW),
        ["set-silent-days"], "coach", None, "",
    ),
    "scoring.services.planning.copy_week": (_copy, None, "coach", None, ""),
    "scoring.services.planning.delete_draft": (
        lambda p: planning.delete_draft(
            streamed_class=make_class(p, is_open=False), by=p.owner, now=NOW
        ),
        ["make-class", "delete-class"], "owner", None, "",
    ),
    "scoring.services.planning.move_draft": (
        lambda p: planning.move_draft(
            streamed_class=make_class(p, is_open=False), by=p.owner,
            starts_at=NOW + timedelta(days=1), now=NOW,
        ),
        ["make-class", "move-class"], "owner", None, "",
    ),
    "scoring.services.planning.repeat_workout": (
        lambda p: planning.repeat_workout(
            workout=make_class(p).workout, by=p.owner, starts_at=NOW + timedelta(days=7), now=NOW
        ),
        None, "owner", None, "",
    ),
    "scoring.services.templates.save_template": (
        _template, ["make-template"], "coach", None, "",
    ),
    "scoring.services.templates.remove_template": (
        lambda p: templates.remove_template(template=_template(p), by=p.owner, now=NOW),
        ["make-template", "remove-template"], "owner", None, "",
    ),
    "scoring.services.notes.add_note": (_note, ["write-note"], "coach", "Ana Sol", ""),
    "scoring.services.notes.strike_note": (
        lambda p: notes.strike_note(note=_note(p), by=p.owner, why="it was Ben", now=NOW),
        ["write-note", "strike-note"], "owner", "Ana Sol", None,
    ),
}  # fmt: skip

READS = "it writes nothing"
SHOWN = "it is shown and changes no board until it is accepted"
PART = "it is part of an import or a change that is on record whole"
ESTIMATES = "figures are derived; their own ledger tells who asked"
RESTORE = "a restore is on record as a whole, see record_restore"
COACH_NO_RECORD = {
    "scoring.services.after_restore.end_sign_ins": RESTORE,
    "scoring.services.after_restore.new_versions": RESTORE,
    "scoring.services.erasure_ledger.do_again": "an erasure leaves nothing that names whom it erased",
    "scoring.services.erasure_ledger.note": READS,
    "scoring.services.erasure_ledger.read": READS,
    "scoring.services.estimate_forgetting.blanks": READS,
    "scoring.services.estimate_reading.classes_of": READS,
    "scoring.services.estimate_reading.somebody_in": READS,
    "scoring.services.estimate_reading.facts_of": READS,
    "scoring.services.estimate_reading.fingerprint": READS,
    "scoring.services.estimate_reading.read": READS,
    "scoring.services.estimate_reading.table_of": READS,
    "scoring.services.estimate_runs.ask": ESTIMATES,
    "scoring.services.estimate_runs.ask_nightly": ESTIMATES,
    "scoring.services.estimate_runs.fail": ESTIMATES,
    "scoring.services.estimate_runs.finish": ESTIMATES,
    "scoring.services.estimate_runs.get_on": ESTIMATES,
    "scoring.services.estimate_runs.take": ESTIMATES,
    "scoring.services.estimate_runs.waiting": READS,
    "scoring.services.estimating.estimate": ESTIMATES,
    "scoring.services.estimating.in_words": READS,
    "scoring.services.estimating.keys": READS,
    "scoring.services.credit_changes.go_on": PART,
    "scoring.services.credit_changes.look_anew": SHOWN,
    "scoring.services.credit_changes.propose": SHOWN,
    "scoring.services.credit_changes.seen_of": READS,
    "scoring.services.credit_changes.unfinished": READS,
    "scoring.services.credit_classes.concerned": READS,
    "scoring.services.credit_classes.line_up": SHOWN,
    "scoring.services.credit_classes.proposed": READS,
    "scoring.services.credit_classes.table_of": READS,
    "scoring.services.credit_entries.read_entries": READS,
    "scoring.services.credit_entries.read_entry": READS,
    "scoring.services.credit_entries.read_reason": READS,
    "scoring.services.credit_entries.words_of": READS,
    "scoring.services.credit_moves.class_moves": READS,
    "scoring.services.follow_up.read_reason": READS,
    "scoring.services.questions.keep_questions": "nobody's deed: what the site asks",
    "scoring.services.forecasting.keep_forecast": "nobody's deed: what an estimate expected",
    "scoring.services.follow_up.tidy_words": READS,
    "scoring.services.import_clearing.clear_texts": "words run out of themselves; facts stay",
    "scoring.services.import_clearing.forget_in_imports": "part of erasing somebody",
    "scoring.services.import_holding.demand_coach": READS,
    "scoring.services.import_holding.held": READS,
    "scoring.services.import_holding.held_lines": READS,
    "scoring.services.import_holding.write_lines": PART,
    "scoring.services.import_mending.accept_all": PART,
    "scoring.services.import_reading.digest_of": READS,
    "scoring.services.import_reading.read_chunk": PART,
    "scoring.services.import_reading.read_lines": READS,
    "scoring.services.import_reading.understand": READS,
    "scoring.services.import_saving.held_run": READS,
    "scoring.services.import_saving.save_chunk": PART,
    "scoring.services.import_settling.guessed": READS,
    "scoring.services.what_stays.with_what_stays": READS,
    "scoring.services.import_settling.says_the_same": READS,
    "scoring.services.import_settling.must_choose": READS,
    "scoring.services.import_settling.settle": PART,
    "scoring.services.import_settling.told_short": READS,
    "scoring.services.import_undoing.undo_chunk": PART,
    "scoring.services.importing.drop_import": "nothing of it came in",
    "scoring.services.importing.start_import": "nothing of it comes in until it is confirmed",
    "scoring.services.line_reading.read_told": READS,
    "scoring.services.line_reading.says": READS,
    "scoring.services.searching.index_workouts": "an index is derived",
    "scoring.services.searching.missing_index": READS,
    "scoring.services.submitting.digest_of": READS,
    "scoring.services.writing_many.add_facts": PART,
}
