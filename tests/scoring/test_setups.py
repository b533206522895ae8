"""Gear, weights and habits: kept whole, read back, and seen by whom they concern."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.core.fitting import Why
from scoring.models import Setup
from scoring.problems import Refused
from scoring.selectors.setups import habits_seen, setup_for, version_for
from scoring.services.setups import read_weights, save_setup, set_usual

from .classes import log, make_class


def told(member, **changed):
    given = {"pieces": ["kettlebell", "band"], "loads": {"kettlebell": "12, 8"}, "usual": {}}
    return save_setup(member=member, **(given | changed))


@pytest.mark.parametrize(
    ("text", "unit", "read"),
    [
        ("16, 24", "kg", ["16 kg", "24 kg"]),
        ("24;16 ;16kg", "kg", ["16 kg", "24 kg"]),
        ("35", "lb", ["35 lb"]),
        ("12.5 kg, 10 lb", "kg", ["10 lb", "12.5 kg"]),
        ("", "kg", []),
        (" , ", "kg", []),
    ],
)
def test_weights_are_read_as_people_write_them(text, unit, read):
    assert [str(load) for load in read_weights(text, unit)] == read


@pytest.mark.parametrize(
    "text", ["heavy", "12 stone", "1/2", "-4", "0", "1e3", "12..5", "nan", "5000"]
)
def test_what_is_no_weight_is_told(text):
    with pytest.raises(ValueError, match="not a weight"):
        read_weights(text, "kg")


@given(st.text(max_size=60))
def test_no_text_breaks_the_reading_of_weights(text):
    try:
        assert all(load.kilograms[0] > 0 for load in read_weights(text, "kg"))
    except ValueError as error:
        assert "weight" in str(error)


def test_what_was_told_is_kept_whole(people):
    told(people.ana, usual={"hollow rock": " tuck  rock "})
    row = told(people.ana, unit="lb", loads={"kettlebell": "26, 35 kg"})
    assert Setup.objects.count() == 1
    assert (row.pieces, row.loads, row.usual) == (
        ["kettlebell", "band"],
        {"kettlebell": ["26 lb", "35 kg"]},
        {},
    )


def test_everything_wrong_is_told_and_nothing_kept(people):
    with pytest.raises(Refused) as refused:
        told(people.ana, pieces=["jetpack"], loads={"kettlebell": "many", "wall": "3"}, unit="st")
    assert {i.column for i in refused.value.items} == {
        "pieces",
        "loads.kettlebell",
        "loads",
        "unit",
    }
    assert not Setup.objects.exists()


def test_a_class_in_ones_own_version(people):
    streamed = make_class(people)
    assert all(f.is_as_written for f in version_for(streamed_class=streamed, member=people.ana))
    told(people.ana, usual={"hollow rock": "tuck rock"})
    squat, rock, row, *_ = version_for(streamed_class=streamed, member=people.ana)
    assert (squat.label, squat.why) == ("goblet squat @ 12 kg", Why.LOAD)
    assert (rock.label, rock.why) == ("tuck rock", Why.USUAL)
    assert row.label == "single-arm row @ 12 kg"


def test_one_habit_changes_alone(people):
    told(people.ana, usual={"hollow rock": "tuck rock"})
    set_usual(member=people.ana, movement="hand-release push-up", option="knee push-up")
    row = set_usual(member=people.ana, movement="hollow rocks", option="")
    assert row.usual == {"hand-release push-up": "knee push-up"} and row.pieces
    # A habit alone says nothing of gear.
    row = set_usual(member=people.ben, movement="hollow rock", option="tuck rock")
    assert not row.has_told_gear


def test_a_setup_is_for_its_owner_and_coaches(people):
    told(people.ana)
    for viewer, may in [
        (people.ana, True), (people.coach, True), (people.ben, False),
        (people.foreign_coach, False), (None, False),
    ]:  # fmt: skip
        assert (setup_for(member=people.ana, viewer=viewer) is not None) is may


def test_habits_are_suggested_from_what_was_done(people):
    for options in ("tuck rock", "tuck rock", "knee push-up"):
        log(make_class(people), people.ana, "2+9", options)
    assert habits_seen(member=people.ana, viewer=people.ana) == {"hollow rock": "tuck rock"}
    assert habits_seen(member=people.ana, viewer=people.ben) == {}
