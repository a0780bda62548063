"""Recorded sound: any WAV or FLAC file as 16 kHz samples, and such files as a technician's microphone."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np

from assistant.core.problems import CallProblem
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.resampling import Resampler, to_int16

BLOCK_SAMPLES = 512  # 32 ms, as the voice detector takes them


def read_sound(path: Path) -> Samples:
    """The file as mono 16 kHz, channels averaged; CallProblem for one that is missing, empty or no sound.

    A mono 16 kHz, 16 bit file comes back bit for bit.
    """
    import soundfile

    if not path.is_file():
        raise CallProblem("there is no such sound file", where=str(path), do="look at the name and the folder")
    try:
        frames, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, soundfile.LibsndfileError) as error:
        raise CallProblem("this is no sound file that can be read", where=str(path), do="give a WAV or FLAC") from error
    if not len(frames):
        raise CallProblem("the sound file is empty", where=str(path), do="record it again")
    mono = frames.mean(axis=1) * 32_768  # soundfile divides 16 bit samples by this
    if rate_hz == RATE_HZ:
        return to_int16(mono)
    stream = Resampler(rate_hz, RATE_HZ)
    return to_int16(np.concatenate((stream.feed(mono), stream.finish())))


def write_sound(path: Path, samples: Samples) -> None:
    """16 kHz samples as a 16 bit WAV or FLAC file, after the suffix; CallProblem where that cannot be done."""
    import soundfile

    if path.suffix.lower() not in (".wav", ".flac"):
        raise CallProblem("sound is written as .wav or .flac", where=str(path), do="give the file one of these endings")
    try:
        soundfile.write(path, samples, RATE_HZ, subtype="PCM_16")
    except (OSError, soundfile.LibsndfileError) as error:
        raise CallProblem(f"cannot be written: {error}", where=str(path), do="choose a folder that is there") from error


class SoundFileMicrophone:
    """`SoundSource` that plays sound files one after another, each followed by `quiet_s` of silence, then ends.

    Times count from `from_s` by samples. `paced`: a block comes no sooner than a microphone would give it, and
    `from_s` is then the wall clock's (`time.monotonic`) at the first read.
    """

    def __init__(
        self,
        paths: Sequence[Path],
        *,
        quiet_s: float = 0.8,
        from_s: float = 0.0,
        paced: bool = False,
        now_s: Callable[[], float] = time.monotonic,
        wait_s: Callable[[float], None] = time.sleep,
    ) -> None:
        self._sounds = [read_sound(path) for path in paths]  # a wrong file is known before the first is heard
        self._quiet = np.zeros(round(quiet_s * RATE_HZ), np.int16)
        self._from_s: float | None = None if paced else from_s
        self._paced, self._now_s, self._wait_s = paced, now_s, wait_s
        self._given = 0
        self._blocks = self._cut()

    def read(self) -> AudioBlock | None:
        """The next block, None after the last."""
        samples = next(self._blocks, None)
        if samples is None:
            return None
        if self._from_s is None:
            self._from_s = self._now_s()
        at_s = self._from_s + self._given / RATE_HZ
        self._given += len(samples)
        if self._paced:
            self._wait_s(max(0.0, self._from_s + self._given / RATE_HZ - self._now_s()))
        return AudioBlock(samples, at_s)

    def close(self) -> None:
        """No more blocks."""
        self._blocks = iter(())

    def _cut(self) -> Iterator[Samples]:
        for sound in self._sounds:
            whole = np.concatenate((sound, self._quiet))
            yield from (whole[at : at + BLOCK_SAMPLES] for at in range(0, len(whole), BLOCK_SAMPLES))
