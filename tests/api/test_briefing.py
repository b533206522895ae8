"""The briefing as JSON."""

from django.urls import reverse

from ..scoring.classes import make_class
from ..scoring.test_briefing import WHOLE


def test_a_class_is_briefed_in_parts_with_hints_and_plans(client, people):
    streamed = make_class(people, WHOLE)
    client.force_login(people.ana.user)
    told = client.get(reverse("api-briefing", args=[streamed.pk])).json()
    assert told["warm_up"] == "3 rounds, not scored\n10 air squat"
    assert told["cool_down"] == "1 round, not scored\n1:00 plank"
    assert told["gear"] == ["dumbbell or kettlebell"]
    assert [s["name"] for s in told["standards"]][:2] == ["air squat", "goblet squat"]
    assert told["hints"][0] == {
        "block": 1,
        "movement": "goblet squat",
        "count": 18,
        "per_side": False,
        "parts": [6, 6, 6],
    }
    one, two = told["plans"]
    # 1:00 of rest between the blocks; each figure is rounded to ten seconds.
    assert one["ends"] == one["work"] and abs(two["starts"] - one["ends"] - 60) <= 10
    assert told["caution"].startswith("Stop at once")
