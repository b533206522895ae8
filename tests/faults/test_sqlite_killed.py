"""SQLite under the hardest way to stop: kill -9 in the middle of writes, several times."""

from time import sleep

from .clients import Rush, honest, marks
from .conftest import embedded
from .processes import until

CLIENTS, TURNS, KILLS = 4, 50, 3


@embedded
def test_two_hundred_writes_through_three_kills_are_all_there_once(small_site):
    server = small_site.serve(workers=2)
    tokens = small_site.scene["tokens"][:CLIENTS]
    told = [marks(TURNS, first=number * TURNS) for number in range(CLIENTS)]
    going = Rush(server.port, small_site.scene["class"], tokens, told).start()
    for kill in range(1, KILLS + 1):
        enough = CLIENTS * TURNS * kill // (KILLS + 1)
        until("a part is in", lambda enough=enough: len(going.kept) >= enough or going.faults)
        server.kill()
        sleep(0.1)
        server = small_site.serve(workers=2, port=server.port)
    going.finish()
    honest(going.answers)
    # recount.py asks SQLite for its own check of the file, too.
    going.check(small_site.tell("recount.told", small_site.scene["class"]))
