"""Who asks is read by statements written out, and is whom Django would have read."""

from datetime import timedelta

import pytest
from django.contrib.auth import HASH_SESSION_KEY, SESSION_KEY
from django.contrib.auth.models import AnonymousUser
from django.contrib.sessions.models import Session
from django.test import Client, RequestFactory
from django.utils import timezone

from gymsite.sessions import SessionStore
from members.asking import account_of
from members.models import Gym, Membership, Role, User
from members.selectors import current_membership, memberships, switchable


@pytest.fixture
def ana(people):
    client = Client()
    client.force_login(people.ana.user)
    return client


def values(row):
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def request_of(client, user=None):
    request = RequestFactory().get("/")
    request.session = SessionStore(client.cookies["sessionid"].value)
    request.user = user or AnonymousUser()
    return request


def test_an_account_has_every_value_that_django_reads(people, ana):
    found = account_of(request_of(ana))
    assert values(found) == values(User.objects.get(pk=people.ana.user.pk))
    assert found._state.db == "default" and not found._state.adding


def test_memberships_come_with_their_gym_in_the_same_order_and_without_those_left(people):
    user = people.ana.user
    other = Gym.objects.create(name="Other", slug="other")
    second = Membership.objects.create(
        gym=other, user=user, display_name="A", role=Role.COACH, withheld=["messages"]
    )
    left = Gym.objects.create(name="Left", slug="left")
    Membership.objects.create(gym=left, user=user, display_name="A", left_at=timezone.now())
    own = switchable(type("R", (), {"user": user, "headers": {}, "session": {}})())
    assert [values(one) for one in own] == [values(one) for one in memberships(user)]
    assert [values(one.gym) for one in own] == [values(one.gym) for one in memberships(user)]
    assert own[1].pk == second.pk and own[1].withheld == ["messages"] and own[1].user == user


def test_a_page_asks_three_times_to_know_who_asks(people, ana, django_assert_num_queries):
    request = request_of(ana)
    with django_assert_num_queries(3):
        request.user = account_of(request)
        assert current_membership(request).gym.name == people.gym.name


@pytest.mark.parametrize("change", ["switched off", "another password", "gone", "expired"])
def test_a_session_that_is_not_in_order_signs_nobody_in(people, ana, change):
    assert ana.get("/me/").status_code == 200
    user = people.ana.user
    if change == "switched off":
        User.objects.filter(pk=user.pk).update(is_active=False)
    elif change == "another password":
        user.set_unusable_password()
        user.save()
    elif change == "gone":
        Session.objects.all().delete()
    else:
        Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    assert ana.get("/me/").status_code == 302


def test_a_session_of_the_key_before_is_left_to_django_which_takes_it(people, ana, settings):
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another key, as after a change of it"
    assert ana.get("/me/").status_code == 200


@pytest.mark.parametrize("named", ["", "x", "1; DROP", "²", 7, None, "9" * 40])
def test_a_session_that_names_nobody_is_nobodys(people, ana, named):
    request = request_of(ana)
    request.session[SESSION_KEY] = named
    assert account_of(request) is None
    request.session[HASH_SESSION_KEY] = ""
    assert account_of(request) is None
