"""What is counted: each result once and by the way it came, and of nobody in particular."""

import pytest
from prometheus_client import REGISTRY

from members.devices import make_token
from scoring import metrics, tasks
from scoring.models import ImportRun
from scoring.problems import Refused
from scoring.selectors.boards import board
from scoring.services.classes import close_class
from scoring.services.correcting import correct_result
from scoring.services.importing import confirm_import
from scoring.services.lines import log_line
from scoring.services.submitting import ResultInput

from ..conftest import NOW, make_people
from .classes import log, make_class
from .mail import send_all
from .test_importing import begin
from .test_message_sending import Server, message, server  # noqa: F401 - fixtures

pytestmark = pytest.mark.django_db(transaction=True)


class Counted:
    """How far counters went up since it was made."""

    def __init__(self, name, label):
        self.name, self.label = name, label
        self.before = self.now()

    def now(self):
        return {
            sample.labels[self.label]: sample.value
            for family in REGISTRY.collect()
            for sample in family.samples
            if sample.name == self.name
        }

    @property
    def up(self):
        return {
            key: value - self.before.get(key, 0)
            for key, value in self.now().items()
            if value != self.before.get(key, 0)
        }


@pytest.fixture
def logged():
    return Counted("classboard_results_logged_total", "way")


@pytest.fixture
def replayed():
    return Counted("classboard_results_replayed_total", "way")


@pytest.fixture
def refused():
    return Counted("classboard_results_refused_total", "kind")


@pytest.fixture
def reads():
    return Counted("classboard_board_reads_total", "outcome")


@pytest.fixture
def people(transactional_db):
    return make_people()


def post(client, streamed, **typed):
    return client.post(f"/classes/{streamed.pk}/log/", {"key": "k", "mark": "2+9"} | typed)


def sent(client, member, streamed, body, key="k"):
    token = make_token(user=member.user).token
    return client.post(
        f"/api/v1/classes/{streamed.pk}/results/",
        body,
        content_type="application/json",
        headers={"Authorization": f"Token {token}", "Idempotency-Key": key},
    )


def test_a_member_by_the_form_and_sent_twice(client, people, logged, replayed):
    streamed = make_class(people)
    client.force_login(people.ana.user)
    assert post(client, streamed).status_code == 302
    assert post(client, streamed).status_code == 302
    assert (logged.up, replayed.up) == ({"page": 1}, {"page": 1})


def test_a_program_for_its_member_and_a_coach_for_somebody_else(client, people, logged, replayed):
    streamed = make_class(people)
    assert sent(client, people.ana, streamed, {"mark": "2+9"}).status_code == 201
    assert sent(client, people.ana, streamed, {"mark": "2+9"}).status_code == 200
    other = {"mark": "2+9", "member": people.ben.pk}
    assert sent(client, people.coach, streamed, other).status_code == 201
    assert (logged.up, replayed.up) == ({"program": 1, "coach": 1}, {"program": 1})


def test_a_coach_by_line_by_form_and_by_correcting(client, people, logged):
    streamed = make_class(people)
    client.force_login(people.coach.user)
    manage = f"/coach/classes/{streamed.pk}/"
    client.post(manage, {"act": "line", "line": "ben okoro 2+9", "key": "1"})
    answer = client.post(
        manage, {"act": "log", "member": people.cleo.pk, "mark": "2+9", "key": "2"}
    )
    assert answer.status_code in (200, 302)
    result = streamed.results.first()
    correct_result(
        result=result, by=people.coach, data=ResultInput(mark="2+8"), reason="seen", now=NOW
    )
    assert streamed.results.count() == 2 and logged.up == {"coach": 3}


def test_each_line_of_an_import(people, logged):
    streamed = make_class(people)
    run = begin(streamed, people, "Ana Sol: 2+9\nBen Okoro: 2+8\nhello all")
    assert logged.up == {}
    confirm_import(run=run, by=people.coach, reason="", now=NOW)
    tasks.save_import(run.pk)
    assert ImportRun.objects.get(pk=run.pk).state == "done"
    assert logged.up == {"import": streamed.results.count()} and streamed.results.count() == 2


def test_what_is_taken_back_in_the_end_is_not_counted(people, logged):
    from django.db import transaction

    class Sent:
        replayed = False

    with pytest.raises(ZeroDivisionError), transaction.atomic():
        metrics.result_sent("page", Sent())
        1 / 0  # noqa: B018
    assert logged.up == {}


def test_refusals_by_their_kind_once_however_deep_they_came_from(client, people, refused):
    streamed = make_class(people)
    client.force_login(people.ana.user)
    assert post(client, streamed, mark="99:99").status_code == 422
    log(streamed, people.ben, "2+9", key="one")
    with pytest.raises(Refused):
        log(streamed, people.ben, "2+8", key="one")
    with pytest.raises(Refused):
        log(streamed, people.foreigner, "2+8")
    close_class(streamed_class=streamed, by=people.coach, now=NOW)
    streamed.refresh_from_db()
    with pytest.raises(Refused):
        log_line(streamed_class=streamed, by=people.coach, line="ana sol 2+9", key="x", now=NOW)
    assert refused.up == {"invalid": 1, "conflict": 1, "forbidden": 1, "closed": 1}


def test_a_board_is_built_once_kept_and_then_not_modified(client, people, reads):
    streamed = make_class(people)
    log(streamed, people.ben, "2+9")
    streamed.refresh_from_db()
    for viewer in (people.ana, people.cleo):
        assert board(streamed_class=streamed, viewer=viewer, now=NOW).total == 1
    assert reads.up == {"fresh": 1, "kept": 1}
    token = make_token(user=people.ana.user).token
    head = {"Authorization": f"Token {token}"}
    tag = client.get(f"/api/v1/classes/{streamed.pk}/board/", headers=head)["ETag"]
    again = client.get(
        f"/api/v1/classes/{streamed.pk}/board/", headers=head | {"If-None-Match": tag}
    )
    client.force_login(people.ana.user)
    rows = client.get(f"/classes/{streamed.pk}/board/rows/")
    same = client.get(
        f"/classes/{streamed.pk}/board/rows/", headers={"If-None-Match": rows["ETag"]}
    )
    assert again.status_code == same.status_code == 304
    assert reads.up["not modified"] == 2


def test_how_old_a_board_was_is_counted_with_each_that_was_shown(people):
    def shown():
        return REGISTRY.get_sample_value("classboard_board_age_seconds_count")

    streamed, before = make_class(people), shown()
    board(streamed_class=streamed, viewer=people.ana, now=NOW)
    assert shown() == before + 1
    # A board that was not shown has no age.
    metrics.board_read("not modified")
    assert shown() == before + 1


def test_how_messages_end(message, server):  # noqa: F811
    ended = Counted("classboard_messages_total", "outcome")
    server.on_open = OSError("no route")
    send_all()
    assert ended.up == {"put back": 1}
    message.refresh_from_db()
    send_all(message.not_before)
    assert ended.up["sent"] == 1 and Server.taken


def test_no_label_can_name_a_gym_or_a_person():
    few = {"way", "outcome", "kind", "le", "state", "task", "view", "method", "transport",
           "templatename", "status", "charset", "type", "alias", "vendor", "model", "connection",
           "generation", "implementation", "major", "minor", "patchlevel", "version", "backend"}  # fmt: skip
    found = {label for family in REGISTRY.collect() for s in family.samples for label in s.labels}
    assert found <= few
