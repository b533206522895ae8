"""Rows: immutable prescriptions, credit tables and facts; classes; derived scores; what
members told of themselves."""

from .classes import State, StreamedClass
from .credits import CreditTableVersion
from .facts import Fact, Result, Submission
from .imports import ImportLine, ImportRun
from .messages import Message, MessageKind, MessageSettings
from .pains import Pain
from .privacy import DataExport, Erasure
from .recomputes import RecomputeRun
from .requests import ChangeRequest
from .scores import Score
from .setups import Setup
from .workouts import Workout

__all__ = [
    "ChangeRequest",
    "CreditTableVersion",
    "DataExport",
    "Erasure",
    "Fact",
    "ImportLine",
    "ImportRun",
    "Message",
    "MessageKind",
    "MessageSettings",
    "Pain",
    "RecomputeRun",
    "Result",
    "Score",
    "Setup",
    "State",
    "StreamedClass",
    "Submission",
    "Workout",
]
