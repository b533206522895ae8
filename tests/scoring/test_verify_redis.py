"""What Redis keeps of a board is held against the scores, when it says that it is current."""

import pytest
from django.conf import settings
from django.db.models import F

from scoring import boards
from scoring.models import Result, StreamedClass
from scoring.verifying import CannotVerify, Looked, findings

from ..conftest import NOW
from .classes import log, make_class

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not settings.REDIS_URL, reason="the embedded default has no second store"),
]


@pytest.fixture
def kept(people):
    """A board of three in step with its class, and what Redis keeps of it."""
    streamed = make_class(people)
    for member, mark in zip(people.members, ("2+9", "2+5", "2+9"), strict=True):
        log(streamed, member, mark)
    streamed.refresh_from_db()
    boards.store().standings(streamed, [], "all")
    return boards.store().kept(streamed.pk)


def checks(looked=None):
    return [f.check for f in findings(now=NOW, looked=looked)]


def test_a_board_in_step_is_counted_and_right(kept):
    looked = Looked()
    assert checks(looked) == [] and looked.notes == []
    assert looked.counts["boards kept in Redis"] == 1
    assert looked.counts["ranks asked of the board store"] == 6


def test_an_entry_that_is_not_there_is_found_and_what_the_store_tells_with_it(kept):
    [entry, *_] = kept.members("all")
    kept._client.zrem(kept._sets["all"], entry)
    assert checks() == ["board-ranks", "board-kept"]


def test_an_entry_of_another_place_is_found(kept):
    name = kept._sets["all"]
    [entry, *_] = kept.members("all")
    kept._client.zrem(name, entry)
    kept._client.zadd(name, {f"9{entry[1:]}": 0})
    assert checks() == ["board-ranks", "board-kept"]


def test_what_is_remembered_of_a_result_is_held_against_it_too(kept):
    kept._client.hset(kept._remembered, str(Result.objects.first().pk), "something else")
    assert checks() == ["board-kept"]
    kept._client.hdel(kept._remembered, str(Result.objects.first().pk))
    assert checks() == ["board-kept"]


def test_a_board_of_another_version_is_a_note(kept):
    StreamedClass.objects.update(board_version=F("board_version") + 1)
    kept._client.zremrangebyrank(kept._sets["all"], 0, 0)
    looked = Looked()
    assert checks(looked) == []
    [note] = looked.notes
    assert "derived anew" in note


def test_looking_derives_and_changes_nothing(kept):
    StreamedClass.objects.update(board_version=F("board_version") + 1)
    before = kept.version(), list(kept.members("all"))
    checks()
    assert (kept.version(), list(kept.members("all"))) == before


def test_without_redis_it_can_not_be_done(kept, monkeypatch):
    dead = boards.RedisBoards("redis://127.0.0.1:1/0")
    monkeypatch.setattr("scoring.verifying.boards.store", lambda: dead)
    with pytest.raises(CannotVerify, match="Redis does not answer"):
        checks()
