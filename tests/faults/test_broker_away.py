"""The broker can't be reached when something happens: its follow-up work is done later."""

from .clients import Api
from .conftest import full
from .processes import until


@full
def test_what_could_not_be_started_is_made_up_for(big_site, redis):
    """A coach corrects a result and closes the class while nobody can be told to work."""
    class_id, coach = big_site.scene["class"], big_site.scene["coach"]
    server = big_site.serve()
    member = Api(server.port, token=big_site.scene["tokens"][0])
    result = member.log(class_id, "2+1", key="a").json()["id"]
    redis.kill()
    api = Api(server.port, token=coach)
    corrected = api.post(
        f"/api/v1/results/{result}/corrections/", {"mark": "2+5", "reason": "seen on the stream"}
    )
    closed = api.post(f"/api/v1/classes/{class_id}/close/", {})
    copied = member.post("/api/v1/me/export/", {})
    erased = member.post("/api/v1/me/erasure/", {"results": "anonymous"})
    statuses = [answer.status for answer in (corrected, closed, copied, erased)]
    assert statuses == [201, 200, 202, 202], [corrected, closed, copied, erased]
    # What nothing would find later is done at once.
    assert big_site.letters() == ["member.00@example.org"]
    redis.start()
    big_site.tick(minutes=6)
    big_site.worker(ahead=360)

    for what in (
        "scoring_message where kind = 'corrected' and state = 'sent'",
        "scoring_message where kind = 'closed' and state = 'sent'",
        "scoring_estimaterun where state = 'good'",
        "scoring_dataexport where state = 'ready'",
    ):
        until(what, lambda what=what: big_site.has(what))
    assert big_site.tell("recount.told", class_id)["faults"] == []
