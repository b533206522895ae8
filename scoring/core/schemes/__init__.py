"""Scoring schemes, one small file each. Importing the package registers them all."""

from . import amrap, for_time, intervals, into_amrap, load
from .base import Adjusted, Scheme, SchemeError, Work, register, scheme_for, schemes

__all__ = [
    "Adjusted",
    "Scheme",
    "SchemeError",
    "Work",
    "amrap",
    "for_time",
    "intervals",
    "into_amrap",
    "load",
    "register",
    "scheme_for",
    "schemes",
]
