"""One recording through the ears: heard once by each, then judged as if each ear were alone, and with both together.

Time is from the end of speech to the meaning: a streaming ear has heard all sound by then and only finishes; the weighing ear
begins then, and the two answer one after the other, as at the bench. The quiet that the endpointer waits for comes on top.
"""

from __future__ import annotations

import time
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from typing import Literal

from assistant.bench.hearing import Ears
from assistant.core.events import Take
from assistant.core.speech.weighing import Ask, Decision
from assistant.devices.protocols import RATE_HZ, Recogniser, Samples, StreamingRecogniser, Utterance
from assistant.measure.recordings import Recording
from assistant.measure.speech_moments import Moment
from assistant.measure.speech_sets import Condition, SpeechSet, sound_in

TOGETHER = "together"
BLOCK_SAMPLES = RATE_HZ // 10


@dataclass(frozen=True)
class Outcome:
    """What one ear, or both, made of a recording.

    `heard` its best words; `taken` what was understood ("" refused); `right` the best meaning is what was said; `offered`
    what was said is among what a question offers; `share` what the best claims (None without any); `seconds` to the meaning.
    """

    ear: str
    heard: str
    kind: Literal["kept", "asked", "refused"]
    ask: Ask
    taken: Literal["reading", "command", ""]
    right: bool
    offered: bool
    share: float | None
    seconds: float


@dataclass(frozen=True)
class Trial:
    """One recording in one condition, and the outcome of each ear and of both; `meant` is what its words mean, empty for talk.

    `takes` is what each ear heard by itself, `compared` what the two say after each has heard of the other's.
    """

    of: SpeechSet
    condition: Condition
    recording: Recording
    meant: frozenset[Hashable]
    takes: tuple[Take, ...]
    compared: tuple[Take, ...]
    outcomes: tuple[Outcome, ...]


def trials(one: SpeechSet, condition: Condition, ears: Ears) -> Iterator[Trial]:
    """Hear the set, one recording after the other."""
    for recording in one.recordings:
        yield hear_one(ears, one, recording, condition)


def hear_one(ears: Ears, one: SpeechSet, recording: Recording, condition: Condition) -> Trial:
    """One recording, the whole file as one utterance."""
    sound = sound_in(recording, condition)
    meant = frozenset() if one.talk else one.moment.meanings(recording.words)
    both = [ears.streaming] if ears.weighing is None else [ears.streaming, ears.weighing]
    heard = [(ear.name, *_take(ear, one.moment, sound)) for ear in both]
    outcomes = [_outcome(name, one.moment, (take,), seconds, meant) for name, take, seconds in heard]
    takes = tuple(take for _, take, _ in heard)
    began_s = time.perf_counter()
    compared = ears.compared(takes)
    seconds = sum(s for _, _, s in heard) + time.perf_counter() - began_s
    if len(heard) > 1:
        outcomes.append(_outcome(TOGETHER, one.moment, compared, seconds, meant))
    return Trial(one, condition, recording, meant, takes, compared, tuple(outcomes))


def _take(ear: Recogniser, moment: Moment, sound: Samples) -> tuple[Take, float]:
    """What the ear makes of it, and the seconds from the last sample to that."""
    ear.listen_for(moment.grammar)
    if isinstance(ear, StreamingRecogniser):
        ear.begin()
        for at in range(0, len(sound), BLOCK_SAMPLES):
            ear.feed(sound[at : at + BLOCK_SAMPLES])
        began_s = time.perf_counter()
        return ear.finish(), time.perf_counter() - began_s
    began_s = time.perf_counter()
    return ear.hear(Utterance(sound, 0.0, len(sound) / RATE_HZ)), time.perf_counter() - began_s


def _outcome(ear: str, moment: Moment, takes: tuple[Take, ...], seconds: float, meant: frozenset[Hashable]) -> Outcome:
    began_s = time.perf_counter()
    decision = moment.decide(takes)
    seconds += time.perf_counter() - began_s
    options = [moment.meaning_of(option) for option in decision.options]
    kind: Literal["kept", "asked", "refused"] = "kept" if decision.ask == "none" else "asked"
    return Outcome(
        ear=ear,
        heard=_best_words(decision, takes),
        kind="refused" if decision.kind == "unclear" else kind,
        ask=decision.ask,
        taken=_taken(decision),
        right=bool(options) and options[0] in meant,
        offered=not meant.isdisjoint(options[:2] if decision.ask == "choose" else options[:1]),
        share=decision.options[0].share if decision.options else None,
        seconds=seconds,
    )


def _taken(decision: Decision) -> Literal["reading", "command", ""]:
    if decision.kind == "unclear":
        return ""
    return "command" if decision.best.meaning.command else "reading"


def _best_words(decision: Decision, takes: tuple[Take, ...]) -> str:
    """The words of the likeliest meaning, whatever was decided on it (a refused one was heard too); an ear's best where there
    is none."""
    if decision.options:
        return decision.options[0].words
    best = max((t.candidates[0] for t in takes if t.candidates), key=lambda c: c.share, default=None)
    return " ".join(best.words) if best else ""
