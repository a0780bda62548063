"""Where the hardware meets the program: one small Protocol a device, each with a real part and a scripted double.

Sound is mono, 16 kHz, signed 16 bit (`RATE_HZ`), in numpy arrays of shape (samples,) and dtype int16.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

from assistant.core.events import Label, Take
from assistant.core.speech.automaton import Automaton

RATE_HZ = 16_000
Samples = npt.NDArray[np.int16]
Picture = npt.NDArray[np.uint8]
"""Height by width by 3 (blue, green, red) or height by width (grey), as OpenCV has it."""


@dataclass(frozen=True, eq=False)
class AudioBlock:
    """A piece of sound as it came. `at_s` is the time of its first sample; `lost` says that sound before it is missing."""

    samples: Samples
    at_s: float
    lost: bool = False


@dataclass(frozen=True, eq=False)
class Utterance:
    """One piece of speech with a little quiet before and after, exactly as every ear hears it."""

    samples: Samples
    began_s: float
    ended_s: float


@runtime_checkable
class Recogniser(Protocol):
    """An ear. It knows words and sound, nothing of readings. Called from one thread only."""

    name: str

    def listen_for(self, grammar: Automaton) -> None:
        """From now on only what the grammar allows is heard. Cheap when called again with the same grammar."""

    def hear(self, utterance: Utterance) -> Take:
        """What may have been said, best first; an empty take when nothing of the grammar fits."""

    def compare(self, strings: Collection[tuple[str, ...]], /) -> Take:
        """What was heard last once more, with these strings of the grammar among what may have been said."""


@runtime_checkable
class StreamingRecogniser(Recogniser, Protocol):
    """An ear that hears while the technician speaks."""

    def begin(self) -> None:
        """A new utterance starts."""

    def feed(self, samples: Samples) -> tuple[str, ...]:
        """More of it; the words so far."""

    def finish(self) -> Take:
        """It ended: what was said."""


@runtime_checkable
class Dictation(Protocol):
    """An ear that can also write down free words, roughly."""

    def dictate(self, utterance: Utterance) -> str:
        """Free words, "" if none."""


@runtime_checkable
class Speaker(Protocol):
    """The assistant's voice. `say` returns at once; `done` is called with `number` when it has been said or hushed."""

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        """Queue one text to be spoken."""

    def hush(self) -> None:
        """Stop now and drop what waits."""

    def close(self) -> None:
        """Let go of the device."""


@runtime_checkable
class Camera(Protocol):
    """The eyes: frames until None (closed, or at the end of the pictures)."""

    def frame(self) -> Picture | None:
        """The next picture."""

    def close(self) -> None:
        """Let go of the device."""


@runtime_checkable
class LabelReader(Protocol):
    """Finds and decodes bar codes in a picture."""

    def read(self, picture: Picture) -> tuple[Label, ...]:
        """Every label found, none if there is none."""
