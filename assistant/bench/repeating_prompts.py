"""One prompt after another is said, and what the technician repeats is heard: by loudspeaker and microphone, or from
recordings.

Both give exactly what the endpointer takes for speech, with its margins, as the ears hear it at a job.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Protocol

import numpy as np

from assistant.core.problems import CallProblem
from assistant.devices.endpointing import Endpointer, Endpointing, SpeechEnded, SpeechEvent
from assistant.devices.microphone import SoundSource
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples, Speaker
from assistant.devices.silero import SileroDetector
from assistant.devices.sound_file import BLOCK_SAMPLES, read_sound
from assistant.settings import Settings

WAITS_S = 8.0
"""So long the technician may take to begin (common practice, no source)."""
LONGEST_S = 8.0
"""What goes on for longer is no repetition of a prompt but a noise; the longest has six words (common practice, no source)."""
QUIET_AFTER_S = 1.0


class Repeating(Protocol):
    """Says a prompt and hears it repeated."""

    can_ask_again: bool

    def hear(self, prompt: str, said: str, /) -> Samples | None:
        """Say `said` and hear the repetition of `prompt`; None where no speech came, or none that ended."""

    def skip(self) -> None:
        """The next prompt is left out."""


def endpointer_of(settings: Settings) -> Endpointer:
    """As at a job."""
    return Endpointer(SileroDetector(), replace(Endpointing(), end_after_s=settings.end_of_speech_s))


class Recorded:
    """Recordings in the prompts' order; a call too many is the caller's fault."""

    can_ask_again = False

    def __init__(self, paths: Sequence[Path], endpointer: Endpointer) -> None:
        self._sounds = deque((path, read_sound(path)) for path in paths)
        self._endpointer = endpointer

    def hear(self, _prompt: str, _said: str, /) -> Samples | None:
        """The next recording, from where the first speech in it begins to where the last ends."""
        _, sound = self._sounds.popleft()
        whole = np.concatenate((sound, np.zeros(round(QUIET_AFTER_S * RATE_HZ), np.int16)))
        events: list[SpeechEvent] = []
        for at in range(0, len(whole), BLOCK_SAMPLES):
            events += self._endpointer.feed(AudioBlock(whole[at : at + BLOCK_SAMPLES], at / RATE_HZ))
        events += self._endpointer.finish()
        pieces = [event.utterance for event in events if isinstance(event, SpeechEnded)]
        if not pieces:
            return None
        return whole[round(pieces[0].began_s * RATE_HZ) : round(pieces[-1].ended_s * RATE_HZ)]

    def skip(self) -> None:
        """Nor is its recording heard."""
        self._sounds.popleft()


class Live:
    """A loudspeaker and a microphone. What comes in while a prompt is being said is not heard."""

    can_ask_again = True

    def __init__(self, speaker: Speaker, source: SoundSource, endpointer: Endpointer) -> None:
        self._speaker, self._source, self._endpointer = speaker, source, endpointer
        self._count = 0

    def hear(self, _prompt: str, said: str, /) -> Samples | None:
        """Until the utterance ends, or for as long as a technician may take to begin."""
        if not self._say(said):
            return None
        lost, waited_s = True, 0.0
        while waited_s < WAITS_S or self._endpointer.speaking:
            block = self._source.read()
            if block is None:
                return None
            events = self._endpointer.feed(AudioBlock(block.samples, block.at_s, lost=lost or block.lost))
            lost = False
            waited_s += len(block.samples) / RATE_HZ
            for event in events:
                if isinstance(event, SpeechEnded):
                    heard = event.utterance.samples
                    return None if len(heard) > LONGEST_S * RATE_HZ else heard
        return None

    def skip(self) -> None:
        """Nothing was said of it."""

    def _say(self, text: str) -> bool:
        """Until it has been said; False where no more sound comes in."""
        said = threading.Event()
        self._count += 1
        self._speaker.say(self._count, text, lambda _: said.set())
        while not said.is_set():
            if self._source.read() is None:
                return False
        return True


def prompts_of(paths: Sequence[Path], prompts: Sequence[str]) -> tuple[str, ...]:
    """The prompts that so many recordings answer, from the first on. CallProblem where there are more, or other things."""
    if Path("mic") in paths:
        raise CallProblem("mic stands alone", where="--ears", do="give mic, or recordings, not both")
    if folders := [str(path) for path in paths if path.is_dir()]:
        raise CallProblem(
            f"{folders[0]} is a folder, and a folder stands alone", where="--ears", do="give one folder, or recordings"
        )
    if len(paths) > len(prompts):
        raise CallProblem(
            f"{len(paths)} recordings for {len(prompts)} prompts",
            where="--ears",
            do="give one for each prompt in order (`layup enrol --prompts` lists them), or a folder with a manifest.csv",
        )
    return tuple(prompts[: len(paths)])
