"""Whoever is erased, and however: a board stands as if it had been so from the start."""

from datetime import timedelta

from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scoring import boards
from scoring.core.ranking import Entry, competition_ranks
from scoring.models import Score, StreamedClass
from scoring.selectors.boards import board
from scoring.services.erasing import erase_due
from scoring.services.erasures import GRACE_DAYS, ask_erasure

from ..conftest import NOW, make_people
from .classes import log, make_class

MARKS = ("1+3", "2+5", "2+9", "3+1")
DUE = NOW + timedelta(days=GRACE_DAYS)


# The people are made anew in each example, and all of it is rolled back.
@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(
    marks=st.lists(st.sampled_from(MARKS), min_size=4, max_size=4),
    fates=st.lists(st.sampled_from(["stays", "anonymous", "gone"]), min_size=4, max_size=4),
)
def test_a_board_is_right_whoever_was_erased(db, marks, fates):
    with transaction.atomic():
        people = make_people()
        streamed = make_class(people)
        cast = [*people.members, people.coach]
        for member, mark in zip(cast, marks, strict=True):
            log(streamed, member, mark)
        keys = {s.result.member_id: (s.key, s.tie_key) for s in Score.objects.all()}
        for member, fate in zip(cast, fates, strict=True):
            if fate != "stays":
                ask_erasure(user=member.user, results=fate, now=NOW)
        erase_due(now=DUE)
        streamed = StreamedClass.objects.select_related("workout", "gym").get(pk=streamed.pk)
        shown = board(streamed_class=streamed, viewer=people.owner, now=DUE)
        left = [(member, fate) for member, fate in zip(cast, fates, strict=True) if fate != "gone"]
        named = sorted(m.display_name if f == "stays" else "somebody" for m, f in left)
        assert sorted(row.name for row in shown.rows) == named
        entries = [Entry(*keys[member.pk], "") for member, _ in left]
        assert sorted(row.rank for row in shown.rows) == sorted(competition_ranks(entries))
        pairs = list(set(keys.values()))
        counted = boards.store().standings(streamed, pairs, "all")
        assert counted == boards.DatabaseBoards().standings(streamed, pairs, "all")
        transaction.set_rollback(True)
