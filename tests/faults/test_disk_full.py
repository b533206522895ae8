"""No room for SQLite to write: said so, nothing half done, reading goes on, and it ends.

The limit on the size of files of the server's own process is as real a refusal of a write as
a full disk's, and needs no rights: the database's log may not grow any more (setrlimit(2)).
"""

import resource

from .clients import Api, marks
from .conftest import embedded

UNLIMITED = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)


@embedded
def test_no_room_is_said_and_nothing_is_half_done(small_site, tmp_path):
    class_id = small_site.scene["class"]
    server = small_site.serve()
    processes = [server.pid, *server.children()]
    api = Api(server.port, token=small_site.scene["tokens"][0])
    pages = Api(server.port, cookie=small_site.scene["cookies"][1])
    assert api.log(class_id, "2+1", key="before").status == 201

    def room(limit):
        for pid in processes:
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))

    log = tmp_path / "site.sqlite3-wal"
    room(log.stat().st_size + 5_000)
    answers = [api.log(class_id, mark, key=mark) for mark in marks(20)]
    refused = [answer for answer in answers if answer.status != 200]
    assert refused and {answer.status for answer in refused} == {507}
    for answer in refused:
        told = answer.json()
        assert answer.headers["content-type"] == "application/problem+json"
        assert "was not saved" in told["detail"] and "retry-after" not in answer.headers
    # Reading goes on.
    board = api.get(f"/api/v1/classes/{class_id}/board/")
    assert board.status == 200
    assert pages.get(f"/classes/{class_id}/").status == 200
    there = small_site.tell("recount.told", class_id)
    kept = {mark for mark, answer in zip(marks(20), answers, strict=True) if answer.status == 200}
    assert there["faults"] == [] and set(there["keys"]) == {"before"} | kept
    room(resource.RLIM_INFINITY)
    again = [api.log(class_id, mark, key=mark) for mark in marks(20)]
    assert {answer.status for answer in again} == {200}
    there = small_site.tell("recount.told", class_id)
    assert there["faults"] == [] and set(there["keys"]) == {"before", *marks(20)}
