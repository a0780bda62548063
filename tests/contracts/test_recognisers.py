"""What every ear promises: one class of tests, and each ear passes it."""

import time
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from assistant.core.events import Candidate, Take
from assistant.core.speech.asking import AUDIBLE
from assistant.core.speech.automaton import Automaton, either, maybe, repeat, seq, word
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.protocols import Dictation, Recogniser, Samples, StreamingRecogniser, Utterance
from assistant.devices.recognisers.choosing import choose_ears
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.recognisers.vosk_ear import VoskEar
from assistant.devices.recognisers.whisper_ear import WhisperEar
from assistant.devices.recognisers.whisper_manner import NUMBER_WORDS
from assistant.devices.sound_file import read_sound
from assistant.files.model_store import models_root
from assistant.measure.shop_noise import mix
from assistant.measure.speech_campaign import compression

DIGIT_WORDS = "zero one two three four five six seven eight nine oh"
DIGITS = either(*(word(w) for w in DIGIT_WORDS.split()))
NUMBERS = compile_grammar(repeat(DIGITS, 1, 5))
ANSWERS = compile_grammar(either(word("affirm"), word("negative"), seq(word("say"), word("again"))))
READING = compile_grammar(seq(maybe(seq(word("cylinder"), DIGITS)), DIGITS, DIGITS, word("millimeters")))
COUNTING = compile_grammar(repeat(either(*(word(w) for w in sorted(NUMBER_WORDS))), 1, 10))
NUMBERS_SAID = Path(__file__).parents[1] / "sounds" / "numbers.flac"

STRINGS = [
    ("one", "two", "millimeters"),
    ("cylinder", "one", "nine", "two", "millimeters"),
    ("one", "two"),
    ("no", "such"),
]
"""Two that the grammar of a reading allows, one that is too short for it, and one of words that it does not know."""


def spoken(samples: Samples) -> Utterance:
    return Utterance(samples, 0.0, len(samples) / 16_000)


def noises() -> list[Samples]:
    """Nothing at all, quiet, a hiss, a hum, a long hiss."""
    rng = np.random.default_rng(3)
    hum = 9000 * np.sin(np.arange(24_000) * 2 * np.pi * 180 / 16_000)
    hiss = rng.normal(0, 1500, 32_000)
    return [a.astype(np.int16) for a in (np.zeros(0), np.zeros(8000), hiss, hum, rng.normal(0, 900, 12 * 16_000))]


@cache
def vosk_ear() -> VoskEar:
    return VoskEar(choose_ears(models_root()).vosk)


@cache
def whisper_ear() -> WhisperEar:
    chosen = choose_ears(models_root())
    if chosen.whisper is None:
        pytest.skip("whisper-tiny-en is not fetched: `layup models get whisper-tiny-en`")
    return WhisperEar(chosen.whisper, chosen.lesson)


class RecogniserContract:
    """Subclasses give `ear`."""

    def ear(self) -> Recogniser:
        raise NotImplementedError

    @pytest.mark.parametrize("grammar", [NUMBERS, ANSWERS, READING], ids=["numbers", "answers", "reading"])
    def test_only_what_the_grammar_allows_is_ever_heard(self, grammar: Automaton) -> None:
        """Whatever the sound: candidates are legal, best first, with shares that make one whole."""
        ear = self.ear()
        ear.listen_for(grammar)
        for sound in noises():
            take = ear.hear(spoken(sound))
            assert all(grammar.accepts(c.words) for c in take.candidates)
            assert list(take.candidates) == sorted(take.candidates, key=lambda c: -c.logp)
            assert sum(c.share for c in take.candidates) == pytest.approx(1.0 if take.candidates else 0.0)
            assert len({c.words for c in take.candidates}) == len(take.candidates)
            assert take.loose_gap is None or take.loose_gap <= 0
            assert take.ear == ear.name

    def test_the_last_grammar_holds(self) -> None:
        """After another grammar nothing of the first is heard; the same again changes nothing."""
        ear = self.ear()
        for grammar in (NUMBERS, ANSWERS, ANSWERS):
            ear.listen_for(grammar)
        take = ear.hear(spoken(noises()[2]))
        assert all(ANSWERS.accepts(c.words) for c in take.candidates)

    def test_the_same_sound_is_heard_the_same_again(self) -> None:
        """To the last digit of each score, whatever was heard before, quiet and noise."""
        ear = self.ear()
        ear.listen_for(NUMBERS)
        first = [ear.hear(spoken(sound)) for sound in noises()]
        assert [ear.hear(spoken(sound)) for sound in reversed(noises())] == first[::-1]

    def test_a_grammar_of_nothing_hears_nothing(self) -> None:
        """Where nothing may be said nothing is heard."""
        ear = self.ear()
        ear.listen_for(Automaton({0: {}}, {}))
        assert ear.hear(spoken(noises()[2])).candidates == ()

    def test_it_tells_of_strings_that_another_heard(self) -> None:
        """What it heard stays, what the grammar allows of the other's may come to it, and shares make one whole again."""
        ear = self.ear()
        ear.listen_for(READING)
        first = ear.hear(spoken(noises()[2]))
        again = ear.compare(STRINGS)
        assert {c.words for c in first.candidates} <= {c.words for c in again.candidates}
        assert all(READING.accepts(c.words) for c in again.candidates)
        assert list(again.candidates) == sorted(again.candidates, key=lambda c: -c.logp)
        assert sum(c.share for c in again.candidates) == pytest.approx(1.0 if again.candidates else 0.0)


class HearingContract(RecogniserContract):
    """Of ears that hear sound."""

    @pytest.mark.parametrize(("noise", "enough"), [("", True), ("pink", False)], ids=["quiet", "loud"])
    def test_it_tells_how_much_was_audible(self, noise: str, enough: bool) -> None:
        """With what was heard of spoken numbers, in quiet and in noise as loud, also once it knows the other ear's strings."""
        ear, sound = self.ear(), read_sound(NUMBERS_SAID)
        ear.listen_for(COUNTING)
        first = ear.hear(spoken(mix(sound, noise, 0.0, 1) if noise else sound))
        for take in (first, ear.compare([("thirty", "three"), ("nine",)])):
            assert take.candidates
            assert (take.audible >= AUDIBLE) is enough

    def test_steps_are_swapped_within_50_ms(self) -> None:
        """From one grammar that was heard before to a step's own, the compression of four cylinders: the best of five times."""
        ear, step = self.ear(), compression().grammar
        taken_s: list[float] = []
        ear.listen_for(step)
        for _ in range(5):
            ear.listen_for(COUNTING)
            began_s = time.perf_counter()
            ear.listen_for(step)
            taken_s.append(time.perf_counter() - began_s)
        assert min(taken_s) < 0.05


class StreamingContract(RecogniserContract):
    """Of ears that hear while the technician speaks."""

    def streaming(self) -> StreamingRecogniser:
        ear = self.ear()
        assert isinstance(ear, StreamingRecogniser)
        return ear

    def test_a_stream_ends_in_a_take(self) -> None:
        """Pieces fed one by one end in a legal take, and the next utterance starts afresh."""
        ear = self.streaming()
        ear.listen_for(NUMBERS)
        for _ in range(2):
            ear.begin()
            for piece in np.array_split(noises()[2], 7):
                assert isinstance(ear.feed(piece), tuple)
            assert all(NUMBERS.accepts(c.words) for c in ear.finish().candidates)


class TestScriptedEar(StreamingContract):
    def ear(self) -> ScriptedEar:
        take = Take("scripted", (Candidate(("one", "two"), -1.0, 1.0),), fits=-0.3, loose_gap=0.0)
        return ScriptedEar([take] * 10, ["some words"])

    def test_it_dictates_what_it_was_given(self) -> None:
        """Free words come in order, then none."""
        ear = self.ear()
        assert isinstance(ear, Dictation)
        sound = spoken(noises()[2])
        assert [ear.dictate(sound), ear.dictate(sound)] == ["some words", ""]


class TestVoskEar(StreamingContract, HearingContract):
    def ear(self) -> VoskEar:
        return vosk_ear()

    def test_words_it_cannot_hear_are_listed(self) -> None:
        """A word that the model lacks is left out and named; the rest is heard."""
        ear = self.ear()
        ear.listen_for(compile_grammar(either(word("affirm"), word("perpendicular"), word("again perpendicular"))))
        assert ear.unknown_words == ("perpendicular",)


@pytest.mark.speech
class TestWhisperEar(HearingContract):
    def ear(self) -> WhisperEar:
        return whisper_ear()

    def test_silence_is_not_dictated(self) -> None:
        """No free words are made of silence."""
        assert self.ear().dictate(spoken(noises()[1])) == ""


def test_a_missing_model_folder_is_a_problem(tmp_path: Path) -> None:
    """Each ear says which folder it could not use."""
    from assistant.core.problems import ModelProblem

    for ear in (VoskEar, WhisperEar):
        with pytest.raises(ModelProblem, match="absent"):
            ear(tmp_path / "absent")


@pytest.mark.parametrize(
    "file", ["am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst"]
)
@pytest.mark.parametrize("kept", [0.0, 0.6])
def test_a_broken_vosk_model_is_a_problem(
    tmp_path: Path, file: str, kept: float, capfd: pytest.CaptureFixture[str]
) -> None:
    """A file cut short is found before Vosk ends the process over it, and Vosk's own complaints stay unseen."""
    from shutil import copytree

    from assistant.core.problems import ModelProblem

    copytree(choose_ears(models_root()).vosk, tmp_path / "m")
    data = (tmp_path / "m" / file).read_bytes()
    (tmp_path / "m" / file).write_bytes(data[: int(kept * len(data))])
    with pytest.raises(ModelProblem):
        VoskEar(tmp_path / "m")
    assert capfd.readouterr().err == ""
