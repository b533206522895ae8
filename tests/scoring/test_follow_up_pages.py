"""A coach's ten minutes after a class: the list, a word, and the words drafts begin with."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from members.models import Membership
from scoring.core.follow_up import Reason
from scoring.models import FollowUp, FollowUpLetter, FollowUpSettings, FollowUpWords, MessageKind
from scoring.selectors.follow_up import follow_ups
from scoring.services.classes import create_class, open_class
from scoring.services.messages import switch_off
from scoring.services.pains import tell_pain

from ..conftest import TWO_LADDERS
from .classes import log
from .mail import prove
from .test_pages import text_of

LIST = "/coach/follow-up/"


@pytest.fixture
def coach(client, people):
    client.force_login(people.coach.user)
    return client


@pytest.fixture
def streamed(people):
    """A class of two hours ago in which Ana logged, and it hurt."""
    now = timezone.now()
    at = now - timedelta(hours=2)
    made = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=TWO_LADDERS)
    made = open_class(streamed_class=made, by=people.coach, now=at)
    log(made, people.ana, "2+9", effort=10)
    log(made, people.ben, "3+9")
    tell_pain(streamed_class=made, member=people.ana, areas=["knee"], words="ouch", now=now)
    return made


def reason(people, member, name):
    for person in follow_ups(viewer=people.coach, now=timezone.now()):
        if person.member == member:
            return person.reason(name)
    return None


def form(people, member, name, **more):
    return {
        "member": member.pk,
        "reason": name,
        "occasion": reason(people, member, name).occasion,
    } | more


def test_the_list_says_who_and_why_and_what_to_do_about_a_pain(coach, people, streamed):
    told = text_of(coach.get(LIST))
    assert "2 people" in told and told.index("Ana Sol") < told.index("Ben Okoro")
    assert "Said after Two ladders and a tide" in told and "“ouch”" in told
    assert "is for a doctor or a physiotherapist to say" in told
    assert told.index("Something hurts") < told.index("Effort of 10") < told.index("First class")


def test_of_one_class_and_of_a_foreign_one(coach, people, streamed):
    assert coach.get(LIST, {"class": streamed.pk}).status_code == 200
    for wrong in ("0", "x", "99999999999999999999", streamed.pk + 1):
        assert coach.get(LIST, {"class": wrong}).status_code == 404
    coach.force_login(people.foreign_coach.user)
    assert coach.get(LIST, {"class": streamed.pk}).status_code == 404
    assert "Ana" not in text_of(coach.get(LIST))


def test_a_class_to_come_says_so(coach, people):
    at = timezone.now() + timedelta(days=1)
    made = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=TWO_LADDERS)
    assert "has not begun" in text_of(coach.get(LIST, {"class": made.pk}))


def test_done_twice_later_never_and_taken_back(coach, people, streamed):
    sent = form(people, people.ana, "effort", act="done")
    assert coach.post(LIST, sent).status_code == 302
    assert "Done already" in text_of(coach.post(LIST, sent, follow=True))
    assert FollowUp.objects.count() == 1
    sent = form(people, people.ben, "first", act="later", until="2000-01-01")
    answer = coach.post(LIST, sent)
    assert answer.status_code == 422 and 'value="2000-01-01"' in answer.content.decode()
    until = timezone.now().date() + timedelta(days=3)
    assert coach.post(LIST, sent | {"until": until.isoformat()}).status_code == 302
    assert reason(people, people.ben, "first") is None
    coach.post(LIST, form(people, people.ana, "first", act="never"))
    page = text_of(coach.get(LIST))
    assert "1 person" in page and "Never for this reason, Carl Coach" in page
    for row in FollowUp.objects.all():
        assert coach.post(LIST, {"act": "undo", "row": row.pk}).status_code == 302
    assert "2 people" in text_of(coach.get(LIST))
    assert coach.post(LIST, {"act": "undo", "row": 1}).status_code == 422


def test_a_pain_has_no_never(coach, people, streamed):
    sent = form(people, people.ana, "pain", act="never")
    assert "always told" in text_of(coach.post(LIST, sent))
    assert reason(people, people.ana, "pain") is not None


@pytest.mark.parametrize(
    "wrong",
    [
        {"act": "done", "member": "0", "reason": "best"},
        {"act": "done", "member": "x", "reason": "best"},
        {"act": "nothing", "member": "ANA", "reason": "effort"},
        {"act": "done", "member": "ANA", "reason": "gossip"},
        {"act": "done", "member": "FAR", "reason": "first"},
        {"act": "undo", "row": "x"},
        {"act": "silent", "silent_days": "١٤"},
        {"act": "silent", "silent_days": "400"},
    ],
)
def test_what_makes_no_sense_is_told_and_changes_nothing(coach, people, streamed, wrong):
    names = {"ANA": people.ana.pk, "FAR": people.foreigner.pk}
    sent = {name: names.get(value, value) for name, value in wrong.items()}
    answer = coach.post(LIST, sent)
    assert answer.status_code == 422 and 'role="alert"' in answer.content.decode()
    assert not FollowUp.objects.exists() and not FollowUpSettings.objects.exists()


def test_the_days_of_silence_are_the_gyms(coach, people):
    assert coach.post(LIST, {"act": "silent", "silent_days": "30"}).status_code == 302
    assert "silent for 30 days" in text_of(coach.get(LIST))


def write_page(member, name="", **more):
    query = "&".join(f"{key}={value}" for key, value in {"reason": name, **more}.items() if value)
    return reverse("follow-up-write", args=[member.pk]) + (f"?{query}" if query else "")


def test_a_word_is_drafted_changed_and_sent_once(
    coach, people, streamed, mailoutbox, django_capture_on_commit_callbacks, settings
):
    settings.CELERY_TASK_ALWAYS_EAGER = True
    prove(people.ben)
    address = write_page(people.ben, "first")
    page = coach.get(address)
    assert "Hello Ben," in page.context["words"] and "Send by e-mail" in text_of(page)
    sent = {"act": "send", "words": "Well begun, Ben", "key": page.context["key"]}
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            assert "on their way" in text_of(coach.post(address, sent, follow=True))
    letter = FollowUpLetter.objects.get()
    assert letter.by == people.coach and FollowUp.objects.count() == 1
    assert reason(people, people.ben, "first") is None
    assert "Carl Coach: first class" in text_of(coach.get(write_page(people.ben)))


def test_what_was_typed_stands_again_where_it_cannot_be_sent(coach, people, streamed):
    prove(people.ben)
    sent = {"act": "send", "words": "Ben, {days}", "key": "k"}
    answer = coach.post(write_page(people.ben, "first"), sent)
    assert answer.status_code == 422 and answer.context["words"] == "Ben, {days}"
    assert "is not filled in" in text_of(answer) and not FollowUpLetter.objects.exists()


def test_who_cannot_be_written_to_is_said_and_copying_offered(coach, people, streamed):
    address = write_page(people.ben, "first")
    page = text_of(coach.get(address))
    assert "no confirmed e-mail" in page and "Send by e-mail" not in page
    assert coach.post(address, {"act": "send", "words": "a", "key": "k"}).status_code == 422
    prove(people.ben)
    switch_off(member=people.ben, kind=MessageKind.FOLLOW_UP)
    page = text_of(coach.get(address))
    assert "switched off" in page and "Send by e-mail" not in page
    answer = coach.post(address, {"act": "copy", "words": "Told by hand", "key": "k"})
    assert answer.context["to_copy"] == "Told by hand" and "readonly" in answer.content.decode()
    assert not FollowUp.objects.exists()
    assert coach.post(address, {"act": "copied", "key": "k"}).status_code == 302
    assert reason(people, people.ben, "first") is None and not FollowUpLetter.objects.exists()


def test_copied_words_about_a_pain_have_whom_to_ask_below_them(coach, people, streamed):
    answer = coach.post(write_page(people.ana, "pain"), {"act": "copy", "words": "Go on"})
    assert answer.context["to_copy"].startswith("Go on\n\n")
    assert "physiotherapist" in answer.context["to_copy"]
    page = text_of(coach.get(write_page(people.ana)))  # the most careful one, unasked
    assert "Something hurts" in page and "Effort of 10" in page and "telephone" in page
    assert "Ben" not in coach.get(write_page(people.ana)).context["words"]


def test_nothing_open_is_said_and_nobody_strange_is_there(coach, people, streamed):
    assert "Nothing is open" in text_of(coach.get(write_page(people.cleo)))
    assert "Nothing is open" in text_of(coach.get(write_page(people.ana, "silent")))
    for stranger in (people.foreigner, people.coach):
        assert coach.get(write_page(stranger)).status_code == 404


def test_words_are_kept_refused_and_restored(coach, people):
    address = reverse("follow-up-words")
    assert "{name} the first word of their name" in text_of(coach.get(address))
    sent = {"act": "save", "reason": "best", "whose": "own", "text": "Hi {nmae}"}
    answer = coach.post(address, sent)
    assert answer.status_code == 422 and "Hi {nmae}" in answer.content.decode()
    assert "{name}, {coach}, {gym}, {class}, {result}" in text_of(answer)
    assert coach.post(address, sent | {"text": "Hi {name}"}).status_code == 302
    assert FollowUpWords.objects.get().coach == people.coach
    assert "A new best: your own" in text_of(coach.get(address))
    assert coach.post(address, sent | {"whose": "gym", "text": "Ho"}).status_code == 302
    for act in ("restore-own", "restore-gym"):
        assert coach.post(address, {"act": act, "reason": "best"}).status_code == 302
    assert not FollowUpWords.objects.exists()
    assert coach.post(address, {"act": "save", "reason": "x", "text": "a"}).status_code == 422


def test_400_members_are_shown_a_page_at_a_time(
    coach, people, streamed, django_assert_max_num_queries
):
    old = timezone.now() - timedelta(days=60)
    Membership.objects.bulk_create(
        Membership(gym=people.gym, display_name=f"Member {n:03}", joined_at=old) for n in range(400)
    )
    for days in (3, 5):
        at = timezone.now() - timedelta(days=days)
        made = create_class(gym=people.gym, coach=people.coach, starts_at=at, text=TWO_LADDERS)
        open_class(streamed_class=made, by=people.coach, now=at)
    with django_assert_max_num_queries(22):
        page = coach.get(LIST, {"page": 2})
    assert "402 people" in text_of(page) and "Page 2 of 21" in text_of(page)
    assert page.content.decode().count("Nothing logged for a while</h4>") == 20


@pytest.mark.parametrize("name", ["follow-up", "follow-up-words"])
def test_members_have_no_such_page(client, people, name):
    client.force_login(people.ana.user)
    assert client.get(reverse(name)).status_code == 403
    assert client.post(reverse(name), {"act": "done"}).status_code == 403


def test_every_reason_has_words_on_the_page(coach):
    told = text_of(coach.get(reverse("follow-up-words")))
    assert all(each.label in told.lower() for each in Reason)
