"""What the engine wants done. The loop does it; the engine never does."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.core.entries import Entry
from assistant.core.speech.expectation import Expectation


@dataclass(frozen=True)
class Record:
    """Commit this entry to disk, then feed back Recorded. `clip` names the sound that belongs to it."""

    entry: Entry
    clip: str = ""
    picture: str = ""


@dataclass(frozen=True)
class Say:
    """Speak. `number` counts up; `about` says what kind of speech it is; `step` which step it belongs to."""

    number: int
    text: str
    about: str
    step: str


@dataclass(frozen=True)
class Hush:
    """Stop speaking now and drop what waits to be said."""


@dataclass(frozen=True)
class Listen:
    """From now on this may be said."""

    expectation: Expectation


@dataclass(frozen=True)
class Scan:
    """Look at the camera for so long, at most: for a label, or to take a photograph."""

    seconds: float
    photograph: bool = False


@dataclass(frozen=True)
class Wake:
    """Send Tick at this time of the loop's clock."""

    at_s: float


@dataclass(frozen=True)
class Finish:
    """The job is over (or nobody answers): close up. `why` is for the person who started the program."""

    why: str


Effect = Record | Say | Hush | Listen | Scan | Wake | Finish
