"""A small invented gym in which every table has rows, made by the services people use."""

from __future__ import annotations

from datetime import timedelta

from allauth.account.models import EmailAddress, EmailConfirmation
from allauth.mfa.models import Authenticator
from django.apps import apps
from django.contrib.admin.models import LogEntry
from django.contrib.auth.models import Group, Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.backends.db import SessionStore
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone
from knox.models import AuthToken

from gymsite.backups import rows
from members.bodies import save_body
from members.feeds import make_feed
from members.models import Gym, Invitation, User
from scoring.demo import load
from scoring.management.commands.demo import _foretell, _learn
from scoring.messages import due
from scoring.models import DataExport, FollowUpLetter, MessageSettings, Result
from scoring.selectors.questions import questions_to_keep
from scoring.services.correcting import correct_result
from scoring.services.erasures import ask_erasure
from scoring.services.estimating import estimate
from scoring.services.exporting import ask_export, make_export
from scoring.services.follow_up import write_letter
from scoring.services.pains import tell_pain
from scoring.services.questions import answer_question, keep_questions
from scoring.services.recompute import recompute_class
from scoring.services.searching import index_workouts
from scoring.services.setups import save_setup
from scoring.services.submitting import ResultInput

from ..conftest import NOW, make_people
from ..scoring.audit_scenes import FIRST
from ..scoring.classes import log, make_class
from ..scoring.credit_scenes import ROCKS, ask, shown
from ..scoring.test_audit import SCENES

WEEKS, MEMBERS = 4, 10
SCENES_OF = [
    "members.services.invite",
    "members.services.accept_invitation",
    "members.services.revoke",
    "members.gyms.change_gym",
    "scoring.services.closing.close_due",
    "scoring.services.correcting.correct_result",
    "scoring.services.correcting.withdraw_result",
    "scoring.services.requests.answer_request",
    "scoring.services.notes.strike_note",
    "scoring.services.credit_changes.propose_undo",
    "scoring.services.importing.undo_import",
    "scoring.services.importing.confirm_import",
    "scoring.services.import_mending.mend_line",
    "scoring.services.follow_up.mark_done",
    "scoring.services.follow_up.write_letter",
    "scoring.services.follow_up_words.save_words",
    "scoring.services.follow_up_words.save_silent_days",
    "scoring.services.planning.copy_week",
    "scoring.services.templates.save_template",
]


def fill() -> list[str]:
    """Fill an empty, migrated database. Answers the tables that stayed empty."""
    load.WEEKS, load.MEMBERS = WEEKS, MEMBERS
    now = timezone.now().replace(microsecond=0)
    with transaction.atomic():
        gym = load.load(now=now, opened=_foretell)
    keep_questions(asked=questions_to_keep(gym_id=gym.pk, now=now), now=now)
    _learn(gym, now)
    for number, name in enumerate(SCENES_OF):
        SCENES[name][0](make_people())
        _make_room(number)
    _own_things(make_people())
    for letter_id in FollowUpLetter.objects.values_list("pk", flat=True):
        due.follow_up(letter_id=letter_id, now=NOW)
    for fact_id in Result.objects.filter(current__number__gt=1).values_list("current", flat=True):
        due.corrected(fact_id=fact_id, now=NOW)
    index_workouts()
    for gym in Gym.objects.filter(estimate_runs__state="waiting").distinct():
        estimate(gym_id=gym.pk, clock=timezone.now)
    for pk in DataExport.objects.filter(state="waiting").values_list("pk", flat=True):
        make_export(pk=pk, now=timezone.now())
    for command in ("imports", "credit_changes", "due", "verify"):
        call_command(command)
    return [model._meta.db_table for model in rows.tables(apps) if not rows.digest(model)[0]]


def _make_room(number: int) -> None:
    """Let the cast of the next scene have the same short names and addresses."""
    for gym in Gym.objects.filter(slug__in=("harbour", "hilltop", "quay")):
        Gym.objects.filter(pk=gym.pk).update(slug=f"{gym.slug}-{number}")
    for user in User.objects.filter(
        email__endswith="@example.org", memberships__gym__is_demo=False
    ):
        new = f"{number}.{user.email.replace('@example.org', '@example.com')}"
        User.objects.filter(pk=user.pk).update(email=new)
        EmailAddress.objects.filter(user=user).update(email=new)


def _own_things(people) -> None:
    """What members and staff keep that no coach's scene touches."""
    EmailAddress.objects.filter(user__in=[m.user for m in people.members]).update(verified=True)
    save_body(membership=people.ana, year_of_birth="1988", weight="61.5", this_year=2026)
    make_feed(membership=people.ana, now=NOW)
    streamed = make_class(people)
    for member, mark in zip(people.members, ("2+9", "2+5", "1+3"), strict=True):
        log(streamed, member, mark, note="the left one creaks", effort=7)
    save_setup(member=people.ana, pieces=(), loads={"dumbbell": "16, 24"}, usual={})
    tell_pain(
        streamed_class=streamed, member=people.ana, areas=["knee"], words="the left one", now=NOW
    )
    fact = Result.objects.get(member=people.ana).current
    answer_question(streamed_class=streamed, fact_id=fact.pk, kind="fast", by=people.coach, now=NOW)
    correct_result(
        result=fact.result, by=people.coach, data=ResultInput("2+8"), reason="miscounted", now=NOW
    )
    rocks = make_class(people, ROCKS)
    log(rocks, people.ben, "4+3", "tuck rock")
    shown(ask(people))
    write_letter(member=people.ana, by=people.coach, words="Welcome!", key="a", now=NOW, **FIRST)
    recompute_class(streamed_class=streamed, now=NOW)
    MessageSettings.objects.create(member=people.ben, weekly=True)
    ask_export(user=people.ana.user, site="https://board.example.org", now=NOW)
    ask_erasure(user=people.cleo.user, results="anonymous", now=timezone.now())
    address = EmailAddress.objects.get(user=people.ben.user)
    EmailConfirmation.objects.create(email_address=address, key="a-key-by-hand", sent=NOW)
    Authenticator.objects.create(user=people.ben.user, type="webauthn", data={"name": "a phone"})
    AuthToken.objects.create(user=people.coach.user, expiry=timedelta(days=90))
    SessionStore().save()
    staff = people.owner.user
    group = Group.objects.create(name="who looks after the site")
    some = Permission.objects.order_by("pk").first()
    group.permissions.add(some)
    staff.groups.add(group)
    staff.user_permissions.add(some)
    LogEntry.objects.create(
        user=staff,
        action_flag=2,
        object_repr="an invitation",
        object_id=str(Invitation.objects.first().pk),
        content_type=ContentType.objects.get_for_model(Invitation),
    )
