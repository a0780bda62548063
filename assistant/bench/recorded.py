"""Recorded ears: the same loop, the same endpointing and ears, on sound files and a clock that jumps.

There are no threads here. When nothing is waiting, the inbox lets the assistant finish speaking, then lets a count run,
then asks the technician for his next recording, and hears it. `Technician` is whoever chooses that recording: a plain list of
files, or the demo's technician, who listens to what the assistant says first.
"""

from __future__ import annotations

from collections import deque
from pathlib import Path
from typing import Protocol

import numpy as np

from assistant.bench.clock import JumpingClock
from assistant.bench.hearing import Hearing
from assistant.core.effects import Effect, Say
from assistant.core.events import EarsClosed, Event, Heard, Tick
from assistant.core.state import State
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.sound_file import BLOCK_SAMPLES, read_sound
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.renderer import RenderedSpeaker

THINKS_FOR_S = 0.4
"""Between the assistant's last word and the technician's first."""
QUIET_AFTER_S = 1.0
"""Silence after each recording, so that the endpointer finds its end."""


class Technician(Protocol):
    """Who speaks. Called when the assistant is quiet and listening."""

    def reply(self, said: tuple[Say, ...]) -> Samples | None:
        """The next recording, having heard what was `said` since the last; None: nothing more to say."""


class PlainTechnician:
    """Says the files of a list in order, whatever the assistant says."""

    def __init__(self, paths: list[Path]) -> None:
        self._sounds = deque(read_sound(path) for path in paths)

    def reply(self, said: tuple[Say, ...]) -> Samples | None:  # noqa: ARG002 - the protocol's
        """The next file."""
        return self._sounds.popleft() if self._sounds else None


class RecordedInbox:
    """Events of a conversation on recordings. Also a Watcher: it must know what the assistant said."""

    def __init__(
        self,
        technician: Technician,
        hearing: Hearing,
        clock: JumpingClock,
        track: ConversationTrack,
        speaker: RenderedSpeaker | None = None,
    ) -> None:
        self._technician = technician
        self._hearing = hearing
        self._clock = clock
        self._track = track
        self._speaker = speaker
        self._waiting: deque[Event] = deque()
        self._said: list[Say] = []
        self._unheard: Samples = np.zeros(0, np.int16)

    def event(self, state: State, event: Event) -> None:
        """Nothing to see for it."""

    def effect(self, state: State, effect: Effect) -> None:  # noqa: ARG002 - the protocol's
        """Remember what the assistant says."""
        if isinstance(effect, Say):
            self._said.append(effect)

    def put(self, event: Event) -> None:
        """An event that is there already."""
        self._waiting.append(event)

    def next_event(self, wake_at_s: float | None) -> Event:
        """The next event; time jumps to it."""
        while not self._waiting:
            speech_ends_s = self._speaker.next_end_s if self._speaker else None
            if wake_at_s is not None and (speech_ends_s is None or wake_at_s <= speech_ends_s):
                self._jump_to(wake_at_s)
                self._waiting.append(Tick(wake_at_s))
            elif speech_ends_s is not None:
                self._jump_to(speech_ends_s)
            else:
                self._let_the_technician_speak()
        return self._waiting.popleft()

    def _next_recording(self) -> bool:
        """The technician's next one, with quiet after it; False when he has no more to say."""
        said, self._said = tuple(self._said), []
        sound = self._technician.reply(said)
        if sound is None:
            return False
        self._jump_to(self._clock.now_s() + THINKS_FOR_S)
        self._track.add(self._clock.now_s(), sound, "technician")
        self._unheard = np.concatenate((sound, np.zeros(round(QUIET_AFTER_S * RATE_HZ), np.int16)))
        return True

    def _jump_to(self, at_s: float) -> None:
        self._clock.jump_to(at_s)
        if self._speaker:
            self._speaker.run_to(at_s)

    def _let_the_technician_speak(self) -> None:
        if not len(self._unheard) and not self._next_recording():
            self._waiting.append(EarsClosed(self._clock.now_s()))
            return
        while len(self._unheard):
            samples, self._unheard = self._unheard[:BLOCK_SAMPLES], self._unheard[BLOCK_SAMPLES:]
            heard = self._hearing.feed(AudioBlock(samples, self._clock.now_s()))
            self._jump_to(self._clock.now_s() + len(samples) / RATE_HZ)
            self._waiting.extend(heard)
            if any(isinstance(event, Heard) for event in heard):
                break
        else:
            self._waiting.extend(self._hearing.finish())
