"""The review: what happened, by hand; who may see it; and a class of four hundred."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from members.models import Role, ShownAs
from scoring.core.told_class import Anchor
from scoring.selectors.review import review
from scoring.services.classes import close_class, create_class, open_class
from scoring.services.correcting import withdraw_result
from scoring.services.pains import tell_pain

from ..conftest import FOR_TIME, NOW, TWO_LADDERS, add_member
from .classes import log, make_class
from .crowds import crowd, many_members
from .test_pages import sign_in, text_of  # noqa: F401 - a fixture

LIFT = "Heavy day\n\nmax load, 3 reps\nback squat\n"
BELLS = "Bells\nevery 1:00 for 3 rounds\n5 air squat\nmax burpee\n"


def held(people, text=TWO_LADDERS, *, days=0, **kwargs):
    made = create_class(
        gym=people.gym, coach=people.coach, starts_at=NOW + timedelta(days=days), text=text,
        **kwargs,
    )  # fmt: skip
    return open_class(streamed_class=made, by=people.coach, now=NOW)


def told(streamed, people):
    return review(streamed_class=streamed, viewer=people.coach)


def page_of(streamed, client):
    return client.get(reverse("class-review", args=[streamed.pk]))


@pytest.fixture
def three(people):
    """Ana 12:00 as prescribed, Ben 13:00 with tuck rocks, Cleo caught at 116 reps."""
    streamed = held(people, FOR_TIME)
    log(streamed, people.ana, "12:00", splits={1: "6:00"}, effort=8)
    log(streamed, people.ben, "13:00", "tuck rock", splits={1: "6:40"}, effort=6)
    log(streamed, people.cleo, "116 reps", "knee push-up")
    return streamed


def test_three_results_by_hand(people, three):
    found = told(three, people)
    assert [row.name for row in found.rows] == ["Ana Sol", "Ben Okoro", "Cleo Wren"]
    assert (found.logged, found.members, found.missing) == (3, 3, 0)
    assert (found.finished, found.prescribed) == (2, 1)
    # Least far first: Cleo, Ben, Ana; the 1st, 2nd and 3rd of them.
    assert found.quarters.low.name == "Cleo Wren"
    assert (found.quarters.half.name, found.quarters.half.place) == ("Ben Okoro", "13:00")
    assert [(row.where, row.count) for row in found.stopped] == [
        ("block 2, rung of 10", 1),
        ("finished", 2),
    ]
    (block,) = found.passed
    assert (block.passed, block.noted, block.quarters[1]) == (3, 2, 360)
    assert (found.effort.told, found.effort.half) == (2, 6)
    rock, push = found.used[1], found.used[3]
    assert [(w.label, w.count) for w in rock.ways] == [("hollow rock", 2), ("tuck rock", 1)]
    assert [(w.label, w.count) for w in push.ways] == [
        ("hand-release push-up", 2),
        ("knee push-up", 1),
    ]


def test_the_page_says_it_in_words_and_every_claim_leads_to_its_figures(
    people, three, sign_in  # noqa: F811
):  # fmt: skip
    tell_pain(streamed_class=three, member=people.ben, areas=["knee"], words="sore", now=NOW)
    answer = page_of(three, sign_in(people.coach))
    text, page = text_of(answer), answer.content.decode()
    assert "2 of 3 finished." in text and "Half had finished by 13:00." in text
    assert "1 member said that something hurts" in text and "sore" in text
    for claim in told(three, people).claims:
        assert f'href="#{claim.anchor}"' in page and f'id="{claim.anchor}"' in page


def test_nobody_who_hurts_or_is_slow_is_named_in_the_paragraph(people, three):
    tell_pain(streamed_class=three, member=people.cleo, areas=["knee"], words="", now=NOW)
    words = " ".join(c.text for c in told(three, people).claims if c.anchor != Anchor.BEST)
    assert not any(member.display_name in words for member in people.members)


def test_the_coach_reads_real_names_and_members_read_nothing(people, three, sign_in):  # noqa: F811
    people.ana.shown_as = ShownAs.UNNAMED
    people.ana.save()
    assert "Ana Sol" in text_of(page_of(three, sign_in(people.coach)))
    assert review(streamed_class=three, viewer=people.ana) is None
    assert review(streamed_class=three, viewer=people.foreign_coach) is None
    assert page_of(three, sign_in(people.ana)).status_code in (403, 404)


def test_what_was_withdrawn_is_not_in_it(people, three):
    result = three.results.get(member=people.cleo)
    withdraw_result(result=result, by=people.coach, reason="not hers", now=NOW)
    found = told(three, people)
    assert (found.logged, found.missing) == (2, 1)


@pytest.mark.parametrize("state", ["draft", "open", "closed"])
def test_before_any_result_the_page_says_what_will_be_here(people, sign_in, state):  # noqa: F811
    streamed = make_class(people, is_open=state != "draft")
    if state == "closed":
        close_class(streamed_class=streamed, by=people.coach, now=NOW)
    text = text_of(page_of(streamed, sign_in(people.coach)))
    assert "What will be here" in text and "everybody's place" in text.replace("&#x27;", "'")


def test_a_class_in_which_nothing_is_scored_says_so(people, sign_in):  # noqa: F811
    streamed = make_class(people, "Stretch\n\n3 rounds, not scored\n10 air squat\n")
    client = sign_in(people.coach)
    assert "Nothing in this class is scored" in text_of(page_of(streamed, client))
    assert client.get(reverse("class-review-csv", args=[streamed.pk])).status_code == 404


@pytest.mark.parametrize(
    ("text", "marks", "says"),
    [
        (LIFT, ["80 kg", "90 kg", "100 kg"], "Half lifted 90 kg or less."),
        (BELLS, ["20 / 18 / 17", "10 / 9 / 8", "60 reps"], "Half did 55 reps or fewer"),
        (TWO_LADDERS, ["0 reps", "0 reps", "0 reps"], "Nobody got through a rep"),
        (FOR_TIME, ["12:00", "12:00", "12:00"], "Everybody has the same mark, 12:00."),
    ],
)
def test_every_kind_of_workout_has_a_review(people, sign_in, text, marks, says):  # noqa: F811
    streamed = held(people, text)
    for member, mark in zip(people.members, marks, strict=True):
        log(streamed, member, mark)
    assert says in text_of(page_of(streamed, sign_in(people.coach)))


def test_one_result_is_a_review_too(people, sign_in):  # noqa: F811
    streamed = held(people)
    log(streamed, people.ana, "2+9")
    assert "They got to 2 rounds + 9." in text_of(page_of(streamed, sign_in(people.coach)))


@pytest.fixture
def twice(people):
    """Course L twice: Ana 189 → 190 reps and off the tuck rocks, Ben 189 → 180, Cleo only
    then; and Dag and Eve only now."""
    first, second = held(people), held(people, days=7)
    log(first, people.ana, "2+8", "tuck rock")
    log(first, people.ben, "2+9")
    log(first, people.cleo, "1+0")
    log(second, people.ana, "2+10")
    log(second, people.ben, "2+0")
    for name in ("Dag Far", "Eve New"):
        log(second, add_member(people.gym, name), "3+0")
    return second


def test_the_same_members_then_and_now(people, twice):
    last = told(twice, people).before.last
    assert [(t.row.name, t.before.fact.mark, t.options_then) for t in last.both] == [
        ("Ana Sol", "2+8", "tuck rock"),
        ("Ben Okoro", "2+9", ""),
    ]
    # 188 raw with 36 tuck rocks at 0.75 is 179; 190 / 179 and 180 / 189.
    assert last.both[0].percent == pytest.approx((190 / 179 - 1) * 100)
    assert last.both[1].percent == pytest.approx((180 / 189 - 1) * 100)
    mean = ((190 / 179) * (180 / 189)) ** 0.5
    assert last.change.percent == pytest.approx((mean - 1) * 100)
    assert (last.change.count, last.change.low) == (2, None)
    # Whoever came: the middle of 156, 179, 189 then, of 180, 190, 204, 204 now, in 18 minutes.
    assert (last.half_then * 1080, last.half_now * 1080) == (179, 190)


def test_two_are_chance_and_the_unpaired_picture_is_named_so(people, twice, sign_in):  # noqa: F811
    text = text_of(page_of(twice, sign_in(people.coach)))
    assert "from 2 members: could be chance" in text
    assert "partly other people, so it is no change of anybody" in text


def test_good_news_is_named(people, twice):
    before = told(twice, people).before
    assert [best.row.name for best in before.improved] == ["Ana Sol"]
    assert [best.row.name for best in before.first_prescribed] == ["Ana Sol"]
    assert [row.name for row in before.newcomers] == ["Dag Far", "Eve New"]


def test_another_workout_or_weighing_is_no_last_time(people, twice):
    other, weighted = held(people, FOR_TIME, days=8), held(people, days=9, weighted=True)
    for streamed in (other, weighted):
        log(streamed, people.ana, "100 reps")
        assert told(streamed, people).before.last is None


def test_the_plan_beside_what_happened(people):
    # Reps of movements nobody knows take 3 s: the course takes 60 s, the cap is 90.
    text = "Short\ncap 1:30\n\nfor time\n20 zig wave\n"
    for days in range(3):
        streamed = held(people, text, days=days)
        for member, mark in zip(people.members, ("1:00", "1:20", "10 reps"), strict=True):
            log(streamed, member, mark)
    plan = told(streamed, people).plan
    assert (plan.cap, plan.total, plan.fits) == (90, 60, True)
    # Work in a second of clock: 60/60, 60/80, 30/90; the middle is three quarters.
    assert plan.share == pytest.approx(0.75)
    assert (plan.forecast.count, plan.forecast.finishing, plan.forecast.finished) == (3, 2, 2)
    assert (plan.forecast.halfway, plan.forecast.reached) == ("1:20", "1:20")


def test_the_file_runs_nothing_and_keeps_pains_out(people, three, sign_in):  # noqa: F811
    people.ana.display_name = "=Ana"
    people.ana.save()
    tell_pain(streamed_class=three, member=people.ben, areas=["knee"], words="sore", now=NOW)
    answer = sign_in(people.coach).get(reverse("class-review-csv", args=[three.pk]))
    assert answer["Content-Type"].startswith("text/csv")
    rows = list(csv.DictReader(StringIO(answer.content.decode())))
    assert [row["name"] for row in rows] == ["'=Ana", "Ben Okoro", "Cleo Wren"]
    assert (rows[1]["options"], rows[1]["splits"]) == ("tuck rock", "block 1 6:40")
    assert (rows[0]["effort"], rows[2]["effort"]) == ("8", "")
    assert "knee" not in rows[1].values() and "sore" not in answer.content.decode()


@pytest.fixture
def four_hundred(people):
    members = many_members(people.gym, 400)
    for days in (0, 1):
        streamed = held(people, FOR_TIME, days=days)
        crowd(streamed, members, seed=days)
    return streamed


def test_four_hundred_are_one_page_of_few_queries(
    people, four_hundred, sign_in, django_assert_max_num_queries  # noqa: F811
):  # fmt: skip
    client = sign_in(people.coach)
    with django_assert_max_num_queries(25):
        answer = page_of(four_hundred, client)
    page = answer.content.decode()
    found = told(four_hundred, people)
    assert found.logged == 400 and sum(row.count for row in found.stopped) == 400
    assert page.count("<tr id=") == 400
    # Everybody is a dot or counted in a line.
    dots = page.count('tabindex="-1"><title>Member')
    heaps = sum(
        int(part.split()[0]) for part in page.split("<title>")[2:] if "members here" in part
    )
    assert dots + heaps == 400
    # Links of the picture are no tab stops: the list has one for each.
    svg = page[page.index('<div class="crowd">') :]
    assert svg[: svg.index("</svg>")].count("<a ") == svg[: svg.index("</svg>")].count('"-1"')


def test_as_many_queries_for_few_as_for_many(people, four_hundred, django_assert_num_queries):
    few = held(people, FOR_TIME, days=2)
    log(few, people.ana, "12:00")
    with CaptureQueriesContext(
        connection,
    ) as small:
        told(few, people)
    with django_assert_num_queries(len(small.captured_queries)):
        told(four_hundred, people)


def test_owners_coach_too_and_coaches_who_train_count(people, three):
    assert people.owner.role == Role.OWNER
    log(three, people.coach, "11:00")
    found = review(streamed_class=three, viewer=people.owner)
    assert (found.logged, found.members, found.missing) == (4, 4, 0)
