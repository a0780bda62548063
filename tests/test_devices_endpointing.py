"""Endpointing: the rules with a detector that is certain, the figures with Silero on made and on real sound."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.devices.endpointing import (
    Endpointer,
    Endpointing,
    SpeechEnded,
    SpeechEvent,
    SpeechPaused,
    SpeechPiece,
    SpeechStarted,
)
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.silero import SileroDetector
from assistant.devices.sound_file import read_sound
from assistant.devices.voice.renderer import Renderer
from assistant.measure.shop_noise import NOISES, mix, noise_alone

REAL_SPEECH = Path(__file__).resolve().parents[2] / "shared" / "speech"
CHUNK = 512


class LoudIsSpeech:
    """A detector that is certain: a chunk whose first sample is over 1000 is speech."""

    resets = 0

    def __call__(self, chunk: Samples) -> float:
        return float(chunk[0] > 1000)

    def reset(self) -> None:
        self.resets += 1


def sound(*parts: tuple[float, int]) -> Samples:
    """Seconds and level of each part, in whole chunks; the lowest bits tell samples apart."""
    made = np.concatenate([np.full(round(s * RATE_HZ / CHUNK) * CHUNK, level, np.int16) for s, level in parts])
    return made + (np.arange(len(made)) % 251).astype(np.int16)


def blocks(samples: Samples, size: int = CHUNK, from_s: float = 0.0) -> list[AudioBlock]:
    return [AudioBlock(samples[at : at + size], from_s + at / RATE_HZ) for at in range(0, len(samples), size)]


def heard(endpointer: Endpointer, stream: Sequence[AudioBlock]) -> list[SpeechEvent]:
    events = [event for block in stream for event in endpointer.feed(block)]
    return [*events, *endpointer.finish()]


def utterances(endpointer: Endpointer, samples: Samples) -> list[SpeechEnded]:
    return [event for event in heard(endpointer, blocks(samples)) if isinstance(event, SpeechEnded)]


def test_an_utterance_has_its_margins_and_its_times() -> None:
    """The sound kept is the speech with 0.3 s of quiet on both sides; times are the stream's own."""
    stream = sound((1.024, 0), (0.512, 5000), (1.024, 0))
    events = heard(Endpointer(LoudIsSpeech()), blocks(stream, from_s=100.0))
    (ended,) = [event for event in events if isinstance(event, SpeechEnded)]
    assert (ended.speech_began_s, ended.speech_ended_s) == (101.024, 101.536)
    assert ended.utterance.began_s == pytest.approx(101.024 - 0.32)
    assert ended.utterance.ended_s == pytest.approx(101.536 + 0.32)
    assert ended.known_s == pytest.approx(101.536 + 0.608)
    start = round((ended.utterance.began_s - 100) * RATE_HZ)
    assert np.array_equal(ended.utterance.samples, stream[start : start + len(ended.utterance.samples)])


@pytest.mark.parametrize(("pause_s", "count"), [(0.3, 1), (0.5, 1), (0.7, 2), (2.0, 2)])
def test_a_short_pause_does_not_split(pause_s: float, count: int) -> None:
    """Quiet of less than 0.6 s is a pause in an utterance, more ends it."""
    stream = sound((0.5, 0), (0.4, 5000), (pause_s, 0), (0.4, 5000), (1.0, 0))
    assert len(utterances(Endpointer(LoudIsSpeech()), stream)) == count


def test_a_click_is_not_speech() -> None:
    """What is shorter than the least speech starts nothing."""
    assert heard(Endpointer(LoudIsSpeech()), blocks(sound((0.5, 0), (0.096, 5000), (1.0, 0)))) == []


def test_a_word_too_long_is_cut_and_goes_on() -> None:
    """At 12 s an utterance is cut and marked; what follows is the next one, with no sample twice."""
    stream = sound((0.5, 0), (14.0, 5000), (1.0, 0))
    first, second = utterances(Endpointer(LoudIsSpeech()), stream)
    assert (first.cut, second.cut) == (True, False)
    assert len(first.utterance.samples) == 12 * RATE_HZ
    assert second.utterance.began_s == pytest.approx(first.utterance.ended_s)


def test_lost_sound_ends_an_utterance() -> None:
    """Sound that is missing ends the utterance before the gap, marked; nothing from before is in the next one."""
    stream = blocks(sound((0.5, 0), (1.0, 5000), (1.0, 0)))
    gap = AudioBlock(stream[30].samples, stream[30].at_s + 3.0, lost=True)
    after = [AudioBlock(block.samples, block.at_s + 3.0) for block in stream[31:]]
    events = heard(Endpointer(LoudIsSpeech()), [*stream[:30], gap, *after])
    first, second = [event for event in events if isinstance(event, SpeechEnded)]
    assert (first.lost, second.lost) == (True, False)
    assert first.utterance.ended_s == pytest.approx(30 * CHUNK / RATE_HZ)
    assert second.utterance.began_s == pytest.approx(30 * CHUNK / RATE_HZ + 3.0)


def test_the_end_of_sound_ends_an_utterance() -> None:
    """Speech that runs into the end of a recording is kept, to its last sample."""
    stream = np.concatenate((sound((0.5, 0), (0.5, 5000)), np.full(100, 5000, np.int16)))
    (ended,) = utterances(Endpointer(LoudIsSpeech()), stream)
    assert np.array_equal(ended.utterance.samples, stream[-len(ended.utterance.samples) :])


@given(
    pattern=st.lists(st.tuples(st.integers(1, 50), st.booleans()), min_size=1, max_size=12),
    size=st.integers(50, 2000),
    longest_s=st.sampled_from([1.0, 12.0]),
)
@settings(deadline=None)  # blocks of one sample are slow on a busy machine
def test_pieces_are_the_utterance(pattern: list[tuple[int, bool]], size: int, longest_s: float) -> None:
    """In blocks of any size a streaming ear gets exactly what the utterance holds, and that is of the stream."""
    stream = sound(*((chunks * 0.032, 5000 if loud else 0) for chunks, loud in pattern))
    limits = Endpointing(longest_s=longest_s)
    events = heard(Endpointer(LoudIsSpeech(), limits), blocks(stream, size))
    streamed: list[Samples] = []
    last_end = 0
    for event in events:
        if isinstance(event, SpeechStarted):
            streamed = [event.samples]
        elif isinstance(event, SpeechPiece):
            streamed.append(event.samples)
        else:
            whole = event.utterance
            start, end = round(whole.began_s * RATE_HZ), round(whole.ended_s * RATE_HZ)
            assert np.array_equal(np.concatenate(streamed), whole.samples)
            assert np.array_equal(stream[start:end], whole.samples)
            assert start >= last_end
            last_end = end if isinstance(event, SpeechEnded) else last_end
    same = heard(Endpointer(LoudIsSpeech(), limits), blocks(stream))
    ends = [[round(e.utterance.ended_s, 6) for e in run if isinstance(e, SpeechEnded)] for run in (events, same)]
    assert ends[0] == ends[1]


def test_a_pause_that_lasts_was_already_the_whole_utterance() -> None:
    """What SpeechPaused carries is exactly what SpeechEnded brings, unless speech goes on: then another pause comes."""
    events = heard(Endpointer(LoudIsSpeech()), blocks(sound((0.5, 0), (0.5, 5000), (0.45, 0), (0.5, 5000), (1.0, 0))))
    broken, last = [event.utterance for event in events if isinstance(event, SpeechPaused) and not event.early]
    (ended,) = [event.utterance for event in events if isinstance(event, SpeechEnded)]
    assert np.array_equal(last.samples, ended.samples)
    assert len(broken.samples) < len(ended.samples)


@pytest.mark.parametrize("size", [512, 1600, 16_000])
def test_an_utterance_can_be_ended_at_its_early_pause(size: int) -> None:
    """It has the quiet so far, and exactly what its pieces carried; what follows is another: blocks of any size."""
    endpointer = Endpointer(LoudIsSpeech())
    pieces: list[SpeechStarted | SpeechPiece] = []
    ended: list[SpeechEnded] = []
    for block in blocks(sound((0.512, 0), (0.512, 5000), (0.32, 0), (0.512, 5000), (1.024, 0)), size):
        for event in endpointer.feed(block):
            if isinstance(event, SpeechStarted | SpeechPiece):
                pieces.append(event)
            elif isinstance(event, SpeechPaused) and event.early:
                ended.append(endpointer.end_here())
            else:
                assert isinstance(event, SpeechEnded | SpeechPaused)
                assert not isinstance(event, SpeechEnded), "it was ended before"
    assert [round(one.known_s - one.speech_ended_s, 3) for one in ended] == [0.224, 0.224]
    assert sum(len(piece.samples) for piece in pieces) == sum(len(one.utterance.samples) for one in ended)
    assert not endpointer.speaking


def test_the_early_pause_is_never_behind_the_margin() -> None:
    """With a shorter margin it comes with that, so that nothing is held back at it."""
    events = heard(
        Endpointer(LoudIsSpeech(), Endpointing(end_after_s=0.2, margin_after_s=0.1)),
        blocks(sound((0.5, 0), (0.5, 5000), (1.0, 0))),
    )
    kinds = [type(event) for event in events if not isinstance(event, SpeechPiece)]
    assert kinds == [SpeechStarted, SpeechPaused, SpeechPaused, SpeechEnded]


@pytest.fixture(scope="module")
def voice() -> Iterator[Renderer]:
    renderer = Renderer()
    yield renderer
    renderer.close()


def quiet(seconds: float) -> Samples:
    return np.zeros(round(seconds * RATE_HZ), np.int16)


@pytest.mark.parametrize("noise", sorted(NOISES))
def test_noise_is_not_speech(noise: str) -> None:
    """Half a minute of a bay's noise, soft or loud, gives no utterance."""
    for rms in (300.0, 3000.0):
        assert utterances(Endpointer(SileroDetector()), noise_alone(noise, 30.0, rms, seed=3)) == []


def test_silence_is_not_speech() -> None:
    """Digital silence gives nothing."""
    assert utterances(Endpointer(SileroDetector()), quiet(5.0)) == []


def test_two_words_apart_are_two_utterances(voice: Renderer) -> None:
    """Two words with 2 s between them are two, with 0.3 s between them one."""
    word = voice.render("ninety")
    for pause_s, count in ((2.0, 2), (0.3, 1)):
        stream = np.concatenate((quiet(1), word, quiet(pause_s), word, quiet(1)))
        assert len(utterances(Endpointer(SileroDetector()), stream)) == count


@pytest.mark.parametrize("noise", ["engine", "pink", "ratchet"])
def test_a_word_is_found_in_noise(voice: Renderer, noise: str) -> None:
    """A word 10 dB above the noise is one utterance, where it is."""
    word = voice.render("one niner zero")
    stream = mix(np.concatenate((quiet(2), word, quiet(2))), noise, 10.0, seed=5)
    (ended,) = utterances(Endpointer(SileroDetector()), stream)
    assert ended.utterance.began_s < 2.05
    assert ended.utterance.ended_s > 1.95 + len(word) / RATE_HZ


def test_the_detector_starts_no_threads() -> None:
    """Four threads for 0.1 ms of reckoning wait for one another, awake; and the environment is left as it was."""
    threads = Path("/proc/self/task")
    if not threads.is_dir():
        pytest.skip("no /proc: Linux tells how many threads there are")
    before, environment = len(list(threads.iterdir())), dict(os.environ)
    SileroDetector()(np.zeros(CHUNK, np.int16))
    assert len(list(threads.iterdir())) == before
    assert dict(os.environ) == environment


def test_a_detector_that_is_reset_is_new() -> None:
    """After `reset` Silero answers as one that has heard nothing."""
    chunk = noise_alone("pink", 0.032, 3000.0, seed=1)
    detector = SileroDetector()
    first = [detector(chunk) for _ in range(3)]
    detector.reset()
    assert [detector(chunk) for _ in range(3)] == first


def real(folder: str, every: int, count: int) -> list[Samples]:
    manifest = REAL_SPEECH / folder / "manifest.csv"
    if not manifest.exists():
        pytest.skip(f"the recordings of {folder} are not here")
    rows = list(csv.DictReader(manifest.read_text(encoding="utf-8").splitlines()))[::every][:count]
    return [read_sound(REAL_SPEECH / folder / row["path"]) for row in rows]


@pytest.mark.speech
@pytest.mark.parametrize(("folder", "every", "least"), [("an4", 30, 30), ("single-words", 10, 28)])
def test_real_recordings_are_one_utterance_each(folder: str, every: int, least: int) -> None:
    """Of 30 recordings by many speakers, with a second of quiet around them, so many are exactly one utterance."""
    takes = real(folder, every, 30)
    endpointer = Endpointer(SileroDetector())
    assert sum(len(utterances(endpointer, np.concatenate((quiet(1), take, quiet(1))))) == 1 for take in takes) >= least


@pytest.mark.speech
def test_real_words_are_found_beside_an_engine() -> None:
    """Of 30 single words 10 dB above an idling engine at least 28 are exactly one utterance."""
    takes = real("single-words", 10, 30)
    endpointer = Endpointer(SileroDetector())
    noisy = [mix(np.concatenate((quiet(1), take, quiet(1))), "engine", 10.0, seed) for seed, take in enumerate(takes)]
    assert sum(len(utterances(endpointer, take)) == 1 for take in noisy) >= 28
