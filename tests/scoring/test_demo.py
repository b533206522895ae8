"""The invented gym: big enough, marked as invented, the same each time."""

from scoring.demo.load import load
from scoring.models import Fact, Score, State, StreamedClass

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
