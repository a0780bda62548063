"""One step's ears on their own: what recordings, or typed words, would mean there. Nothing is kept."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np

from assistant.bench.hearing import Hearing
from assistant.core.engine import hear
from assistant.core.entries import JobOpened, Kept, StepOpened
from assistant.core.events import Heard
from assistant.core.expected import expectation_of
from assistant.core.job import fold
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import State, Talk
from assistant.devices.protocols import RATE_HZ, AudioBlock
from assistant.devices.sound_file import BLOCK_SAMPLES, read_sound
from assistant.files.work import Work, no_such_step, state_of

Json = dict[str, object]
QUIET_AFTER_S = 1.0


def state_at(work: Work, step: str, today: date) -> State:
    """The engine's state when that step is open and nothing of it is kept. CallProblem for an unknown step."""
    if step not in {s.id for s in work.procedure.steps}:
        raise no_such_step(work.procedure.file, step, work.procedure)
    opened = JobOpened(work.procedure.name, "", "", "", "", (), "", "")
    kept = (Kept(1, "", opened), Kept(2, "", StepOpened(step)))
    plain = state_of(work, today)
    return State(plain.procedure, plain.parts, plain.site, today, fold(kept), Talk(phase="step"))


def parse_words(work: Work, step: str, words: str, today: date) -> Json:
    """What the sentence would mean at that step."""
    return hear(state_at(work, step, today), Heard(0.0, "", (take_of_words(words),))).json()


def hear_files(work: Work, step: str, paths: list[Path], hearing: Hearing, today: date) -> Iterator[Json]:
    """What each recording would mean at that step: one object an utterance that the endpointer finds in it."""
    state = state_at(work, step, today)
    hearing.expect(expectation_of(state))
    for path in paths:
        found = False
        for event in heard_in(path, hearing):
            found = True
            yield {"sound": str(path), **hear(state, event).json()}
        if not found:
            yield {"sound": str(path), **hear(state, Heard(0.0, "", ())).json()}


def heard_in(path: Path, hearing: Hearing) -> Iterator[Heard]:
    """Every utterance of one sound file."""
    sound = np.concatenate((read_sound(path), np.zeros(round(QUIET_AFTER_S * RATE_HZ), np.int16)))
    for start in range(0, len(sound), BLOCK_SAMPLES):
        block = AudioBlock(sound[start : start + BLOCK_SAMPLES], start / RATE_HZ)
        yield from (event for event in hearing.feed(block) if isinstance(event, Heard))
    yield from (event for event in hearing.finish() if isinstance(event, Heard))
