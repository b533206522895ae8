"""A board is kept for a moment and shown to many: who may wait for others' results, who never
does, and that what is shown together is of one moment."""

from threading import Barrier, Thread

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils.html import escape
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from members.models import ShownAs
from members.services import change_profile
from scoring.core.ranking import Entry, competition_ranks
from scoring.models import Score, StreamedClass
from scoring.selectors import board_lines, moments
from scoring.selectors.boards import board
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result, withdraw_result
from scoring.services.submitting import ResultInput

from ..conftest import NOW, add_member, make_people
from .classes import log, make_class


@pytest.fixture
def people(transactional_db):
    return make_people()


@pytest.fixture
def streamed(people, settings):
    settings.BOARD_SECONDS = 3600.0  # so that nothing passes by itself while a test runs
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    return streamed


def now_of(streamed):
    return StreamedClass.objects.select_related("workout").get(pk=streamed.pk)


def seen(streamed, viewer, **asked):
    return board(streamed_class=now_of(streamed), viewer=viewer, now=NOW, **asked)


def told(shown):
    return [(row.rank, row.name) for row in shown.rows]


def in_another_process(work):
    """What another process does changes the database and nothing that this one keeps."""
    before = dict(moments._moments)
    work()
    moments._moments.clear()
    moments._moments.update(before)


def test_others_may_wait_for_a_result_and_its_owner_never(people, streamed):
    assert told(seen(streamed, people.cleo)) == [(1, "Ana Sol")]
    in_another_process(lambda: log(streamed, people.ben, "3+0"))
    assert told(seen(streamed, people.cleo)) == [(1, "Ana Sol")]
    assert told(seen(streamed, people.ben)) == [(1, "Ben Okoro"), (2, "Ana Sol")]
    # And from then on everybody, for it has been read.
    assert told(seen(streamed, people.cleo)) == [(1, "Ben Okoro"), (2, "Ana Sol")]


def test_a_correction_of_ones_own_is_seen_by_its_owner_at_once(people, streamed):
    log(streamed, people.ben, "3+0")
    assert seen(streamed, people.ben).own.rank == 1
    in_another_process(lambda: log(streamed, people.ben, "1+0"))
    own = seen(streamed, people.ben).own
    assert (own.rank, own.mark_text) == (2, "1+0")


def test_a_moment_passes(people, streamed, settings):
    assert seen(streamed, people.cleo).total == 1
    log(streamed, people.ben, "3+0")
    settings.BOARD_SECONDS = 0.0
    assert seen(streamed, people.cleo).total == 2


def test_a_closed_class_is_shown_as_it_is(people, streamed):
    seen(streamed, people.cleo)
    in_another_process(lambda: log(streamed, people.ben, "3+0"))
    close_class(streamed_class=now_of(streamed), by=people.coach, now=NOW)
    assert seen(streamed, people.cleo).total == 2


def acts(people, streamed, sent):
    """What nobody may wait to see, by what it is."""
    return {
        "a correction": lambda: correct_result(
            result=sent.result, by=people.coach, data=ResultInput(mark="0+5"), reason="seen",
            now=NOW,
        ),
        "a withdrawal": lambda: withdraw_result(
            result=sent.result, by=people.ben, reason="", now=NOW
        ),
        "an entry by a coach": lambda: log(streamed, people.cleo, "4+0", by=people.coach),
        "a hidden name": lambda: change_profile(
            membership=people.ben, display_name="Ben Okoro", shown_as=ShownAs.UNNAMED
        ),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("act", "then"),
    [
        ("a correction", [(1, "Ana Sol"), (2, "Ben Okoro")]),
        ("a withdrawal", [(1, "Ana Sol")]),
        ("an entry by a coach", [(1, "Cleo Wren"), (2, "Ben Okoro"), (3, "Ana Sol")]),
        ("a hidden name", [(1, "a member"), (2, "Ana Sol")]),
    ],
)
def test_what_is_no_logging_is_seen_by_all_at_once(people, streamed, act, then):
    sent = log(streamed, people.ben, "3+0")
    viewers = (people.ana, add_member(people.gym, "Dora Lind"))
    for viewer in viewers:
        assert told(seen(streamed, viewer)) == [(1, "Ben Okoro"), (2, "Ana Sol")]
    in_another_process(acts(people, streamed, sent)[act])
    for viewer in viewers:
        assert told(seen(streamed, viewer)) == then


def test_a_tag_follows_what_is_shown(people, streamed):
    cleo = Client()
    cleo.force_login(people.cleo.user)
    where = reverse("board-rows", args=[streamed.pk])
    first = cleo.get(where)
    kept = {"If-None-Match": first["ETag"]}
    in_another_process(lambda: log(streamed, people.ben, "3+0"))
    assert cleo.get(where, headers=kept).status_code == 304  # still shown as it was
    seen(streamed, people.ben)
    then = cleo.get(where, headers=kept)
    assert then.status_code == 200 and then["ETag"] != first["ETag"]
    assert b"Ben Okoro" in then.content
    assert cleo.get(where, headers={"If-None-Match": then["ETag"]}).status_code == 304
    page = cleo.get(reverse("class-board", args=[streamed.pk])).content.decode()
    assert f'data-tag="{escape(then["ETag"])}"' in page


def test_the_time_told_is_that_of_the_moment(people, streamed):
    later = NOW.replace(second=59)
    seen(streamed, people.cleo)
    assert board(streamed_class=now_of(streamed), viewer=people.cleo, now=later).as_of == later
    in_another_process(lambda: log(streamed, people.ben, "3+0"))
    old = board(streamed_class=now_of(streamed), viewer=people.cleo, now=later)
    assert (old.as_of, old.total) == (NOW, 1)


def test_restored_data_show_within_a_minute_though_no_version_says_so(
    people, streamed, monkeypatch
):
    log(streamed, people.ben, "3+0")
    assert seen(streamed, people.cleo).total == 2
    Score.objects.filter(result__member=people.ben).delete()
    monkeypatch.setattr(moments, "KEPT_SECONDS", 0.0)
    assert seen(streamed, people.cleo).total == 1


def test_what_changed_while_a_page_was_made_is_taken_anew(people, streamed, monkeypatch):
    """The order is read, then somebody's row changes before its line is."""
    log(streamed, people.ben, "3+0")
    read, changes = board_lines._read, [lambda: log(streamed, people.ana, "4+0")]

    def meanwhile(*args):
        if changes:
            in_another_process(changes.pop())
        return read(*args)

    monkeypatch.setattr(board_lines, "_read", meanwhile)
    assert told(seen(streamed, people.cleo)) == [(1, "Ana Sol"), (2, "Ben Okoro")]
    assert not changes


@pytest.mark.parametrize("whole", [moments.WHOLE, 3])
def test_a_class_too_large_to_be_kept_is_shown_all_the_same(people, streamed, monkeypatch, whole):
    monkeypatch.setattr(moments, "WHOLE", whole)
    members = [add_member(people.gym, f"Member {n}") for n in range(5)]
    for number, member in enumerate(members):
        log(streamed, member, f"{number}+0")
    shown = seen(streamed, members[0], limit=3)
    assert told(shown) == [(1, "Member 4"), (2, "Member 3"), (3, "Ana Sol")]
    assert (shown.own.rank, shown.total) == (6, 6)
    assert [row.rank for row in shown.neighbours] == [4, 5, 6]
    log(streamed, members[0], "5+0")
    assert seen(streamed, members[0], limit=3).own.rank == 1


def test_of_many_who_ask_at_once_one_reads(people, streamed, monkeypatch):
    reads, read, count = [], moments._read, 8
    start = Barrier(count)

    def counted(*args):
        reads.append(1)
        return read(*args)

    monkeypatch.setattr(moments, "_read", counted)
    found: list[int] = []

    def ask():
        try:
            start.wait()
            found.append(seen(streamed, people.cleo).total)
        finally:
            connection.close()

    threads = [Thread(target=ask) for _ in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [1] * count and len(reads) == 1


marks = st.sampled_from(["0+5", "1+0", "2+0", "2+9", "3+1"])
steps = st.lists(
    st.tuples(st.integers(0, 5), marks, st.booleans(), st.booleans()), min_size=3, max_size=9
)


@hypothesis_settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=steps)
def test_every_answer_is_one_board_that_was_and_has_the_viewers_newest(people, settings, steps):
    """Members log here and in another process while others look: each answer is the whole
    board after some number of steps, not before the viewer's own last."""
    settings.BOARD_SECONDS = 3600.0
    moments.forget(), board_lines.forget()
    streamed = make_class(people)
    cast = [
        add_member(people.gym, f"M {n}", email=f"s{streamed.pk}-{n}@example.org")
        for n in range(6)
    ]  # fmt: skip
    history, last = [{}], {}
    for who, mark, is_elsewhere, is_scaled in steps:
        member = cast[who]

        keys = dict(history[-1])

        def work(member=member, mark=mark, is_scaled=is_scaled, keys=keys):
            sent = log(streamed, member, mark, "tuck rock" if is_scaled else "")
            keys[member.display_name] = (sent.score.key, sent.score.tie_key)

        in_another_process(work) if is_elsewhere else work()
        history.append(keys)
        last[member.pk] = len(history) - 1
        for viewer in cast:
            shown = seen(streamed, viewer, limit=3)
            boards = [listed_at(keys, limit=3) for keys in history[last.get(viewer.pk, 0) :]]
            assert (shown.total, told(shown)) in boards
            if shown.own:
                assert shown.own.mark_text == own_mark(streamed, viewer)
                assert shown.own in shown.neighbours
                assert shown.own.rank <= shown.total


def listed_at(keys, *, limit):
    """Ranks and names by the core's own rule."""
    order = sorted(keys, key=lambda name: (-keys[name][0], keys[name][1], name))
    ranks = competition_ranks([Entry(*keys[name], "") for name in order])
    return len(order), list(zip(ranks, order, strict=True))[:limit]


def own_mark(streamed, member):
    return Score.objects.get(result__member=member, streamed_class=streamed.pk).fact.mark
