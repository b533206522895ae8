"""The invented gym: big enough, marked as invented, the same each time."""

from io import StringIO

from django.core.management import call_command

from members.models import Membership, Role
from scoring.demo.load import load
from scoring.models import Fact, ForecastRecord, Score, State, StreamedClass
from scoring.selectors.forecast_record import forecast_record
from scoring.selectors.questions import questions

from ..conftest import NOW


def test_the_demo_is_a_gym_of_twelve_weeks_with_its_last_class_half_logged(db):
    gym = load(now=NOW)
    assert gym.is_demo
    assert 55 <= gym.memberships.count() <= 65
    classes = StreamedClass.objects.filter(gym=gym)
    states = [classes.filter(state=s).count() for s in (State.DRAFT, State.OPEN, State.CLOSED)]
    assert states == [1, 1, 35]
    assert 1200 <= Score.objects.count() <= 1800
    usual = Score.objects.count() / 36
    last = Score.objects.filter(streamed_class__state=State.OPEN).count()
    assert 0.3 * usual < last < 0.7 * usual
    assert Score.objects.filter(as_prescribed=False).exists()
    assert len(set(Fact.objects.values_list("mark", flat=True))) > 200


def test_the_command_forecasts_its_last_classes_before_they_are_run(db):
    call_command("demo", stdout=StringIO())
    records = ForecastRecord.objects.select_related("streamed_class", "snapshot")
    assert records.count() >= 6
    for record in records:
        assert not record.is_prior
        assert record.until < record.streamed_class.starts_at
        assert record.made_at == record.streamed_class.starts_at
    # an estimate a week, and each learned from more than the one before
    learned = sorted({record.results for record in records})
    assert len(learned) == 3
    coach = Membership.objects.filter(role=Role.COACH).first()
    # One figure slipped in the open class, and nothing else is odd in it.
    open_class = StreamedClass.objects.get(state=State.OPEN)
    [question] = questions(streamed_class=open_class, viewer=coach)
    assert question.is_of_mark and question.fact.number == 2
    [before] = question.result.facts.filter(number=1)
    assert question.fact.mark == before.mark[0] + before.mark
    told = forecast_record(viewer=coach)
    assert told.bare is None
    assert told.taught.score < told.taught.naive_score
