"""The time of day, as the job file writes it."""

from __future__ import annotations

from datetime import UTC, datetime


def utc_text(moment: datetime) -> str:
    """A moment as the job file writes it: 2026-10-14T09:12:03.250Z."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.") + f"{moment.microsecond // 1000:03d}Z"


def utc_now() -> str:
    """Now, by this machine's clock."""
    return utc_text(datetime.now(UTC))
