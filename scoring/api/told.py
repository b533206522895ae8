"""Values of the layers below as the plain data that the API tells."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from members.models import Membership
from scoring.core.breakdown import Breakdown
from scoring.core.course import Course, CourseSet
from scoring.core.figures import figure
from scoring.core.marks import examples
from scoring.core.notation import Note, Problem
from scoring.core.scoring import Score as CoreScore
from scoring.mapping import course_of, prescription, rules_of
from scoring.models import ChangeRequest, Fact, Pain, Score, StreamedClass
from scoring.selectors.boards import Board, BoardRow
from scoring.selectors.briefing import gear, offered, standards
from scoring.selectors.classes import Attendance, result_in
from scoring.selectors.paces import decimal, pace
from scoring.selectors.rank_ranges import LikelyRank
from scoring.selectors.results import HistoryRow, OpenedResult

Told = dict[str, Any]


def remark(line: Note | Problem) -> Told:
    return asdict(line)


def course(built: Course) -> Told:
    """The sets in order, each with the reps before it."""
    start = 0
    listed: list[Told] = []
    for course_set in (*built.sets, *built.tail):
        listed.append(_set(built, course_set, start))
        start += course_set.reps
    return {
        "cap_seconds": built.limit,
        "total_reps": built.total,
        "sets": listed[: len(built.sets)],
        "amrap_round": listed[len(built.sets) :],
    }


def _set(built: Course, course_set: CourseSet, start: int) -> Told:
    return {
        "line": course_set.line.number,
        "where": built.where(course_set),
        "movement": course_set.line.line.movement,
        "reps": course_set.reps,
        "start": start,
    }


def listed_class(streamed: StreamedClass) -> Told:
    """A class as lists show it; it comes from a selector, which counts ``logged``."""
    return {
        "id": streamed.pk,
        "title": streamed.workout.title,
        "workout": streamed.workout_id,
        "state": streamed.state,
        "starts_at": streamed.starts_at,
        "coach": streamed.coach.display_name,
        "logged": Score.objects.filter(streamed_class=streamed).count()
        if not hasattr(streamed, "logged")
        else streamed.logged,
    }


def streamed_class(streamed: StreamedClass, viewer: Membership) -> Told:
    built = course_of(streamed)
    listed = standards(prescription(streamed.workout.text))
    own = result_in(streamed_class=streamed, member=viewer)
    return listed_class(streamed) | {
        "text": streamed.workout.text,
        "note": streamed.note,
        "weighted": streamed.weighted,
        "above_one": streamed.above_one,
        "tie_break_block": streamed.tie_break_block,
        "closes_at": streamed.closes_at,
        "opened_at": streamed.opened_at,
        "closed_at": streamed.closed_at,
        "course": course(built),
        "marks": examples(built) if built.blocks else "",
        "standards": [asdict(standard) for standard in listed],
        "options": [asdict(option) for option in offered(built, rules_of(streamed))],
        "gear": gear(listed),
        "own_result": own.pk if own else None,
    }


def tried(scored: CoreScore, opened: Breakdown) -> Told:
    """A score that is kept nowhere."""
    adjusted = scored.adjusted
    return {
        "raw_reps": scored.raw_reps,
        "credited_reps": figure(scored.credited),
        "pace_per_minute": figure(scored.pace_per_minute),
        "as_prescribed": scored.as_prescribed,
        "adjusted": {
            "text": adjusted.text,
            "reps": None if adjusted.reps is None else figure(adjusted.reps, least=3, most=6),
            "seconds": None
            if adjusted.seconds is None
            else figure(adjusted.seconds, least=3, most=6),
        },
        "breakdown": opened.to_json(),
    }


def figures(score: Score, streamed: StreamedClass) -> Told:
    """What a stored score comes to."""
    return {
        "raw_reps": score.raw_reps,
        "credited_reps": figure(Fraction(score.credited)),
        "pace_per_minute": pace(score, streamed),
        "as_prescribed": score.as_prescribed,
        "adjusted": {
            "text": score.adjusted_text,
            "reps": decimal(score.adjusted_reps),
            "seconds": decimal(score.adjusted_seconds),
        },
    }


def _fact(fact: Fact) -> Told:
    names = (
        "number", "mark", "options", "splits", "unbroken", "note", "effort", "reason",
        "is_withdrawn",
    )  # fmt: skip
    return {name: getattr(fact, name) for name in names} | {
        "entered_by": fact.entered_by.display_name,
        "created_at": fact.created_at,
    }


def request(row: ChangeRequest) -> Told:
    names = (
        "mark",
        "options",
        "splits",
        "words",
        "asked_at",
        "answer",
        "answer_words",
        "answered_at",
    )
    return {name: getattr(row, name) for name in names} | {
        "id": row.pk,
        "class": row.streamed_class_id,
        "name": row.member.display_name,
    }


def _likely(likely: LikelyRank | None) -> Told | None:
    if likely is None:
        return None
    names = ("best", "worst", "words", "explained", "results", "until")
    return {name: getattr(likely, name) for name in names}


def result(opened: OpenedResult, pain: Pain | None, likely: LikelyRank | None) -> Told:
    row = opened.result
    current = row.current
    assert current is not None  # a result without a fact is never selected
    return {
        "id": row.pk,
        "class": row.streamed_class_id,
        "name": opened.name,
        "is_own": opened.is_own,
        "is_withdrawn": opened.score is None,
        "mark": current.mark,
        "options": current.options,
        "rank": opened.rank,
        "total": opened.total,
        "likely_rank": _likely(likely),
        "figures": figures(opened.score, row.streamed_class) if opened.score else None,
        "breakdown": opened.breakdown.to_json() if opened.breakdown else None,
        "facts": [_fact(fact) for fact in opened.facts],
        "pain": {"areas": pain.areas, "words": pain.words} if pain else None,
        "question": opened.question,
    }


def row(row: BoardRow) -> Told:
    return {
        "rank": row.rank,
        "result": row.result_id,
        "name": row.name,
        "is_own": row.is_own,
        "can_open": row.can_open,
        "mark": row.mark_text,
        "raw_reps": row.raw_reps,
        "credited_reps": row.credited,
        "pace_per_minute": row.pace,
        "as_prescribed": row.as_prescribed,
        "adjusted": {
            "text": row.adjusted_text,
            "reps": row.adjusted_reps,
            "seconds": row.adjusted_seconds,
        },
        "percentile": row.percentile,
    }


def board(shown: Board) -> Told:
    """A board without its rows."""
    return {
        "view": shown.view,
        "total": shown.total,
        "offset": shown.offset,
        "limit": shown.limit,
        "as_of": shown.as_of,
        "own": row(shown.own) if shown.own else None,
        "neighbours": [row(each) for each in shown.neighbours],
    }


def attendance(there: Attendance) -> Told:
    return {
        "logged": [
            {
                "result": row.pk,
                "member": row.member_id,
                "name": row.member.display_name,
                "mark": row.current.mark if row.current else "",
            }
            for row in there.logged
        ],
        "missing": [
            {
                "member": member.pk,
                "name": member.display_name,
                "usually_here": member.pk in there.usual,
            }
            for member in there.missing
        ],
    }


def history(rows: Iterable[HistoryRow]) -> list[Told]:
    told = []
    for row in rows:
        streamed = row.score.streamed_class
        told.append(
            figures(row.score, streamed)
            | {
                "result": row.result_id,
                "class": streamed.pk,
                "title": streamed.workout.title,
                "starts_at": streamed.starts_at,
                "fingerprint": streamed.workout.fingerprint,
                "weighted": streamed.weighted,
                "mark": row.score.fact.mark,
                "rank": row.rank,
                "total": row.total,
                "level": row.level,
                "repeats": row.repeats,
                "change": row.change,
            }
        )
    return told
