"""Where speech begins and ends in a stream of sound: blocks in; `SpeechStarted`, `SpeechPiece`, `SpeechPaused`, `SpeechEnded`.

Pure of threads and clocks. A detector gives each 32 ms chunk a probability of speech; this machine makes utterances
of them:

    quiet --p >= start--> perhaps --minimum speech reached--> speech --quiet for end_after--> quiet, SpeechEnded
                           | p < keep for minimum_speech                | longest reached --> SpeechEnded(cut)
                           v                                            | lost sound, end of sound --> SpeechEnded
                          quiet

The two probabilities (begin at 0.5, go on down to 0.35) are those of Silero's own `get_speech_timestamps` (its
threshold, and its threshold less 0.15). What SpeechStarted and the SpeechPieces of one utterance carry is, put
together, exactly the samples of its SpeechEnded, so that a streaming ear hears what the others hear: quiet beyond the
margin that is kept after speech is held back until speech goes on. When that margin is reached the utterance is, unless
speech does go on, already what it will be at its end: SpeechPaused tells so, and ears can set to work while the quiet lasts.

Events come one by one, each before the next sound is looked at. So one who knows at a SpeechPaused that nothing more can
follow ends the utterance there (`end_here`); a first one comes sooner, for him alone (`early`).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples, Utterance

CHUNK_SAMPLES = 512
_CHUNK_S = CHUNK_SAMPLES / RATE_HZ


@dataclass(frozen=True)
class Endpointing:
    """When speech begins and ends. Seconds count in steps of 0.032; probabilities 0 to 1.

    `early_after_s`: quiet after which an utterance that nothing can follow may be ended. By then the streaming ear, which looks
    250 ms ahead, has mostly told its last word (of 126 commands 107); what that brings: `is_whole` in `bench/hearing.py`.
    """

    start_probability: float = 0.5
    keep_probability: float = 0.35
    minimum_speech_s: float = 0.128
    end_after_s: float = 0.6
    early_after_s: float = 0.22
    margin_before_s: float = 0.3
    margin_after_s: float = 0.3
    longest_s: float = 12.0


@dataclass(frozen=True, eq=False)
class SpeechStarted:
    """Someone speaks. `samples` are the margin of quiet and the first of the speech, from `began_s` on."""

    samples: Samples
    began_s: float


@dataclass(frozen=True, eq=False)
class SpeechPiece:
    """More of it, from `at_s` on."""

    samples: Samples
    at_s: float


@dataclass(frozen=True, eq=False)
class SpeechPaused:
    """Quiet for as long as the margin after speech: unless speech goes on, `utterance` is what SpeechEnded will bring.

    `early`: quiet for `early_after_s` only: `utterance` is what it is if it is ended here.
    """

    utterance: Utterance
    early: bool = False


@dataclass(frozen=True, eq=False)
class SpeechEnded:
    """It is over. `speech_began_s` and `speech_ended_s` are without the margins; `known_s` is when the end was known.

    `cut`: it was as long as an utterance may be, and may go on in the next. `lost`: sound is missing after its end.
    """

    utterance: Utterance
    speech_began_s: float
    speech_ended_s: float
    known_s: float
    cut: bool = False
    lost: bool = False


SpeechEvent = SpeechStarted | SpeechPiece | SpeechPaused | SpeechEnded


class SpeechDetector(Protocol):
    """Gives chunks of 512 samples, in order, a probability of speech."""

    def __call__(self, chunk: Samples) -> float:
        """The probability, 0 to 1."""

    def reset(self) -> None:
        """What comes next does not follow on what came before."""


@dataclass(frozen=True, eq=False)
class _Chunk:
    samples: Samples
    at_s: float

    @property
    def ended_s(self) -> float:
        return self.at_s + len(self.samples) / RATE_HZ


class Endpointer:
    """Feed it blocks in order; it keeps what it needs of them. For one thread."""

    def __init__(self, detector: SpeechDetector, limits: Endpointing | None = None) -> None:
        self._detector, self._limits = detector, limits or Endpointing()
        self._before: deque[_Chunk] = deque(maxlen=_chunks(self._limits.margin_before_s))
        self._perhaps: list[_Chunk] = []  # from the first likely chunk on
        self._speech: list[_Chunk] = []  # given out: margin, speech, and the margin after what may be its end
        self._held: list[_Chunk] = []  # quiet beyond that margin
        self._voiced = 0
        self._quiet = 0
        self._speech_began_s = 0.0
        self._speech_ended_s = 0.0
        self._part = np.zeros(0, np.int16)  # less than a chunk, from _part_at_s on
        self._part_at_s = 0.0

    @property
    def speaking(self) -> bool:
        """Whether someone speaks now, as far as is known."""
        return bool(self._speech)

    def feed(self, block: AudioBlock) -> Iterator[SpeechEvent]:
        """What this block brings about, as far as it is asked for: take all of it before the next block."""
        if block.lost:
            yield from self._break_off(lost=True)
        for chunk in self._chunked(block):
            yield from self._speaking(chunk) if self._speech else self._listening(chunk)

    def end_here(self) -> SpeechEnded:
        """End the utterance at the SpeechPaused that was just given; its last quiet is also what comes before the next."""
        quiet = self._speech[-self._quiet :]
        ended = self._end(quiet[-1].ended_s)
        self._before.extend(quiet)
        return ended

    def finish(self) -> tuple[SpeechEvent, ...]:
        """No more sound comes: an utterance that is open ends. A new stream may follow."""
        return tuple(self._break_off(lost=False))

    def _chunked(self, block: AudioBlock) -> list[_Chunk]:
        """Whole chunks; each has the time of its first sample as the block that brought it had it."""
        if not len(self._part):
            self._part_at_s = block.at_s
        held = len(self._part)
        whole = np.concatenate((self._part, block.samples))
        used = len(whole) // CHUNK_SAMPLES * CHUNK_SAMPLES
        starts = range(0, used, CHUNK_SAMPLES)
        chunks = [_Chunk(whole[at : at + CHUNK_SAMPLES], self._time(block, at, held)) for at in starts]
        self._part_at_s = self._time(block, used, held)
        self._part = whole[used:]
        return chunks

    def _time(self, block: AudioBlock, index: int, held: int) -> float:
        return self._part_at_s if index == 0 and held else block.at_s + (index - held) / RATE_HZ

    def _listening(self, chunk: _Chunk) -> list[SpeechEvent]:
        likely = self._detector(chunk.samples)
        if not self._perhaps and likely < self._limits.start_probability:
            self._before.append(chunk)
            return []
        self._perhaps.append(chunk)
        if likely >= self._limits.keep_probability:
            self._voiced, self._quiet = self._voiced + 1, 0
        else:
            self._quiet += 1
        minimum = _chunks(self._limits.minimum_speech_s)
        if self._voiced >= minimum:
            return [self._begin()]
        if self._quiet >= minimum:
            self._forget_perhaps()
        return []

    def _begin(self) -> SpeechEvent:
        self._speech = [*self._before, *self._perhaps]
        self._speech_began_s, self._speech_ended_s = self._perhaps[0].at_s, self._perhaps[-1].ended_s
        self._before.clear()
        self._perhaps, self._quiet = [], 0
        return SpeechStarted(_joined(self._speech), self._speech[0].at_s)

    def _forget_perhaps(self) -> None:
        self._before.extend(self._perhaps)
        self._perhaps, self._voiced, self._quiet = [], 0, 0

    def _speaking(self, chunk: _Chunk) -> Iterator[SpeechEvent]:
        if self._detector(chunk.samples) >= self._limits.keep_probability:
            self._quiet, self._speech_ended_s = 0, chunk.ended_s
        else:
            self._quiet += 1
        self._held.append(chunk)
        if self._quiet <= _chunks(self._limits.margin_after_s):
            yield SpeechPiece(_joined(self._held), self._held[0].at_s)
            self._speech += self._held
            self._held = []
        yield from self._paused()
        if not self._speech:
            return  # ended there
        if self._quiet >= _chunks(self._limits.end_after_s):
            yield self._end(chunk.ended_s)
        elif len(self._speech) >= _chunks(self._limits.longest_s):
            yield self._end(chunk.ended_s, cut=True)

    def _paused(self) -> Iterator[SpeechPaused]:
        margin = _chunks(self._limits.margin_after_s)
        if self._quiet == min(_chunks(self._limits.early_after_s), margin):
            yield SpeechPaused(self._utterance(), early=True)
        if self._speech and self._quiet == margin:
            yield SpeechPaused(self._utterance())

    def _end(self, known_s: float, *, cut: bool = False, lost: bool = False) -> SpeechEnded:
        utterance = self._utterance()
        self._before.extend(self._held)
        self._speech, self._held, self._voiced, self._quiet = [], [], 0, 0
        return SpeechEnded(utterance, self._speech_began_s, self._speech_ended_s, known_s, cut, lost)

    def _utterance(self) -> Utterance:
        return Utterance(_joined(self._speech), self._speech[0].at_s, self._speech[-1].ended_s)

    def _break_off(self, *, lost: bool) -> list[SpeechEvent]:
        """The stream ends here; what was heard is no margin for what follows."""
        part = _Chunk(self._part, self._part_at_s)
        self._part = self._part[:0]
        events: list[SpeechEvent] = []
        if self._speech:
            if len(part.samples) and not self._held:
                self._speech.append(part)
                events.append(SpeechPiece(part.samples, part.at_s))
            events.append(self._end(part.ended_s, lost=lost))
        self._forget_perhaps()
        self._before.clear()
        self._detector.reset()
        return events


def _chunks(seconds: float) -> int:
    """The number of chunks that last at least so long."""
    return int(-(-seconds // _CHUNK_S))


def _joined(chunks: list[_Chunk]) -> Samples:
    return np.concatenate([chunk.samples for chunk in chunks])
