"""Notes on a member: written once, struck out in the open, for coaches' eyes, in the copy."""

from datetime import timedelta

import pytest

from members.models import AuditEntry, Membership
from scoring.models import MemberNote, NoteStrike
from scoring.models.immutable import ImmutableError
from scoring.problems import Refused
from scoring.selectors.notes import note_for, notes_on
from scoring.services.notes import add_note, strike_note

from ..conftest import NOW

LATER = NOW + timedelta(hours=1)
WORDS = "left knee falls in on the way up; tape on the floor helped"


@pytest.fixture
def note(people):
    return add_note(member=people.ana, by=people.coach, words=WORDS, now=NOW)


def test_a_note_says_who_and_when_and_coaches_read_it(people, note):
    for coach in (people.coach, people.owner):
        [found] = notes_on(member=people.ana, viewer=coach)
        assert (found.words, found.written_by, found.written_at) == (WORDS, people.coach, NOW)


@pytest.mark.parametrize("who", ["ana", "cleo", "foreigner", "foreign_coach"])
def test_nobody_else_reads_writes_or_strikes(people, note, who):
    other = getattr(people, who)
    assert not notes_on(member=people.ana, viewer=other).exists()
    assert note_for(viewer=other, pk=note.pk) is None
    with pytest.raises(Refused):
        add_note(member=people.ana, by=other, words="mine", now=NOW)
    with pytest.raises(Refused):
        strike_note(note=note, by=other, why="mine", now=NOW)
    assert MemberNote.objects.count() == 1 and not NoteStrike.objects.exists()


def test_a_coach_neither_reads_nor_writes_notes_on_themselves(people):
    about = add_note(member=people.coach, by=people.owner, words="runs late", now=NOW)
    assert note_for(viewer=people.coach, pk=about.pk) is None
    assert note_for(viewer=people.owner, pk=about.pk) == about
    with pytest.raises(Refused):
        add_note(member=people.coach, by=people.coach, words="on time", now=NOW)


def test_a_note_is_never_changed_only_struck_out_and_stays_readable(people, note):
    note.words = "something else"
    with pytest.raises(ImmutableError):
        note.save()
    with pytest.raises(ImmutableError):
        note.delete()
    strike_note(note=note, by=people.owner, why=" another  member ", now=LATER)
    [found] = notes_on(member=people.ana, viewer=people.coach)
    assert found.words == WORDS
    struck = found.strike
    assert (struck.struck_by, struck.struck_at, struck.why) == (
        people.owner, LATER, "another member",
    )  # fmt: skip
    with pytest.raises(Refused, match="struck out already"):
        strike_note(note=note, by=people.coach, why="again", now=LATER)
    assert NoteStrike.objects.count() == 1


@pytest.mark.parametrize("words", ["", "  \n ", "x" * 2001, "a\0b"])
def test_words_that_cannot_be_kept_are_refused_beside_the_field(people, words):
    with pytest.raises(Refused) as refused:
        add_note(member=people.ana, by=people.coach, words=words, now=NOW)
    assert refused.value.items[0].column == "words" and not MemberNote.objects.exists()


@pytest.mark.parametrize("why", ["", " ", "x" * 501])
def test_striking_out_takes_a_reason(people, note, why):
    with pytest.raises(Refused) as refused:
        strike_note(note=note, by=people.coach, why=why, now=NOW)
    assert refused.value.items[0].column == "why" and not NoteStrike.objects.exists()


def test_a_button_pressed_twice_is_one_note_and_the_same_again_later_another(people, note):
    again = add_note(member=people.ana, by=people.coach, words=f" {WORDS} ", now=NOW)
    assert again == note and AuditEntry.objects.filter(what="write-note").count() == 1
    assert add_note(member=people.ana, by=people.owner, words=WORDS, now=NOW) != note
    assert add_note(member=people.ana, by=people.coach, words=WORDS, now=LATER) != note


def test_struck_out_and_written_again_at_once_it_is_a_new_note(people, note):
    strike_note(note=note, by=people.coach, why="too early", now=NOW)
    assert add_note(member=people.ana, by=people.coach, words=WORDS, now=NOW) != note


def test_lines_of_a_note_stay_lines(people):
    note = add_note(member=people.ana, by=people.coach, words="one \n\n two  three", now=NOW)
    assert note.words == "one\n\ntwo three"


def test_the_audit_says_that_a_note_was_written_and_never_its_words(people, note):
    strike_note(note=note, by=people.owner, why="a secret reason", now=NOW)
    entries = AuditEntry.objects.order_by("pk").values_list("what", "by", "member", "subject_key")
    key = f"note {note.pk}"
    assert list(entries) == [
        ("write-note", people.coach.pk, people.ana.pk, key),
        ("strike-note", people.owner.pk, people.ana.pk, key),
    ]
    told = str(list(AuditEntry.objects.values()))
    assert "knee" not in told and "secret" not in told and "Ana" not in told


def test_who_left_gets_no_new_notes(people):
    Membership.objects.filter(pk=people.ana.pk).update(left_at=NOW)
    with pytest.raises(Refused):
        add_note(member=people.ana, by=people.coach, words=WORDS, now=NOW)


def test_no_list_or_log_shows_a_notes_words_by_accident(people, note):
    strike = strike_note(note=note, by=people.owner, why="a secret reason", now=NOW)
    assert "knee" not in str(note) + repr(note) and "secret" not in str(strike) + repr(strike)
