"""The audit trail records every mutation: a walk over all services there are.

A service that writes either has a scene here, after which the trail says what was done, by
whom, to whom and why, or says why it needs none. A new one fails until it does.
"""

import importlib
import inspect
import pkgutil
from datetime import timedelta

import pytest

from members import gyms, leaving
from members import services as members_services
from members.models import AuditEntry, Role, User
from members.problems import Refused as MembersRefused
from scoring import services
from scoring.models import Result
from scoring.problems import Refused
from scoring.selectors.audit import WORDS
from scoring.services import (
    classes,
    closing,
    correcting,
    lines,
    notes,
    questions,
    requests,
)
from scoring.services.submitting import ResultInput

from ..conftest import NOW
from .audit_scenes import COACH_NO_RECORD, COACH_SCENES
from .classes import log, make_class

LATER = NOW + timedelta(hours=2)
MEMBERS = ["services", "leaving", "gyms", "bodies", "feeds", "devices", "sessions"]
OWN = "somebody's own, and nothing the gym answers for"
READS = "it writes nothing"
BELOW = "it is called by services that record what it is part of"
NO_RECORD = {
    "members.services.change_profile": OWN,
    "members.services.clean_name": READS,
    "members.leaving.all_memberships": READS,
    "members.leaving.demand_another_owner": READS,
    "members.leaving.gyms_without_another_owner": READS,
    "members.bodies.body_of": READS,
    "members.bodies.save_body": OWN,
    "members.feeds.feed_of": READS,
    "members.feeds.holder": READS,
    "members.feeds.make_feed": OWN,
    "members.feeds.revoke_feed": OWN,
    "members.devices.make_token": OWN,
    "members.devices.revoke_token": OWN,
    "members.devices.tokens_of": READS,
    "members.sessions.sign_out_everywhere": OWN,
    "scoring.services.archive.pack": READS,
    "scoring.services.credits.current_table": "a gym's first table holds the usual figures",
    "scoring.services.credits.new_table": BELOW,
    "scoring.services.erasing.erase": "an erasure leaves nothing that names whom it erased",
    "scoring.services.erasing.erase_due": "see erase",
    "scoring.services.erasing.references": READS,
    "scoring.services.erasures.ask_erasure": OWN,
    "scoring.services.erasures.demand_free": READS,
    "scoring.services.erasures.erasure_of": READS,
    "scoring.services.erasures.hindered_by": READS,
    "scoring.services.erasures.take_back": OWN,
    "scoring.services.erasures.tell_asked": READS,
    "scoring.services.exporting.archive_for": READS,
    "scoring.services.exporting.ask_export": OWN,
    "scoring.services.exporting.drop_expired": "copies of data that ran out",
    "scoring.services.exporting.latest_export": READS,
    "scoring.services.exporting.make_export": OWN,
    "scoring.services.exporting.waiting_exports": READS,
    "scoring.services.line_reading.read_told": READS,
    "scoring.services.line_reading.says": READS,
    "scoring.services.messages.read_clock": READS,
    "scoring.services.messages.save_message_settings": OWN,
    "scoring.services.messages.switch_off": OWN,
    "scoring.services.own_data.own_data": READS,
    "scoring.services.pains.read_pain": READS,
    "scoring.services.pains.tell_pain": OWN,
    "scoring.services.reading.possible_unbroken": READS,
    "scoring.services.reading.read_result": READS,
    "scoring.services.reading.texts_of": READS,
    "scoring.services.reading.try_score": READS,
    "scoring.services.recompute.differences": READS,
    "scoring.services.recompute.go_on": "see recompute_class",
    "scoring.services.recompute.recompute_class": "scores are derived; its own ledger tells of it",
    "scoring.services.recompute.start_recompute": BELOW,
    "scoring.services.recompute.stopped_recomputes": READS,
    "scoring.services.recompute.moving": READS,
    "scoring.services.recompute_rows.again": READS,
    "scoring.services.recompute_rows.read_scored": READS,
    "scoring.services.recompute_writing.write": BELOW,
    "scoring.services.renaming.boards_show_another_name": BELOW,
    "scoring.services.requests.ask_for_change": OWN,
    "scoring.services.setups.read_weights": READS,
    "scoring.services.setups.save_setup": OWN,
    "scoring.services.setups.set_usual": OWN,
    "scoring.services.workouts.fingerprint": READS,
    "scoring.services.workouts.preview": READS,
    "scoring.services.workouts.save_workout": BELOW,
    "scoring.services.writing.add_fact": BELOW,
    "scoring.services.writing.drop_score": BELOW,
    "scoring.services.writing.next_board_version": BELOW,
    "scoring.services.writing.put_score": BELOW,
    "scoring.services.writing.record_fact": BELOW,
}


def _result(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    return Result.objects.select_related("streamed_class__gym", "member").get(member=people.ana)


def _request(people):
    streamed = make_class(people)
    classes.close_class(streamed_class=streamed, by=people.coach, now=NOW)
    streamed.refresh_from_db()
    return requests.ask_for_change(
        streamed_class=streamed,
        member=people.ana,
        data=ResultInput("3+0"),
        words="one more",
        now=NOW,
    )


def _joins(people):
    made = members_services.invite(by=people.coach, now=NOW)
    user = User.objects.create_user("new@example.org")
    members_services.accept_invitation(
        token=made.token, user=user, display_name="Nell New", now=NOW
    )


def _closed(people):
    streamed = make_class(people)
    return classes.close_class(streamed_class=streamed, by=people.coach, now=NOW)


def _closes_itself(people):
    make_class(people, closes_at=NOW + timedelta(hours=1))
    closing.close_due(now=LATER)


def _note(people):
    return notes.add_note(member=people.ana, by=people.coach, words="lower box", now=NOW)


def _line(people):
    streamed = make_class(people)
    told = lines.log_line(
        streamed_class=streamed, by=people.coach, line="ana 2+9", key="k", now=NOW
    )
    return told.done.fact


# service: (what is done, the deeds it leaves, by whom, about whom, why)


SCENES = {
    "members.services.create_gym": (
        lambda p: members_services.create_gym(
            name="Quay", slug="quay", owner=p.owner.user, owner_name="Olga"
        ),
        ["make-gym"], None, None, "",
    ),
    "members.services.add_member": (
        lambda p: members_services.add_member(by=p.coach, display_name="Nell", now=NOW),
        ["add-member"], "coach", "Nell", "",
    ),
    "members.services.invite": (
        lambda p: members_services.invite(by=p.coach, now=NOW),
        ["make-invitation"], "coach", None, "",
    ),
    "members.services.accept_invitation": (
        _joins, ["make-invitation", "join-by-invitation"], None, "Nell New", "",
    ),
    "members.services.revoke": (
        lambda p: members_services.revoke(
            invitation=members_services.invite(by=p.coach, now=NOW).invitation, by=p.coach, now=NOW
        ),
        ["make-invitation", "revoke-invitation"], "coach", None, "",
    ),
    "members.services.change_role": (
        lambda p: members_services.change_role(membership=p.ana, by=p.owner, role="coach", now=NOW),
        ["change-role"], "owner", "Ana Sol", "",
    ),
    "members.services.withhold_rights": (
        lambda p: members_services.withhold_rights(
            membership=p.coach, by=p.owner, withheld=["credits"], now=NOW
        ),
        ["change-rights"], "owner", "Carl Coach", "",
    ),
    "members.services.remove_member": (
        lambda p: members_services.remove_member(membership=p.ana, by=p.coach, now=NOW),
        ["remove-member"], "coach", "Ana Sol", "",
    ),
    "members.leaving.leave_gym": (
        lambda p: leaving.leave_gym(membership=p.ana, now=NOW),
        ["leave-gym"], "ana", "Ana Sol", "",
    ),
    "members.gyms.change_gym": (
        lambda p: gyms.change_gym(by=p.owner, shown_as_default="initials", now=NOW),
        ["change-gym"], "owner", None, "",
    ),
    "scoring.services.classes.create_class": (
        lambda p: make_class(p, is_open=False), ["make-class"], "coach", None, "",
    ),
    "scoring.services.classes.change_draft": (
        lambda p: classes.change_draft(
            streamed_class=make_class(p, is_open=False), by=p.owner, note="hello", now=NOW
        ),
        ["make-class", "change-draft"], "owner", None, "",
    ),
    "scoring.services.classes.open_class": (
        make_class, ["make-class", "open-class"], "coach", None, "",
    ),
    "scoring.services.classes.close_class": (
        _closed, ["make-class", "open-class", "close-class"], "coach", None, "",
    ),
    "scoring.services.classes.reopen_class": (
        lambda p: classes.reopen_class(streamed_class=_closed(p), by=p.owner, now=NOW),
        ["make-class", "open-class", "close-class", "reopen-class"], "owner", None, "",
    ),
    "scoring.services.closing.set_closing": (
        lambda p: closing.set_closing(
            streamed_class=make_class(p), by=p.owner, closes_at=LATER, now=NOW
        ),
        ["make-class", "open-class", "set-closing-time"], "owner", None, "",
    ),
    "scoring.services.closing.close_due": (
        _closes_itself, ["make-class", "open-class", "close-class"], "nobody", None, "",
    ),
    "scoring.services.correcting.correct_result": (
        lambda p: correcting.correct_result(
            result=_result(p), by=p.coach, data=ResultInput("2+8"), reason="miscounted", now=NOW
        ),
        ["make-class", "open-class", "correct-result"], "coach", "Ana Sol", "miscounted",
    ),
    "scoring.services.correcting.withdraw_result": (
        lambda p: correcting.withdraw_result(
            result=_result(p), by=p.coach, reason="somebody else's", now=NOW
        ),
        ["make-class", "open-class", "withdraw-result"], "coach", "Ana Sol", "somebody else's",
    ),
    "scoring.services.submitting.submit_result": (
        lambda p: log(make_class(p), p.ana, "2+9", by=p.coach),
        ["make-class", "open-class", "log-for-member"], "coach", "Ana Sol", "",
    ),
    "scoring.services.requests.answer_request": (
        lambda p: requests.answer_request(
            request=_request(p), by=p.owner, accept=False, words="the video says 2+9", now=NOW
        ),
        ["make-class", "open-class", "close-class", "decline-request"],
        "owner", "Ana Sol", "the video says 2+9",
    ),
    "scoring.services.lines.log_line": (
        _line, ["make-class", "open-class", "log-for-member"], "coach", "Ana Sol", "",
    ),
    "scoring.services.lines.undo_line": (
        lambda p: lines.undo_line(
            streamed_class=(told := _line(p)).result.streamed_class, fact_id=told.pk, by=p.coach,
            now=NOW,
        ),
        ["make-class", "open-class", "log-for-member", "withdraw-result"],
        "coach", "Ana Sol", lines.UNDONE,
    ),
    "scoring.services.questions.answer_question": (
        lambda p: questions.answer_question(
            streamed_class=(result := _result(p)).streamed_class, fact_id=result.current_id,
            kind="fast", by=p.owner, now=NOW,
        ),
        ["make-class", "open-class", "find-result-right"], "owner", "Ana Sol", "",
    ),
    "scoring.services.notes.add_note": (
        _note, ["write-note"], "coach", "Ana Sol", "",
    ),
    "scoring.services.notes.strike_note": (
        lambda p: notes.strike_note(note=_note(p), by=p.owner, why="not she", now=NOW),
        ["write-note", "strike-note"], "owner", "Ana Sol", "",
    ),
}  # fmt: skip


SCENES |= COACH_SCENES
NO_RECORD |= COACH_NO_RECORD


def all_services():
    modules = [f"members.{name}" for name in MEMBERS]
    modules += [f"scoring.services.{m.name}" for m in pkgutil.iter_modules(services.__path__)]
    for path in modules:
        module = importlib.import_module(path)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == path and not name.startswith("_"):
                yield f"{path}.{name}"


def test_every_service_has_a_scene_or_says_why_it_needs_none():
    told = set(SCENES) | set(NO_RECORD)
    assert not set(SCENES) & set(NO_RECORD)
    assert set(all_services()) == told


@pytest.mark.parametrize("service", SCENES)
def test_what_was_done_is_on_record(service, people):
    act, deeds, by, whom, why = SCENES[service]
    act(people)
    entries = list(AuditEntry.objects.order_by("pk").select_related("by", "member"))
    last = entries[-1]
    if deeds is None:  # several classes are made by it
        assert last.what.replace("-", "_") == service.rpartition(".")[2]
    else:
        assert [entry.what for entry in entries] == deeds
    if by is not None:
        assert last.by == (None if by == "nobody" else getattr(people, by))
    assert (last.member.display_name if last.member else None) == whom
    if why is not None:
        assert last.why == why


def test_every_deed_has_words():
    told = {what for _, deeds, *_ in SCENES.values() for what in deeds or ()}
    assert told <= set(WORDS)


def test_what_a_member_logs_for_themselves_is_its_own_record(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    assert not AuditEntry.objects.filter(member=people.ana).exists()
    log(streamed, people.ana, "2+10")
    entry = AuditEntry.objects.get(member=people.ana)
    assert (entry.what, entry.by) == ("correct-result", people.ana)
    assert entry.details == {
        "mark": "2+10", "mark before": "2+9", "options": "", "options before": "",
    }  # fmt: skip


def test_a_deed_that_fails_leaves_no_entry(people):
    with pytest.raises(MembersRefused):
        members_services.change_role(membership=people.owner, by=people.owner, role=Role.MEMBER)
    with pytest.raises(Refused):
        correcting.correct_result(
            result=_result(people), by=people.coach, data=ResultInput("2+99"), reason="x", now=NOW
        )
    whats = set(AuditEntry.objects.values_list("what", flat=True))
    assert whats == {"make-class", "open-class"}


def test_doing_it_twice_is_recorded_once(people):
    streamed = make_class(people)
    for _ in range(2):
        classes.close_class(streamed_class=streamed, by=people.coach, now=NOW)
        members_services.remove_member(membership=people.ana, by=people.coach, now=NOW)
    assert AuditEntry.objects.filter(what="close-class").count() == 1
    assert AuditEntry.objects.filter(what="remove-member").count() == 1
