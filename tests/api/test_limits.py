"""Limits of calls: held by all processes together, at few looks at the cache."""

from types import SimpleNamespace

import pytest

from members.api import limits

LIMIT = 60
PART = LIMIT // limits.PARTS


class Calls(limits.Sparing):
    """A limit with a cache and a clock of its own."""

    rate = f"{LIMIT}/min"

    def __init__(self, cache, clock):
        super().__init__()
        self.cache, self.timer = cache, lambda: clock.now

    def get_cache_key(self, request, view):
        return "caller"


class Cache(dict):
    """What several processes share; counts how often it is looked at."""

    looks = 0

    def get(self, key, default):
        self.looks += 1
        return list(super().get(key, default))

    def set(self, key, value, seconds):
        self[key] = list(value)


@pytest.fixture
def cache():
    return Cache()


@pytest.fixture
def clock():
    return SimpleNamespace(now=1000.0)


def call(cache, clock, process):
    """A call that a process answers: whether it is let through."""
    limits._counted.clear()
    limits._counted.update(process)
    is_allowed = Calls(cache, clock).allow_request(None, None)
    process.clear()
    process.update(limits._counted)
    return is_allowed


@pytest.mark.parametrize("processes", [1, 2, 4])
def test_the_limit_is_held_but_for_a_part_of_it_a_process(cache, clock, processes):
    known = [{} for _ in range(processes)]
    let_through = sum(call(cache, clock, known[n % processes]) for n in range(5 * LIMIT))
    assert LIMIT - processes * PART <= let_through <= LIMIT + processes * PART


def test_one_process_holds_it_exactly_and_stays_by_its_no(cache, clock):
    process = {}
    answers = [call(cache, clock, process) for _ in range(3 * LIMIT)]
    assert answers == [True] * LIMIT + [False] * 2 * LIMIT
    clock.now += 61
    assert call(cache, clock, process)


def test_the_cache_is_looked_at_once_for_a_part(cache, clock):
    process = {}
    for _ in range(LIMIT - PART):
        call(cache, clock, process)
    assert cache.looks <= LIMIT / (PART + 1)


def test_a_small_limit_is_counted_exactly_whoever_answers(cache, clock, monkeypatch):
    monkeypatch.setattr(Calls, "rate", "10/min")
    known = [{}, {}]
    assert sum(call(cache, clock, known[n % 2]) for n in range(40)) == 10
