"""The kept sounds of a job as they can be heard again: what might be said just then, and what was said, in words.

The moment is the fold of the entries before: the open step, what was kept, what was asked for. The talk itself is not kept, so
its phase is taken from the fold too; an answer to "which of two" or said digit by digit was heard in the question. A value
affirmed later was heard before the question, or in it when that was asked twice: only the commands differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from assistant.core.conditions import to_affirm
from assistant.core.entries import Kept, ReadingKept
from assistant.core.expected import expectation_of
from assistant.core.job import Job, apply
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.saying import ways_to_say
from assistant.core.speech.step_grammar import Meaning, SpokenReading, meanings_of
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import Phase, State, Talk
from assistant.core.truth import ClipTruth, Said, truth_of
from assistant.core.word_errors import word_edits
from assistant.files.work import Work, state_of
from assistant.measure.speech_moments import ordinary


@dataclass(frozen=True)
class KeptSound:
    """One utterance of a job: what is known of it, the state it was said in, and the words that count as said ("" none)."""

    truth: ClipTruth
    state: State
    words: str


def kept_sounds(work: Work, entries: Sequence[Kept]) -> Iterator[KeptSound]:
    """Every sound that led to a reading or was unclear, in order. `work` is what the job's first entry holds."""
    truths = {truth.sequences[0]: truth for truth in truth_of(entries)}
    job = Job()
    for kept in entries:
        if truth := truths.get(kept.sequence):
            state = _state_before(work, job, kept)
            yield KeptSound(truth, state, words_said(state, truth))
        job = apply(job, kept)


def means(meaning: Meaning, said: tuple[Said, ...]) -> bool:
    """Does the meaning give just these values, each at its place."""
    return len(meaning.readings) == len(said) and all(map(_same, meaning.readings, said))


def words_said(state: State, truth: ClipTruth) -> str:
    """The kept words where they mean what was said; else the nearest to them (fewest words changed) that do. Of two as near
    the one with "zero": whether "oh" was said is not known.

    "" where what was said is not known, or cannot be put in words.
    """
    if not truth.said or _can_mean(expectation_of(state), truth.words, truth.said):
        return truth.words
    heard = tuple(truth.words.split())
    forms = {form for one in truth.said for form in _ways(state, truth.step, one)}
    ends = range(len(heard) + 1)
    whole = {" ".join((*heard[:i], form, *heard[j:])) for form in forms for i in ends for j in ends[i:]}
    for words in sorted(whole, key=lambda w: (_changed(truth.words, w), "oh" in w.split(), w)):
        if _can_mean(expectation_of(state), words, truth.said):
            return words
    return min(forms, key=lambda w: (_changed(truth.words, w), w), default="")


def _state_before(work: Work, job: Job, kept: Kept) -> State:
    plain = state_of(work, date.fromisoformat(kept.at[:10]))
    state = replace(plain, job=job)
    asked = kept.entry.asked if isinstance(kept.entry, ReadingKept) else ""
    phase: Phase = "question" if asked in ("choose", "digits") else _phase(state)
    return replace(state, talk=Talk(phase=phase))


def _phase(state: State) -> Phase:
    """What stood before the step, if anything: a correction may be said there too."""
    step = state.step
    if step is None:
        return "finished"
    if to_affirm(step, state.job.conditions):
        return "condition"
    return "step" if state.job.cautions.issuperset(step.cautions) else "caution"


def _can_mean(expectation: Expectation, words: str, said: tuple[Said, ...]) -> bool:
    return any(means(meaning, said) for meaning in meanings_of(expectation, tuple(words.split())))


def _same(heard: SpokenReading, said: Said) -> bool:
    value = Decimal(said.value) if isinstance(heard.value, Decimal) else said.value
    return (heard.name, heard.place, heard.value) == (said.name, said.at, value)


def _ways(state: State, step: str, said: Said) -> frozenset[str]:
    """The ways to say a value of that step's reading."""
    reading = state.reading(step, said.name)
    match reading.kind:
        case "choice":
            return frozenset(phrase for c in reading.choices if c.name == said.value for phrase in c.words)
        case "letters":
            return frozenset({_as_heard(spelled_back(said.value))})
        case "date":
            return frozenset({_as_heard(date_aloud(said.value))})
        case _:
            return ways_to_say(Decimal(said.value))


def _as_heard(spoken: str) -> str:
    """As an ear writes it: small letters."""
    return " ".join(take_of_words(spoken).candidates[0].words)


def _changed(said: str, heard: str) -> int:
    return len(word_edits(ordinary(said), ordinary(heard)))
