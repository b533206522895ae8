"""Credits by the API: read, change, accept, undo."""

import pytest

from scoring.models import CreditTableVersion, Score

from ..conftest import make_people
from ..scoring.classes import log, make_class
from ..scoring.credit_scenes import ROCKS, boards
from .conftest import problem

pytestmark = pytest.mark.django_db(transaction=True)

BODY = {
    "entries": [{"movement": "hollow rock", "option": "tuck rock", "credit": "0.95"}],
    "reason": "tuck rocks are hard",
}


@pytest.fixture
def people():
    return make_people()


@pytest.fixture
def rocks(people):
    found = make_class(people, ROCKS)
    log(found, people.ana, "9+0")
    log(found, people.ben, "10+0", "tuck rock")
    return found


def test_the_table_and_its_versions_are_told(api, people, rocks):
    told = api(people.coach).get("/api/v1/credits/?q=tuck").json()
    option = told["options"][0]
    assert (told["version"], option["option"], option["credit"], option["used"]) == (
        1, "tuck rock", "0.8", 1,
    )  # fmt: skip
    assert {figure["name"] for figure in told["figures"]} >= {"default_option", "load_slope"}
    assert api(people.coach).get("/api/v1/credits/versions/").json()["count"] == 1


def test_a_change_is_shown_accepted_and_undone(api, people, rocks):
    before, client = boards(), api(people.coach)
    made = client.post("/api/v1/credits/changes/", BODY, format="json")
    assert made.status_code == 201
    told = made.json()
    address = f"/api/v1/credits/changes/{told['id']}/"
    assert (told["state"], told["progress"]["scores_moved"]) == ("shown", 1)
    assert client.get(address + "classes/").json()["results"][0]["ranks_moved"] == 2
    moved = client.get(f"{address}classes/{rocks.pk}/").json()["results"]
    assert [(m["name"], m["old_rank"], m["new_rank"]) for m in moved] == [
        ("Ben Okoro", 2, 1), ("Ana Sol", 1, 2),
    ]  # fmt: skip
    assert client.post(address + "accept/", {"seen": "no"}, format="json").status_code == 409
    done = client.post(address + "accept/", {"seen": told["seen"]}, format="json").json()
    assert (done["state"], done["to_version"]) == ("done", 2)
    assert Score.objects.get(result__member=people.ben).credited == "95"
    undo = client.post(address + "undo/", {"reason": "it was right"}, format="json").json()
    assert undo["undoes"] == told["id"] and undo["steps"][0]["new"] is None
    accept = f"/api/v1/credits/changes/{undo['id']}/accept/"
    client.post(accept, {"seen": undo["seen"]}, format="json")
    assert boards() == before
    assert client.get(address).json()["undone_by"] == undo["id"]
    assert client.post(address + "go-on/").status_code == 200
    assert client.get("/api/v1/credits/changes/").json()["count"] == 2


def test_what_cannot_be_is_a_problem_at_its_place(api, people, rocks):
    bad = {**BODY, "entries": [{"movement": "hollow rock", "option": "tuck rock", "credit": "9"}]}
    answer = api(people.coach).post("/api/v1/credits/changes/", bad, format="json")
    assert problem(answer, 422)["errors"][0]["pointer"] == "/entries/0/credit"
    assert CreditTableVersion.objects.count() == 1


def test_members_have_none_of_it(api, people, rocks):
    assert api(people.ana).get("/api/v1/credits/").status_code == 403
    assert api(people.ana).post("/api/v1/credits/changes/", BODY, format="json").status_code == 403
