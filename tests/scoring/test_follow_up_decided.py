"""The list of who should hear from their coach: one row a member, done, later or never."""

from datetime import date, timedelta

import pytest

from members.models import AuditEntry, Membership
from scoring.core.follow_up import Reason
from scoring.models import FollowUp
from scoring.models.immutable import ImmutableError
from scoring.problems import Refused
from scoring.selectors.follow_up import follow_ups, put_away
from scoring.services.classes import create_class
from scoring.services.follow_up import hide_for_good, mark_done, put_off, take_back
from scoring.services.pains import tell_pain

from ..conftest import NOW, TWO_LADDERS
from .classes import log
from .follow_up_scenes import AFTER, easy_rocks, first_of, found, held

pytestmark = pytest.mark.django_db


def test_somebody_with_several_reasons_is_one_row_and_the_hurt_come_first(people):
    streamed = held(people)
    log(streamed, people.ana, "2+9")
    log(streamed, people.ben, "2+9", effort=10)
    log(streamed, people.cleo, "2+9")
    tell_pain(streamed_class=streamed, member=people.cleo, areas=["knee"], words="", now=NOW)
    told = follow_ups(viewer=people.coach, now=AFTER, streamed_class=streamed)
    assert [(p.member, [r.reason.value for r in p.reasons]) for p in told] == [
        (people.cleo, ["pain", "first"]),
        (people.ben, ["effort", "first"]),
        (people.ana, ["first"]),
    ]


def test_it_is_for_coaches_of_the_gym_alone(people):
    streamed = held(people)
    log(streamed, people.ana, "2+9")
    for viewer in (None, people.ana, people.ben, people.foreigner, people.foreign_coach):
        assert follow_ups(viewer=viewer, now=AFTER) == []
        assert follow_ups(viewer=viewer, now=AFTER, streamed_class=streamed) == []
        assert not put_away(viewer=viewer, now=AFTER).exists()
    assert len(follow_ups(viewer=people.owner, now=AFTER)) == 1


def test_a_draft_of_a_class_and_one_to_come_tell_nothing(people):
    coming = held(people, -1)
    assert follow_ups(viewer=people.coach, now=AFTER, streamed_class=coming) == []
    create_class(gym=people.gym, coach=people.coach, starts_at=NOW, text=TWO_LADDERS)
    assert follow_ups(viewer=people.coach, now=AFTER) == []


def test_a_gym_of_400_takes_as_many_queries_as_one_of_three(people, django_assert_max_num_queries):
    members = Membership.objects.bulk_create(
        Membership(
            gym=people.gym, display_name=f"Member {n:03}", joined_at=NOW - timedelta(days=40)
        )
        for n in range(400)
    )
    for days in (8, 1):
        streamed = held(people, days)
        for member in members[:25]:
            log(streamed, member, "2+9", "tuck rock", by=people.coach, effort=10)
    # 375 are silent, 25 logged with an effort of 10.
    with django_assert_max_num_queries(14):
        told = follow_ups(viewer=people.coach, now=AFTER)
    listed = [p.member.pk for p in told]
    assert len(set(listed)) == len(listed) and {m.pk for m in members} <= set(listed)


def test_done_hides_one_occasion_and_not_the_next(people):
    one = first_of(people, people.ana, held(people, 2))
    by = {"member": people.ana, "by": people.coach, "reason": Reason.EFFORT, "now": AFTER}
    mark_done(occasion=one.occasion, **by)
    assert "effort" not in found(people, people.ana)
    tuesday = held(people)
    assert first_of(people, people.ana, tuesday).class_id == tuesday.pk
    mark_done(occasion=f"class-{tuesday.pk}", **by)
    assert "effort" not in found(people, people.ana)
    [entry] = AuditEntry.objects.filter(what="follow-up-done", details__occasion=one.occasion)
    assert (entry.by, entry.member) == (people.coach, people.ana)
    assert entry.details == {"reason": "effort", "occasion": one.occasion}


def test_pressed_twice_it_is_one_row(people):
    one = first_of(people, people.ana, held(people))
    for _ in range(2):
        mark_done(
            member=people.ana, by=people.coach, reason=Reason.EFFORT, occasion=one.occasion,
            now=AFTER,
        )  # fmt: skip
    assert FollowUp.objects.count() == 1
    with pytest.raises(ImmutableError):
        FollowUp.objects.get().save()


def test_a_pain_told_again_is_a_new_occasion(people):
    streamed = held(people)
    pain = {"streamed_class": streamed, "member": people.ana, "words": ""}
    tell_pain(areas=["knee"], now=NOW, **pain)
    one = found(people, people.ana)["pain"]
    by = {"member": people.ana, "by": people.coach, "reason": Reason.PAIN, "now": AFTER}
    mark_done(occasion=one.occasion, **by)
    assert "pain" not in found(people, people.ana)
    tell_pain(areas=["knee", "chest"], now=NOW + timedelta(hours=1), **pain)
    assert "pain" in found(people, people.ana)


def test_an_option_is_told_again_only_after_four_more_results(people):
    streamed = easy_rocks(people)
    one = found(people, people.ana, streamed)["option"]
    mark_done(
        member=people.ana, by=people.coach, reason=Reason.OPTION, occasion=one.occasion, now=AFTER
    )
    others = list(Membership.objects.filter(display_name__startswith="Other"))
    for number in range(1, 5):
        streamed = held(people, -7 * number)
        log(streamed, people.ana, "5+0", "tuck rock", effort=6)
        for n, other in enumerate(others):
            log(streamed, other, f"{n}+0" if n < 4 else "9+0")
        later = streamed.starts_at + timedelta(hours=2)
        assert ("option" in found(people, people.ana, streamed, now=later)) is (number == 4)


def test_later_is_back_on_its_day(people):
    one = first_of(people, people.ana, held(people))
    by = {"member": people.ana, "by": people.coach, "reason": Reason.EFFORT}
    put_off(occasion=one.occasion, until=date(2026, 11, 27), now=AFTER, **by)
    assert "effort" not in found(people, people.ana, now=AFTER + timedelta(days=2))
    assert "effort" in found(people, people.ana, now=AFTER + timedelta(days=3))
    for until in (None, date(2026, 11, 24), date(2027, 12, 24)):
        with pytest.raises(Refused) as refused:
            put_off(occasion=one.occasion, until=until, now=AFTER, **by)
        assert refused.value.items[0].column == "until"


def test_never_hides_a_reason_for_one_member_until_it_is_taken_back(people):
    streamed = held(people)
    first_of(people, people.ana, streamed)
    first_of(people, people.ben, streamed)
    row = hide_for_good(member=people.ana, by=people.coach, reason=Reason.EFFORT, now=AFTER)
    assert "effort" not in found(people, people.ana)
    assert "effort" in found(people, people.ben) and "first" in found(people, people.ana)
    assert list(put_away(viewer=people.coach, now=AFTER)) == [row]
    take_back(row=row, by=people.owner, now=AFTER)
    assert "effort" in found(people, people.ana)
    assert not put_away(viewer=people.coach, now=AFTER).exists()
    assert FollowUp.objects.count() == 2  # nothing was changed, a row was added
    take_back(row=row, by=people.coach, now=AFTER)  # twice is once
    assert FollowUp.objects.count() == 2


def test_a_pain_cannot_be_hidden_for_good(people):
    with pytest.raises(Refused):
        hide_for_good(member=people.ana, by=people.coach, reason=Reason.PAIN, now=AFTER)
    assert not FollowUp.objects.exists()


def test_what_was_decided_anew_is_not_taken_back_by_an_old_button(people):
    one = first_of(people, people.ana, held(people))
    by = {"member": people.ana, "by": people.coach, "reason": Reason.EFFORT, "now": AFTER}
    old = put_off(occasion=one.occasion, until=date(2026, 11, 27), **by)
    mark_done(occasion=one.occasion, **by)
    with pytest.raises(Refused) as refused:
        take_back(row=old, by=people.coach, now=AFTER)
    assert refused.value.kind == "conflict"


@pytest.mark.parametrize("who", ["ana", "ben", "foreign_coach"])
def test_nobody_but_their_coaches_decides(people, who):
    with pytest.raises(Refused) as refused:
        mark_done(
            member=people.ana, by=getattr(people, who), reason=Reason.BEST, occasion="class-1",
            now=AFTER,
        )  # fmt: skip
    assert refused.value.kind == "forbidden" and not FollowUp.objects.exists()
