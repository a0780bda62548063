"""A recorded technician at a live loop, in real time: silence while the assistant speaks, then his recording, block by block.

It stands where the microphone stands (`SoundSource`) and watches the loop (`Watcher`) to know when the assistant is quiet.
"""

from __future__ import annotations

import threading
import time
from collections import deque

import numpy as np

from assistant.bench.recorded import QUIET_AFTER_S, THINKS_FOR_S, Technician
from assistant.core.effects import Effect, Say, Wake
from assistant.core.events import Event, SpeechDone, Tick
from assistant.core.state import State
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.sound_file import BLOCK_SAMPLES

BLOCK_S = BLOCK_SAMPLES / RATE_HZ
WAITS_FOR_S = 2.0
"""When the assistant answers nothing, he says it again after so long."""


class TurnTaking:
    """`most` recordings, then the end of sound. `read` is the hearing thread's, `event` and `effect` the loop's."""

    def __init__(self, technician: Technician, most: int) -> None:
        self._technician = technician
        self._left = most
        self._lock = threading.Lock()
        self._said: list[Say] = []
        self._speaking = 0
        self._counting = False
        self._quiet_since_s = time.monotonic()
        self._blocks: deque[Samples] = deque()
        self._next_s = time.monotonic()

    def event(self, state: State, event: Event) -> None:  # noqa: ARG002 - the protocol's
        """The assistant finished a sentence, or a second of a count passed."""
        with self._lock:
            if isinstance(event, SpeechDone):
                self._speaking -= 1
                self._quiet_since_s = time.monotonic()
            elif isinstance(event, Tick):
                self._counting = False
                self._quiet_since_s = time.monotonic()

    def effect(self, state: State, effect: Effect) -> None:  # noqa: ARG002 - the protocol's
        """The assistant begins a sentence, or a count goes on."""
        with self._lock:
            if isinstance(effect, Say):
                self._speaking += 1
                self._said.append(effect)
            elif isinstance(effect, Wake):
                self._counting = True

    def read(self) -> AudioBlock | None:
        """The next 32 ms, when they are due."""
        if not self._blocks and self._his_turn() and not self._speak():
            return None
        self._next_s = max(self._next_s + BLOCK_S, time.monotonic() - 1.0)
        time.sleep(max(0.0, self._next_s - time.monotonic()))
        samples = self._blocks.popleft() if self._blocks else np.zeros(BLOCK_SAMPLES, np.int16)
        return AudioBlock(samples, self._next_s - BLOCK_S)

    def close(self) -> None:
        """Nothing is held."""

    def _his_turn(self) -> bool:
        with self._lock:
            patience_s = THINKS_FOR_S if self._said else WAITS_FOR_S
            quiet = not self._speaking and not self._counting
            return quiet and time.monotonic() - self._quiet_since_s > patience_s

    def _speak(self) -> bool:
        with self._lock:
            said, self._said = tuple(self._said), []
        sound = self._technician.reply(said) if self._left > 0 else None
        if sound is None:
            return False
        self._left -= 1
        self._quiet_since_s = time.monotonic() + len(sound) / RATE_HZ + QUIET_AFTER_S
        whole = np.concatenate((sound, np.zeros(round(QUIET_AFTER_S * RATE_HZ), np.int16)))
        self._blocks.extend(whole[at : at + BLOCK_SAMPLES] for at in range(0, len(whole), BLOCK_SAMPLES))
        return True
