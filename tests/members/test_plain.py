"""Statements written out read and write the rows that Django would have."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.db.models.signals import post_init, post_save, pre_save

from members.models import Membership, User
from members.plain import Plain, insert
from scoring.models import Fact, Result, Score, Submission

from ..conftest import NOW
from ..scoring.classes import log, make_class


def values(row):
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def test_nothing_found_is_nothing(db):
    assert Plain(User, "of.id = %s").rows([0]) == []


def test_rows_come_with_those_that_their_keys_lead_to(people, django_assert_num_queries):
    done = log(make_class(people), people.ana, "2+9", options="tuck rock")
    joined = Plain(Score, "of.id = %s", joined=("result", "result__member", "fact"))
    with django_assert_num_queries(1):
        [score] = joined.rows([done.score.pk], shown="result__member.display_name || '!'")
        told = (score.result.member, score.fact, score.shown)
    assert told == (people.ana, done.fact, "Ana Sol!")
    for row in (score, score.result, score.result.member, score.fact):
        assert values(row) == values(type(row).objects.get(pk=row.pk))
        assert row._state.db == "default" and not row._state.adding


def test_columns_that_were_left_out_are_read_when_they_are_asked_for(
    people, django_assert_num_queries
):
    done = log(make_class(people), people.ana, "2+9")
    only = ("key", "streamed_class_id", "result__member__display_name")
    [score] = Plain(Score, "", joined=("result", "result__member"), only=only).rows(
        [done.score.pk], more="of.id = %s"
    )
    with django_assert_num_queries(0):
        assert (score.key, score.streamed_class_id) == (
            done.score.key,
            done.result.streamed_class_id,
        )
        assert score.result.member.display_name == "Ana Sol"
    assert score.get_deferred_fields() == {
        field.attname for field in Score._meta.concrete_fields
    } - {"id", "key", "streamed_class_id", "result_id"}
    with django_assert_num_queries(2):
        assert score.credited == done.score.credited
        assert score.result.member.role == people.ana.role


def test_a_new_row_is_what_was_to_be_kept(people):
    streamed = make_class(people)
    result = insert(Result(streamed_class=streamed, member=people.ana))
    fact = insert(
        Fact(result=result, number=1, mark="2+9", effort=7, entered_by=people.ana, created_at=NOW)
    )
    sent = insert(
        Submission(
            streamed_class=streamed, member=people.ana, key="k", digest="d", fact=fact,
            is_new_result=True, created_at=NOW + timedelta(microseconds=1),
        )
    )  # fmt: skip
    for row in (result, fact, sent):
        assert row.pk and not row._state.adding and row._state.db == "default"
        assert values(row) == values(type(row).objects.get(pk=row.pk))


def test_what_the_database_forbids_is_refused(people):
    streamed = make_class(people)
    insert(Result(streamed_class=streamed, member=people.ana))
    second = Result(streamed_class=streamed, member=people.ana)
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(second)
    assert second.pk is None and second._state.adding


@pytest.mark.parametrize("model", [Result, Fact, Score, Submission])
def test_nothing_waits_for_the_saving_of_what_is_written_so(model):
    assert not [
        signal for signal in (post_init, pre_save, post_save) if signal.has_listeners(model)
    ]


def test_memberships_do_have_a_listener_so_that_the_claim_above_can_fail():
    assert post_save.has_listeners(Membership)
