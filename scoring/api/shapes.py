"""What goes in and out as JSON. Exact figures are decimal texts, times are in UTC."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Number, Time
from scoring.boards import VIEWS
from scoring.core.body import AREAS
from scoring.models import ChangeRequest, State
from scoring.services.classes import MAX_NOTE

MAX_TEXT = 20_000


class OfClass(serializers.Serializer[Any]):
    """Something of a class, named in ``class``, which Python doesn't let a class body say."""

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        return {**super().get_fields(), "class": serializers.IntegerField()}


# --- workouts ----------------------------------------------------------------


class TextIn(serializers.Serializer[Any]):
    """A workout as on a board."""

    text = serializers.CharField(max_length=MAX_TEXT, trim_whitespace=False)


class RemarkShape(serializers.Serializer[Any]):
    """A line of a text, what is to be said of it, and what would be understood."""

    line = serializers.IntegerField()
    text = serializers.CharField(allow_blank=True)
    problem = serializers.CharField()
    suggestion = serializers.CharField(allow_blank=True)


class SetShape(serializers.Serializer[Any]):
    """One set of the course; ``start`` is how many reps come before it."""

    line = serializers.CharField()
    where = serializers.CharField()
    movement = serializers.CharField()
    reps = serializers.IntegerField()
    start = serializers.IntegerField()


class CourseShape(serializers.Serializer[Any]):
    """The unrolled course: its finite sets, then one round of the closing AMRAP."""

    cap_seconds = serializers.IntegerField(allow_null=True)
    total_reps = serializers.IntegerField(allow_null=True, help_text="null if it has no end")
    sets = SetShape(many=True)
    amrap_round = SetShape(many=True)


class WorkoutShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    title = serializers.CharField()
    text = serializers.CharField()
    fingerprint = serializers.CharField(
        help_text="The same for the same workout, whatever its title."
    )
    created_at = Time()


# --- classes -----------------------------------------------------------------


class ClassIn(serializers.Serializer[Any]):
    """A class to be made: a text, or the id of a workout kept before."""

    text = serializers.CharField(max_length=MAX_TEXT, trim_whitespace=False, required=False)
    workout = Number(required=False)
    starts_at = Time()
    weighted = serializers.BooleanField(default=False)
    above_one = serializers.BooleanField(default=False)
    tie_break_block = serializers.IntegerField(
        min_value=1, max_value=999, allow_null=True, default=None
    )
    note = serializers.CharField(max_length=MAX_NOTE, allow_blank=True, default="")
    closes_at = Time(required=False, allow_null=True, help_text="Null: closed by hand.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("text" in attrs) == ("workout" in attrs):
            raise serializers.ValidationError("Give a text or a workout, one of the two.")
        return attrs


class ClassChange(serializers.Serializer[Any]):
    """What of a draft is to be changed; the rest stays."""

    text = serializers.CharField(max_length=MAX_TEXT, trim_whitespace=False, required=False)
    starts_at = Time(required=False)
    weighted = serializers.BooleanField(required=False)
    above_one = serializers.BooleanField(required=False)
    tie_break_block = serializers.IntegerField(
        min_value=1, max_value=999, allow_null=True, required=False
    )
    note = serializers.CharField(max_length=MAX_NOTE, allow_blank=True, required=False)
    closes_at = Time(required=False, allow_null=True, help_text="Null: closed by hand.")


class ClassShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    title = serializers.CharField()
    workout = serializers.IntegerField()
    state = serializers.ChoiceField(choices=State.choices)
    starts_at = Time()
    coach = serializers.CharField()
    logged = serializers.IntegerField(help_text="Results on the board.")


class StandardShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    standard = serializers.CharField(allow_blank=True)
    caution = serializers.CharField(allow_blank=True)
    gear = serializers.ListField(child=serializers.CharField())


class OfferedShape(serializers.Serializer[Any]):
    """An option of a line and what a rep of it counts, ``source`` says why."""

    line = serializers.CharField()
    movement = serializers.CharField()
    option = serializers.CharField()
    credit = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class ClassDetail(ClassShape):
    """A class with all that is needed to do it and to log it."""

    text = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    weighted = serializers.BooleanField()
    above_one = serializers.BooleanField()
    tie_break_block = serializers.IntegerField(allow_null=True)
    closes_at = Time(allow_null=True, help_text="When it closes by itself.")
    opened_at = Time(allow_null=True)
    closed_at = Time(allow_null=True)
    course = CourseShape()
    marks = serializers.CharField(help_text="Marks this class understands, as examples.")
    standards = StandardShape(many=True)
    options = OfferedShape(many=True)
    gear = serializers.ListField(child=serializers.CharField())
    own_result = serializers.IntegerField(allow_null=True)


class StateAsked(serializers.Serializer[Any]):
    state = serializers.ChoiceField(choices=State.choices, required=False)


# --- results -----------------------------------------------------------------


class ChoiceIn(serializers.Serializer[Any]):
    """How a line was done, for all of its reps or for some."""

    line = serializers.CharField(max_length=20, help_text="Such as 2.1: block 2, its first line.")
    option = serializers.CharField(max_length=200, help_text="tuck rock, goblet squat @ 12 kg")
    reps = serializers.IntegerField(min_value=0, max_value=9_999_999, allow_null=True, default=None)


class ResultIn(serializers.Serializer[Any]):
    """What somebody did. ``choices`` and ``options`` add up."""

    mark = serializers.CharField(max_length=200, help_text="2+9, 12:34, 189 reps, ...")
    choices = ChoiceIn(many=True, default=list)
    options = serializers.CharField(
        max_length=2000, allow_blank=True, default="", help_text="In words: tuck rock: 10; ..."
    )
    splits = serializers.DictField(
        child=serializers.CharField(max_length=20, allow_blank=True),
        default=dict,
        help_text="The clock at the end of a block, by its number.",
    )
    note = serializers.CharField(max_length=MAX_NOTE, allow_blank=True, default="")
    effort = serializers.IntegerField(min_value=0, max_value=10, allow_null=True, default=None)
    unbroken = serializers.DictField(
        child=serializers.IntegerField(min_value=1, max_value=9_999_999),
        default=dict,
        help_text="The longest set without a break, by line.",
    )


class PainShape(serializers.Serializer[Any]):
    """What hurts, seen by its owner and their coaches."""

    areas = serializers.ListField(
        child=serializers.CharField(max_length=40),
        max_length=len(AREAS),
        help_text=f"Of: {', '.join(AREAS)}.",
    )
    words = serializers.CharField(max_length=500, allow_blank=True, default="")


class ResultSent(ResultIn):
    """A result to be logged; ``member`` and ``reason`` are for coaches. ``hurts`` replaces
    what was told before; left out or null it stays."""

    hurts = PainShape(required=False, allow_null=True)

    member = Number(required=False, allow_null=True)
    reason = serializers.CharField(max_length=500, allow_blank=True, default="")


class CorrectionIn(ResultIn):
    reason = serializers.CharField(max_length=500)


class ReasonIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=500, allow_blank=True, default="")


class AdjustedShape(serializers.Serializer[Any]):
    """The mark as prescribed that compares; exactly one of reps and seconds is not null."""

    text = serializers.CharField()
    reps = serializers.CharField(allow_null=True)
    seconds = serializers.CharField(allow_null=True)


class BreakdownRow(serializers.Serializer[Any]):
    line = serializers.CharField()
    where = serializers.CharField()
    movement = serializers.CharField()
    done_as = serializers.CharField()
    prescribed = serializers.BooleanField()
    reps = serializers.IntegerField()
    credit = serializers.CharField()
    credited = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class SideShape(serializers.Serializer[Any]):
    movement = serializers.CharField()
    starting_side = serializers.IntegerField()
    other_side = serializers.IntegerField()


class BreakdownShape(serializers.Serializer[Any]):
    rows = BreakdownRow(many=True)
    sentences = serializers.ListField(child=serializers.CharField())
    sides = SideShape(many=True)


class FiguresShape(serializers.Serializer[Any]):
    """What a result counts."""

    raw_reps = serializers.IntegerField()
    credited_reps = serializers.CharField(
        help_text="Reference seconds where reps are weighed, kilograms in a strength piece."
    )
    pace_per_minute = serializers.CharField()
    as_prescribed = serializers.BooleanField()
    adjusted = AdjustedShape()


class TriedShape(FiguresShape):
    breakdown = BreakdownShape()


class FactShape(serializers.Serializer[Any]):
    """What was reported, the newest first; a correction is one more."""

    number = serializers.IntegerField()
    mark = serializers.CharField()
    options = serializers.CharField(allow_blank=True)
    splits = serializers.CharField(allow_blank=True)
    unbroken = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    effort = serializers.IntegerField(allow_null=True)
    entered_by = serializers.CharField()
    reason = serializers.CharField(allow_blank=True)
    is_withdrawn = serializers.BooleanField()
    created_at = Time()


class LikelyRankShape(serializers.Serializer[Any]):
    """Between which ranks a result would lie four times in five, options being worth what
    results so far say of them. The rank itself counts by the credits, lies within and stays."""

    best = serializers.IntegerField()
    worst = serializers.IntegerField()
    words = serializers.CharField()
    explained = serializers.CharField()
    results = serializers.IntegerField(help_text="Results of the gym it rests on.")
    until = Time(allow_null=True, help_text="When the last class of those began.")


class ResultShape(OfClass):
    """A result opened up. ``figures`` is null once it is withdrawn; ``facts`` are for its
    owner and coaches, empty for others."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    is_own = serializers.BooleanField()
    is_withdrawn = serializers.BooleanField()
    mark = serializers.CharField()
    options = serializers.CharField(allow_blank=True)
    rank = serializers.IntegerField(allow_null=True)
    total = serializers.IntegerField()
    likely_rank = LikelyRankShape(
        allow_null=True,
        help_text="Only when a result is read: null in the answer to a change of it, and where "
        "nobody used an option, or no estimate has been worked out.",
    )
    figures = FiguresShape(allow_null=True)
    breakdown = BreakdownShape(allow_null=True)
    facts = FactShape(many=True)
    pain = PainShape(allow_null=True)
    question = serializers.CharField(
        allow_blank=True,
        help_text="What is asked about the mark while nobody has answered, for its owner and "
        "coaches; empty where it is not odd. It counts as it is meanwhile.",
    )


class LoggedShape(ResultShape):
    """A result just logged. ``created`` for a first one, ``replayed`` if nothing changed."""

    created = serializers.BooleanField()
    replayed = serializers.BooleanField()


# --- boards ------------------------------------------------------------------


class BoardAsked(serializers.Serializer[Any]):
    view = serializers.ChoiceField(choices=[(view, view) for view in VIEWS], default="all")
    offset = serializers.IntegerField(min_value=0, max_value=10_000_000, default=0)
    limit = serializers.IntegerField(min_value=1, max_value=200, default=50)


class ViewAsked(serializers.Serializer[Any]):
    view = serializers.ChoiceField(choices=[(view, view) for view in VIEWS], default="all")


class RowShape(FiguresShape):
    """One line of a board; ``percentile`` is the share of the field it is ahead of."""

    rank = serializers.IntegerField()
    result = serializers.IntegerField()
    name = serializers.CharField()
    is_own = serializers.BooleanField()
    can_open = serializers.BooleanField()
    mark = serializers.CharField()
    percentile = serializers.IntegerField(allow_null=True)


class BoardShape(serializers.Serializer[Any]):
    """A page of a board. ``own`` is the caller's row wherever it stands."""

    view = serializers.CharField()
    total = serializers.IntegerField()
    offset = serializers.IntegerField()
    limit = serializers.IntegerField()
    as_of = Time()
    rows = RowShape(many=True)
    own = RowShape(allow_null=True)
    neighbours = RowShape(many=True)


class LoggedEntry(serializers.Serializer[Any]):
    result = serializers.IntegerField()
    member = serializers.IntegerField()
    name = serializers.CharField()
    mark = serializers.CharField()


class MissingEntry(serializers.Serializer[Any]):
    member = serializers.IntegerField()
    name = serializers.CharField()
    usually_here = serializers.BooleanField(help_text="Logged in 3 of the last 6 classes.")


class AttendanceShape(serializers.Serializer[Any]):
    logged = LoggedEntry(many=True)
    missing = MissingEntry(many=True)


class HistoryShape(OfClass, FiguresShape):
    """One of my results. ``level`` is mine on that day, 100 being the gym's typical
    member, null where no estimate reaches; ``change`` compares with the repeat before, in
    percent; the same ``fingerprint`` is the same workout."""

    result = serializers.IntegerField()
    title = serializers.CharField()
    starts_at = Time()
    fingerprint = serializers.CharField()
    weighted = serializers.BooleanField()
    mark = serializers.CharField()
    rank = serializers.IntegerField()
    total = serializers.IntegerField()
    level = serializers.IntegerField(allow_null=True)
    repeats = serializers.IntegerField(help_text="1 for the first time, 2 for the second, ...")
    change = serializers.CharField(allow_null=True)


class RequestIn(ResultIn):
    """What one's result should be, and why."""

    words = serializers.CharField(max_length=500)


class RequestShape(OfClass):
    """A change asked of the coach, and the answer."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    mark = serializers.CharField()
    options = serializers.CharField(allow_blank=True)
    splits = serializers.CharField(allow_blank=True)
    words = serializers.CharField()
    asked_at = Time()
    answer = serializers.ChoiceField(choices=ChangeRequest.Answer.choices)
    answer_words = serializers.CharField(allow_blank=True)
    answered_at = Time(allow_null=True)


class AnswerIn(serializers.Serializer[Any]):
    accept = serializers.BooleanField()
    words = serializers.CharField(max_length=500, allow_blank=True, default="")
