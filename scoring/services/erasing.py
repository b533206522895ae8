"""Erasing somebody: the one place that may change or delete facts.

Facts append and never change, except here. ``_unlocked`` is the low-level path: a plain
query set in place of the one that refuses (``models/immutable.py``). Nothing else may go
around that one, and a test holds the whole project to it.

What goes and what stays:

- The account goes with its addresses, passkeys, tokens, sessions, exports.
- Every row that cascades from a membership goes (body, gear, pains, requests, and whatever
  else a later model hangs there), and all keys under which results were sent.
- The membership stays as "somebody" without a name or account, since classes a coach gave
  and facts they entered for others refer to it. If nothing does, it goes as well.
- Results, as the member chose: ``anonymous`` ones lose notes, effort and reasons of
  corrections and keep mark, options and splits, so the board stays as it was; ``gone`` ones
  leave their boards like withdrawn ones, and their facts are deleted.
- Estimates lose their levels and how their results compared with what was expected; what
  everybody's results taught together stays. Where results are ``gone``, it is worked out anew.
- What a member wrote for others as a coach (workouts, words to a class, reasons of other
  members' corrections) belongs to the gym's and those members' records and stays.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.core.mail import send_mail
from django.db import models, transaction
from django.db.models import F, ProtectedError, Q
from django.template.loader import render_to_string

from members.leaving import all_memberships
from members.models import AuditEntry, Gym, Membership, Role, ShownAs, User
from scoring.models import Erasure, EstimateSnapshot, Fact, Result, StreamedClass, Submission
from scoring.problems import Refused

from . import estimate_forgetting
from .erasures import demand_free
from .estimate_runs import ask
from .import_clearing import forget_in_imports
from .writing import drop_score, next_board_version

logger = logging.getLogger(__name__)

NOBODY = "somebody"
ERASED_REASON = "erased with its member"


def _unlocked(model: type[models.Model]) -> models.QuerySet[Any]:
    return models.QuerySet(model)


@dataclass(slots=True)
class Done:
    """Keys of the erasures carried out, and of those that an ownership hinders."""

    erased: list[int] = field(default_factory=list)
    hindered: list[int] = field(default_factory=list)


def erase_due(*, now: datetime) -> Done:
    """Carry out every erasure that is due. One that fails does not stop the others."""
    done = Done()
    for pk in Erasure.objects.filter(due_at__lte=now).values_list("pk", flat=True):
        try:
            if erase(pk=pk, now=now):
                done.erased.append(pk)
        except Refused:
            done.hindered.append(pk)
            logger.warning("erasure %s waits: the last owner of a gym", pk)
        except Exception:
            logger.exception("erasure %s failed and is tried again", pk)
    return done


def erase(*, pk: int, now: datetime, tell: bool = True) -> bool:
    """Carry one erasure out, whole or not at all. Whether it was due.

    ``tell`` says whether an e-mail says so; done again after a restore, it was said before.
    Raises ``Refused`` (conflict) for the last owner of a gym.
    """
    with transaction.atomic():
        row = (
            Erasure.objects.select_for_update(of=("self",))
            .select_related("user")
            .filter(pk=pk, due_at__lte=now)
            .first()
        )
        if row is None:
            return False
        user, results = row.user, row.results
        email = user.email
        # Owners must not leave a gym alone at once: as in members.leaving.
        gyms = Gym.objects.filter(memberships__user=user).values("pk")
        list(Gym.objects.select_for_update().filter(pk__in=gyms).order_by("pk"))
        demand_free(user)
        own = all_memberships(user)
        _erase_levels(own, is_gone=results == Erasure.Results.GONE)
        _erase_results(own, is_gone=results == Erasure.Results.GONE)
        _erase_what_hangs_on(own)
        _erase_account(user, own)
        for membership in own:
            _erase_name(membership, now=now)
            if results == Erasure.Results.GONE:
                ask(gym=membership.gym, by=None, now=now)
        if tell:
            transaction.on_commit(lambda: _tell(email, results), robust=True)
    return True


def _erase_results(own: list[Membership], *, is_gone: bool) -> None:
    """Boards first: their rows are held, in order, so that nobody logs in between."""
    classes = StreamedClass.objects.filter(results__member__in=own).distinct().order_by("pk")
    versions = {row.pk: next_board_version(row, only_open=False) for row in classes}
    results = Result.objects.filter(member__in=own)
    facts = _unlocked(Fact).filter(result__member__in=own)
    _unlocked(Submission).filter(Q(member__in=own) | Q(fact__result__member__in=own)).delete()
    if not is_gone:
        facts.exclude(reason="").update(reason=ERASED_REASON)
        facts.update(note="", effort=None)
        return
    for result in results:
        drop_score(result=result, version=versions[result.streamed_class_id])
    results.update(current=None)
    facts.delete()
    results.delete()


def _erase_levels(own: list[Membership], *, is_gone: bool) -> None:
    """Their levels go from every estimate; what everybody's results taught together stays."""
    found = estimate_forgetting.blanks(
        gyms={membership.gym_id for membership in own},
        members={membership.pk for membership in own},
        results=set(Result.objects.filter(member__in=own).values_list("pk", flat=True)),
        is_gone=is_gone,
    )
    for blank in found:
        row = _unlocked(EstimateSnapshot).filter(pk=blank.pk)
        if blank.figures is None:
            row.delete()
            continue
        row.update(
            figures=blank.figures,
            members=blank.members,
            results=blank.results,
            blanked=F("blanked") + 1,
        )


def references(model: type[models.Model]) -> list[Any]:
    """Every relation by which a row may refer to this model, hidden ones included."""
    return [
        relation
        for relation in model._meta.get_fields(include_hidden=True)
        if relation.auto_created and (relation.one_to_many or relation.one_to_one)
    ]


def _erase_what_hangs_on(own: Iterable[Membership]) -> None:
    for relation in references(Membership):
        if relation.on_delete is models.CASCADE:
            rows = _unlocked(relation.related_model)
            rows.filter(**{f"{relation.field.name}__in": list(own)}).delete()
    forget_in_imports(own)
    # Deeds stay on record; whom they were about, and what was said of them, does not.
    AuditEntry.objects.filter(member__in=own).update(member=None, why="", details={})


def _erase_account(user: User, own: list[Membership]) -> None:
    for session in Session.objects.iterator():
        if str(session.get_decoded().get("_auth_user_id", "")) == str(user.pk):
            session.delete()
    # What staff did to these rows is noted with their names.
    kinds = ContentType.objects.get_for_models(User, Membership)
    noted = Q(content_type=kinds[User], object_id=str(user.pk))
    noted |= Q(content_type=kinds[Membership], object_id__in=[str(m.pk) for m in own])
    LogEntry.objects.filter(noted).update(object_repr=NOBODY, change_message="")
    user.delete()


def _erase_name(membership: Membership, *, now: datetime) -> None:
    row = Membership.objects.get(pk=membership.pk)
    row.display_name, row.shown_as, row.role = NOBODY, ShownAs.UNNAMED, Role.MEMBER
    row.user, row.joined_at, row.left_at = None, now, now
    # Their boards show another name now; saving it tells them so.
    row.save()
    try:
        row.delete()
    except ProtectedError:
        pass  # classes, results or other members' facts refer to it


def _tell(email: str, results: str) -> None:
    send_mail(
        "You are erased",
        render_to_string("scoring/email/erased.txt", {"results": results}),
        None,
        [email],
    )
