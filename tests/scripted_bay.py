"""A bay without hardware: a scripted ear, a scripted voice, loud blocks for speech, and the short job on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from assistant.bench.clock import JumpingClock, WallClock
from assistant.bench.hearing import Ears, Hearing
from assistant.bench.loop import Bench, Watcher
from assistant.bench.recorded import RecordedInbox
from assistant.bench.shelf import Shelf
from assistant.bench.starting import open_job
from assistant.core.effects import Effect, Say
from assistant.core.entries import Entry, Kept, ReadingKept
from assistant.core.events import Event, Label, Scanned, Take
from assistant.core.job import fold
from assistant.core.state import State
from assistant.devices.endpointing import Endpointer
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.sound_file import BLOCK_SAMPLES
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.scripted_speaker import ScriptedSpeaker
from assistant.files.job_file import JobFile
from tests.conversation import SHORT, take


class LoudIsSpeech:
    """A detector that is certain: a chunk whose first sample is over 1000 is speech."""

    def __call__(self, chunk: Samples) -> float:
        return float(chunk[0] > 1000)

    def reset(self) -> None:
        """It remembers nothing."""


def loud(seconds: float = 0.416) -> Samples:
    return np.full(round(seconds * RATE_HZ), 5000, np.int16)


def quiet(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE_HZ), np.int16)


def blocks(*sounds: Samples) -> list[AudioBlock]:
    """The sounds one after the other as a microphone gives them."""
    whole = np.concatenate(sounds)
    return [AudioBlock(whole[at : at + BLOCK_SAMPLES], at / RATE_HZ) for at in range(0, len(whole), BLOCK_SAMPLES)]


def sure(*lines: str) -> list[Take]:
    return [replace(take("scripted", (line, 1.0)), certain=True) for line in lines]


def hearing_of(heard: Iterable[Take]) -> Hearing:
    """Endpointing that is certain, and one scripted ear."""
    return Hearing(Ears(ScriptedEar(heard)), Endpointer(LoudIsSpeech()), Shelf(), JumpingClock().now_s)


class Speaks:
    """A technician who makes a sound so many times; what it is heard as is the ear's business."""

    def __init__(self, times: int) -> None:
        self._left = times

    def reply(self, said: tuple[Say, ...]) -> Samples | None:
        self._left -= 1
        return loud() if self._left >= 0 else None


class DiskAtEachSay:
    """A watcher: at each Say what is said, what about, and what the file on disk held then."""

    def __init__(self, job_file: JobFile) -> None:
        self._file = job_file
        self.seen: list[tuple[Say, tuple[Kept, ...]]] = []

    def event(self, state: State, event: Event) -> None:
        """Not looked at."""

    def effect(self, state: State, effect: Effect) -> None:
        if isinstance(effect, Say):
            self.seen.append((effect, self._file.entries()))


@dataclass
class Done:
    """What a scripted session left behind."""

    why: str
    entries: tuple[Kept, ...]
    clip_lengths: list[int]
    said: list[tuple[int, str]]
    watched: list[tuple[Say, tuple[Kept, ...]]]
    state: State
    kept: tuple[Entry, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.kept = tuple(k.entry for k in self.entries)

    def readings(self) -> list[tuple[str, str]]:
        """Place or name, and value, of every reading in the file, in order."""
        return [(x.at or x.name, x.value) for x in self.kept if isinstance(x, ReadingKept)]


def do_short_job(
    path: Path,
    heard: list[Take],
    label: Label | None = None,
    dictated: tuple[str, ...] = (),
    *,
    keeps_sound: bool = True,
) -> Done:
    """The short job in a real job file at `path`, until the takes are used up or it is finished; two ears hear them."""
    clock, shelf, speaker = JumpingClock(), Shelf(), ScriptedSpeaker()
    hearing = Hearing(
        Ears(ScriptedEar(heard), ScriptedEar(heard, dictated)), Endpointer(LoudIsSpeech()), shelf, clock.now_s
    )
    job_file, state = open_job(path, SHORT, WallClock(), "scripted", keeps_sound=keeps_sound)
    with job_file:
        inbox = RecordedInbox(Speaks(len(heard)), hearing, clock, ConversationTrack())
        disk = DiskAtEachSay(job_file)
        watchers: tuple[Watcher, ...] = (inbox, disk)
        bench = Bench(
            state,
            job_file,
            inbox,
            clock,
            shelf,
            speaker=speaker,
            expect=hearing.expect,
            scan=lambda _: inbox.put(Scanned(clock.now_s(), (label,) if label else ())),
            watchers=watchers,
        )
        why = bench.run()
        kept = job_file.entries()
        assert bench.state.job == fold(kept)
        lengths = [len(job_file.clip_samples(k.clip)) for k in kept if k.clip]
    return Done(why, kept, lengths, speaker.said, disk.seen, bench.state)
