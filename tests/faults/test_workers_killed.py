"""A worker is killed in the middle: others finish its work, and nobody presses anything."""

from .conftest import embedded, full
from .processes import until
from .scene import MEMBERS

CHUNK = "scoring.services.recompute.CHUNK=10"
IMPORT_CHUNK = "scoring.services.import_saving.CHUNK=10"


@embedded
def test_a_killed_recompute_is_finished_by_the_clock(small_site):
    class_id = small_site.scene["class"]
    assert small_site.tell("scene.log_all", class_id) == MEMBERS
    small_site.tell("scene.score_by_older_rules", class_id)
    small_site.kill_where_it_stopped(
        small_site.command(
            "rescore", "--all", stop_at="scoring.services.recompute.score:45", chunk=CHUNK
        )
    )  # the command counts who would move first, 30 scores; 10 more were written
    before = small_site.tell("scene.states")
    assert before["recomputes"] == [[class_id, False, 10]] and len(before["faults"]) > 10
    small_site.tick(minutes=3)
    after = small_site.tell("scene.states")
    assert after["recomputes"] == [[class_id, True, MEMBERS]] and after["faults"] == []


@full
def test_a_recompute_whose_workers_die_one_after_the_other_is_finished_by_the_third(big_site):
    class_id = big_site.scene["class"]
    big_site.tell("scene.log_all", class_id)
    big_site.tell("scene.score_by_older_rules", class_id)
    at = "scoring.services.recompute.score"
    big_site.kill_where_it_stopped(
        big_site.command("rescore", "--all", stop_at=f"{at}:45", chunk=CHUNK)
    )
    big_site.tick(minutes=3)
    second = big_site.worker(ahead=180, stop_at=f"{at}:15", chunk=CHUNK)
    big_site.kill_where_it_stopped(second)
    assert big_site.has("scoring_recomputerun where done = 20 and finished_at is null")
    big_site.tick(minutes=6)
    big_site.worker(ahead=360)
    until("it is finished", lambda: big_site.has("scoring_recomputerun where finished_at > now()"))
    after = big_site.tell("scene.states")
    assert after["recomputes"] == [[class_id, True, MEMBERS]] and after["faults"] == []


@full
def test_a_killed_import_is_brought_in_by_the_next_worker_once(big_site):
    class_id = big_site.tell("scene.another_class")
    big_site.tell("scene.confirm_an_import", class_id)
    at = "scoring.services.import_saving.add_facts:2:after"
    big_site.kill_where_it_stopped(big_site.worker(stop_at=at, chunk=IMPORT_CHUNK))
    assert big_site.has("scoring_result having count(*) = 10")
    big_site.tick(minutes=3)
    big_site.worker(ahead=180)
    until("the import is in", lambda: big_site.has("scoring_importrun where state = 'done'"))
    there = big_site.tell("recount.told", class_id)
    assert there["results"] == there["facts"] == MEMBERS and there["faults"] == []


@full
def test_a_killed_run_of_e_mails_is_finished_and_nobody_gets_one_twice(big_site):
    """The one it had in hand was out but not yet marked: nobody can know, so it stays."""
    big_site.tell("scene.tell_opened", big_site.scene["class"])
    big_site.kill_where_it_stopped(big_site.worker(stop_at="scoring.messages.outbox.finish:5"))
    assert len(big_site.letters()) == 5
    big_site.tick(minutes=70)
    big_site.worker(ahead=70 * 60)
    sent = f"scoring_message where state = 'sent' having count(*) = {MEMBERS - 1}"
    until("the others are out", lambda: big_site.has(sent))
    not_known = "scoring_message where state = 'failed' and fault like '%not known%'"
    until("the one in hand is given up", lambda: big_site.has(not_known))
    letters = big_site.letters()
    assert len(letters) == len(set(letters)) == MEMBERS
