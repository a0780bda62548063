"""Both ears on people's voices, where the recordings lie beside the project.

The Vosk model and Whisper's lesson were trained on most of these speakers: the counts say that they work, not how well they
hear others.
"""

import csv
from pathlib import Path

import pytest
import soundfile

from assistant.core.speech.automaton import either, repeat, word
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.protocols import Recogniser, Utterance
from assistant.devices.recognisers.choosing import choose_ears
from assistant.devices.recognisers.vosk_ear import VoskEar
from assistant.devices.recognisers.whisper_ear import WhisperEar
from assistant.devices.recognisers.whisper_manner import NUMBER_WORDS
from assistant.files.model_store import models_root
from assistant.measure.shop_noise import mix

AN4 = Path(__file__).parents[2] / "shared" / "speech" / "an4"
LOOP = compile_grammar(repeat(either(*(word(w) for w in sorted(NUMBER_WORDS - {"decimal", "point"}))), 1, 10))

pytestmark = [
    pytest.mark.speech,
    pytest.mark.skipif(not AN4.is_dir(), reason=f"the AN4 recordings are not there: {AN4}"),
]


def spoken_numbers(count: int) -> list[tuple[Utterance, tuple[str, ...]]]:
    """Every eighth number of the set: their sound and words."""
    with (AN4 / "manifest.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if NUMBER_WORDS.issuperset(row["words"].split())]
    found = []
    for row in rows[::8][:count]:
        samples, _ = soundfile.read(AN4 / row["path"], dtype="int16")
        found.append((Utterance(samples, 0.0, len(samples) / 16_000), tuple(row["words"].split())))
    return found


def whisper_ear() -> WhisperEar:
    chosen = choose_ears(models_root())
    if chosen.whisper is None:
        pytest.skip("whisper-tiny-en is not fetched: `layup models get whisper-tiny-en`")
    return WhisperEar(chosen.whisper, chosen.lesson)


def heard_whole(ear: Recogniser) -> int:
    ear.listen_for(LOOP)
    takes = [(ear.hear(utterance), words) for utterance, words in spoken_numbers(31)]
    return sum(bool(take.candidates) and take.candidates[0].words == words for take, words in takes)


def test_vosk_hears_numbers() -> None:
    """At least 28 of 31 spoken numbers are heard whole."""
    count = heard_whole(VoskEar(choose_ears(models_root()).vosk))
    print(f"vosk: {count} of 31")
    assert count >= 28


def test_whisper_hears_numbers() -> None:
    """At least 28 of 31 spoken numbers are heard whole."""
    count = heard_whole(whisper_ear())
    print(f"whisper: {count} of 31")
    assert count >= 28


def test_notes_are_heard_by_whisper_as_it_came() -> None:
    """Free words are the same with the lesson and without it."""
    chosen = choose_ears(models_root())
    taught = whisper_ear()
    assert chosen.whisper is not None
    untaught = WhisperEar(chosen.whisper)
    for utterance, _ in spoken_numbers(3):
        assert taught.dictate(utterance) == untaught.dictate(utterance) != ""


def neighbours(words: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The same number with one word another, or without its last."""
    others = {
        "nine": "five",
        "five": "nine",
        "four": "oh",
        "oh": "four",
        "eight": "eighty",
        "two": "three",
        "one": "nine",
    }
    changed = [(*words[:n], others[w], *words[n + 1 :]) for n, w in enumerate(words) if w in others]
    return [*changed, *([words[:-1]] if len(words) > 1 else [])]


def asked_about(ear: Recogniser, noise: str, *, at_once: bool) -> list[float]:
    """Of strings that an ear had not listed and lists when it is asked: how far below its best, in nats.

    `at_once`: about all of an utterance together, for an ear to which one string is what it is beside any others.
    """
    ear.listen_for(LOOP)
    found = []
    for utterance, words in spoken_numbers(4):
        sound = mix(utterance.samples, noise, 0.0, 1) if noise else utterance.samples
        others = neighbours(words)
        for asked in [others] if at_once else [[other] for other in others]:
            before = {c.words: c.logp for c in ear.hear(Utterance(sound, 0.0, utterance.ended_s)).candidates}
            new = [other for other in asked if before and other not in before]
            if new:
                after = {c.words: c.logp for c in ear.compare(new).candidates}
                assert {w: after[w] for w in before} == before
                found += [max(before.values()) - after[other] for other in new if other in after]
    return found


def test_whisper_tells_of_strings_that_it_had_not_thought_of() -> None:
    """Asked about a number with one word another: it lists it, below what was said."""
    found = asked_about(whisper_ear(), "", at_once=True)
    assert len(found) >= 15
    assert sum(below > 0 for below in found) >= 0.9 * len(found)


def test_vosk_tells_of_strings_that_are_near_what_it_heard() -> None:
    """In loud noise some of them come near its best and are listed; clean nearly all are further off than its search goes."""
    ear = VoskEar(choose_ears(models_root()).vosk)
    noisy, clean = asked_about(ear, "pink", at_once=False), asked_about(ear, "", at_once=False)
    assert len(noisy) >= 4
    assert len(clean) < len(noisy)


def test_vosk_goes_on_over_a_pause() -> None:
    """A second of quiet within an utterance does not end it: the endpointer decides."""
    import numpy as np

    utterance, words = next(item for item in spoken_numbers(31) if len(item[1]) <= 5)
    twice = np.concatenate([utterance.samples, np.zeros(16_000, np.int16), utterance.samples])
    ear = VoskEar(choose_ears(models_root()).vosk)
    ear.listen_for(LOOP)
    assert ear.hear(Utterance(twice, 0.0, 9.0)).candidates[0].words == words * 2


def test_what_is_longer_than_the_grammar_is_seen_by_the_loose_loop() -> None:
    """A number of more words than may be said has its best string in the grammar far below the loose one."""
    ear = whisper_ear()
    ear.listen_for(compile_grammar(repeat(either(*(word(w) for w in sorted(NUMBER_WORDS))), 1, 2)))
    longer = [utterance for utterance, words in spoken_numbers(31) if len(words) >= 5][:8]
    gaps = [ear.hear(utterance).loose_gap for utterance in longer]
    assert all(gap is not None and gap < -0.8 for gap in gaps), gaps
