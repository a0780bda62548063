"""The tone while the eyes look: short beeps that rise, so that one hears without a screen that the camera is on, and how long.

Soft and short: the headset's loudness counts as noise too. Where the loudspeaker can't be opened there is no tone; the
words "Looking." have said it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from assistant.core.events import Label
from assistant.core.problems import DeviceTrouble
from assistant.devices.portaudio import portaudio
from assistant.devices.protocols import RATE_HZ, Picture, Samples

LOWEST_HZ, HIGHEST_HZ = 440.0, 880.0
"""An octave, where a headset and a worn ear still do well (common practice, no source)."""
EVERY_S, BEEP_S, FADE_S = 0.6, 0.09, 0.02
LOUDNESS = 0.06
"""Of full scale: some 24 dB below the voice."""


def rising_tone(seconds: float) -> Samples:
    """The whole look's sound: a beep each `EVERY_S`, from the lowest pitch to the highest."""
    sound = np.zeros(round(seconds * RATE_HZ), np.float64)
    t = np.arange(round(BEEP_S * RATE_HZ)) / RATE_HZ
    fade = np.clip(np.minimum(t, BEEP_S - t) / FADE_S, 0, 1)
    for begin_s in np.arange(0, seconds - BEEP_S, EVERY_S):
        pitch_hz = LOWEST_HZ * (HIGHEST_HZ / LOWEST_HZ) ** (begin_s / seconds)
        at = round(begin_s * RATE_HZ)
        sound[at : at + t.size] = fade * np.sin(2 * np.pi * pitch_hz * t)
    return (sound * LOUDNESS * 32767).astype(np.int16)


class LookingTone:
    """An onlooker of `eyes.look` that begins with the first frame and ends with the look. One thread at a time."""

    def __init__(self, seconds: float) -> None:
        self._sound = rising_tone(seconds)
        self._at = 0
        self._stream: Any = None
        self._tried = False

    def show(self, picture: Picture, labels: tuple[Label, ...]) -> None:  # noqa: ARG002 (the onlooker's)
        """The first frame starts it."""
        if not self._tried:
            self._tried = True
            self._open()

    def _open(self) -> None:
        try:
            driver = portaudio()
        except DeviceTrouble:
            return
        try:
            self._stream = driver.OutputStream(RATE_HZ, channels=1, dtype="int16", callback=self._fill)
            self._stream.start()
        except (driver.PortAudioError, ValueError):  # no loudspeaker, or another program has it
            self.close()

    def _fill(self, out: Any, frames: int, _time: object, _status: object) -> None:
        """In PortAudio's thread: copy, and silence at the end."""
        piece = self._sound[self._at : self._at + frames]
        self._at += piece.size
        out[:] = 0
        out[: piece.size, 0] = piece

    def close(self) -> None:
        """Silence; may be called twice."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.abort()
            stream.close()
