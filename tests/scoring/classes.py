"""Classes and results that the service tests share."""

from itertools import count

from scoring.services.classes import create_class, open_class
from scoring.services.submitting import ResultInput, submit_result

from ..conftest import NOW, TWO_LADDERS

_keys = count(1)


def make_class(people, text=TWO_LADDERS, *, is_open=True, **kwargs):
    given = {"starts_at": NOW, "now": NOW, **kwargs}
    streamed = create_class(gym=people.gym, coach=people.coach, text=text, **given)
    if is_open:
        streamed = open_class(streamed_class=streamed, by=people.coach, now=NOW)
    return streamed


def log(streamed, member, mark, options="", *, by=None, key=None, **kwargs):
    return submit_result(
        streamed_class=streamed,
        member=member,
        entered_by=by or member,
        data=ResultInput(mark=mark, options=options, **kwargs),
        key=key or f"key-{next(_keys)}",
        now=NOW,
    )
