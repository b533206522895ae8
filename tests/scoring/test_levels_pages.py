"""Levels and class effects on pages: what is said to members and coaches, and to nobody else.

Expected figures: a level is 100 · exp(-u), and 80 % of a normal distribution lies within
1.2816 standard deviations.
"""

import re
from datetime import UTC, datetime, timedelta
from html import unescape
from math import log as ln

import pytest
from django.urls import reverse

from scoring.problems import Refused
from scoring.selectors.levels import (
    class_effect_of,
    class_effects,
    level_of,
    read_since,
    usual_since,
)

from ..conftest import FOR_TIME, NOW, TWO_LADDERS, add_member
from .classes import log, make_class
from .level_scenes import taught
from .test_pages import text_of

TODAY = NOW.date()
LIFT = "Heavy day\n\nmax load, 3 reps\nback squat\n"


def at(month, day):
    return datetime(2026, month, day, 18, 0, tzinfo=UTC)


@pytest.fixture
def clock(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def risen(people, clock):
    """Ana has logged three times and become faster: from 95 to 108."""
    for month, day in ((8, 20), (10, 8), (11, 21)):
        log(make_class(people, starts_at=at(month, day), now=at(month, day)), people.ana, "2+9")
    path = [
        (at(8, 20), -ln(0.95), 0.03),
        (at(10, 8), -ln(1.0), 0.03),
        (at(11, 21), -ln(1.08), 0.03),
    ]
    taught(people.gym, {people.ana: path, people.ben: [(at(11, 21), ln(1.1), 0.05)]})
    return people.ana


def said(client, member, name, *args, **query):
    client.force_login(member.user)
    answer = client.get(reverse(name, args=args), query)
    return unescape(text_of(answer))


def test_ones_own_level_is_told_with_its_likely_range_and_its_source(risen, client):
    told = said(client, risen, "progress")
    # Three days after the last: sqrt(0.03² + 3 · 0.01²) = 0.0346, 100 · exp(ln 1.08 ± 0.0444)
    assert (
        "Your level is 108 (likely between 103 and 113): about 8 % faster than this gym's typical "
        "member at the same work. From 3 results until 21 November."
    ) in told
    assert "that you are faster than on 24 August" in told
    assert "no reason to go on when something hurts" in told
    assert "logged nothing" not in told


def test_another_day_to_compare_with(risen, client):
    told = said(client, risen, "progress", since="2026-10-08")
    assert "that you are faster than on 8 October" in told
    told = said(client, risen, "progress", since="2026-01-01")
    assert "faster than at your first result, on 20 August." in told
    # The box says the day that the sentence compares with.
    assert 'value="2026-08-20"' in client.get(reverse("progress"), {"since": "2026-01-01"}).text


def test_without_a_day_asked_for_box_and_sentence_are_of_the_first_result(people, clock, client):
    for month, day in ((9, 5), (11, 21)):
        log(make_class(people, starts_at=at(month, day), now=at(month, day)), people.ana, "2+9")
    taught(people.gym, {people.ana: [(at(9, 5), 0.0, 0.02), (at(11, 21), -0.2, 0.02)]})
    for viewer, name, args in (
        (people.ana, "progress", []),
        (people.coach, "member-page", [people.ana.pk]),
    ):
        assert "first result, on 5 September." in said(client, viewer, name, *args)
        assert 'value="2026-09-05"' in client.get(reverse(name, args=args)).text


@pytest.mark.parametrize("since", ["2026-11-21", "2026-11-23"])
def test_a_day_from_the_last_result_on_asks_for_an_earlier_one(risen, people, client, since):
    told = said(client, risen, "progress", since=since)
    assert "Your last result is of 21 November; pick an earlier day" in told
    assert "nothing to compare with" not in told
    told = said(client, people.coach, "member-page", risen.pk, since=since)
    assert "Their last result is of 21 November; pick an earlier day" in told


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("9999-12-31", "That day is not in the past. Pick one before today."),
        ("0001-01-01", "No class was as early as that. Pick one from 2000-01-01 to yesterday."),
        ("soon", "“soon” is no day. Write it like 2026-09-01."),
    ],
)
def test_why_a_day_is_refused_is_said(risen, client, typed, why):
    assert why in said(client, risen, "progress", since=typed)


def test_a_coach_sees_that_nothing_is_known_of_somebody_without_a_result(people, clock, client):
    told = said(client, people.coach, "member-page", people.ben.pk)
    assert "Nothing is known of their level yet. The typical member's is 100" in told
    assert "They have logged nothing yet" in told


@pytest.mark.parametrize("typed", ["soon", "2026-13-01", "2026-11-24", "2027-01-01", "0001-01-01"])
def test_a_day_that_is_none_or_not_past_is_refused_and_the_page_stays(risen, people, client, typed):
    for viewer, name, args in (
        (risen, "progress", []),
        (people.coach, "member-page", [risen.pk]),
    ):
        client.force_login(viewer.user)
        answer = client.get(reverse(name, args=args), {"since": typed})
        assert answer.status_code == 422
        told = text_of(answer)
        assert "Write it like 2026-09-01" in told or "Pick one" in told
        assert "level is 108" in told


def test_three_months_ago_is_the_same_day_or_the_last_of_the_month():
    assert str(usual_since(TODAY)) == "2026-08-24"
    assert str(usual_since(datetime(2026, 5, 31).date())) == "2026-02-28"
    assert str(usual_since(datetime(2026, 1, 10).date())) == "2025-10-10"
    assert read_since(" ", TODAY) == usual_since(TODAY)
    with pytest.raises(Refused):
        read_since("24.11.2026", TODAY)


def test_after_a_gap_the_level_is_the_same_and_less_certain(risen, client, time_machine):
    before = level_of(member=risen, viewer=risen, now=NOW)
    later = NOW + timedelta(days=42)
    time_machine.move_to(later)
    seen = level_of(member=risen, viewer=risen, now=later)
    assert seen.now.level == before.now.level and seen.now.low < before.now.low
    # 45 days after the last result: 0.03² + 45 · 0.01²
    assert seen.now.variance == pytest.approx(0.0054)
    told = said(client, risen, "progress")
    assert "You have logged nothing by the clock for 6 weeks, so this is less certain" in told


def test_a_lower_level_is_told_kindly(people, clock, client):
    for month, day in ((8, 1), (11, 21)):
        log(make_class(people, starts_at=at(month, day), now=at(month, day)), people.ana, "2+9")
    taught(people.gym, {people.ana: [(at(8, 1), 0.0, 0.02), (at(11, 21), 0.12, 0.02)]})
    told = said(client, people.ana, "progress", since="2026-08-01")
    assert "Illness, a break" in told and "nothing has to be made up for" in told
    assert "you are slower at present than at your first result, on 1 August." in told
    page = client.get(reverse("progress")).content.decode()
    level = page[page.index('id="level"') : page.index("<h2>Bests")].lower()
    for urging in ("come back", "try", "should", "must", "keep going", "well done", "lost"):
        assert urging not in level


def test_without_a_result_the_typical_level_is_told_with_all_its_width(people, clock, client):
    told = said(client, people.ben, "progress")
    # 100 · exp(±1.2816 · 0.25)
    assert "Nothing is known of your level yet. The typical member's is 100" in told
    assert "between 73 and 138" in told
    assert "Compare with" not in told
    # Logged, but nothing is worked out yet.
    log(make_class(people, starts_at=at(11, 21), now=at(11, 21)), people.ben, "2+9")
    told = said(client, people.ben, "progress")
    assert "Nothing is known of your level yet" in told and "1 newer result is not in it" in told


def test_one_result_has_nothing_to_compare_with(people, clock, client):
    log(make_class(people, starts_at=at(11, 21), now=at(11, 21)), people.ana, "2+9")
    taught(people.gym, {people.ana: [(at(11, 21), 0.0, 0.1)]})
    told = said(client, people.ana, "progress")
    assert "Your level is 100 (likely between" in told and "nothing to compare with yet" in told
    assert level_of(member=people.ana, viewer=people.ana, now=NOW).improved is None


def test_results_after_the_last_working_out_are_said_to_be_missing(risen, people, client):
    log(make_class(people, starts_at=at(11, 23), now=at(11, 23)), risen, "2+9")
    told = said(client, risen, "progress")
    assert "From 3 results until 21 November." in told
    assert "1 newer result is not in it yet" in told
    # The day after it is no gap, though the estimate's last one is older.
    seen = level_of(member=risen, viewer=risen, now=NOW + timedelta(days=19))
    assert (seen.last, seen.away_since) == (at(11, 21).date(), at(11, 23).date())


def test_figures_that_had_not_come_to_rest_say_so(slow_class, people, client):
    assert "come to rest" not in said(client, people.ana, "progress")
    path = [(at(11, 21), 0.0, 0.1)]
    taught(people.gym, {people.ana: path}, {slow_class: (0.0, 0.02)}, converged=False)
    log(slow_class, people.ana, "2+9")
    for viewer, name, args in (
        (people.ana, "progress", []),
        (people.coach, "class-review", [slow_class.pk]),
    ):
        assert "had not quite come to rest, so take this with care" in said(
            client, viewer, name, *args
        )


def test_a_lift_and_no_reps_tell_nothing_of_a_level(risen, people):
    for text, mark in ((LIFT, "80 kg x 3"), (TWO_LADDERS, "0 reps")):
        log(make_class(people, text, starts_at=at(11, 23), now=at(11, 23)), risen, mark)
    seen = level_of(member=risen, viewer=risen, now=NOW)
    assert (seen.later, seen.away_since) == (0, at(11, 21).date())


def test_the_picture_has_a_band_and_a_table_beside_it(risen, client):
    client.force_login(risen.user)
    page = client.get(reverse("progress")).content.decode()
    svg = page[page.index('<div class="chart level">') :]
    svg = svg[: svg.index("</svg>")]
    assert svg.count("<circle") == 3 and '<polygon class="likely"' in svg
    assert 'role="img"' in svg and "<title id=" in svg and "likely between 103 and 113" in svg
    assert "style=" not in page
    # 100 · exp(ln 1.08 ± 1.2816 · 0.03): the day of the last result itself
    told = text_of(client.get(reverse("progress")))
    assert "21 Nov 2026 108 104–112 1" in told and "20 Aug 2026 95 91–99 1" in told


def test_the_history_tells_the_level_of_the_day(risen, client):
    told = said(client, risen, "history")
    assert told.count("that day") == 3
    for words in ("level 108 that day", "level 100 that day", "level 95 that day", "Your level is"):
        assert words in told


def test_a_coach_sees_the_same_of_a_member(risen, people, client):
    told = said(client, people.coach, "member-page", risen.pk, since="2026-10-08")
    assert "Their level is 108 (likely between 103 and 113)" in told
    assert "that they are faster than on 8 October" in told
    told = said(client, people.coach, "member-history", risen.pk)
    assert "Their level is 108" in told and "level 95 that day" in told


def test_a_level_is_for_oneself_and_ones_coaches_alone(risen, people, client):
    for viewer in (people.ben, people.foreign_coach, people.foreigner, None):
        assert level_of(member=risen, viewer=viewer, now=NOW) is None
    for viewer in (risen, people.coach, people.owner):
        assert level_of(member=risen, viewer=viewer, now=NOW).results == 3
    client.force_login(people.ben.user)
    assert client.get(reverse("member-page", args=[risen.pk])).status_code in (403, 404)
    board = reverse("class-board", args=[people.gym.classes.first().pk])
    assert "level" not in text_of(client.get(board)).lower()
    # Ben sees his own, not Ana's, on his page.
    told = said(client, people.ben, "progress")
    assert "Your level is 91" in told and "level is 108" not in told


@pytest.fixture
def slow_class(people, clock):
    streamed = make_class(people, starts_at=at(11, 21), now=at(11, 21))
    for number in range(6):
        log(streamed, add_member(people.gym, f"Member {number}"), f"1+{number}")
    return streamed


def test_a_coach_reads_whether_it_was_the_workout_or_the_day(slow_class, people, client):
    taught(people.gym, {people.ana: [(at(11, 21), 0.0, 0.1)]}, {slow_class: (0.04, 0.0225)})
    told = said(client, people.coach, "class-review", slow_class.pk)
    assert "Was it the workout or the day?" in told
    # 100 · (exp(0.04 ± 1.2816 · 0.0225) - 1)
    assert (
        "Together they were about 4 % slower than their levels and this workout's movements would "
        "say (likely between 1 and 7 % slower)."
    ) in told
    assert "From 6 results here, and 6 of the gym until 21 November 2026" in told


def test_other_times_of_the_workout_are_told_beside_it(slow_class, people, client):
    before = make_class(people, starts_at=at(10, 3), now=at(10, 3))
    other = make_class(people, FOR_TIME, starts_at=at(10, 5), now=at(10, 5))
    log(before, people.ana, "2+9")
    log(other, people.ana, "12:00")
    effects = {before: (0.05, 0.02), other: (-0.3, 0.02), slow_class: (0.04, 0.02)}
    taught(people.gym, {people.ana: [(at(11, 21), 0.0, 0.1)]}, effects)
    told = said(client, people.coach, "class-review", slow_class.pk)
    assert "The other time of this workout it was about 5 % slower" in told
    assert "So it was the workout, not the day" in told
    assert "6 results here, 1 of this workout's other times, and 8 of the gym" in told


def test_a_class_not_learned_from_yet_says_so(slow_class, people, client):
    assert "Not worked out yet." in said(client, people.coach, "class-review", slow_class.pk)
    other = make_class(people, starts_at=at(11, 22), now=at(11, 22))
    taught(people.gym, {}, {other: (0.0, 0.05)}, until=at(11, 22))
    assert "Not worked out yet." in said(client, people.coach, "class-review", slow_class.pk)


def test_a_lift_has_no_clock_to_ask(people, clock, client):
    lift = make_class(people, LIFT)
    log(lift, people.ana, "80 kg x 3")
    assert class_effect_of(streamed_class=lift, viewer=people.coach) is None
    assert "the workout or the day" not in said(client, people.coach, "class-review", lift.pk)


def test_a_class_effect_is_for_its_coaches(slow_class, people):
    taught(people.gym, {}, {slow_class: (0.04, 0.02)}, until=at(11, 21))
    for viewer in (people.ana, people.foreign_coach, None):
        assert class_effect_of(streamed_class=slow_class, viewer=viewer) is None
    found = class_effect_of(streamed_class=slow_class, viewer=people.owner)
    assert found.effect.results == found.known == 6


def test_effects_of_many_classes_are_for_their_coaches(slow_class, people):
    new = make_class(people, starts_at=at(11, 22), now=at(11, 22))
    taught(people.gym, {}, {slow_class: (0.04, 0.02)}, until=at(11, 21))
    for viewer in (people.ana, people.foreign_coach, None):
        assert class_effects(classes=[slow_class, new], viewer=viewer) == {}
    found = class_effects(classes=[slow_class, new], viewer=people.coach)
    one = class_effect_of(streamed_class=slow_class, viewer=people.coach)
    assert found == {slow_class.pk: one.effect}
    assert class_effects(classes=[], viewer=people.coach) == {}


def test_compared_classes_have_their_effect_beside_their_pace(slow_class, people, client):
    taught(people.gym, {people.ana: [(at(11, 21), 0.0, 0.1)]}, {slow_class: (0.04, 0.0225)})
    days = {"from": "2026-11-01", "to": "2026-11-23"}
    told = said(client, people.coach, "compare", by="class", **days)
    assert (
        "Class effect, its workout's movements taken out: about 4 % slower (likely between 1 and "
        "7 % slower)"
    ) in told
    assert "Class effect, its" not in said(client, people.coach, "compare", by="coach", **days)


def test_credited_pace_and_the_class_effect_are_told_apart(slow_class, people, client):
    before = make_class(people, starts_at=at(10, 3), now=at(10, 3))
    for result in slow_class.results.all():
        log(before, result.member, "1+3")
    told = said(client, people.coach, "class-review", slow_class.pk)
    assert "Credited pace is something else" in told
    assert "so the two can differ" in told and "Very likely" in told
    # Then and now stand beside each other with one decimal each.
    assert re.search(r"half did \d+\.\d credited reps a minute or less then .*, \d+\.\d now", told)
