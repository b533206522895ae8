"""The clock of the machine is set back by two hours while a class is on."""

from .clients import Api
from .conftest import embedded

TWO_HOURS = 7200


@embedded
def test_two_hours_set_back_change_no_order_no_answer_and_double_nothing(small_site):
    class_id, token = small_site.scene["class"], small_site.scene["tokens"][0]
    closing = small_site.tell("scene.another_class", 60)
    before = small_site.serve(ahead=TWO_HOURS)
    api = Api(before.port, token=token)
    assert [api.log(class_id, mark, key=mark).status for mark in ("2+1", "2+9")] == [201, 200]
    # The hour at which it closes is over, whether or not the one who closes it has been by.
    assert api.log(closing, "2+1", key="late").status == 409
    small_site.tick(minutes=120)
    before.end()
    letters, then = small_site.letters(), small_site.tell("scene.states")
    assert then["classes"] == {str(class_id): "open", str(closing): "closed"} and letters

    after = small_site.serve()  # by now the clock says two hours less
    api = Api(after.port, token=token)
    again = api.log(class_id, "2+1", key="2+1")
    assert again.status == 200 and again.json()["replayed"] is True
    # The newest counts by its number, though its time is the earliest.
    assert api.log(class_id, "2+3", key="2+3").json()["mark"] == "2+3"
    board = api.get(f"/api/v1/classes/{class_id}/board/").json()
    assert [row["mark"] for row in board["rows"]] == ["2+3"]
    assert api.log(closing, "2+1", key="late").status == 409  # what is closed stays closed
    page = Api(after.port, cookie=small_site.scene["cookies"][1]).get(f"/classes/{class_id}/")
    assert page.status == 200 and "Sign out" in page.text  # a session holds
    small_site.tick()
    now = small_site.tell("scene.states")
    assert now["faults"] == [] and now["classes"] == then["classes"]
    assert now["told"] == then["told"] and small_site.letters() == letters
