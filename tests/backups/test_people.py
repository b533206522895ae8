"""A restore sends nothing twice and brings nobody back who was erased."""

import json
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from members.models import Membership, User
from scoring.models import Erasure, FollowUpLetter, Message, StreamedClass

from .looking import backup, objects


@pytest.fixture(autouse=True)
def no_mail():
    mail.outbox = []


def waiting(site, member, key, not_before):
    return objects(site, Message).create(
        member=member, kind="answered", subject_key=key, not_before=not_before
    )


def test_what_may_have_been_sent_since_is_not_sent_again(site, empty):
    now = timezone.now()
    member = objects(site, Membership).filter(gym__is_demo=True, role="member").first()
    due = waiting(site, member, "901", now - timedelta(hours=1))
    later = waiting(site, member, "902", now + timedelta(days=1))
    sending = waiting(site, member, "903", now - timedelta(hours=1))
    objects(site, Message).filter(pk=sending.pk).update(state="sending", claimed_at=now)

    said = empty.manage("restore", backup(site))

    states = dict(objects(empty, Message).values_list("pk", "state"))
    assert (states[due.pk], states[sending.pk], states[later.pk]) == ("failed", "failed", "waiting")
    assert "not sent again" in objects(empty, Message).get(pk=due.pk).fault
    assert objects(empty, Message).filter(state="waiting", not_before__lte=now).count() == 0
    held = objects(empty, Message).filter(fault__startswith="A backup was restored").count()
    assert f"Messages: {held} may have been sent" in said
    # The words of a letter that will not go are not kept either.
    assert (
        not objects(empty, FollowUpLetter)
        .exclude(words="")
        .exclude(message__state="waiting")
        .exists()
    )


def test_a_reminder_that_fell_due_since_the_backup_is_not_sent_again(site, empty):
    """The class was on when the backup was made; its reminders went out two hours later."""
    now = timezone.now()
    streamed = objects(site, StreamedClass).filter(gym__is_demo=True, state="open").first()
    objects(site, StreamedClass).filter(pk=streamed.pk).update(starts_at=now - timedelta(hours=4))
    member = _usual_without_result(site, streamed)
    empty.manage("restore", backup(site))
    message = objects(empty, Message).get(kind="reminder", member=member.pk)
    assert message.state == "failed"
    empty.forget()
    empty.manage("due")
    assert mail.outbox == []


def _usual_without_result(site, streamed):
    """A member who logged in all classes before and not in this one, and wants reminders."""
    from scoring.models import MessageSettings, Result

    there = objects(site, Result).filter(streamed_class=streamed).values("member")
    for member in (
        objects(site, Membership).filter(gym=streamed.gym_id, role="member").exclude(pk__in=there)
    ):
        if objects(site, Result).filter(member=member).count() >= 6:
            objects(site, MessageSettings).update_or_create(
                member=member,
                defaults={"reminder": True, "quiet_from": "00:00", "quiet_until": "00:00"},
            )
            return member
    raise AssertionError("nobody to remind")


def somebody(site, number):
    return objects(site, User).filter(memberships__gym__is_demo=True, memberships__role="member")[
        number
    ]


def ask(site, user, due, results="gone"):
    objects(site, Erasure).create(user=user, results=results, due_at=due)
    site.forget()


def ledger(site):
    told = json.loads((site.folder / "backups" / "erasures.json").read_text())["erasures"]
    return {entry["account"]: entry["state"] for entry in told}


def test_who_was_erased_since_is_erased_again_without_a_word(site):
    user = somebody(site, 0)
    name = objects(site, Membership).get(user=user).display_name
    first = backup(site)  # knows of no wish yet
    ask(site, user, timezone.now())
    backup(site)
    assert ledger(site)[user.pk] == "asked"
    site.manage("erase_due")
    assert [each.subject for each in mail.outbox] == ["You are erased"]

    said = site.manage("restore", first, "--replace")

    assert ledger(site)[user.pk] == "erased"
    assert f"as was done or had been asked: {user.pk}." in said
    assert not objects(site, User).filter(pk=user.pk).exists()
    assert not objects(site, Membership).filter(display_name=name).exists()
    assert len(mail.outbox) == 1


def test_who_took_it_back_since_stays(site):
    user = somebody(site, 0)
    ask(site, user, timezone.now() + timedelta(seconds=1))
    asked = backup(site)
    objects(site, Erasure).filter(user=user).delete()
    said = site.manage("restore", asked, "--replace")
    assert "since they took it back" in said
    assert objects(site, User).filter(pk=user.pk).exists()
    assert not objects(site, Erasure).filter(user=user).exists()


def test_who_asked_since_has_still_asked(site):
    user, due = somebody(site, 0), timezone.now() + timedelta(days=9)
    first = backup(site)
    ask(site, user, due, results="anonymous")
    site.manage("restore", first, "--replace")
    row = objects(site, Erasure).get(user=user)
    assert (row.due_at, row.results) == (due, "anonymous")


def test_another_account_of_the_same_number_is_left_alone(site, empty):
    """After a restore numbers come again: the day of joining tells accounts apart."""
    user = somebody(site, 0)
    path = backup(site)
    entry = {
        "account": user.pk, "joined": (user.date_joined - timedelta(days=1)).isoformat(),
        "due": timezone.now().isoformat(), "results": "gone", "state": "erased",
        "seen": timezone.now().isoformat(),
    }  # fmt: skip
    (path.parent / "erasures.json").write_text(json.dumps({"erasures": [entry]}))
    empty.manage("restore", path)
    assert objects(empty, User).filter(pk=user.pk).exists()


def test_the_list_names_nobody(site):
    user = somebody(site, 0)
    ask(site, user, timezone.now() + timedelta(days=14))
    text = (backup(site).parent / "erasures.json").read_text()
    assert user.email not in text
    assert all(m.display_name not in text for m in objects(site, Membership).filter(user=user))
