"""Ranks from steps that the database keeps by itself: whoever writes, they are right."""

from django.conf import settings
from django.db import connection
from django.db.models import F
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from scoring.boards import VIEWS, DatabaseBoards, Standing
from scoring.boards.redis import RedisBoards
from scoring.core.ranking import MAX_KEY, NO_SPLIT
from scoring.models import BoardStep, Score
from scoring.models.board_steps import STEP
from scoring.selectors.board_rows import ordered, own_row, page_of, position
from scoring.services.correcting import withdraw_result

from ..conftest import NOW, add_member
from .classes import log, make_class

FEW = hypothesis_settings(
    max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
# Few different ones, around the ends of steps and of 64 bits, so that many are level.
keys = st.sampled_from([0, 1, STEP - 1, STEP, STEP + 1, 3 * STEP, MAX_KEY - 1, MAX_KEY])
rows = st.tuples(keys, st.sampled_from([-2, 0, 5, NO_SPLIT]), st.booleans())


def stores():
    yield DatabaseBoards()
    if settings.REDIS_URL:
        yield RedisBoards(settings.REDIS_URL, prefix=f"{settings.REDIS_PREFIX}-steps")


def filled(people, drawn):
    """A class whose scores have these keys."""
    streamed = make_class(people)
    for number, (key, tie_key, as_prescribed) in enumerate(drawn):
        name = f"M {number * 7 % 10}"
        member = add_member(people.gym, name, email=f"s{streamed.pk}-{number}@example.org")
        sent = log(streamed, member, f"{number}+0")
        Score.objects.filter(pk=sent.score.pk).update(
            key=key, tie_key=tie_key, as_prescribed=as_prescribed
        )
    streamed.refresh_from_db()
    return streamed


def demand_counted(streamed):
    """What the database keeps is what counting the scores says."""
    streamed.refresh_from_db()
    scores = list(Score.objects.filter(streamed_class=streamed))
    assert streamed.board_entries == len(scores)
    assert streamed.board_prescribed == sum(score.as_prescribed for score in scores)
    kept = {
        (row.as_prescribed, row.step): row.entries
        for row in BoardStep.objects.filter(streamed_class=streamed, entries__gt=0)
    }
    counted: dict[tuple[bool, int], int] = {}
    for score in scores:
        where = (score.as_prescribed, score.key // STEP)
        counted[where] = counted.get(where, 0) + 1
    assert kept == counted


def sql_ranks(streamed, view):
    """Rank and size of tie of each score, by the database's own rank()."""
    only = {"all": "", "prescribed": "AND as_prescribed", "scaled": "AND NOT as_prescribed"}[view]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT key, tie_key, RANK() OVER (ORDER BY key DESC, tie_key), "
            "COUNT(*) OVER (PARTITION BY key, tie_key) FROM scoring_score "
            f"WHERE streamed_class_id = %s {only}",
            [streamed.pk],
        )
        return {(key, tie): Standing(rank, n) for key, tie, rank, n in cursor.fetchall()}


@FEW
@given(st.lists(rows, min_size=1, max_size=14), st.data())
def test_every_store_ranks_as_the_database_does_after_any_change(people, drawn, data):
    streamed = filled(people, drawn)
    gone = data.draw(st.sets(st.integers(0, len(drawn) - 1)))
    scores = list(Score.objects.filter(streamed_class=streamed).order_by("pk"))
    Score.objects.filter(pk__in=[scores[n].pk for n in gone]).delete()
    demand_counted(streamed)
    for view in VIEWS:
        expected = sql_ranks(streamed, view)
        for store in stores():
            store.forget(streamed.pk)
            told = store.standings(streamed, list(expected), view)
            assert told.places == expected
            assert told.total == sum(1 for s in Score.objects.filter(streamed_class=streamed)
                                     if view == "all" or s.as_prescribed == (view == "prescribed"))  # fmt: skip


@FEW
@given(st.lists(rows, min_size=1, max_size=14))
def test_every_page_from_any_place_is_a_part_of_the_whole_board(people, drawn):
    streamed = filled(people, drawn)
    for view in VIEWS:
        whole = list(ordered(streamed, view))
        for offset in range(len(whole) + 2):
            assert page_of(streamed, view, offset, 3) == whole[offset : offset + 3]
        for store in stores():
            assert store.spot(streamed, len(whole), view) is None
            for place, score in enumerate(whole):
                spot = store.spot(streamed, place, view)
                assert spot.pair == (score.key, score.tie_key)
                better = [s for s in whole if (-s.key, s.tie_key) < (-score.key, score.tie_key)]
                assert spot.before == len(better)
        ranks = sql_ranks(streamed, view)
        for place, score in enumerate(whole):
            own = own_row(streamed, view, score.result.member_id)
            assert own == score
            assert position(streamed, view, own, ranks[own.key, own.tie_key].rank) == place


def test_steps_follow_whatever_is_done_with_scores(people):
    streamed, other = make_class(people), make_class(people)
    sent = [log(streamed, m, f"{n}+3", "tuck rock" if n else "") for n, m in
            enumerate(people.members)]  # fmt: skip
    log(other, people.ana, "1+0")
    demand_counted(streamed), demand_counted(other)
    log(streamed, people.ana, "7+3", "tuck rock")
    demand_counted(streamed)
    withdraw_result(result=sent[1].result, by=people.coach, reason="not his", now=NOW)
    demand_counted(streamed)
    Score.objects.filter(streamed_class=streamed).update(key=F("key") + STEP)
    demand_counted(streamed)
    Score.objects.filter(streamed_class=streamed).update(key=0, as_prescribed=True)
    demand_counted(streamed)
    Score.objects.filter(streamed_class=streamed)[0].delete()
    demand_counted(streamed)
    Score.objects.filter(streamed_class=streamed).update(streamed_class=other.pk)
    demand_counted(streamed), demand_counted(other)
    assert other.board_entries == 2 and streamed.board_entries == 0
    Score.objects.all().delete()
    demand_counted(streamed), demand_counted(other)


def test_scores_written_over_at_once_are_counted_once(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
    given = list(Score.objects.filter(streamed_class=streamed))
    for score in given:
        score.pk, score.key, score.as_prescribed = None, score.key + 2 * STEP, False
    Score.objects.bulk_create(
        given, update_conflicts=True, unique_fields=["result"],
        update_fields=["key", "as_prescribed"],
    )  # fmt: skip
    demand_counted(streamed)
    assert (streamed.board_entries, streamed.board_prescribed) == (2, 0)
