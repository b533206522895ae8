"""Limits of programs where they can't be counted, and where the clock was set back."""

import time

import pytest
import time_machine
from django.core.cache import cache, caches
from django.urls import reverse
from redis.exceptions import ConnectionError as RedisGone

from members.api import limits
from members.api.limits import ScopedLimit, UserLimit

from ..conftest import NOW

RATES = {"anon": "3/min", "user": "3/min", "submit": "3/min", "preview": "3/min", "token": "3/min"}


@pytest.fixture(autouse=True)
def _few(monkeypatch):
    monkeypatch.setattr(ScopedLimit, "THROTTLE_RATES", RATES)
    monkeypatch.setattr(UserLimit, "THROTTLE_RATES", RATES)
    limits._pause.end()
    yield
    limits._pause.end()


@pytest.fixture
def api(client, people):
    client.force_login(people.coach.user)
    client.raise_request_exception = False
    return client


@pytest.fixture
def no_cache(monkeypatch):
    def gone(*args, **kwargs):
        gone.asked += 1
        raise RedisGone("connection refused")

    gone.asked = 0
    monkeypatch.setattr(type(caches["default"]), "get", gone)
    return gone


def statuses(api, name, times):
    return [api.get(reverse(name)).status_code for _ in range(times)]


def test_more_than_the_limit_is_refused(api):
    assert statuses(api, "api-classes", 4) == [200, 200, 200, 429]


def test_reading_goes_on_uncounted_and_a_dead_cache_is_left_alone(api, no_cache):
    assert statuses(api, "api-classes", 5) == [200] * 5
    assert no_cache.asked == 1


def test_tokens_are_not_given_out_uncounted(api, no_cache):
    assert statuses(api, "api-tokens", 2) == [503, 503]
    assert api.post(reverse("api-tokens")).status_code == 503


def test_calls_of_a_time_yet_to_come_don_t_count(api):
    """Two hours are set back: a limit that is full must not stay so until they are over."""
    with time_machine.travel(NOW, tick=False) as clock:
        assert statuses(api, "api-classes", 4)[-1] == 429
        kept = {key: cache.get(key) for key in [f"throttle_user_{api.session['_auth_user_id']}"]}
        clock.shift(-7200)
        for key, history in kept.items():
            cache.set(key, history, 86_400)  # a cache that did not forget them
        assert statuses(api, "api-classes", 4) == [200, 200, 200, 429]
        assert time.time() < NOW.timestamp()
