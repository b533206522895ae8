"""Limits of programs where the shared cache is away, and where the clock was set back."""

import time

import pytest
import time_machine
from django.core.cache import caches
from django.urls import reverse
from redis.exceptions import ConnectionError as RedisGone

from members.limits import counts

from ..conftest import NOW


@pytest.fixture(autouse=True)
def _few(settings):
    few = dict.fromkeys(settings.REST_FRAMEWORK["DEFAULT_THROTTLE_RATES"], "3/min")
    settings.REST_FRAMEWORK = settings.REST_FRAMEWORK | {"DEFAULT_THROTTLE_RATES": few}
    counts.clear()
    yield
    counts.clear()


@pytest.fixture
def api(client, people):
    client.force_login(people.coach.user)
    client.raise_request_exception = False
    return client


def statuses(api, name, times):
    return [api.get(reverse(name)).status_code for _ in range(times)]


def test_more_than_the_limit_is_refused_even_while_the_shared_cache_is_away(api, monkeypatch):
    def gone(*args, **kwargs):
        raise RedisGone("connection refused")

    for name in ("get", "set", "incr", "add"):
        monkeypatch.setattr(type(caches["default"]), name, gone)
    assert statuses(api, "api-classes", 4) == [200, 200, 200, 429]


def test_calls_of_a_time_yet_to_come_don_t_count(api):
    """Two hours are set back: a limit that is full must not stay so until they are over."""
    with time_machine.travel(NOW, tick=False) as clock:
        assert statuses(api, "api-classes", 4)[-1] == 429
        key = f"throttle_user_{api.session['_auth_user_id']}"
        history = counts.get(key)
        assert len(history) == 3
        clock.shift(-7200)
        counts.set(key, history, 86_400)  # a cache that did not forget them
        assert statuses(api, "api-classes", 4) == [200, 200, 200, 429]
        assert time.time() < NOW.timestamp()
