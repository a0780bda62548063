"""The whole conversation as one sound file: who said what when, mixed on one timeline."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.devices.protocols import RATE_HZ, Samples
from assistant.devices.resampling import to_int16
from assistant.devices.sound_file import write_sound

FULL_SCALE = 32_767


@dataclass(frozen=True, eq=False)
class Part:
    """A piece of the conversation; `start_s` on the conversation's clock."""

    start_s: float
    samples: Samples
    who: str


class ConversationTrack:
    """Collects what the assistant and the technician say. Parts may overlap and come in any order.

    The file begins at the first part (or at `from_s` where given); nothing is made louder, and the whole is made
    softer only where voices together would overload it.
    """

    def __init__(self, from_s: float | None = None) -> None:
        self._from_s = from_s
        self._parts: list[Part] = []

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts as they were added."""
        return tuple(self._parts)

    def add(self, start_s: float, samples: Samples, who: str) -> None:
        """One more part."""
        self._parts.append(Part(start_s, samples, who))

    def mixed(self) -> Samples:
        """The conversation as samples of 16 kHz, none where nothing was added."""
        if not self._parts:
            return np.zeros(0, np.int16)
        from_s = min(part.start_s for part in self._parts) if self._from_s is None else self._from_s
        placed = [(round((part.start_s - from_s) * RATE_HZ), part.samples) for part in self._parts]
        mix = np.zeros(max(0, *(start + len(samples) for start, samples in placed)), np.float32)
        for start, samples in placed:
            before = max(0, -start)  # begun before the file does
            mix[start + before : start + len(samples)] += samples[before:]
        loudest = float(np.abs(mix).max(initial=0.0))
        return to_int16(mix * min(1.0, FULL_SCALE / max(loudest, 1.0)))

    def write(self, path: Path) -> float:
        """Write it as WAV or FLAC, after the suffix; gives its seconds. CallProblem where that cannot be done."""
        mix = self.mixed()
        write_sound(path, mix)
        return len(mix) / RATE_HZ
