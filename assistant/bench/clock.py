"""Two clocks: the wall's, and one that jumps, for recorded ears (a whole job then takes as long as computing does)."""

from __future__ import annotations

import time
from typing import Protocol

from assistant.files.times import utc_now


class Clock(Protocol):
    """Seconds for the loop, and the time of day for the record."""

    def now_s(self) -> float:
        """Seconds on the loop's clock; only differences mean anything."""

    def utc(self) -> str:
        """The time of day, ISO 8601 with milliseconds."""


class WallClock:
    """Real time."""

    def now_s(self) -> float:
        """Monotonic seconds."""
        return time.monotonic()

    def utc(self) -> str:
        """Now."""
        return utc_now()


class JumpingClock:
    """Time that passes only when told to. The record still has the real time of day."""

    def __init__(self) -> None:
        self._now_s = 0.0

    def now_s(self) -> float:
        """Seconds told so far."""
        return self._now_s

    def jump_to(self, at_s: float) -> None:
        """It is now `at_s`, or later if it was later already."""
        self._now_s = max(self._now_s, at_s)

    def utc(self) -> str:
        """Now, really."""
        return utc_now()
