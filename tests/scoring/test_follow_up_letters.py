"""A coach's words on their way: sent once, as wanted, and then kept nowhere."""

from datetime import timedelta

import pytest
from django.urls import reverse

from members.models import AuditEntry
from scoring import tasks
from scoring.core.follow_up import Reason
from scoring.messages import due, outbox
from scoring.models import (
    FollowUp,
    FollowUpLetter,
    FollowUpWords,
    Message,
    MessageKind,
    MessageSettings,
    Pain,
)
from scoring.problems import Refused
from scoring.selectors.follow_up import letters_to, person_of, unreachable
from scoring.services.classes import close_class
from scoring.services.erasing import erase_due
from scoring.services.erasures import ask_erasure
from scoring.services.follow_up import hide_for_good, take_back, write_letter
from scoring.services.follow_up_words import save_words
from scoring.services.messages import switch_off
from scoring.services.own_data import own_data
from scoring.services.pains import tell_pain

from ..conftest import NOW
from .classes import log, make_class
from .mail import NOON, prove, prove_all, run, send_all

SECRET = "Planted words"
NIGHT = NOON.replace(hour=23)


@pytest.fixture
def streamed(people):
    prove_all()
    made = make_class(people)
    log(made, people.ana, "2+9")
    # Closed, so that of its opening nobody is told in between; and its coach not of that.
    MessageSettings.objects.create(member=people.coach, closed=False)
    return close_class(streamed_class=made, by=people.coach, now=NOW)


def write(people, streamed, *, member=None, words=SECRET, key="k", by=None, **about):
    return write_letter(
        member=member or people.ana, by=by or people.coach, words=words, key=key,
        **{"reason": Reason.FIRST, "occasion": f"class-{streamed.pk}", "now": NOON} | about,
    )  # fmt: skip


def open_reasons(people, now=NOW + timedelta(hours=2)):
    person = person_of(viewer=people.coach, member=people.ana, now=now)
    return [one.reason.value for one in person.reasons] if person else []


def test_words_are_sent_once_as_the_coach_wrote_them_and_then_gone(people, streamed, mailoutbox):
    assert open_reasons(people) == ["first"]
    letter = write(people, streamed, words=f"{SECRET}\n\nSecond <b>line</b>\r\n").letter
    assert letter.words == f"{SECRET}\n\nSecond <b>line</b>"
    assert open_reasons(people) == [] and mailoutbox == []  # nothing by itself
    due.follow_up(letter_id=letter.pk, now=NOON)
    assert send_all() == ["sent"]
    assert due.follow_up(letter_id=letter.pk, now=NOON) == [] and run(NOON) == []
    [mail] = mailoutbox
    assert mail.to == [people.ana.user.email]
    assert mail.subject == "A word from your coach at Harbour Street"
    assert "Your coach, Carl Coach, wrote to you:" in mail.body
    assert f"{SECRET}\n\nSecond <b>line</b>" in mail.body
    assert "Nobody reads answers" in mail.body
    assert "/unsubscribe/" in mail.body and "List-Unsubscribe" in mail.extra_headers
    assert "Second &lt;b&gt;line&lt;/b&gt;" in mail.alternatives[0][0]
    letter.refresh_from_db()
    assert letter.words == "" and letter.is_sent and not letter.is_lost
    [kept] = letters_to(viewer=people.coach, member=people.ana)
    assert (kept.by, kept.reason, kept.asked_at) == (people.coach, "first", NOON)
    [entry] = AuditEntry.objects.filter(what="send-follow-up")
    assert entry.member == people.ana and SECRET not in str(entry.details) + entry.subject


def test_a_second_press_sends_nothing_more(people, streamed, mailoutbox):
    first = write(people, streamed)
    again = write(people, streamed, words="Other words")
    assert first.is_new and not again.is_new and again.letter == first.letter
    for _ in range(2):
        due.follow_up(letter_id=first.letter.pk, now=NOON)
    send_all()
    assert len(mailoutbox) == FollowUpLetter.objects.count() == FollowUp.objects.count() == 1
    assert SECRET in mailoutbox[0].body


def test_two_coaches_do_not_write_about_the_same(people, streamed):
    write(people, streamed)
    with pytest.raises(Refused) as refused:
        write(people, streamed, by=people.owner, key="other")
    assert refused.value.kind == "conflict" and FollowUpLetter.objects.count() == 1
    take_back(row=FollowUp.objects.get(), by=people.owner, now=NOON)
    assert write(people, streamed, by=people.owner, key="other").is_new  # asked for


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (" \n ", "nothing to send"), ("x" * 2001, "can't be sent"),
        ("Hello {name}", "“{name}” is not filled in"), ("a\0b", "can't be sent"),
    ],
)  # fmt: skip
def test_words_that_cannot_go_are_refused_and_nothing_is_half_done(people, streamed, words, said):
    with pytest.raises(Refused) as refused:
        write(people, streamed, words=words)
    assert said in refused.value.items[0].problem
    assert not FollowUpLetter.objects.exists() and not FollowUp.objects.exists()


@pytest.mark.parametrize("who", ["ana", "ben", "foreign_coach"])
def test_only_their_coaches_write(people, streamed, who):
    with pytest.raises(Refused) as refused:
        write(people, streamed, by=getattr(people, who))
    assert refused.value.kind == "forbidden" and not FollowUpLetter.objects.exists()


def test_at_night_it_waits_with_its_words(people, streamed, mailoutbox):
    letter = write(people, streamed, now=NIGHT).letter
    assert due.follow_up(letter_id=letter.pk, now=NIGHT) == []
    assert run(NIGHT) == [] and mailoutbox == []
    letter.refresh_from_db()
    assert letter.words == SECRET
    assert run(NIGHT + timedelta(hours=8, minutes=5)) == ["sent"]
    assert len(mailoutbox) == 1 and not FollowUpLetter.objects.exclude(words="").exists()


def test_it_is_found_again_where_the_broker_was_away(people, streamed, mailoutbox):
    write(people, streamed)
    assert run(NOON + timedelta(hours=7)) == ["sent"] and len(mailoutbox) == 1


def test_the_task_sends_it(people, streamed, mailoutbox, monkeypatch):
    monkeypatch.setattr(tasks.timezone, "now", lambda: NOON)
    sent = []
    monkeypatch.setattr(tasks.send_message, "delay", sent.append)
    letter = write(people, streamed).letter
    assert tasks.send_follow_up(letter.pk) == 1 and tasks.send_follow_up(letter.pk) == 0
    assert sent == [Message.objects.get().pk]


def test_who_switched_it_off_or_has_no_address_is_said_beforehand(people, streamed):
    assert unreachable(people.ana) == ""
    switch_off(member=people.ana, kind=MessageKind.FOLLOW_UP)
    people.ana.refresh_from_db()
    assert "switched off" in unreachable(people.ana)
    people.ben.user.emailaddress_set.update(verified=False)
    assert "no confirmed e-mail" in unreachable(people.ben)
    assert people.ben.user.email not in unreachable(people.ben)


@pytest.mark.parametrize("when", ["before", "after"])
def test_switched_off_meanwhile_nothing_is_sent_and_the_reason_is_open_again(
    people, streamed, mailoutbox, when
):
    letter = write(people, streamed).letter
    if when == "after":
        due.follow_up(letter_id=letter.pk, now=NOON)
    switch_off(member=people.ana, kind=MessageKind.FOLLOW_UP)
    due.follow_up(letter_id=letter.pk, now=NOON)
    send_all()
    letter.refresh_from_db()
    assert mailoutbox == [] and letter.words == "" and letter.is_lost
    assert open_reasons(people) == ["first"]


def test_a_letter_that_could_not_leave_loses_its_words_and_opens_its_reason(people, streamed):
    letter = write(people, streamed).letter
    [pk] = due.follow_up(letter_id=letter.pk, now=NOON)
    assert outbox.claim(pk=pk, now=NOON)
    outbox.give_up_unknown(now=NOON + timedelta(hours=2))
    letter.refresh_from_db()
    assert letter.is_lost and open_reasons(people) == ["first"]
    assert write(people, streamed, key="again").is_new


def test_words_that_nothing_came_of_are_dropped_in_days(people, streamed):
    letter = write(people, streamed).letter
    assert outbox.forget_words(now=NOON + timedelta(days=3)) == 0
    assert outbox.forget_words(now=NOON + timedelta(days=4)) == 1
    letter.refresh_from_db()
    assert letter.is_lost


# --- about a pain ------------------------------------------------------------


def about_pain(people, streamed, areas):
    tell_pain(streamed_class=streamed, member=people.ana, areas=areas, words="ouch", now=NOW)
    pain = Pain.objects.get()
    return {
        "reason": Reason.PAIN,
        "occasion": f"class-{streamed.pk}-{int(pain.told_at.timestamp())}",
    }


def test_below_words_about_a_pain_stands_whom_to_ask_whatever_was_written(
    people, streamed, mailoutbox
):
    about = about_pain(people, streamed, ["chest"])
    letter = write(people, streamed, words="Just go on", **about).letter
    due.follow_up(letter_id=letter.pk, now=NOON)
    send_all()
    [mail] = mailoutbox
    assert "emergency number" in mail.body and "physiotherapist" in mail.body
    for told in ("pain", "chest", "hurt"):
        assert told not in mail.subject.lower()
    assert reverse("cautions") in mail.body
    assert "ouch" not in mail.body


@pytest.mark.parametrize("areas", [[], ["knee"]])
def test_a_pain_taken_back_or_told_anew_is_not_written_about_any_more(
    people, streamed, mailoutbox, areas
):
    letter = write(people, streamed, **about_pain(people, streamed, ["chest"])).letter
    due.follow_up(letter_id=letter.pk, now=NOON)
    tell_pain(
        streamed_class=streamed, member=people.ana, areas=areas, words="",
        now=NOW + timedelta(hours=1),
    )  # fmt: skip
    assert send_all() == ["dropped"] and mailoutbox == []


def test_a_coach_who_is_none_any_more_writes_to_nobody(people, streamed, mailoutbox):
    letter = write(people, streamed).letter
    due.follow_up(letter_id=letter.pk, now=NOON)
    people.coach.role = "member"
    people.coach.save()
    assert send_all() == ["dropped"] and mailoutbox == []


def test_their_copy_of_data_tells_that_they_were_written_to(people, streamed):
    prove(people.ana)
    letter = write(people, streamed).letter
    told = own_data(people.ana.user)
    assert [row["decided"] for row in told["follow_ups"]] == ["done"]
    [row] = told["letters"]
    assert (row["reason"], row["is_sent"]) == ("first class", False)
    assert row["words_waiting"] == SECRET and row["written_by"] == "a coach"
    due.follow_up(letter_id=letter.pk, now=NOON)
    send_all()
    [row] = own_data(people.ana.user)["letters"]
    assert row["is_sent"] and row["words_waiting"] == ""
    assert own_data(people.ben.user)["letters"] == []


@pytest.mark.parametrize("results", ["anonymous", "gone"])
def test_erased_with_its_member_no_word_and_no_note_is_left(people, streamed, results):
    letter = write(people, streamed).letter
    due.follow_up(letter_id=letter.pk, now=NIGHT)  # waits with its words
    hide_for_good(member=people.ana, by=people.coach, reason=Reason.BEST, now=NOON)
    write(people, streamed, member=people.ben)
    ask_erasure(user=people.ana.user, results=results, now=NOON)
    assert erase_due(now=NOON + timedelta(days=30)).erased
    assert [row.member for row in FollowUpLetter.objects.all()] == [people.ben]
    assert [row.member for row in FollowUp.objects.all()] == [people.ben]
    of_ana = AuditEntry.objects.filter(member=people.ana.pk)
    assert not of_ana.exists() and AuditEntry.objects.filter(what="follow-up-never").exists()


def test_a_coach_who_is_erased_takes_their_own_words_and_leaves_that_somebody_wrote(
    people, streamed
):
    write(people, streamed)
    save_words(by=people.coach, reason=Reason.BEST, text="Mine", for_gym=False, now=NOON)
    ask_erasure(user=people.coach.user, results="gone", now=NOON)
    assert erase_due(now=NOON + timedelta(days=30)).erased
    assert not FollowUpWords.objects.exists()
    [letter] = letters_to(viewer=people.owner, member=people.ana)
    assert letter.by is None or letter.by.display_name == "somebody"
