"""Whatever the message: a hidden name and a private field stand in nobody else's."""

import re
from datetime import timedelta
from email import message_from_bytes, policy

from allauth.account.models import EmailAddress
from django.core import mail
from django.db import transaction
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from members.models import Role, ShownAs
from members.services import remove_member
from scoring.core.follow_up import Reason
from scoring.messages import due
from scoring.models import Message, MessageKind, MessageSettings, StreamedClass
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.follow_up import write_letter
from scoring.services.requests import answer_request, ask_for_change
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member, make_people
from .classes import log
from .mail import NOON, class_at, run, send_all

MONDAY = NOW.replace(day=30, hour=7, minute=5)
SHOWN = st.sampled_from(ShownAs.values)
NAMES = [
    "Olguvina Ownerly", "Carlimor Coachfield", "Anatolda Solvenna",
    "Benvoric Okorandu", "Cleophera Wrenfold", "Dorinthea Hideaway",
]  # fmt: skip
EVERY_KIND = set(MessageKind.values)


def everything_happens(people, cast):
    """A week in which every kind of message comes up for everybody."""
    data = ResultInput(mark="3+0", note="a secret note", effort=9)
    for day in (4, 3, 2):
        streamed = class_at(people, NOW - timedelta(days=day))
        for member in cast:
            log(streamed, member, "2+9", note="a secret note", effort=9)
    results = [row for row in streamed.results.all() if row.member_id != people.coach.pk]
    for result in results:
        fact = correct_result(
            result=result, by=people.coach, data=data, reason="seen again", now=NOON
        )
        due.corrected(fact_id=fact.pk, now=NOON)
    closed = close_class(streamed_class=streamed, by=people.coach, now=NOON)
    for member in cast:
        request = ask_for_change(
            streamed_class=closed, member=member, data=ResultInput("4+0"), words="so", now=NOON
        )
        # Coaches answer too, one the other's.
        by = people.owner if member == people.coach else people.coach
        answer_request(request=request, by=by, accept=False, words="no", now=NOON)
        due.answered(request_id=request.pk, now=NOON)
        letter = write_letter(
            member=member, by=by, reason=Reason.FIRST, occasion=f"class-{streamed.pk}",
            words="Welcome", key=f"key-{member.pk}", now=NOON,
        ).letter  # fmt: skip
        due.follow_up(letter_id=letter.pk, now=NOON)
    due.opened(class_id=class_at(people, NOON).pk, now=NOON)
    class_at(people, MONDAY + timedelta(days=1))
    send_all(NOON)
    run(NOON + timedelta(hours=4))
    run(MONDAY)


def text_of(sent):
    parsed = message_from_bytes(sent.message().as_bytes(), policy=policy.default)
    parts = [part.get_content() for part in parsed.walk() if not part.is_multipart()]
    told = "\n".join([str(parsed["Subject"]), *parts, str(parsed.items())])
    # Signatures and message numbers are random letters: they could hold any short word.
    return re.sub(r"(?<=/unsubscribe/)[^\s/]+|[0-9a-f]{24}(?=@)", "", told)


def scene(shown, leaving):
    people = make_people()
    foreign = {people.foreigner, people.foreign_coach}
    cast = [people.owner, people.coach, *people.members, add_member(people.gym, "Dora Hide")]
    for member, shown_as, name in zip(cast, shown, NAMES, strict=True):
        # Words that no signed address has in it by chance.
        member.display_name, member.shown_as = name, shown_as
        member.year_of_birth = 1987
        member.save()
    EmailAddress.objects.update(verified=True)
    for member in (*cast, *foreign):
        MessageSettings.objects.create(member=member, weekly=True)
    gone = {cast[index] for index in leaving}
    return people, cast, gone, foreign


@given(
    shown=st.tuples(*[SHOWN] * 6),
    leaving=st.sets(st.sampled_from([2, 3, 4, 5]), max_size=2),
)
@settings(max_examples=8, deadline=None, database=None, phases=[Phase.generate])
def hidden_names_stay_hidden(shown, leaving):
    # A savepoint, not a block: what is sent is taken outside of every transaction.
    before = transaction.savepoint()
    try:
        people, cast, gone, foreign = scene(shown, leaving)
        mail.outbox.clear()
        everything_happens(people, cast)
        assert {row.kind for row in Message.objects.filter(state="sent")} == EVERY_KIND
        by_address = {member.user.email: member for member in (*cast, *foreign)}
        for sent in mail.outbox:
            [address] = sent.to
            reader, text = by_address[address], text_of(sent)
            assert reader not in foreign
            for member in cast:
                if member == reader or reader.is_coach:
                    continue
                if member.shown_as != ShownAs.NAME:
                    assert member.display_name not in text
                    for word in member.display_name.split():
                        assert word not in text
                assert member.user.email not in text
            for private in ("secret note", "1987", "Effort", "effort"):
                assert private not in text
        # Who left gets nothing from then on, not even what was made before.
        mail.outbox.clear()
        due.opened(class_id=class_at(people, NOON).pk, now=NOON)
        for member in gone:
            remove_member(membership=member, by=people.owner, now=NOON)
        for row in StreamedClass.objects.filter(gym=people.gym, state="open"):
            due.opened(class_id=row.pk, now=NOON)
        send_all(NOON)
        run(MONDAY + timedelta(days=7))
        left = {member.user.email for member in gone}
        assert mail.outbox and not left & {address for m in mail.outbox for address in m.to}
    finally:
        transaction.savepoint_rollback(before)


def test_in_no_kind_of_message_stands_a_hidden_name_or_a_private_field(db, mailoutbox):
    hidden_names_stay_hidden()


def test_a_hidden_coach_is_no_name_in_a_members_message(db, mailoutbox):
    people = make_people()
    people.coach.shown_as = ShownAs.UNNAMED
    people.coach.save()
    EmailAddress.objects.update(verified=True)
    assert people.coach.role == Role.COACH
    everything_happens(people, [people.ana])
    about = [text_of(m) for m in mailoutbox if "corrected" in m.subject]
    assert about and all("Your coach changed your result." in text for text in about)
