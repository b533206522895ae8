"""PostgreSQL goes down at once in the rush, and comes back: the site recovers by itself."""

from concurrent.futures import ThreadPoolExecutor
from time import sleep

import pytest

from .clients import Api, Rush, honest, marks
from .conftest import full
from .processes import until

CLIENTS, TURNS = 6, 10


@pytest.fixture
def rush(big_site):
    server = big_site.serve(workers=2)
    tokens = big_site.scene["tokens"][:CLIENTS]
    told = [marks(TURNS, first=number * TURNS) for number in range(CLIENTS)]
    return Rush(server.port, big_site.scene["class"], tokens, told)


@full
def test_clients_that_send_again_lose_and_double_nothing(big_site, postgres, rush):
    rush.start()
    until("a part is in", lambda: len(rush.kept) > CLIENTS * TURNS // 3 or rush.faults)
    postgres.crash()
    page = Api(rush.port, cookie=big_site.scene["cookies"][0]).get("/")
    assert page.status == 503 and int(page.headers["retry-after"]) > 0
    assert "get at its data" in page.text and "Traceback" not in page.text
    assert "again from the same page" in page.text  # what becomes of what was sent
    postgres.start()
    rush.finish()
    honest(rush.answers)
    assert 503 in rush.statuses
    rush.check(big_site.tell("recount.told", big_site.scene["class"]))


@full
def test_a_restart_between_two_requests_is_noticed_by_nobody(big_site, postgres):
    """The pool's connections are dead, and none of them is given out."""
    server = big_site.serve()
    api = Api(server.port, token=big_site.scene["coach"])
    path = f"/api/v1/classes/{big_site.scene['class']}/board/"
    with ThreadPoolExecutor(4) as pool:
        assert {a.status for a in pool.map(api.get, [path] * 12)} == {200}
    postgres.crash()
    postgres.start()
    sleep(0.2)
    assert [api.get(path).status for _ in range(6)] == [200] * 6
