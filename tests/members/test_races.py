"""Several at once, on connections of their own: a last use is one use."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from members import services
from members.models import Membership, Role, User
from members.problems import Refused

from ..conftest import NOW, make_people

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(acts):
    gate = threading.Barrier(len(acts))

    def run(act):
        try:
            gate.wait(timeout=10)
            return act()
        except Refused as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def accept(token, user):
    return services.accept_invitation(token=token, user=user, display_name="Somebody", now=NOW)


def test_the_last_use_goes_to_one_of_four():
    people = make_people()
    made = services.invite(by=people.coach, now=NOW, max_uses=1)
    users = [User.objects.create_user(f"u{i}@example.org") for i in range(4)]
    before = Membership.objects.count()
    answers = at_once([lambda user=user: accept(made.token, user) for user in users])
    assert sum(isinstance(answer, Membership) for answer in answers) == 1
    assert Membership.objects.count() == before + 1
    made.invitation.refresh_from_db()
    assert made.invitation.uses == 1


def test_one_person_tapping_four_times_joins_once():
    people = make_people()
    made = services.invite(by=people.coach, now=NOW, max_uses=4)
    user = User.objects.create_user("quick@example.org")
    answers = at_once([lambda: accept(made.token, user)] * 4)
    assert len({answer.pk for answer in answers}) == 1
    made.invitation.refresh_from_db()
    assert made.invitation.uses == 1


def test_an_entry_with_two_links_is_claimed_by_one():
    people = make_people()
    entry = services.add_member(by=people.coach, display_name="Entry", now=NOW)
    tokens = [services.invite(by=people.coach, now=NOW, membership=entry).token for _ in range(2)]
    users = [User.objects.create_user(f"v{i}@example.org") for i in range(2)]
    answers = at_once([lambda t=t, u=u: accept(t, u) for t, u in zip(tokens, users, strict=True)])
    assert sum(isinstance(answer, Membership) for answer in answers) == 1


def test_two_owners_stepping_down_at_once_leave_one():
    people = make_people()
    second = services.change_role(membership=people.coach, by=people.owner, role=Role.OWNER)
    at_once(
        [
            lambda who=who: services.change_role(membership=who, by=who, role=Role.MEMBER)
            for who in (people.owner, second)
        ]
    )
    assert Membership.objects.filter(gym=people.gym, role=Role.OWNER).count() == 1


def test_two_owners_removing_each_other_at_once_leave_one():
    people = make_people()
    second = services.change_role(membership=people.coach, by=people.owner, role=Role.OWNER)
    pairs = ((people.owner, second), (second, people.owner))
    at_once(
        [
            lambda who=who, by=by: services.remove_member(membership=who, by=by, now=NOW)
            for who, by in pairs
        ]
    )
    owners = Membership.objects.filter(gym=people.gym, role=Role.OWNER, left_at=None)
    assert owners.count() == 1
