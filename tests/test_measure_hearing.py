"""How well people are heard: numbers of the AN4 speakers, and PocketSphinx's own test recordings as numbers and as talk."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.hearing import Ears
from assistant.bench.listening import state_at
from assistant.core.engine import hear
from assistant.core.events import Heard, Take
from assistant.core.expected import expectation_of
from assistant.core.speech.step_grammar import grammar_of
from assistant.core.state import State
from assistant.devices.protocols import RATE_HZ, Utterance
from assistant.devices.sound_file import read_sound
from assistant.files.model_store import models_root
from assistant.measure.recordings import Recording, read_manifest
from assistant.measure.speech_moments import AnyNumbers, ordinary
from assistant.measure.speech_scores import scores
from assistant.measure.speech_sets import CLEAN, SpeechSet
from assistant.measure.speech_table import report
from assistant.measure.speech_trials import TOGETHER, Trial, trials
from assistant.settings import Settings
from tests.conversation import SHORT

pytestmark = pytest.mark.speech

ROOT = Path(__file__).resolve().parents[1]
AN4 = ROOT.parent / "shared" / "speech" / "an4"
SOUNDS = ROOT / "tests" / "sounds"
EVERY = 6
"""One in so many of AN4's 248 number utterances is heard: 42, of most of its 74 speakers."""


@cache
def ears() -> Ears:
    return load_ears(chosen_ears(Settings(), models_root()))


def heard(recordings: tuple[Recording, ...]) -> list[Trial]:
    return list(trials(SpeechSet("numbers", AnyNumbers(), recordings), CLEAN, ears()))


@pytest.mark.skipif(not AN4.is_dir(), reason="the AN4 recordings do not lie beside the project (../shared/speech/an4)")
def test_numbers_of_people_are_heard_whole(tell: Callable[[str], None]) -> None:
    """At least 40 spoken numbers: Whisper, who knew none of these speakers, hears 85 % whole; where both agree it is right.

    The bench model of Vosk was trained on most of these speakers: its own share says only that it works.
    """
    numbers = tuple(r for r in read_manifest(AN4) if AnyNumbers().meanings(r.words))
    found = heard(numbers[::EVERY])
    for text in report(found):
        tell(text)
    by_ear = {score.ear: score for score in scores("numbers", found)}
    assert len(found) >= 40
    assert by_ear["vosk"].whole >= 0.9 * len(found)
    if ears().weighing is None:
        tell("Whisper is not fetched: Vosk alone, on speakers it was trained on")
        return
    assert by_ear["whisper"].whole >= 0.85 * len(found)
    agreed = [t for t in found if len({ordinary(o.heard) for o in t.outcomes}) == 1]
    assert len(agreed) >= 0.8 * len(found)
    assert sum(not t.outcomes[0].right for t in agreed) <= 1
    assert by_ear[TOGETHER].kept_wrong <= 1


@pytest.mark.parametrize(
    ("file", "words"), [("numbers", "thirty three four six ninety two"), ("cards-004", "five five")]
)
def test_numbers_of_others_are_heard(file: str, words: str) -> None:
    """Every ear hears them whole; none of them knew this speaker."""
    [trial] = heard((Recording(SOUNDS / f"{file}.flac", words),))
    assert {ordinary(o.heard) for o in trial.outcomes} == {ordinary(words)}


TALK = ["cards-001", "cards-002", "cards-003", "cards-005", "go-forward", "something", "reading-0880", "reading-0930"]


def takes_at(step: str, file: str) -> tuple[State, tuple[Take, ...]]:
    """What the ears make of a recording at a step of the short job."""
    state = state_at(SHORT, step, date(2026, 11, 25))
    samples = read_sound(SOUNDS / f"{file}.flac")
    utterance = Utterance(samples, 0.0, len(samples) / RATE_HZ)
    takes = []
    for ear in filter(None, (ears().streaming, ears().weighing)):
        ear.listen_for(grammar_of(expectation_of(state)))
        takes.append(ear.hear(utterance))
    return state, ears().compared(tuple(takes))


@pytest.mark.parametrize("step", ["tools_out", "start"])
@pytest.mark.parametrize("file", TALK)
def test_talk_is_refused_even_with_numbers_in_it(step: str, file: str) -> None:
    """*Ten of clubs* is no count of tools, and no lone command is heard in a novel: by both ears together and by Vosk alone,
    as the program runs; of Whisper by itself it is at most asked about."""
    state, takes = takes_at(step, file)
    for some in (takes, takes[:1]):
        assert hear(state, Heard(0.0, "", some)).decision.kind == "unclear", some
    for one in takes[1:]:
        decision = hear(state, Heard(0.0, "", (one,))).decision
        assert decision.kind == "unclear" or decision.ask != "none", one


def test_a_number_of_a_person_is_a_reading() -> None:
    """*Five five* at a count: kept, or asked about, and never as another number."""
    state, takes = takes_at("tools_out", "cards-004")
    decision = hear(state, Heard(0.0, "", takes)).decision
    assert decision.best.meaning.readings[0].value == 55
