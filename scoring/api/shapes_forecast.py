"""How far a group should get, and how good such forecasts have been, as JSON."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from members.api.base import Time
from scoring.core.prescription import MAX_SECONDS
from scoring.selectors.groups import MOST, Who

from .shapes import OfClass, TextIn

MAX_KEY = 10**18 - 1

_SHARE = "From 0 to 1."
_CAP_WORDS = f"A cap is whole seconds from 1 to {MAX_SECONDS}: 900 for 15:00."
_SHARE_WORDS = "A share is a number from 0.05 to 1: 0.8 for four of five."


class ForecastIn(TextIn):
    starts_at = Time(
        default=None,
        allow_null=True,
        help_text="When it is to be held, now if left out: who usually comes then is forecast.",
    )
    cap_seconds = serializers.IntegerField(
        min_value=1,
        max_value=MAX_SECONDS,
        default=None,
        allow_null=True,
        help_text="Another cap than the text's.",
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), _CAP_WORDS),
    )
    share = serializers.FloatField(
        min_value=0.05,
        max_value=1,
        default=None,
        allow_null=True,
        help_text="The share to find a cap for; 0.5, 0.8 and 0.95 if left out.",
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), _SHARE_WORDS),
    )
    group = serializers.ChoiceField(
        choices=[Who.USUAL.value, Who.EVERYBODY.value],
        default=Who.USUAL.value,
        help_text="Whom it is for, unless members are sent.",
    )
    members = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=MAX_KEY),
        default=None,
        allow_null=True,
        max_length=MOST,
        help_text="Keys of the memberships it is for; all have to belong to the gym now.",
    )


class ForecastSourceShape(serializers.Serializer[Any]):
    """What a forecast rests on. With ``is_prior`` on no result: the catalogue's usual seconds
    and the gym's credits."""

    is_prior = serializers.BooleanField()
    estimate = serializers.IntegerField(allow_null=True)
    results = serializers.IntegerField()
    members = serializers.IntegerField()
    until = serializers.DateTimeField(
        allow_null=True, help_text="The start of the last class it learned from."
    )


class GateShape(serializers.Serializer[Any]):
    """A block's end, and the share of the group that should get past it by the cap. Between
    ``low`` and ``high`` it will lie in four cases of five."""

    block = serializers.IntegerField()
    what = serializers.CharField(help_text="finish, reach the AMRAP, leave the first ladder.")
    share = serializers.FloatField(help_text=_SHARE)
    low = serializers.FloatField(help_text=_SHARE)
    high = serializers.FloatField(help_text=_SHARE)


class ForecastPlaceShape(serializers.Serializer[Any]):
    reps = serializers.IntegerField(help_text="Raw reps done.")
    text = serializers.CharField()


class PlaceRangeShape(serializers.Serializer[Any]):
    """The middle, and between which places it will be in four cases of five."""

    low = ForecastPlaceShape()
    middle = ForecastPlaceShape()
    high = ForecastPlaceShape()


class CapForShape(serializers.Serializer[Any]):
    share = serializers.FloatField(help_text=_SHARE)
    cap_seconds = serializers.IntegerField(
        allow_null=True, help_text="In whole half minutes; null where no cap is long enough."
    )


class UnlikelyShape(serializers.Serializer[Any]):
    name = serializers.CharField()
    share = serializers.FloatField(help_text="Chance to get past the first block, 0 to 1.")


class MemberForecastShape(serializers.Serializer[Any]):
    """``past_last_gate`` is the chance to get past the last of ``gates``: to finish, or to
    reach a closing AMRAP; null where an AMRAP is all there is."""

    member = serializers.IntegerField()
    places = PlaceRangeShape()
    past_last_gate = serializers.FloatField(allow_null=True, help_text=_SHARE)


class PassingShape(serializers.Serializer[Any]):
    """When the typical member ends a set, as prescribed, on the clock."""

    where = serializers.CharField()
    movement = serializers.CharField()
    reps = serializers.IntegerField()
    ends = serializers.FloatField(help_text="Seconds from the start.")


class GroupForecastShape(serializers.Serializer[Any]):
    """How far a group should get. ``unknown`` are movements that no result has taught
    anything of: their seconds a rep are a guess."""

    based_on = ForecastSourceShape()
    cap_seconds = serializers.IntegerField()
    count = serializers.IntegerField(help_text="Members it is for.")
    rule = serializers.CharField(help_text="Why these.")
    gates = GateShape(many=True)
    unknown = serializers.ListField(child=serializers.CharField())
    halfway = PlaceRangeShape(help_text="Where half of the group should be.")
    caps = CapForShape(many=True)
    remarks = serializers.ListField(child=serializers.CharField())
    unlikely = UnlikelyShape(many=True, help_text="Who is least likely to leave the first block.")
    members = MemberForecastShape(many=True)
    pace = PassingShape(many=True)


class ForecastAnswerShape(serializers.Serializer[Any]):
    """``forecast`` is null where there is nobody to forecast for, and for intervals, strength
    pieces and what isn't scored: their marks are no places on a course. ``reason`` says which."""

    forecast = GroupForecastShape(allow_null=True)
    reason = serializers.CharField(allow_blank=True)


class CameShape(serializers.Serializer[Any]):
    """A block's end: the share foreseen, with its range for four cases of five, and how many
    of those who logged got past it."""

    block = serializers.IntegerField()
    what = serializers.CharField()
    share = serializers.FloatField(help_text=_SHARE)
    low = serializers.FloatField(help_text=_SHARE)
    high = serializers.FloatField(help_text=_SHARE)
    passed = serializers.IntegerField()
    count = serializers.IntegerField()


class HalfwayBesideShape(PlaceRangeShape):
    """Where half of those who usually come should have been, and where half of all who logged
    were."""

    done = ForecastPlaceShape()


class MemberBesideShape(serializers.Serializer[Any]):
    """Raw reps, a finish counting as how far the same pace would have got by the cap. The range
    is the one for four cases of five."""

    member = serializers.IntegerField()
    low = serializers.IntegerField()
    middle = serializers.IntegerField()
    high = serializers.IntegerField()
    done = serializers.IntegerField()
    is_inside = serializers.BooleanField()


class KeptShape(serializers.Serializer[Any]):
    """What a range promised to hold, 0 to 1, and what it held. In the long run its share lies
    between ``low`` and ``high`` with a chance of 80 %."""

    promised = serializers.FloatField()
    inside = serializers.IntegerField()
    count = serializers.IntegerField()
    low = serializers.FloatField()
    high = serializers.FloatField()


class HonestyShape(serializers.Serializer[Any]):
    count = serializers.IntegerField()
    classes = serializers.IntegerField(help_text="The results are of so many classes.")
    fifths = KeptShape(help_text="The range for four cases of five.")
    half = KeptShape(help_text="The range for half of the cases.")
    score = serializers.FloatField(
        help_text="Mean continuous ranked probability score in reps; less is better."
    )
    naive_score = serializers.FloatField(help_text="The same of one place for everybody.")
    bias = serializers.FloatField(
        help_text="By how many reps results lay further than their forecast's middle."
    )
    above = serializers.FloatField(help_text="Mean share of a forecast below its result.")


class BesideShape(OfClass):
    """A class's forecast beside what happened."""

    estimate = serializers.IntegerField(allow_null=True)
    is_prior = serializers.BooleanField()
    results = serializers.IntegerField(help_text="The estimate had learned from so many.")
    until = serializers.DateTimeField(allow_null=True)
    made_at = serializers.DateTimeField()
    gates = CameShape(many=True)
    halfway = HalfwayBesideShape(allow_null=True)
    members = MemberBesideShape(many=True)
    others = serializers.IntegerField(help_text="Who logged and had no forecast.")
    asked = serializers.IntegerField(
        help_text="Results left out while a question about the mark is open."
    )
    honesty = HonestyShape(allow_null=True)


class ClassForecastShape(serializers.Serializer[Any]):
    """``forecast`` is null where none was kept; ``reason`` says why."""

    forecast = BesideShape(allow_null=True)
    reason = serializers.CharField(allow_blank=True)


class RecordShape(serializers.Serializer[Any]):
    """The newest class first. ``taught`` is of forecasts by an estimate, ``bare`` of those by
    the catalogue's usual figures alone."""

    classes = BesideShape(many=True)
    taught = HonestyShape(allow_null=True)
    bare = HonestyShape(allow_null=True)
    gates = serializers.IntegerField()
    gates_inside = serializers.IntegerField()
    asked = serializers.IntegerField(help_text="As in a class, of all of them.")
