"""Something hurts: told, private, taken back, and answered with care."""

import pytest

from scoring.core.body import AREAS, advice
from scoring.models import Pain
from scoring.problems import Refused
from scoring.selectors.requests import pain_of, pains_of
from scoring.services.classes import close_class
from scoring.services.pains import tell_pain

from ..conftest import NOW
from .classes import make_class


def tell(streamed, member, areas=("knee",), words="on the way down"):
    return tell_pain(streamed_class=streamed, member=member, areas=areas, words=words, now=NOW)


def test_what_hurts_is_kept_once_a_class_and_can_be_taken_back(people):
    streamed = make_class(people)
    tell(streamed, people.ana)
    row = tell(streamed, people.ana, ("low back", "knee"), " both  now ")
    assert (row.areas, row.words) == (["low back", "knee"], "both now")
    assert Pain.objects.count() == 1
    assert tell(streamed, people.ana, (), "") is None
    assert not Pain.objects.exists()


def test_words_alone_are_elsewhere(people):
    assert tell(make_class(people), people.ana, (), "my ear").areas == ["elsewhere"]


def test_it_can_be_told_the_day_after(people):
    streamed = close_class(streamed_class=make_class(people), by=people.coach, now=NOW)
    assert tell(streamed, people.ana)


def test_what_cannot_be_kept_is_told(people):
    streamed = make_class(people)
    for areas, words in ((["soul"], ""), (["knee"], "x" * 501), (["knee"], "\0")):
        with pytest.raises(Refused):
            tell(streamed, people.ana, areas, words)
    with pytest.raises(Refused):
        tell(streamed, people.foreigner)
    assert not Pain.objects.exists()


def test_pain_is_seen_by_its_owner_and_their_coaches_alone(people):
    streamed = make_class(people)
    tell(streamed, people.ana)
    for name, may in (
        ("ana", True), ("coach", True), ("owner", True), ("ben", False),
        ("foreigner", False), ("foreign_coach", False),
    ):  # fmt: skip
        viewer = getattr(people, name)
        seen = pain_of(streamed_class=streamed, member=people.ana, viewer=viewer)
        assert (seen is not None) is may
        listed = pains_of(streamed_class=streamed, viewer=viewer).exists()
        assert listed is (name in ("coach", "owner"))
    assert pain_of(streamed_class=streamed, member=people.ana, viewer=None) is None


# ACSM's Guidelines, 10th edition, chapter 2 (from memory): chest pain is a warning sign
def test_a_warning_sign_comes_first_and_nothing_spurs_on():
    told = advice(["knee", "chest"])
    assert "warning sign" in told[0] and "emergency" in told[0]
    assert advice([]) == ()
    for area in AREAS:
        said = " ".join(advice([area])).lower()
        assert "stop" in said and "doctor" in said
        assert not any(w in said for w in ("push through", "keep going", "no pain", "well done"))
