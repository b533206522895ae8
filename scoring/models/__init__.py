"""Rows: immutable prescriptions, credit tables and facts; classes; derived scores; setups."""

from .classes import State, StreamedClass
from .credits import CreditTableVersion
from .facts import Fact, Result, Submission
from .recomputes import RecomputeRun
from .scores import Score
from .setups import Setup
from .workouts import Workout

__all__ = [
    "CreditTableVersion",
    "Fact",
    "RecomputeRun",
    "Result",
    "Score",
    "Setup",
    "State",
    "StreamedClass",
    "Submission",
    "Workout",
]
