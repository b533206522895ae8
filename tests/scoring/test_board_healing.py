"""The Redis store's sets: built by one while others log, never shown unless they are right."""

import threading

import pytest
from django.conf import settings
from django.db import connection, transaction

from scoring import boards
from scoring.boards import deriving
from scoring.boards import redis as redis_boards
from scoring.boards.deriving import Deriver
from scoring.boards.redis import RedisBoards
from scoring.models import Score, StreamedClass
from scoring.services.correcting import withdraw_result

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class

pytestmark = [
    pytest.mark.skipif(not settings.REDIS_URL, reason="needs REDIS_URL"),
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture
def people(transactional_db):
    return make_people()


@pytest.fixture
def store():
    return boards.store()


@pytest.fixture
def streamed(people):
    found = make_class(people)
    log(found, people.ana, "2+9"), log(found, people.ben, "3+0", "tuck rock")
    found.refresh_from_db()
    return found


def pair_of(member):
    score = Score.objects.get(result__member=member)
    return score.key, score.tie_key


def rank_of(store, streamed, member, view="all"):
    pair = pair_of(member)
    return store.standings(streamed, [pair], view).places[pair].rank


def large(monkeypatch):
    """Have even small classes built beside the answers."""
    monkeypatch.setattr(redis_boards, "AT_ONCE", -1)


def wait(store):
    for thread in list(store._deriver.threads):
        thread.join()


def in_sets(store, streamed):
    """Whether the sets answer by themselves."""
    streamed.refresh_from_db()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(store, "_database", None)
        patch.setattr(Deriver, "heal", lambda *a, **k: None)
        try:
            store.standings(streamed, [], "all")
        except AttributeError:
            return False
        return True


def test_one_round_trip_answers_and_the_database_is_not_asked(
    store, streamed, people, django_assert_num_queries
):
    rank_of(store, streamed, people.ana), store.spot(streamed, 0, "all")
    pair = pair_of(people.ana)
    sent = []
    real = store._client.execute_command
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            store._client, "execute_command", lambda *a, **k: sent.append(a[0]) or real(*a, **k)
        )
        with django_assert_num_queries(0):
            for view in boards.VIEWS:
                store.standings(streamed, [pair, (1, 0)], view)
            store.spot(streamed, 1, "all")
    assert sent == ["EVALSHA"] * 4


def test_a_class_read_before_the_last_result_does_not_have_its_sets_built_anew(
    store, streamed, people, monkeypatch
):
    rank_of(store, streamed, people.ana)
    old = StreamedClass.objects.get(pk=streamed.pk)
    log(streamed, people.cleo, "9+0")
    monkeypatch.setattr(Deriver, "derive", lambda *a: pytest.fail("built again"))
    assert rank_of(store, old, people.ana) == 3


def test_a_server_that_forgot_its_scripts_is_told_them_again(store, streamed, people):
    rank_of(store, streamed, people.ana)
    store._client.script_flush()
    assert rank_of(store, streamed, people.ana) == 2 and in_sets(store, streamed)


def test_while_a_large_class_is_built_the_database_answers(store, streamed, people, monkeypatch):
    large(monkeypatch)
    at_work, go_on = threading.Event(), threading.Event()
    real = Deriver.derive

    def slow(self, class_id, own):
        at_work.set()
        assert go_on.wait(20)
        real(self, class_id, own)

    monkeypatch.setattr(Deriver, "derive", slow)
    assert rank_of(store, streamed, people.ana) == 2
    assert at_work.wait(20) and not in_sets(store, streamed)
    assert rank_of(store, streamed, people.ana) == 2
    assert len(store._deriver.threads) == 1  # and nobody else builds
    go_on.set()
    wait(store)
    assert in_sets(store, streamed) and rank_of(store, streamed, people.ana) == 2


def test_what_is_logged_while_a_class_is_built_is_in_it(store, streamed, people, monkeypatch):
    late = add_member(people.gym, "Late Leo")
    gone = log(streamed, late, "0+5").result
    streamed.refresh_from_db()
    store.forget(streamed.pk)
    real = Deriver._end
    fill = store._deriver._fill

    def meanwhile(**kwargs):
        """All is read by now: a first result, a correction and a withdrawal come."""
        told = fill(**kwargs)
        log(streamed, people.cleo, "9+0")
        log(streamed, people.ana, "8+0", "tuck rock")
        withdraw_result(result=gone, by=people.coach, reason="not him", now=NOW)
        return told

    monkeypatch.setattr(store._deriver, "_fill", meanwhile)
    store.standings(streamed, [], "all")
    monkeypatch.setattr(store._deriver, "_fill", fill)
    monkeypatch.setattr(Deriver, "_end", real)
    assert in_sets(store, streamed)
    assert rank_of(store, streamed, people.cleo) == 1
    assert rank_of(store, streamed, people.ana) == 2
    assert store.standings(streamed, [], "all").total == 3
    assert store.standings(streamed, [], "scaled").total == 2


def test_a_write_that_was_lost_while_a_class_was_built_is_noticed(
    store, streamed, people, monkeypatch
):
    fill = store._deriver._fill

    def meanwhile(**kwargs):
        told = fill(**kwargs)
        with pytest.MonkeyPatch.context() as lost:
            lost.setattr(RedisBoards, "put", lambda *a, **k: None)
            log(streamed, people.cleo, "9+0")
        log(streamed, people.ana, "8+0")
        return told

    monkeypatch.setattr(store._deriver, "_fill", meanwhile)
    store.standings(streamed, [], "all")
    monkeypatch.setattr(store._deriver, "_fill", fill)
    assert not in_sets(store, streamed)
    assert rank_of(store, streamed, people.ana) == 2  # the database's, and it is built again
    assert in_sets(store, streamed) and rank_of(store, streamed, people.ana) == 2


def test_a_builder_that_lost_its_turn_writes_nothing(store, streamed, people):
    rank_of(store, streamed, people.ana)
    names = store._names(streamed.pk)
    store._client.set(names.version, "0")
    store._client.set(names.all[5], "somebody else")
    store._deriver.derive(streamed.pk, "too late")
    assert store._client.get(names.version) == "0"
    assert store._client.get(names.all[5]) == "somebody else"
    assert not store._client.keys(f"{settings.REDIS_PREFIX}*new-*")


def test_a_new_name_leaves_the_sets_in_step(store, streamed, people, monkeypatch):
    rank_of(store, streamed, people.ana)
    people.ana.display_name = "Ana Luz"
    people.ana.save()
    assert in_sets(store, streamed)


def test_rows_written_by_hand_are_noticed_by_the_next_reader(store, streamed, people):
    assert rank_of(store, streamed, people.ana) == 2
    with connection.cursor() as cursor:
        cursor.execute(
            "DELETE FROM scoring_score WHERE result_id = %s",
            [Score.objects.get(result__member=people.ben).result_id],
        )
    again = StreamedClass.objects.get(pk=streamed.pk)
    assert again.board_version == streamed.board_version
    assert rank_of(store, again, people.ana) == 1


def test_a_class_without_results_is_kept_too(store, people):
    empty = make_class(people)
    assert store.standings(empty, [], "all").total == 0
    assert in_sets(store, empty) and store.spot(empty, 0, "all") is None


def test_a_build_that_fails_leaves_no_lock_and_no_half(store, streamed, people, monkeypatch):
    large(monkeypatch)
    monkeypatch.setattr(deriving, "prefix_of", lambda *a: 1 / 0)
    assert rank_of(store, streamed, people.ana) == 2
    wait(store)
    monkeypatch.undo()
    assert not in_sets(store, streamed)
    store.standings(streamed, [], "all"), wait(store)
    assert in_sets(store, streamed)


def test_inside_a_transaction_nothing_is_built(store, streamed, people):
    with transaction.atomic():
        assert rank_of(store, streamed, people.ana) == 2
    assert not in_sets(store, streamed)
