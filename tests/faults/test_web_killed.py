"""The web server is killed in the middle of requests: what was answered for is there."""

import os
import signal
from time import sleep

from .clients import Api, Rush, honest, marks
from .conftest import embedded, full
from .processes import until

CLIENTS, TURNS = 6, 8


def rush(site, server):
    tokens = site.scene["tokens"][:CLIENTS]
    told = [marks(TURNS, first=number * TURNS) for number in range(CLIENTS)]
    return Rush(server.port, site.scene["class"], tokens, told).start()


def half_done(going):
    until("half of it is done", lambda: len(going.kept) > CLIENTS * TURNS // 2 or going.faults)


def kill_one_worker_then_all(site):
    server = site.serve(workers=2, preload=False)
    going = rush(site, server)
    until("some are in", lambda: len(going.kept) > CLIENTS or going.faults)
    os.kill(server.children()[0], signal.SIGKILL)
    half_done(going)
    server.kill()
    sleep(0.3)
    server = site.serve(workers=2, preload=False, port=server.port)
    going.finish()
    honest(going.answers)
    assert 0 in going.statuses  # the lines of those who were in the middle broke
    for number, key, mark in going.kept[::5]:  # answered by a server that never saw the key
        again = Api(server.port, token=site.scene["tokens"][number]).log(
            site.scene["class"], mark, key=key
        )
        assert again.status == 200 and again.json()["replayed"] is True
    going.check(site.tell("recount.told", site.scene["class"]))


@embedded
def test_a_killed_web_server_loses_and_doubles_nothing(small_site):
    kill_one_worker_then_all(small_site)


@full
def test_a_killed_web_server_loses_and_doubles_nothing_on_postgresql(big_site):
    kill_one_worker_then_all(big_site)
