"""After a restore Redis holds nothing of the site's, and everything of others'."""

import pytest
import redis
from django.conf import settings

from gymsite.backups.forgetting import forget_all
from scoring import boards
from scoring.models import Score, StreamedClass

from .looking import backup, objects

pytestmark = pytest.mark.skipif(
    not settings.REDIS_URL, reason="the embedded default keeps nothing beside its database"
)


@pytest.fixture
def client():
    return redis.Redis.from_url(settings.REDIS_URL)


def test_boards_are_those_of_the_backup(site):
    path = backup(site)
    streamed = objects(site, StreamedClass).filter(scores__isnull=False).first()
    pair = objects(site, Score).filter(streamed_class=streamed).values_list("key", "tie_key")[0]
    with site.in_use():
        objects(site, Score).filter(streamed_class=streamed).delete()
        there = StreamedClass.objects.get(pk=streamed.pk)
        assert boards.store().standings(there, [pair], "all").total == 0
    site.manage("restore", path, "--replace")
    with site.in_use():
        there = StreamedClass.objects.get(pk=streamed.pk)
        now = Score.objects.filter(streamed_class=there).count()
        assert boards.store().standings(there, [pair], "all").total == now > 0


def test_only_keys_of_the_own_prefix_go(settings, client):
    settings.REDIS_PREFIX = "backups-of-tests[1]"
    mine, theirs = "backups-of-tests[1]:board:1", "backups-of-tests1:board:1"
    client.set(mine, 1)
    client.set(theirs, 1)
    try:
        assert forget_all() == ""
        assert client.get(mine) is None and client.get(theirs) == b"1"
    finally:
        client.delete(mine, theirs)


def test_a_redis_that_is_away_is_told_and_stops_nothing(settings):
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    assert "did not answer" in forget_all()
