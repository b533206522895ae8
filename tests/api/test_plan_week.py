"""Planning by the API: the same as the pages do."""

import pytest

from members.models import AuditEntry
from scoring.models import ClassTemplate, StreamedClass

from ..conftest import FOR_TIME
from ..scoring.classes import log, make_class


@pytest.fixture
def coach(client, people):
    client.force_login(people.coach.user)
    return client


def send(client, method, path, body=None):
    return getattr(client, method)(path, body, content_type="application/json")


def test_a_week_tells_days_classes_and_work(coach, people):
    streamed = make_class(people, FOR_TIME)
    told = coach.get("/api/v1/weeks/2026-W48/").json()
    assert (told["week"], told["timezone"], len(told["days"])) == (
        "2026-W48", "Europe/Lisbon", 7,
    )  # fmt: skip
    (row,) = told["days"][1]["classes"]
    assert (row["id"], row["local"], row["cap"]) == (streamed.pk, "2026-11-24T18:30", "14:00")
    assert {work["pattern"] for work in row["work"]} == {"squat", "push", "pull", "core"}
    assert told["runs"] == []
    answer = coach.get("/api/v1/weeks/2026-W54/")
    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/problem+json"


def test_a_week_is_looked_at_copied_and_not_copied_twice(coach, people):
    streamed = make_class(people)
    path = "/api/v1/weeks/2026-W48/copy/"
    (row,) = coach.get(path, {"to": "2026-W49"}).json()
    assert (row["class"], row["standing"], row["starts_at"]) == (
        streamed.pk, "new", "2026-12-01T18:30:00Z",
    )  # fmt: skip
    done = send(coach, "post", path, {"to": "2026-W49"})
    assert done.status_code == 201
    assert done.json() == {"made": [StreamedClass.objects.latest("pk").pk], "there": 0}
    assert send(coach, "post", path, {"to": "2026-W49"}).json() == {"made": [], "there": 1}
    assert send(coach, "post", path, {"to": "2026-W48"}).status_code == 422
    assert send(coach, "post", path, {"to": "2026-W49", "classes": [99999]}).status_code == 409


def test_a_draft_is_moved_and_deleted_and_an_open_class_is_not(coach, people):
    draft, shown = make_class(people, is_open=False), make_class(people)
    body = {"starts_at": "2026-12-02T07:00:00+01:00"}
    moved = send(coach, "patch", f"/api/v1/classes/{draft.pk}/draft/", body)
    assert (moved.status_code, moved.json()["starts_at"]) == (200, "2026-12-02T06:00:00Z")
    assert send(coach, "patch", f"/api/v1/classes/{shown.pk}/draft/", body).status_code == 409
    assert coach.delete(f"/api/v1/classes/{shown.pk}/draft/").status_code == 409
    assert coach.delete(f"/api/v1/classes/{draft.pk}/draft/").status_code == 204
    assert list(StreamedClass.objects.all()) == [shown]
    assert list(AuditEntry.objects.order_by("pk").values_list("what", flat=True))[-2:] == [
        "move-class", "delete-class",
    ]  # fmt: skip


def test_a_workout_is_found_with_how_it_went_and_repeated(coach, people):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    told = coach.get("/api/v1/workouts/search/", {"movement": "sit ups", "pattern": "squat"}).json()
    (row,) = told["results"]
    assert (row["times"], row["last_class"], row["cap_seconds"]) == (1, streamed.pk, 1080)
    assert row["went"]["logged"] == 1 and row["went"]["typical"].startswith("2 rounds + 9")
    assert coach.get("/api/v1/workouts/search/", {"pattern": "zz"}).status_code == 400
    path = f"/api/v1/workouts/{row['id']}/repeat/"
    made = send(coach, "post", path, {"starts_at": "2027-01-05T18:30:00Z"})
    assert made.status_code == 201 and made.json()["workout"] == streamed.workout_id
    assert send(coach, "post", path, {"starts_at": "2027-01-05T18:30:00Z"}).status_code == 409


def test_templates_are_made_changed_and_removed(coach, people):
    body = {"name": "Tuesday", "text": "Tuesday\ncap __\n"}
    made = send(coach, "post", "/api/v1/templates/", body)
    assert made.status_code == 201 and made.json()["author"] == "Carl Coach"
    assert send(coach, "post", "/api/v1/templates/", body).status_code == 409
    path = f"/api/v1/templates/{made.json()['id']}/"
    assert send(coach, "put", path, body | {"name": "Friday"}).json()["name"] == "Friday"
    assert coach.get("/api/v1/templates/").json()["results"][0]["text"] == body["text"]
    assert coach.delete(path).status_code == 204 and not ClassTemplate.objects.exists()
    assert coach.get(path).status_code == 404


def test_the_link_comes_with_words(coach, people):
    streamed = make_class(people, is_open=False)
    told = coach.get(f"/api/v1/classes/{streamed.pk}/link/").json()
    assert told["link"] == f"http://testserver/classes/{streamed.pk}/"
    assert told["link"] in told["words"] and told["is_draft"] is True
