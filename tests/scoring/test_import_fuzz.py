"""Whatever somebody pastes, it is refused with words or read line by line."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scoring.models import ImportLine, Result
from scoring.problems import Refused
from scoring.services.import_mending import accept_all

from .classes import make_class
from .test_importing import begin, bring_in, take_back

WORDS = st.sampled_from(
    ["Ana", "Ben Okoro", "cleo", "2+9", "2 + 30", "12 rounds", "12:34", "90 reps", "tuck", "knee",
     "82,5 kg", "effort 8", "18:42", "[24/11/2026, 18:42]", ":", ",", ";", "\t", '"', "\n", "\r\n",
     "name", "mark", "options", "🔥", "block 2 / 10 / knee push-up / 6", "\ufeff", "sep=;", "1e9",
     "9999999+9999999", "@", "=1+1"]
)  # fmt: skip
TEXTS = st.one_of(
    st.text(max_size=300),
    st.lists(WORDS, max_size=30).map(" ".join),
    st.lists(WORDS, max_size=30).map(lambda words: "name,mark\n" + ",".join(words)),
)


@pytest.mark.django_db
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(TEXTS.map(lambda t: t.encode("utf-8", "replace")), st.binary(max_size=200)),
       st.sampled_from(["chat", "sheet"]))  # fmt: skip
def test_no_text_makes_an_error_that_nobody_handles(people, data, kind):
    streamed = make_class(people)
    try:
        run = begin(streamed, people, data, kind)
    except Refused as refused:
        assert refused.items[0].problem
        return
    assert run.state == "checking"
    assert not run.lines.filter(state="unread").exists()
    wrong = run.lines.filter(state=ImportLine.State.WRONG)
    assert all(line.problems for line in wrong)
    accept_all(run=run, by=people.coach)
    ready = run.lines.filter(state="good").count()
    if not ready:
        return
    run = bring_in(run, people)
    assert Result.objects.filter(streamed_class=streamed).count() == ready
    take_back(run, people)
    assert not streamed.scores.exists()
