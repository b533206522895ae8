"""Leaving something alone that did not answer, so that not everybody waits for it."""

from time import monotonic

SECONDS = 5.0


class Pause:
    """On for some seconds after a failure. Counted by a clock that nobody sets."""

    def __init__(self, seconds: float = SECONDS) -> None:
        self._seconds = seconds
        self._until = float("-inf")

    def begin(self) -> None:
        """It did not answer just now."""
        self._until = monotonic() + self._seconds

    def end(self) -> None:
        """Ask again at once."""
        self._until = float("-inf")

    @property
    def is_on(self) -> bool:
        """Whether it is left alone for now."""
        return monotonic() < self._until
