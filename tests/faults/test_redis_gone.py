"""Redis, which is cache, board store and broker at once, is killed and comes back empty."""

from urllib.parse import urlencode

import pytest

from .clients import Api, Rush, honest, marks
from .conftest import full
from .processes import until

CLIENTS, TURNS = 6, 8
FORM_TOKEN = "f" * 32  # sent as cookie and field, as a browser would


@pytest.fixture
def server(big_site):
    return big_site.serve(workers=2)


def ask_for_a_code(server):
    return Api(server.port, cookie=f"csrftoken={FORM_TOKEN}").ask(
        "POST",
        "/accounts/login/code/",
        urlencode({"email": "member.01@example.org", "csrfmiddlewaretoken": FORM_TOKEN}),
        Content_Type="application/x-www-form-urlencoded",
    )


def ask_for_a_token(server, cookie):
    api = Api(server.port, cookie=f"{cookie}; csrftoken={FORM_TOKEN}")
    return api.post("/api/v1/tokens/", {}, X_CSRFToken=FORM_TOKEN)


@full
def test_logging_and_reading_go_on_and_signing_in_waits(big_site, redis, server):
    class_id, tokens = big_site.scene["class"], big_site.scene["tokens"]
    cookie = big_site.scene["cookies"][1]
    assert ask_for_a_code(server).status == 302
    told = [marks(TURNS, first=number * TURNS) for number in range(CLIENTS)]
    going = Rush(server.port, class_id, tokens[:CLIENTS], told, read_board=True).start()
    until("a part is in", lambda: len(going.kept) > CLIENTS * TURNS // 3 or going.faults)
    redis.kill()
    page = Api(server.port, cookie=cookie).get(f"/classes/{class_id}/")
    assert page.status == 200
    refused = ask_for_a_code(server)
    assert refused.status == 503 and int(refused.headers["retry-after"]) > 0
    assert "try again" in refused.text and "Traceback" not in refused.text
    # Whose limit each process counts by itself goes on, and is counted.
    assert ask_for_a_token(server, cookie).status == 201
    redis.start()
    going.finish()
    honest(going.answers)
    assert going.statuses <= {200, 201}  # nobody who logged or read was refused
    assert ask_for_a_code(server).status == 302
    assert ask_for_a_token(server, cookie).status == 201
    rows = Api(server.port, token=tokens[0]).get(f"/api/v1/classes/{class_id}/board/").json()
    assert [row["rank"] for row in rows["rows"]] == [1, 2, 3, 4, 5, 6]
    going.check(big_site.tell("recount.told", class_id))


@full
def test_a_redis_that_is_silent_keeps_nobody_from_logging(big_site, redis, server):
    """Not refused but never answered: the worst case for who waits."""
    class_id, api = big_site.scene["class"], Api(server.port, token=big_site.scene["tokens"][0])
    coach = Api(server.port, token=big_site.scene["coach"])
    result = api.log(class_id, "2+1", key="a").json()["id"]
    redis.freeze()
    try:
        assert api.log(class_id, "2+2", key="b").status == 200
        # Its member is to be told, by a broker that does not answer.
        said = {"mark": "2+3", "reason": "seen on the stream"}
        assert coach.post(f"/api/v1/results/{result}/corrections/", said).status == 201
        assert api.get(f"/api/v1/classes/{class_id}/board/").status == 200
    finally:
        redis.thaw()
    assert big_site.tell("recount.told", class_id)["faults"] == []
