"""Rows: immutable prescriptions, credit tables and facts; classes; derived scores."""

from .classes import State, StreamedClass
from .credits import CreditTableVersion
from .facts import Fact, Result, Submission
from .recomputes import RecomputeRun
from .scores import Score
from .workouts import Workout

__all__ = [
    "CreditTableVersion",
    "Fact",
    "RecomputeRun",
    "Result",
    "Score",
    "State",
    "StreamedClass",
    "Submission",
    "Workout",
]
