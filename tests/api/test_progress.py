"""Progress by the API is what the page shows."""

from datetime import timedelta

from django.urls import reverse

from scoring.services.classes import create_class, open_class

from ..conftest import NOW, TWO_LADDERS
from ..scoring.classes import log
from .conftest import device, problem


def test_a_repeat_and_what_it_comes_to(people):
    people.ana.joined_at = NOW - timedelta(days=1)
    people.ana.save()
    results = []
    for week, (mark, options) in enumerate([("2+9", "tuck rock"), ("2+10", "")]):
        made = create_class(
            gym=people.gym,
            coach=people.coach,
            starts_at=NOW + timedelta(days=7 * week),
            text=TWO_LADDERS,
        )
        streamed = open_class(streamed_class=made, by=people.coach, now=NOW)
        results.append(log(streamed, people.ana, mark, options, effort=7).result)
    ana = device(people.ana)
    told = ana.get(reverse("api-result-after", args=[results[1].pk])).json()
    assert (told["times"], told["is_best"], told["beaten"]) == (2, True, results[0].pk)
    assert (told["before"]["options_then"], told["before"]["reps"]) == ("tuck rock", 1)
    first = ana.get(reverse("api-result-after", args=[results[0].pk])).json()
    assert first == {"times": 1, "is_best": False, "beaten": None, "before": None}
    problem(device(people.ben).get(reverse("api-result-after", args=[results[1].pk])), 404)

    whole = ana.get(reverse("api-progress")).json()
    assert [w["load"] for w in whole["weeks"]] == [126, 126]
    assert [s["done_as"] for s in whole["steps"]] == ["tuck rock", "as prescribed"]
    assert whole["bests"][0]["result"] == results[1].pk
    assert [a["logged"] for a in whole["attendance"]][-2:] == [1, 1]
    empty = device(people.ben).get(reverse("api-progress")).json()
    assert empty["weeks"] == empty["steps"] == []
