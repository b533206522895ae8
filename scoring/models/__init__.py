"""Rows: immutable prescriptions, credit tables and facts; classes; derived scores; what
members told of themselves."""

from .board_steps import BoardStep
from .classes import State, StreamedClass
from .credit_changes import ChangedClass, CreditChange
from .credits import CreditTableVersion
from .estimates import EstimateRun, EstimateSnapshot
from .facts import Fact, Result, Submission
from .follow_up import FollowUp, FollowUpLetter, FollowUpSettings, FollowUpWords
from .forecasts import ForecastLine, ForecastRecord
from .imports import ImportLine, ImportRun
from .messages import Message, MessageKind, MessageSettings
from .notes import MemberNote, NoteStrike
from .pains import Pain
from .plans import ClassTemplate, WorkoutIndex
from .privacy import DataExport, Erasure
from .questions import QuestionAnswer, QuestionAsked
from .recomputes import RecomputeRun
from .requests import ChangeRequest
from .scores import Score
from .setups import Setup
from .workouts import Workout

__all__ = [
    "BoardStep",
    "ChangeRequest",
    "ChangedClass",
    "ClassTemplate",
    "CreditChange",
    "CreditTableVersion",
    "DataExport",
    "Erasure",
    "EstimateRun",
    "EstimateSnapshot",
    "Fact",
    "FollowUp",
    "FollowUpLetter",
    "FollowUpSettings",
    "FollowUpWords",
    "ForecastLine",
    "ForecastRecord",
    "ImportLine",
    "ImportRun",
    "MemberNote",
    "Message",
    "MessageKind",
    "MessageSettings",
    "NoteStrike",
    "Pain",
    "QuestionAnswer",
    "QuestionAsked",
    "RecomputeRun",
    "Result",
    "Score",
    "Setup",
    "State",
    "StreamedClass",
    "Submission",
    "Workout",
    "WorkoutIndex",
]
