"""A result's likely ranks, where its breakdown is shown and to whom."""

import pytest
from django.test import Client
from django.urls import reverse

from members.models import ShownAs
from scoring.core.estimation.ways import Way
from scoring.models import Result
from scoring.selectors import lately, rank_ranges
from scoring.selectors.rank_ranges import likely_rank
from scoring.selectors.results import breakdown_for
from scoring.services.classes import close_class
from scoring.services.correcting import withdraw_result
from scoring.services.submitting import ResultInput, submit_result

from ..conftest import FOR_TIME, NOW, TWO_LADDERS, add_member
from .classes import log, make_class
from .credit_scenes import ROCKS, boards
from .crowds import crowd, many_members
from .estimated import keep, learned

TUCK = Way("hollow rock", "tuck rock")
BELLS = "Bells\nevery 1:00 for 2 rounds\nmax burpee\n  or squat thrust\n"
RUNS = "Runs\ncap 20:00\n\n2 rounds\n400 m run\n20 air squat\n  or box squat\n"
HOLDS = "Holds\namrap 8:00\n0:30 plank\n10 push-up\n  or knee push-up\n"
LIFT = "Heavy three\nmax load, 3 reps\nback squat\n"

pytestmark = pytest.mark.django_db


@pytest.fixture
def rocks(people):
    """98 hollow rocks against 120 tuck rocks at 0.8, which are 96, and ten."""
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+8")
    log(found, people.ben, "12+0", "tuck rock")
    log(found, people.cleo, "1+0")
    return found


def know(people, worth=0.8, spread=0.2, results=48):
    keep(people.gym, learned(people.gym, [(TUCK, worth, spread, results)]))


def of(member, viewer=None):
    result = Result.objects.select_related("streamed_class__workout", "current", "score").get(
        member=member
    )
    opened = breakdown_for(result=result, viewer=viewer or member)
    return likely_rank(result=result, rank=opened.rank if opened else None, viewer=viewer or member)


def signed_in(member):
    client = Client()
    client.force_login(member.user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_rows_that_may_change_places_say_so_and_the_last_stays_last(people, rocks):
    know(people)
    # 120 tuck rocks beat 98 where the worth is above 0.817: somewhat less than half the draws.
    assert [(of(m).rank, of(m).best, of(m).worst) for m in people.members] == [
        (1, 1, 2), (2, 1, 2), (3, 3, 3),
    ]  # fmt: skip


@pytest.mark.django_db(transaction=True)  # inside a transaction nothing is kept
def test_of_an_open_class_the_draws_of_a_moment_ago_do(people, rocks, monkeypatch):
    know(people)
    draws, at = [], [1000.0]
    drawn = rank_ranges.drawn_credits
    monkeypatch.setattr(lately, "monotonic", lambda: at[0])
    monkeypatch.setattr(
        rank_ranges, "drawn_credits", lambda *args, **told: draws.append(1) or drawn(*args, **told)
    )
    assert (of(people.ana).rank, of(people.ben).worst, len(draws)) == (1, 2, 1)
    log(rocks, people.ana, "9+7")  # the draws know her by what she has put right
    assert of(people.ana) is None
    assert (of(people.ben).best, of(people.ben).worst, len(draws)) == (1, 2, 1)
    # Of three there are four by now: where a rank lies among three says too little of it.
    log(rocks, add_member(people.gym, "Dora Late"), "20+0")
    assert of(people.ben) is None and len(draws) == 1
    at[0] += lately.LATELY_SECONDS
    assert (of(people.ana).rank, of(people.ana).best, len(draws)) == (2, 2, 2)
    # Once it is closed it is worked out of what there is, and then kept.
    log(rocks, people.cleo, "30+0")
    rocks.refresh_from_db()
    close_class(streamed_class=rocks, by=people.coach, now=NOW)
    assert (of(people.ana).rank, of(people.ana).best, of(people.ben).worst) == (3, 3, 4)
    assert len(draws) == 3


def test_a_worth_that_is_well_known_leaves_every_rank_alone(people, rocks):
    know(people, spread=0.001)
    assert [(of(m).best, of(m).worst) for m in people.members] == [(1, 1), (2, 2), (3, 3)]
    assert of(people.ana).words.endswith("most likely 1 as well.")


def test_nobody_is_told_that_the_rank_is_wrong_however_far_the_credit_is(people, rocks):
    know(people, worth=0.9, spread=0.01)
    assert (of(people.ben).best, of(people.ben).worst) == (1, 2)
    assert of(people.ben).words == (
        "Rank 2. Results so far tell only roughly what the options are worth: allowing for that, "
        "between 1 and 2."
    )


def test_nothing_is_said_before_anything_is_worked_out(people, rocks):
    assert of(people.ana) is None


def test_nothing_is_said_where_nobody_used_an_option(people):
    streamed = make_class(people, ROCKS)
    log(streamed, people.ana, "9+8")
    log(streamed, people.ben, "8+0")
    know(people)
    assert of(people.ana) is None


def test_a_strength_piece_has_no_pace_to_learn_from(people):
    make_class(people, ROCKS)
    log(make_class(people, LIFT), people.ana, "80 kg")
    know(people)
    assert of(people.ana) is None


def test_who_may_not_open_a_result_gets_no_range_of_it(people, rocks):
    know(people)
    people.ana.shown_as = ShownAs.UNNAMED
    people.ana.save()
    assert of(people.ana, viewer=people.ben) is None
    assert of(people.ana, viewer=people.foreign_coach) is None
    assert of(people.ana, viewer=people.coach) is not None


def test_a_result_that_was_taken_off_has_none_and_moves_nobody(people, rocks):
    know(people)
    withdraw_result(
        result=Result.objects.get(member=people.ben), by=people.coach, reason="a slip", now=NOW
    )
    assert of(people.ben) is None and of(people.ana) is None


def test_the_page_tells_it_in_words_with_what_it_rests_on(people, rocks):
    know(people)
    result = Result.objects.get(member=people.ana)
    page = " ".join(signed_in(people.cleo).get(reverse("result", args=[result.pk])).text.split())
    assert "between 1 and 2." in page and "How sure the rank is" in page
    assert "From 312 results of the gym until 24 Nov 2026" in page


def test_the_api_tells_it_when_a_result_is_read(people, rocks):
    know(people)
    result = Result.objects.get(member=people.ana)
    told = signed_in(people.cleo).get(reverse("api-result", args=[result.pk])).json()
    assert (told["rank"], told["likely_rank"]["best"], told["likely_rank"]["worst"]) == (1, 1, 2)
    assert told["likely_rank"]["results"] == 312


def test_part_options_and_certain_reps_add_up_to_the_board_by_certain_credits(people):
    streamed = make_class(people, ROCKS)
    scores = crowd(streamed, many_members(people.gym, 60), seed=4)
    log(streamed, people.ana, "12+0", "tuck rock: 37")
    know(people, spread=0.0)
    ranks = [of(score.result.member, viewer=people.coach) for score in scores[::6]]
    ranks.append(of(people.ana))
    assert [(r.best, r.worst) for r in ranks] == [(r.rank, r.rank) for r in ranks]


@pytest.mark.parametrize("weighted", [False, True])
@pytest.mark.parametrize("text", [TWO_LADDERS, FOR_TIME, BELLS, RUNS, HOLDS])
def test_certain_credits_give_the_boards_own_ranks_whatever_the_scheme(people, text, weighted):
    streamed = make_class(people, text, weighted=weighted)
    scores = crowd(streamed, many_members(people.gym, 20), seed=5)
    keep(people.gym, learned(people.gym))
    assert {score.as_prescribed for score in scores} == {True, False}
    for score in scores[::4]:
        found = of(score.result.member, viewer=people.coach)
        assert (found.best, found.worst) == (found.rank, found.rank)


def test_of_a_very_large_board_some_stand_for_their_neighbours(people, monkeypatch):
    monkeypatch.setattr(rank_ranges, "MOST", 7)
    streamed = make_class(people, ROCKS)
    scores = crowd(streamed, many_members(people.gym, 60), seed=4)
    know(people, spread=0.0)
    for score in scores[::6]:
        found = of(score.result.member, viewer=people.coach)
        # One in so many stands for at most so many neighbours on either side.
        assert found.worst - found.best <= 60 // 7 and found.rank in (found.best, found.worst)


def test_a_new_result_or_a_new_estimate_is_seen_at_once(people, rocks):
    know(people)
    assert of(people.cleo).best == 3
    log(rocks, add_member(people.gym, "Dora New"), "20+0")
    assert of(people.cleo).best == 4
    know(people, spread=0.0)
    assert (of(people.ben).best, of(people.ben).worst) == (3, 3)


def test_what_a_class_counts_is_never_changed_by_it(people, rocks):
    know(people, worth=1.5, spread=0.01)
    before = boards()
    # 120 tuck rocks would be 120 at most, since this class counts nothing more than 1.
    assert (of(people.ben).rank, of(people.ben).best) == (2, 1)
    assert boards() == before


@pytest.mark.django_db(transaction=True)
def test_a_board_that_is_kept_is_counted_anew_once_it_changes(people):
    """Outside a transaction, where a process keeps what it worked out."""
    streamed = make_class(people, ROCKS)
    log(streamed, people.ana, "9+8")
    log(streamed, people.ben, "12+0", "tuck rock")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    know(people)
    first = of(people.ben)
    kept = rank_ranges._board.cache_info()
    assert of(people.ben) == first and rank_ranges._board.cache_info().hits == kept.hits + 1
    streamed.refresh_from_db()
    submit_result(
        streamed_class=streamed, member=people.cleo, entered_by=people.coach,
        data=ResultInput(mark="30+0"), key="late", now=NOW, reason="sent by mail",
    )  # fmt: skip
    assert (of(people.ben).best, of(people.ben).worst) == (first.best + 1, first.worst + 1)
    know(people, worth=0.9, spread=0.001)
    assert (of(people.ben).rank, of(people.ben).best, of(people.ben).worst) == (3, 2, 3)
