"""Invariants of the data, checked by reading: what must hold whatever happened before.

``findings`` looks at everything, one moment of the database, and changes nothing.
"""

from .finding import CannotVerify, Finding, Looked
from .run import findings

__all__ = ["CannotVerify", "Finding", "Looked", "findings"]
