"""Boards: one order in every store, ranks over the whole field."""

import pytest
from django.conf import settings
from django.db import transaction
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from members.models import ShownAs
from scoring import boards
from scoring.boards import VIEWS, DatabaseBoards
from scoring.boards.deriving import Deriver
from scoring.boards.members import prefix_of
from scoring.boards.redis import RedisBoards
from scoring.core.cells import escape_formula
from scoring.core.ranking import MAX_KEY, NO_SPLIT, Entry, competition_ranks
from scoring.models import Score
from scoring.selectors import moments
from scoring.selectors.board_file import export_rows
from scoring.selectors.boards import board, board_version

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class

keys = st.tuples(
    st.one_of(st.integers(0, 5), st.integers(MAX_KEY - 5, MAX_KEY), st.integers(0, MAX_KEY)),
    st.one_of(st.integers(-100, 5), st.sampled_from([0, NO_SPLIT]), st.integers(0, 10**7)),
)


@given(st.lists(keys, min_size=2, max_size=40))
def test_the_text_of_a_key_sorts_as_the_key_does(pairs):
    by_text = sorted(pairs, key=lambda p: prefix_of(*p))
    assert by_text == sorted(pairs, key=lambda p: (-p[0], p[1]))
    assert len({len(prefix_of(*p)) for p in pairs}) == 1


def rows_of(streamed, viewer, view="all", **kwargs):
    return board(streamed_class=streamed, viewer=viewer, now=NOW, view=view, **kwargs)


def test_the_board_orders_ties_by_name_and_shares_their_rank(people):
    streamed = make_class(people)
    log(streamed, people.cleo, "2+9")
    log(streamed, people.ana, "2+9")
    log(streamed, people.ben, "2+9", "tuck rock")
    log(streamed, people.owner, "3+0")
    shown = rows_of(streamed, people.ben)
    assert [(r.rank, r.name) for r in shown.rows] == [
        (1, "Olga Owner"), (2, "Ana Sol"), (2, "Cleo Wren"), (4, "Ben Okoro"),
    ]  # fmt: skip
    assert shown.own.rank == 4 and shown.own.is_own
    assert [r.as_prescribed for r in shown.rows] == [True, True, True, False]
    assert all(r.percentile is None for r in shown.rows)  # four entries say nothing


def test_percentiles_are_shown_from_five_entries_up(people):
    streamed = make_class(people)
    for member, mark in zip(
        [*people.members, people.owner, people.coach], range(1, 6), strict=True
    ):
        log(streamed, member, f"{mark}+0")
    assert [r.percentile for r in rows_of(streamed, people.ana).rows] == [90, 70, 50, 30, 10]


def test_a_filter_lists_fewer_and_changes_no_score(people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    log(streamed, people.ben, "3+0", "tuck rock")
    log(streamed, people.cleo, "1+0")
    everybody = {r.name: r for r in rows_of(streamed, people.ana).rows}
    prescribed = rows_of(streamed, people.ana, "prescribed").rows
    scaled = rows_of(streamed, people.ana, "scaled").rows
    assert [(r.rank, r.name) for r in prescribed] == [(1, "Ana Sol"), (2, "Cleo Wren")]
    assert [(r.rank, r.name) for r in scaled] == [(1, "Ben Okoro")]
    for row in [*prescribed, *scaled]:
        assert row.credited == everybody[row.name].credited


def test_ranks_are_over_the_whole_field_on_every_page(people):
    streamed = make_class(people)
    members = [add_member(people.gym, f"Member {i:02d}") for i in range(12)]
    for i, member in enumerate(members):
        log(streamed, member, f"{(i // 2)}+0")
    whole = rows_of(streamed, members[0])
    ranks = [r.rank for r in whole.rows]
    assert ranks == [1, 1, 3, 3, 5, 5, 7, 7, 9, 9, 11, 11]
    paged = [
        r for o in range(0, 12, 5) for r in rows_of(streamed, members[0], offset=o, limit=5).rows
    ]
    assert paged == whole.rows
    assert whole.own.rank == 11
    assert [r.rank for r in rows_of(streamed, members[5], limit=1).neighbours] == [5, 7, 7, 9, 9]


def test_names_are_shown_as_members_chose(people):
    streamed = make_class(people)
    people.ana.shown_as, people.ben.shown_as = ShownAs.INITIALS, ShownAs.UNNAMED
    people.ana.save(), people.ben.save()
    for member, mark in ((people.ana, "3+0"), (people.ben, "2+0"), (people.cleo, "1+0")):
        log(streamed, member, mark)
    seen = [(r.name, r.can_open) for r in rows_of(streamed, people.cleo).rows]
    assert seen == [("A.S.", True), ("a member", False), ("Cleo Wren", True)]
    assert [r.name for r in rows_of(streamed, people.ben).rows][1] == "Ben Okoro"
    coach = [r.name for r in rows_of(streamed, people.coach).rows]
    assert coach == ["Ana Sol", "Ben Okoro", "Cleo Wren"]
    assert [r["name"] for r in export_rows(streamed_class=streamed, viewer=people.cleo)] == [
        "A.S.", "a member", "Cleo Wren",
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx"])
def test_an_export_runs_no_formula(text):
    # OWASP ASVS 5.0.0, 1.2.10
    assert escape_formula(text) == "'" + text
    assert escape_formula("Ana =") == "Ana ="


def stores():
    yield DatabaseBoards()
    if settings.REDIS_URL:
        yield RedisBoards(settings.REDIS_URL, prefix=f"{settings.REDIS_PREFIX}-extra")


@hypothesis_settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.lists(st.tuples(keys, st.booleans()), min_size=3, max_size=9))
def test_every_store_and_the_export_give_the_same_ranks(people, data):
    streamed = make_class(people, tie_break_block=1)
    for i, ((key, tie_key), as_prescribed) in enumerate(data):
        member = add_member(people.gym, f"M {i}", email=f"m{streamed.pk}-{i}@example.org")
        sent = log(streamed, member, f"{i}+0")
        sent.score.key, sent.score.tie_key = key, tie_key
        sent.score.as_prescribed = as_prescribed
        sent.score.save()
    boards.store().forget(streamed.pk)
    streamed.refresh_from_db()
    for view in VIEWS:
        scores = [s for s in Score.objects.filter(streamed_class=streamed)
                  if view == "all" or s.as_prescribed == (view == "prescribed")]  # fmt: skip
        expected = competition_ranks([Entry(s.key, s.tie_key, "") for s in scores])
        for store in stores():
            store.forget(streamed.pk)
            standings = store.standings(streamed, [(s.key, s.tie_key) for s in scores], view)
            places = [standings.places[s.key, s.tie_key] for s in scores]
            assert [place.rank for place in places] == expected
            assert [place.equal for place in places] == [expected.count(r) for r in expected]
            assert standings.total == len(scores)
        exported = export_rows(streamed_class=streamed, viewer=people.coach, view=view)
        assert [r["rank"] for r in exported] == sorted(expected)


@pytest.mark.skipif(not settings.REDIS_URL, reason="needs REDIS_URL; make test with it set runs it")
@pytest.mark.django_db(transaction=True)
class TestRedis:
    """The Redis store heals itself and never shows a wrong board."""

    @pytest.fixture(autouse=True)
    def _asked_of_the_store(self, monkeypatch):
        """Every class is too large for a process to keep."""
        monkeypatch.setattr(moments, "WHOLE", 0)

    @pytest.fixture
    def people(self, transactional_db):

        return make_people()

    def test_a_flushed_store_is_derived_again(self, people):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
        boards.store().forget(streamed.pk)
        streamed.refresh_from_db()
        assert rows_of(streamed, people.ana).own.rank == 2

    def test_a_lost_write_is_noticed_by_its_version(self, people, monkeypatch):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9")
        streamed.refresh_from_db()
        assert rows_of(streamed, people.ana).own.rank == 1
        with monkeypatch.context() as lost:
            lost.setattr(RedisBoards, "put", lambda *a, **k: None)
            log(streamed, people.ben, "3+0")
        streamed.refresh_from_db()
        assert rows_of(streamed, people.ana).own.rank == 2

    def test_writes_keep_the_set_current_without_deriving_it(self, people, monkeypatch):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9")
        streamed.refresh_from_db()
        rows_of(streamed, people.ana)
        monkeypatch.setattr(Deriver, "derive", lambda *a: pytest.fail("derived again"))
        log(streamed, people.ben, "3+0")
        log(streamed, people.ana, "4+0")
        streamed.refresh_from_db()
        shown = rows_of(streamed, people.ben)
        assert [(r.rank, r.name) for r in shown.rows] == [(1, "Ana Sol"), (2, "Ben Okoro")]
        assert shown.total == 2

    def test_a_rank_asked_for_with_the_result_asks_the_database_nothing(
        self, people, django_assert_num_queries
    ):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
        rows_of(streamed, people.ana)
        score = Score.objects.get(result__member=people.ana)
        pair = (score.key, score.tie_key)
        log(streamed, people.cleo, "4+0")
        with django_assert_num_queries(0):
            standings = boards.store().standings(streamed, [pair], "all")
        assert (standings.places[pair].rank, standings.total) == (3, 3)

    def test_what_may_yet_be_undone_is_kept_from_the_store(self, people):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9")
        log(streamed, people.ben, "1+0")
        with pytest.raises(RuntimeError), transaction.atomic():
            log(streamed, people.ben, "3+0")
            streamed.refresh_from_db()
            assert rows_of(streamed, people.ana).own.rank == 2
            raise RuntimeError("undone")
        log(streamed, people.cleo, "0+5")  # takes the version that was undone
        streamed.refresh_from_db()
        assert rows_of(streamed, people.ana).own.rank == 1

    def test_a_set_that_was_lost_alone_is_derived_again(self, people):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
        streamed.refresh_from_db()
        rows_of(streamed, people.ana)
        store = boards.store()
        store._client.delete(store._names(streamed.pk).sets[2])
        assert rows_of(streamed, people.ana).own.rank == 2

    def test_rows_that_went_without_a_new_version_are_noticed(self, people):
        streamed = make_class(people)
        log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
        streamed.refresh_from_db()
        rows_of(streamed, people.ana)
        Score.objects.filter(result__member=people.ben).delete()  # as when data are restored
        streamed.refresh_from_db()
        shown = rows_of(streamed, people.ana)
        assert (shown.total, shown.own.rank) == (1, 1)

    def test_an_unreachable_store_only_costs_time(self, people, monkeypatch):
        streamed = make_class(people)
        gone = RedisBoards("redis://127.0.0.1:1/0")
        monkeypatch.setattr(boards, "store", lambda: gone)
        log(streamed, people.ana, "2+9"), log(streamed, people.ben, "3+0")
        streamed.refresh_from_db()
        assert [r.rank for r in rows_of(streamed, people.ana).rows] == [1, 2]


def test_names_inside_a_tie_are_ordered_whatever_their_case_and_alphabet(people):
    streamed = make_class(people)
    names = ["Östen", "östa", "anna", "Ben", "ÉMILE", "émilie", "Zed", "Яна", "юрий"]
    for i, name in enumerate(names):
        log(streamed, add_member(people.gym, name, email=f"tie{i}@example.org"), "2+9")
    shown = rows_of(streamed, people.coach)
    assert [r.name for r in shown.rows] == sorted(names, key=str.casefold)
    assert {r.rank for r in shown.rows} == {1}


def test_neighbours_stand_around_the_own_row_inside_a_tie_too(people):
    streamed = make_class(people)
    members = [
        add_member(people.gym, name, email=f"n{i}@example.org")
        for i, name in enumerate(["Ábel", "ábel", "Éva", "éva", "Élan", "Öde", "Übel"])
    ]
    for member in members:
        log(streamed, member, "2+9")
    whole = [r.result_id for r in rows_of(streamed, people.coach).rows]
    for member in members:
        shown = rows_of(streamed, member, limit=1)
        at = whole.index(shown.own.result_id)
        start = max(0, at - 2)
        assert [r.result_id for r in shown.neighbours] == whole[start : start + 5]


def test_a_member_who_hides_their_name_is_hidden_on_every_board_at_once(people):
    streamed, other = make_class(people), make_class(people)
    log(streamed, people.ana, "2+9")
    log(other, people.ben, "2+9")
    streamed.refresh_from_db(), other.refresh_from_db()
    versions = [board_version(c, people.cleo) for c in (streamed, other)]
    people.ana.shown_as = ShownAs.UNNAMED
    people.ana.save()
    streamed.refresh_from_db(), other.refresh_from_db()
    assert board_version(streamed, people.cleo) != versions[0]  # so no browser keeps the old rows
    assert board_version(other, people.cleo) == versions[1]
    people.ana.save(update_fields=["joined_at"])
    before = streamed.board_version
    streamed.refresh_from_db()
    assert streamed.board_version == before


@pytest.mark.django_db(transaction=True)
def test_a_page_built_once_is_still_each_viewers_own():
    people = make_people()
    streamed = make_class(people)
    for member in people.members:
        log(streamed, member, "2+9")
    people.ben.shown_as = ShownAs.UNNAMED
    people.ben.save()
    streamed.refresh_from_db()
    for _ in range(2):  # the second time from what was kept
        for viewer in people.members:
            shown = rows_of(streamed, viewer)
            assert [row.name for row in shown.rows if row.is_own] == [viewer.display_name]
            hidden = {"Ben Okoro"} - {viewer.display_name}
            assert not hidden & {row.name for row in shown.rows}
        assert {"Ben Okoro"} < {row.name for row in rows_of(streamed, people.coach).rows}
        assert board(streamed_class=streamed, viewer=people.foreigner, now=NOW) is None
    log(streamed, people.coach, "3+0")
    streamed.refresh_from_db()
    assert rows_of(streamed, people.ana).rows[0].name == "Carl Coach"
