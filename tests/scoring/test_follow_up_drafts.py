"""The words that a letter to a member begins with."""

import pytest

from members.models import AuditEntry
from scoring.core.follow_up import Reason
from scoring.problems import Refused
from scoring.selectors.follow_up import draft
from scoring.services.follow_up_words import restore_words, save_words
from scoring.services.pains import tell_pain

from ..conftest import NOW
from .classes import log
from .follow_up_scenes import found, held

pytestmark = pytest.mark.django_db


def test_a_draft_is_filled_in_with_this_member_alone(people):
    streamed = held(people)
    log(streamed, people.ana, "2+9")
    log(streamed, people.ben, "3+9")
    one = found(people, people.ana)["first"]
    told = draft(viewer=people.coach, member=people.ana, found=one)
    assert told.startswith("Hello Ana,") and told.endswith("Carl Coach")
    assert "Two ladders and a tide" in told and "{" not in told
    people.coach.shown_as = "unnamed"
    assert draft(viewer=people.coach, member=people.ana, found=one).endswith("Your coach")


def test_the_draft_about_a_pain_tells_nobody_and_not_even_where(people):
    streamed = held(people)
    log(streamed, people.ben, "3+9")
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="planted", now=NOW)
    one = found(people, people.ana)["pain"]
    told = draft(viewer=people.coach, member=people.ana, found=one)
    for word in ("knee", "planted", "Ben", "Cleo", "3+9"):
        assert word not in told
    assert "doctor or a physiotherapist" in told


def test_ones_own_words_come_before_the_gyms_and_those_before_the_usual(people):
    log(held(people), people.ana, "2+9")
    one = found(people, people.ana)["first"]

    def told(viewer):
        return draft(viewer=viewer, member=people.ana, found=one)

    words = {"reason": Reason.FIRST, "now": NOW}
    usual_words = told(people.owner)
    save_words(by=people.owner, text="Of the gym, {name}", for_gym=True, **words)
    assert told(people.coach) == told(people.owner) == "Of the gym, Ana"
    save_words(by=people.coach, text="Mine, {name}", for_gym=False, **words)
    assert (told(people.coach), told(people.owner)) == ("Mine, Ana", "Of the gym, Ana")
    assert restore_words(by=people.coach, for_gym=False, **words)
    assert not restore_words(by=people.coach, for_gym=False, **words)
    assert told(people.coach) == "Of the gym, Ana"
    restore_words(by=people.coach, for_gym=True, **words)
    assert told(people.owner) == usual_words
    assert AuditEntry.objects.filter(what="save-words").count() == 2
    assert AuditEntry.objects.filter(what="restore-words").count() == 2


def test_an_unknown_field_is_refused_with_those_that_are_known(people):
    with pytest.raises(Refused) as refused:
        save_words(by=people.coach, reason=Reason.SILENT, text="{option}", for_gym=False, now=NOW)
    [item] = refused.value.items
    assert item.column == "text" and "{option}" in item.problem
    assert item.suggestion == "Fields here: {name}, {coach}, {gym}, {days}."
    with pytest.raises(Refused):
        save_words(by=people.ana, reason=Reason.SILENT, text="Hi", for_gym=False, now=NOW)
