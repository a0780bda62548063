"""Two clocks: the wall's, and one that jumps, for recorded ears (a whole job then takes as long as computing does)."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """Seconds for the loop, and the time of day for the record."""

    def now_s(self) -> float:
        """Seconds on the loop's clock; only differences mean anything."""

    def utc(self) -> str:
        """The time of day, ISO 8601 with milliseconds."""


def utc_text(moment: datetime) -> str:
    """A moment as the job file writes it: 2026-10-14T09:12:03.250Z."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 1000:03d}Z"


class WallClock:
    """Real time."""

    def now_s(self) -> float:
        """Monotonic seconds."""
        return time.monotonic()

    def utc(self) -> str:
        """Now."""
        return utc_text(datetime.now(UTC))


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
        return utc_text(datetime.now(UTC))
