"""Forecasts by the API: of a text, of a class, and the record of them."""

from django.urls import reverse

from scoring import tasks
from scoring.services.classes import close_class

from ..conftest import NOW, TWO_LADDERS
from ..scoring.classes import log, make_class
from .conftest import device, problem


def asked(member, **sent):
    return device(member).post(reverse("api-workout-forecast"), {"text": TWO_LADDERS, **sent})


def test_a_wrong_cap_or_share_is_answered_with_what_would_be_right(people):
    for sent in ({"cap_seconds": 0}, {"cap_seconds": "soon"}):
        (error,) = problem(asked(people.coach, **sent), 400)["errors"]
        assert error["detail"] == "A cap is whole seconds from 1 to 21600: 900 for 15:00."
    for sent in ({"share": 80}, {"share": "most"}):
        (error,) = problem(asked(people.coach, **sent), 400)["errors"]
        assert error["detail"] == "A share is a number from 0.05 to 1: 0.8 for four of five."


def test_shares_are_told_to_a_thousandth(people):
    told = asked(people.coach).json()["forecast"]
    shares = [gate[key] for gate in told["gates"] for key in ("share", "low", "high")]
    shares += [each["past_last_gate"] for each in told["members"]]
    assert shares == [round(each, 3) for each in shares]


def test_a_text_is_forecast_for_a_cap_and_a_share(people):
    told = asked(people.coach).json()["forecast"]
    assert told["cap_seconds"] == 1080 and told["based_on"]["is_prior"]
    assert [gate["what"] for gate in told["gates"]] == ["leave the first ladder", "reach the AMRAP"]
    assert all(gate["low"] <= gate["share"] <= gate["high"] for gate in told["gates"])
    assert told["count"] == len(told["members"]) == 3
    assert {member["past_last_gate"] for member in told["members"]} <= {
        round(n / 1000, 3) for n in range(1001)
    }
    assert "goblet squat" in told["unknown"]
    assert told["pace"][0]["movement"] == "goblet squat"
    ends = [passing["ends"] for passing in told["pace"]]
    assert ends == sorted(ends)
    shorter = asked(people.coach, cap_seconds=240, share=0.9).json()["forecast"]
    assert shorter["cap_seconds"] == 240
    assert shorter["gates"][1]["share"] < told["gates"][1]["share"]
    assert [cap["share"] for cap in shorter["caps"]] == [0.9]
    assert shorter["caps"][0]["cap_seconds"] % 30 == 0


def test_what_cannot_be_read_is_refused_and_what_has_no_places_is_null(people):
    told = problem(asked(people.coach, text="Nothing\n\nwhatever this is"), 422)
    assert told["errors"]
    problem(asked(people.coach, share=0), 400)
    problem(asked(people.ana), 403)
    every = asked(people.coach, text="Minutes\nevery 1:00 for 10 rounds\n5 burpee\n")
    assert every.json()["forecast"] is None
    assert "no forecast for intervals" in every.json()["reason"]


def test_members_and_groups_are_chosen_and_unknown_ones_refused(people):
    one = asked(people.coach, members=[people.ben.pk]).json()["forecast"]
    assert [member["member"] for member in one["members"]] == [people.ben.pk]
    assert asked(people.coach, group="everybody").json()["forecast"]["count"] == 3
    told = problem(asked(people.coach, members=[people.foreigner.pk]), 422)
    assert str(people.foreigner.pk) in str(told["errors"])
    nobody = asked(people.coach, members=[]).json()
    assert nobody["forecast"] is None and "nobody is picked" in nobody["reason"]
    problem(asked(people.coach, group="friends"), 400)


def test_a_class_and_the_record(people):
    streamed = make_class(people)
    before = device(people.coach).get(reverse("api-class-forecast", args=[streamed.pk]))
    assert before.json()["forecast"] is None
    assert "No forecast was kept" in before.json()["reason"]
    tasks.forecast_class(streamed.pk)
    log(streamed, people.ana, "100 reps")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    told = (
        device(people.coach)
        .get(reverse("api-class-forecast", args=[streamed.pk]))
        .json()["forecast"]
    )
    assert told["class"] == streamed.pk and told["is_prior"] and told["results"] == 0
    assert told["halfway"]["done"]["reps"] == 100
    assert told["halfway"]["low"]["reps"] <= told["halfway"]["high"]["reps"]
    (member,) = told["members"]
    assert member["done"] == 100
    assert member["is_inside"] == (member["low"] <= 100 <= member["high"])
    record = device(people.coach).get(reverse("api-forecast-record")).json()
    assert record["taught"] is None and record["bare"]["count"] == 1
    assert [row["class"] for row in record["classes"]] == [streamed.pk]
