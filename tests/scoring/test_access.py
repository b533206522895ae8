"""Who sees what: every viewer, every state, every way in below the pages."""

import pytest

from scoring import access
from scoring.models import State
from scoring.problems import Refused
from scoring.selectors.board_file import export_rows
from scoring.selectors.boards import board
from scoring.selectors.classes import class_for, classes_for, logged_and_missing
from scoring.selectors.results import breakdown_for, history, repeats, result_for
from scoring.services.classes import change_draft, close_class, create_class, open_class

from ..conftest import NOW
from .classes import log, make_class

VIEWERS = ["stranger", "foreigner", "foreign_coach", "cleo", "ana", "coach", "owner"]
INSIDE = {"cleo", "ana", "coach", "owner"}
COACHES = {"coach", "owner"}


def viewer_of(people, name):
    return None if name == "stranger" else getattr(people, name)


@pytest.fixture(params=["draft", "open", "closed"])
def state(request):
    return request.param


@pytest.fixture
def streamed(people, state):
    found = make_class(people, is_open=state != "draft")
    if state != "draft":
        log(found, people.ana, "2+9")
    if state == "closed":
        found = close_class(streamed_class=found, by=people.coach, now=NOW)
    found.refresh_from_db()
    return found


@pytest.mark.parametrize("who", VIEWERS)
def test_classes_are_seen_by_their_gym_and_drafts_by_coaches(people, streamed, state, who):
    viewer = viewer_of(people, who)
    may = who in (COACHES if state == "draft" else INSIDE)
    assert access.may_see_class(viewer, streamed) is may
    assert (class_for(viewer=viewer, pk=streamed.pk) is not None) is may
    assert (streamed in classes_for(viewer=viewer)) is may
    shown = board(streamed_class=streamed, viewer=viewer, now=NOW)
    assert (shown is not None) is may
    rows = list(export_rows(streamed_class=streamed, viewer=viewer))
    assert bool(rows) is (may and state != "draft")
    there = logged_and_missing(streamed_class=streamed, viewer=viewer)
    assert (there is not None) is (who in COACHES)


@pytest.mark.parametrize("who", VIEWERS)
@pytest.mark.parametrize("hidden", [False, True], ids=["named", "unnamed"])
def test_results_open_to_those_who_see_the_board_but_for_hidden_ones(
    people, streamed, state, who, hidden
):
    if state == "draft":
        return  # a draft has no results, the test above covers it
    if hidden:
        people.ana.shown_as = "unnamed"
        people.ana.save()
    viewer = viewer_of(people, who)
    result = streamed.results.get()
    may = who in ((COACHES | {"ana"}) if hidden else INSIDE)
    assert (result_for(viewer=viewer, pk=result.pk) is not None) is may
    opened = breakdown_for(result=result, viewer=viewer)
    assert (opened is not None) is may
    if opened:
        private = who in COACHES | {"ana"}
        assert bool(opened.facts) is private
        assert opened.name == "Ana Sol"


@pytest.mark.parametrize("who", VIEWERS)
def test_a_history_is_for_its_owner_and_coaches(people, who):
    streamed = make_class(people)
    log(streamed, people.ana, "2+9")
    may = who in COACHES | {"ana"}
    viewer = viewer_of(people, who)
    found = history(member=people.ana, viewer=viewer)
    assert bool(found) is may
    assert repeats(found=found) == []


def test_a_withdrawn_result_is_known_to_its_owner_and_coaches_only(people):
    from scoring.services.correcting import withdraw_result

    streamed = make_class(people)
    result = log(streamed, people.ana, "2+9").result
    withdraw_result(result=result, by=people.ana, reason="", now=NOW)
    seen = {w for w in VIEWERS if result_for(viewer=viewer_of(people, w), pk=result.pk)}
    assert seen == {"ana", "coach", "owner"}


@pytest.mark.parametrize("who", ["foreigner", "foreign_coach", "cleo", "coach", "owner"])
def test_only_the_gyms_coaches_run_classes(people, who):
    by, may = getattr(people, who), who in COACHES
    streamed = make_class(people, is_open=False)
    acts = [
        lambda: create_class(gym=people.gym, coach=by, starts_at=NOW, text="x\n\nmax load, 1 rep\nback squat"),
        lambda: change_draft(streamed_class=streamed, by=by, note="hello"),
        lambda: open_class(streamed_class=streamed, by=by, now=NOW),
        lambda: close_class(streamed_class=streamed, by=by, now=NOW),
    ]  # fmt: skip
    for act in acts:
        if may:
            act()
        else:
            with pytest.raises(Refused) as refused:
                act()
            assert refused.value.kind == "forbidden"


def test_somebody_who_left_sees_nothing(people):
    streamed = make_class(people)
    people.ana.left_at = people.coach.left_at = NOW
    assert not access.may_see_class(people.ana, streamed)
    assert not access.may_manage(people.coach, streamed)
    assert streamed.state == State.OPEN
