"""Sets of recordings, and the sound they are heard in: clean, or mixed with shop noise at a ratio.

Noise follows from the recording's name and the kind of noise, so the same blow falls on the same word at every ratio, on
every machine.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.devices.protocols import Samples
from assistant.devices.sound_file import read_sound
from assistant.measure.recordings import Recording, read_manifest
from assistant.measure.shop_noise import NOISES, mix
from assistant.measure.speech_moments import Moment


@dataclass(frozen=True)
class Condition:
    """Clean (`noise` ""), or a noise of `shop_noise` at a ratio in dB of speech to noise."""

    noise: str = ""
    snr_db: float = 0.0

    def __str__(self) -> str:
        return f"{self.noise} {self.level}" if self.noise else self.level

    @property
    def level(self) -> str:
        """How loud, whatever the noise."""
        return f"{self.snr_db:g} dB" if self.noise else "clean"


CLEAN = Condition()
SHOP_NOISES = ("engine", "pink", "impacts")
RATIOS_DB = (20.0, 10.0, 5.0, 0.0)


@dataclass(frozen=True)
class SpeechSet:
    """Recordings heard at one moment. `talk`: nothing in them is meant for the program, all of it must be refused."""

    name: str
    moment: Moment
    recordings: tuple[Recording, ...]
    talk: bool = False

    def first(self, most: int) -> SpeechSet:
        """Only so many of its recordings, evenly spread over it so that every speaker has a chance; 0 for all."""
        of = len(self.recordings)
        if most < 1 or most >= of:
            return self
        return replace(self, recordings=tuple(self.recordings[n * of // most] for n in range(most)))


def conditions(noise: str, snr: str, *, otherwise: bool) -> tuple[Condition, ...]:
    """Clean and every noise at every ratio; where neither is named, all of them if `otherwise`, else clean alone.

    CallProblem for a noise that there is not, or a ratio that is no number.
    """
    if not noise and not snr and not otherwise:
        return (CLEAN,)
    noises = _parts(noise) or SHOP_NOISES
    for name in noises:
        if name not in NOISES:
            raise CallProblem(f"there is no noise {name!r}", where="--noise", do=f"the noises are {', '.join(NOISES)}")
    ratios = tuple(map(_ratio_db, _parts(snr))) or RATIOS_DB
    return (CLEAN, *(Condition(n, r) for r, n in product(ratios, noises)))


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.replace(",", " ").split() if part)


def _ratio_db(text: str) -> float:
    try:
        return float(text)
    except ValueError as fault:
        raise CallProblem(f"{text!r} is no ratio in dB", where="--snr", do="give numbers: --snr 20,10,5,0") from fault


def sets_of_folder(folder: Path, moment: Moment) -> tuple[SpeechSet, ...]:
    """The folder's recordings that mean something at this moment, and the rest as talk; either may be empty."""
    recordings = read_manifest(folder)
    name = folder.resolve().name
    meant = tuple(r for r in recordings if _means_something(r, moment))
    rest = _talk(recordings, moment)
    return SpeechSet(name, moment, meant), SpeechSet(f"{name}, talk", moment, rest, talk=True)


def talk_of_folder(folder: Path, moment: Moment) -> SpeechSet:
    """Every recording of the folder as talk, but for those whose words mean something at this moment."""
    return talk_of(folder.resolve().name, read_manifest(folder), moment)


def talk_of(name: str, recordings: tuple[Recording, ...], moment: Moment) -> SpeechSet:
    """These recordings as talk, but for those whose words mean something at this moment."""
    return SpeechSet(f"{name}, talk", moment, _talk(recordings, moment), talk=True)


def _talk(recordings: tuple[Recording, ...], moment: Moment) -> tuple[Recording, ...]:
    return tuple(r for r in recordings if not _means_something(r, moment))


def _means_something(recording: Recording, moment: Moment) -> bool:
    return recording.words_known and bool(moment.meanings(recording.words))


def sound_in(recording: Recording, condition: Condition) -> Samples:
    """The recording as it is heard in that noise."""
    samples = read_sound(recording.path)
    if not condition.noise:
        return samples
    name = f"{recording.path.parent.name}/{recording.path.name} {condition.noise}"
    seed = int.from_bytes(hashlib.sha256(name.encode()).digest()[:4])
    return mix(samples, condition.noise, condition.snr_db, seed)
