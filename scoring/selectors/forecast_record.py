"""Forecasts beside what happened: of one class, and of all there have been."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import F, OuterRef, Subquery

from scoring import access
from scoring.core.course import Course
from scoring.core.crowd import at_share
from scoring.core.estimation.beyond import Finish
from scoring.core.estimation.honesty import Foreseen, Honesty, honesty
from scoring.mapping import course_of
from scoring.models import ForecastLine, ForecastRecord, Score, State, StreamedClass

from .forecast_rows import finish_of
from .forecasts import no_places
from .questions import asked_marks

SHOWN = 60
"""So many of the last forecast classes make the record."""


@dataclass(frozen=True, slots=True)
class Came:
    """A gate's forecast, and how many of those who logged got past it."""

    block: int
    share: float
    low: float
    high: float
    passed: int
    count: int

    @property
    def actual(self) -> float:
        return self.passed / self.count

    @property
    def is_inside(self) -> bool:
        """Whether the share lay in the range that four cases of five should fall in."""
        return self.low <= self.actual <= self.high


@dataclass(frozen=True, slots=True)
class Against:
    """A member's result against their forecast."""

    member_id: int
    name: str
    seen: Foreseen


@dataclass(frozen=True, slots=True)
class Beside:
    """A class's forecast beside what happened. ``others`` logged and were not forecast;
    ``asked`` results are left out while a coach is still to look at their marks.

    ``halfway`` are the low, middle and high raw reps at which half of the group should have
    been, and those at which half of all who logged were, ``None`` while nobody has.
    ``honesty`` is ``None`` while nobody who was forecast has logged.
    """

    streamed_class: StreamedClass
    record: ForecastRecord
    course: Course
    end: Finish
    gates: tuple[Came, ...]
    halfway: tuple[int, int, int, int] | None
    members: tuple[Against, ...]
    others: int
    asked: int
    honesty: Honesty | None

    @property
    def logged(self) -> int:
        return len(self.members) + self.others + self.asked

    @property
    def inside(self) -> int:
        """How many places lay in their range."""
        return sum(member.seen.is_inside for member in self.members)


@dataclass(frozen=True, slots=True)
class Record:
    """The running record, the newest class first. ``taught`` is of forecasts that an estimate
    made, ``bare`` of those from the catalogue's figures alone; ``asked`` results are left out
    while a question about them is open."""

    classes: tuple[Beside, ...]
    taught: Honesty | None
    bare: Honesty | None
    gates_inside: int
    gates: int
    asked: int


def beside(*, streamed_class: StreamedClass, viewer: access.Viewer) -> Beside | None:
    """A class's forecast and its results, for its coaches; ``None`` without a forecast."""
    if not access.may_manage(viewer, streamed_class):
        return None
    record = ForecastRecord.objects.filter(streamed_class=streamed_class).order_by("-pk").first()
    if record is None:
        return None
    return _beside(viewer, [streamed_class], [record])[0]


def forecast_record(*, viewer: access.Viewer) -> Record | None:
    """How honest the gym's forecasts have been, over its last closed classes with one, for a
    coach; ``None`` for others."""
    if not access.may_manage_gym(viewer):
        return None
    newest = ForecastRecord.objects.filter(streamed_class=OuterRef("pk")).order_by("-pk")
    classes = list(
        access.visible_classes(viewer)
        .filter(state=State.CLOSED, scores__isnull=False)
        .annotate(forecast=Subquery(newest.values("pk")[:1]))
        .filter(forecast__isnull=False)
        .select_related("workout", "gym")
        .order_by("-starts_at", "-pk")
        .distinct()[:SHOWN]
    )
    records = ForecastRecord.objects.in_bulk([streamed.forecast for streamed in classes])
    found = _beside(viewer, classes, [records[streamed.forecast] for streamed in classes])
    asked = sum(row.asked for row in found)
    found = [row for row in found if row.honesty is not None]
    gates = [gate for row in found for gate in row.gates]
    return Record(
        tuple(found),
        _of(row for row in found if not row.record.is_prior),
        _of(row for row in found if row.record.is_prior),
        sum(gate.is_inside for gate in gates),
        len(gates),
        asked,
    )


def _of(rows: Iterable[Beside]) -> Honesty | None:
    told = [(member.seen, row.streamed_class.pk) for row in rows for member in row.members]
    return honesty([seen for seen, _ in told], [pk for _, pk in told])


def _beside(
    viewer: access.Viewer, classes: Sequence[StreamedClass], records: Sequence[ForecastRecord]
) -> list[Beside]:
    """Each class with its forecast; the number of queries doesn't grow with them."""
    done: dict[int, dict[int, tuple[int, float]]] = defaultdict(dict)
    scores = list(
        Score.objects.filter(streamed_class__in=list(classes))
        .select_related("result", "fact", "streamed_class__workout", "streamed_class__gym")
        .order_by("pk")
    )
    left_out, asked = asked_marks(scores), Counter[int]()
    for score in scores:
        class_id, member = score.streamed_class_id, score.result.member_id
        if score.pk in left_out:
            asked[class_id] += 1
        else:
            done[class_id][member] = score.raw_reps, float(Fraction(score.seconds))
    lines: dict[int, list[ForecastLine]] = defaultdict(list)
    logged = (
        ForecastLine.objects.filter(record__in=list(records))
        .annotate(who=F("record__streamed_class__scores__result__member"))
        .filter(who=F("member"))
        .select_related("member")
        .order_by("pk")
    )
    for line in logged:
        lines[line.record_id].append(line)
    return [
        _one(viewer, streamed, record, done[streamed.pk], lines[record.pk], asked[streamed.pk])
        for streamed, record in zip(classes, records, strict=True)
    ]


def _one(
    viewer: access.Viewer,
    streamed: StreamedClass,
    record: ForecastRecord,
    done: dict[int, tuple[int, float]],
    lines: Sequence[ForecastLine],
    asked: int,
) -> Beside:
    course = course_of(streamed)
    lines = [line for line in lines if line.member_id in done]
    end = finish_of(course, record.cap, record.fade)
    members = tuple(
        Against(
            line.member_id,
            access.shown_name(viewer, line.member),
            Foreseen(
                tuple(line.ensemble),
                line.low,
                line.quarter,
                line.middle,
                line.three_quarters,
                line.high,
                record.naive,
                end.reached(*done[line.member_id]),
            ),
        )
        for line in lines
    )
    gates = tuple(
        Came(
            block,
            share,
            low,
            high,
            sum(raw >= course.block_end(block) for raw, _ in done.values()),
            len(done),
        )
        for block, share, low, high in (record.gates if done else ())
    )
    return Beside(
        streamed_class=streamed,
        record=record,
        course=course,
        end=end,
        gates=gates,
        halfway=_halfway(record, [raw for raw, _ in done.values()]),
        members=members,
        others=len(done) - len(members),
        asked=asked,
        honesty=honesty([member.seen for member in members], [streamed.pk] * len(members)),
    )


def _halfway(record: ForecastRecord, done: Sequence[int]) -> tuple[int, int, int, int] | None:
    if not done:
        return None
    low, middle, high = (int(raw) for raw in record.halfway)
    return low, middle, high, at_share(sorted(done), Fraction(1, 2))


def none_kept(streamed_class: StreamedClass) -> str:
    """Why a class has no forecast kept, in a sentence."""
    reason = no_places(course_of(streamed_class))
    if reason:
        return reason
    if streamed_class.state == State.DRAFT:
        return "No forecast is kept yet: that happens when the class opens."
    return (
        "No forecast was kept of this class: it has to be made before anybody logs, by results "
        "of classes before it."
    )
