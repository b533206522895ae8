"""Rows: immutable prescriptions, credit tables and facts; classes; derived scores; what
members told of themselves."""

from .classes import State, StreamedClass
from .credits import CreditTableVersion
from .facts import Fact, Result, Submission
from .follow_up import FollowUp, FollowUpLetter, FollowUpSettings, FollowUpWords
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
    "FollowUp",
    "FollowUpLetter",
    "FollowUpSettings",
    "FollowUpWords",
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
