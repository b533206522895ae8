"""What a coach tells of a result that is there: what they leave out stays as it is."""

from __future__ import annotations

from dataclasses import replace

from scoring.mapping import course_of, read_unbroken, rules_of
from scoring.models import Fact, StreamedClass
from scoring.problems import Refused

from .reading import ResultInput, possible_unbroken, read_result


def with_what_stays(
    *, streamed_class: StreamedClass, told: ResultInput, fact: Fact | None
) -> ResultInput:
    """What is told, and the effort, splits, longest sets and note that stood before.

    Two notes stand below each other. Splits and longest sets stay only where they still fit
    the mark; if they don't, they can't have been right. Without a fact that counts it is what
    is told.
    """
    if fact is None or fact.is_withdrawn:
        return told
    notes = [fact.note] if told.note in fact.note else [fact.note, told.note]
    unbroken = read_unbroken(fact.unbroken)
    whole = replace(
        told,
        note="\n".join(filter(None, notes)),
        effort=fact.effort if told.effort is None else told.effort,
        unbroken=possible_unbroken(streamed_class, told.mark, unbroken),
    )
    if told.splits or not fact.splits:
        return whole
    kept = replace(whole, splits=fact.splits)
    try:
        read_result(course_of(streamed_class), rules_of(streamed_class), kept)
    except Refused as refused:
        if {item.column for item in refused.items} == {"splits"}:
            return whole
    return kept
