"""One member before their coaches: attendance, pains, notes; nothing that is theirs alone."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from members.bodies import save_body
from members.models import Membership
from scoring.core.follow_up import Reason
from scoring.models import FollowUpLetter, MemberNote
from scoring.selectors.member import member_seen
from scoring.services.notes import add_note
from scoring.services.pains import tell_pain

from ..conftest import NOW
from .held import held

WORDS = "says the shoulder is fine again"


def there(people, member=None):
    Membership.objects.update(joined_at=NOW - timedelta(days=400))
    member = Membership.objects.select_related("gym").get(pk=(member or people.ana).pk)
    return member_seen(member=member, viewer=people.coach, now=NOW).there


def test_weeks_in_a_row_count_back_over_weeks_without_classes(people):
    """NOW is a Tuesday. Weeks back: this one, 1, 2 (no class), 3, 4 (missed), 5."""
    here, not_here = {people.ana: "10:00"}, {people.ben: "10:00"}
    for days, marks in ((0, here), (7, here), (21, here), (28, not_here), (35, here)):
        held(people, days, marks)
    found = there(people)
    assert (found.in_a_row, found.missed, found.held, found.logged) == (3, 0, 5, 4)
    assert found.gaps == ((date(2026, 10, 26), date(2026, 10, 26)),)


def test_a_week_under_way_breaks_nothing_yet(people):
    held(people, 0, {people.ben: "10:00"})
    held(people, 7, {people.ana: "10:00"})
    found = there(people)
    assert (found.in_a_row, found.missed, found.gaps) == (1, 1, ())
    assert there(people, people.ben).in_a_row == 1


def test_gaps_are_told_whole_the_newest_first(people):
    for days in range(0, 70, 7):
        held(people, days, {people.ana: "10:00"} if days in (14, 42) else {people.ben: "9:00"})
    assert there(people).gaps == (
        (date(2026, 11, 16), date(2026, 11, 16)),
        (date(2026, 10, 20) - timedelta(days=1), date(2026, 11, 2)),
        (date(2026, 9, 21), date(2026, 10, 5)),
    )


def test_who_never_logged_is_said_to_have_not(people, client):
    client.force_login(people.coach.user)
    told = client.get(reverse("member-page", args=[people.ben.pk])).content.decode()
    assert "They have logged nothing yet" in told


@pytest.fixture
def page(people, client):
    def _page(who="coach", member=None, **sent):
        client.force_login(getattr(people, who).user)
        address = reverse("member-page", args=[(member or people.ana).pk])
        answer = client.post(address, sent) if sent else client.get(address)
        return answer, " ".join(answer.content.decode().split())

    return _page


def test_what_a_coach_needs_stands_there_and_what_is_hers_alone_does_not(people, page):
    tuck = "1.2 tuck rock"
    for days, effort in ((9, 6), (5, 7), (2, 9)):
        streamed = held(people, days, {
            people.ana: (f"{8 + days % 4}:00", tuck if days == 9 else "", effort),
            people.ben: "9:00",
        })  # fmt: skip
    tell_pain(streamed_class=streamed, member=people.ana, areas=["knee"], words="stairs", now=NOW)
    save_body(membership=people.ana, year_of_birth="1987", weight="61.37", this_year=2026)
    _, told = page()
    assert "knee, “stairs”" in told and "doctor or a physiotherapist" in told
    assert "hollow rock: now as prescribed" in told and "tuck rock" in told
    assert ": 6, 7, 9</desc>" in told and "best of 3" in told
    assert reverse("member-history", args=[people.ana.pk]) in told
    assert "61.37" not in told and "1987" not in told


def test_a_note_is_written_and_struck_out_on_the_page(people, page):
    answer, _ = page(act="add", words=WORDS)
    assert answer.status_code == 302
    _, told = page("owner")
    assert WORDS in told and "write what you would say to them" in told
    note = MemberNote.objects.get()
    page("owner", act="strike", note=note.pk, why="the other shoulder")
    _, told = page()
    assert f'<del class="noted">{WORDS}</del>' in told
    assert "Struck out by Olga Owner" in told and "“the other shoulder”" in told
    assert f'name="note" value="{note.pk}"' not in told


def test_what_was_typed_stands_again_beside_the_fault(people, page):
    note = add_note(member=people.ana, by=people.coach, words=WORDS, now=NOW)
    answer, told = page(act="strike", note=note.pk, why="w" * 501)
    assert answer.status_code == 422 and "w" * 501 in told and "Say why it is struck out" in told
    answer, told = page(act="add", words="")
    assert answer.status_code == 422 and "A note needs some words" in told
    answer, told = page(act="dance", words=WORDS)
    assert answer.status_code == 422 and WORDS in told


def test_a_note_of_somebody_else_cannot_be_struck_from_here(people, page):
    other = add_note(member=people.ben, by=people.coach, words=WORDS, now=NOW)
    answer, told = page(act="strike", note=other.pk, why="wrong")
    assert answer.status_code == 422 and "not of this member" in told
    page(act="strike", note="9" * 30, why="wrong")
    assert not MemberNote.objects.filter(strike__isnull=False).exists()


def test_a_coach_sees_their_own_page_without_the_notes(people, page):
    add_note(member=people.coach, by=people.owner, words=WORDS, now=NOW)
    answer, told = page(member=people.coach)
    assert answer.status_code == 200 and WORDS not in told and "A new note" not in told


def test_it_says_that_a_coach_wrote_to_them_and_why_not_the_words(people, page):
    FollowUpLetter.objects.create(
        member=people.ana, reason=Reason.PAIN, words="how is the knee", key="k", by=people.coach
    )
    _, told = page("owner")
    assert "Written to them" in told and "by Carl Coach" in told and "on its way" in told
    assert "how is the knee" not in told


def test_words_of_a_note_are_text_never_markup(people, page):
    add_note(member=people.ana, by=people.coach, words="<script>x</script>\nline", now=NOW)
    _, told = page()
    assert "&lt;script&gt;x&lt;/script&gt;<br>line" in told


def test_a_long_history_costs_no_more_queries(people, client, django_assert_max_num_queries):
    address = reverse("member-page", args=[people.ana.pk])
    for days in range(1, 4):
        held(people, days, {people.ana: ("10:00", "", 7)})
    for n in range(30):
        add_note(member=people.ana, by=people.coach, words=f"note {n}", now=NOW)
    client.force_login(people.coach.user)
    with django_assert_max_num_queries(20):
        client.get(address)
    for days in range(4, 16):
        held(people, days, {people.ana: ("10:00", "", 7)})
    with django_assert_max_num_queries(20):
        client.get(address)
