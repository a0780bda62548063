"""What happens to the engine. Every event is a frozen dataclass; `at_s` is seconds on the loop's own clock."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.core.entries import Kept


@dataclass(frozen=True)
class Candidate:
    """One string of words an ear thinks possible.

    `logp` is its natural-log probability given the sound, comparable within one take only; `share` (0 to 1) is the part of
    the take's whole probability that it has.
    """

    words: tuple[str, ...]
    logp: float
    share: float


@dataclass(frozen=True)
class Take:
    """What one ear makes of one utterance, best first.

    `fits` is how well the best candidate fits the sound at all, as log-probability a word (near 0: well; None: the ear
    cannot tell). `loose_gap` is the best candidate's logp less that of the best string of a loose loop of words, at most 0
    (None: not looked at): well below 0 means that something else was said. `unknown` says that the ear found words
    outside its grammar. `certain`: the words are known, not heard (typed), so nothing else can have been said. `audible` is how
    much of the speech stands above the noise, 0 to 1 (speech intelligibility index); 1 where there is no sound.
    """

    ear: str
    candidates: tuple[Candidate, ...]
    fits: float | None = None
    loose_gap: float | None = None
    unknown: bool = False
    certain: bool = False
    audible: float = 1.0


@dataclass(frozen=True)
class Started:
    """The loop runs: say where we are and ask the open step."""

    at_s: float


@dataclass(frozen=True)
class Heard:
    """An utterance and what each ear makes of it; `clip` names its sound; `dictated` are free words, "" if none."""

    at_s: float
    clip: str
    takes: tuple[Take, ...]
    dictated: str = ""


@dataclass(frozen=True)
class HeardEarly:
    """A streaming ear is already sure of a command that must act at once (`words`: its name) while more is being said."""

    at_s: float
    words: tuple[str, ...]


@dataclass(frozen=True)
class Label:
    """What a decoder read from a picture. `symbology` as ISO/IEC names it: EAN-13, CODE-128, DATA-MATRIX, QR ..."""

    symbology: str
    text: str


@dataclass(frozen=True)
class Scanned:
    """The eyes closed: the labels they read ("" trouble), or why they could not. Of a photograph: the picture alone, and what
    is wrong with it."""

    at_s: float
    labels: tuple[Label, ...]
    picture: str = ""
    trouble: str = ""


@dataclass(frozen=True)
class SpeechDone:
    """The assistant has finished saying `number` (or was told to stop)."""

    at_s: float
    number: int


@dataclass(frozen=True)
class Recorded:
    """The entry is on disk."""

    at_s: float
    kept: Kept


@dataclass(frozen=True)
class NotRecorded:
    """The entry did not reach the disk; nothing of it is kept. `why` and `do` are for the ear."""

    at_s: float
    why: str
    do: str


@dataclass(frozen=True)
class Tick:
    """The time asked for by Wake has come."""

    at_s: float


@dataclass(frozen=True)
class DeviceLost:
    """A device gave nothing for longer than it may."""

    at_s: float
    device: str
    why: str


@dataclass(frozen=True)
class DeviceBack:
    """A lost device works again."""

    at_s: float
    device: str


@dataclass(frozen=True)
class EarsClosed:
    """No more sound will come (recorded ears are at their end, or the program is told to end)."""

    at_s: float


Event = (
    Started
    | Heard
    | HeardEarly
    | Scanned
    | SpeechDone
    | Recorded
    | NotRecorded
    | Tick
    | DeviceLost
    | DeviceBack
    | EarsClosed
)
