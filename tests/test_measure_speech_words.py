"""Figures by kind of voice and by word, and the picture of confusions: on takes that are known."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.events import Take
from assistant.measure.recordings import Recording
from assistant.measure.speech_campaign import speakers
from assistant.measure.speech_confusion import FIGURES, LEFT_OUT, OTHER, PUT_IN, confusion, plot_confusion
from assistant.measure.speech_moments import AnyNumbers
from assistant.measure.speech_sets import CLEAN, Condition, SpeechSet
from assistant.measure.speech_table import report
from assistant.measure.speech_trials import Outcome, Trial
from assistant.measure.speech_voices import by_voice, kind_of_voice
from assistant.measure.speech_words import WordCount, word_counts

NUMBERS = SpeechSet("numbers", AnyNumbers(), ())
WORDS = st.lists(st.sampled_from(("one", "nine", "ninety", "oh", "cylinder")), max_size=5).map(" ".join)


def trial(said: str, heard: str, speaker: str = "someone", sound: Condition = CLEAN, *, talk: bool = False) -> Trial:
    """One recording that both ears, and both together, took for that."""
    outcomes = tuple(
        Outcome(ear, heard, "kept", "none", "reading", said == heard, False, 0.9, 0.1) for ear in ("vosk", "together")
    )
    takes: tuple[Take, ...] = ()
    one = replace(NUMBERS, talk=talk)
    return Trial(one, sound, Recording(Path("x.wav"), said, speaker), frozenset(), takes, takes, outcomes)


HEARD = [
    trial("one ninety", "one nineteen"),
    trial("one ninety", "one ninety"),
    trial("cylinder one oh five", "one five"),
    trial("five", "five five"),
]


def test_a_word_has_what_was_heard_for_it() -> None:
    """Right, for another, left out and put in, each once counted; "" stands for nothing."""
    counts = word_counts(HEARD)["together"]
    assert counts["ninety"].heard == Counter({"nineteen": 1, "ninety": 1})
    assert (counts["ninety"].said, counts["ninety"].right, counts["ninety"].right_share) == (2, 1, 0.5)
    assert counts["oh"].heard == Counter({"": 1})
    assert counts[""].heard == Counter({"five": 1})
    assert counts["ninety"].others(3) == [("nineteen", 1)]


@given(st.lists(st.tuples(WORDS, WORDS), max_size=6))
def test_every_word_said_and_heard_is_counted(pairs: list[tuple[str, str]]) -> None:
    """The rows add up to the words said, the columns to the words heard."""
    counts = word_counts([trial(said, heard) for said, heard in pairs]).get("vosk", {})
    for word in ("one", "nine", "ninety", "oh", "cylinder"):
        assert counts.get(word, WordCount(word)).said == sum(said.split().count(word) for said, _ in pairs)
        assert sum(c.heard[word] for c in counts.values()) == sum(heard.split().count(word) for _, heard in pairs)


def test_talk_has_no_words() -> None:
    """What is not meant for the program is not listened for."""
    assert word_counts([trial("a b", "one", talk=True)]) == {}


def test_rows_and_columns_of_the_picture() -> None:
    """Figure words by themselves, others as one; other words among themselves are left away."""
    found = confusion(word_counts([*HEARD, trial("cylinder", "pounds"), trial("one", "cylinder")])["together"])
    assert found["ninety"] == Counter({"nineteen": 1, "ninety": 1})
    assert found["oh"] == Counter({LEFT_OUT: 1})
    assert found[PUT_IN] == Counter({"five": 1})
    assert found["one"] == Counter({"one": 3, OTHER: 1})
    assert OTHER not in found
    assert {"zero", "oh", "nine", "nineteen", "ninety", "hundred"} <= set(FIGURES)


def test_the_picture_is_svg_in_grey_with_every_count() -> None:
    """Well-formed; said words beside the rows, heard ones over the columns, both in one order; no colour."""
    root = ET.fromstring(plot_confusion(HEARD))
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts[1:6] == ["oh", "one", "five", "ninety", PUT_IN]
    assert texts[6:11] == ["one", "five", "nineteen", "ninety", LEFT_OUT]
    assert [t for t in texts[11:-1] if t] == ["1", "3", "2", "1", "1", "1"]
    colours = {e.get("fill", "") for e in root.iter()} - {"", "none", "black", "white"}
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours)


def test_nothing_heard_is_an_empty_picture() -> None:
    """Well-formed still."""
    assert ET.fromstring(plot_confusion([trial("a", "one", talk=True)])).tag.endswith("svg")


@pytest.mark.parametrize(
    ("speaker", "kind"),
    [
        ("fejs", "human"),
        ("62581901", "human"),
        ("espeak-ng en-us+steph", "synthetic, unseen"),
        ("espeak-ng en-us", "synthetic"),
        ("Flite rms", "synthetic"),
        ("kokoro af_bella", "synthetic"),
        ("", "not named"),
    ],
)
def test_a_speakers_name_tells_the_kind_of_voice(speaker: str, kind: str) -> None:
    """People, voices that training left out, other synthesised ones."""
    assert kind_of_voice(speaker) == kind


def test_no_voice_that_is_measured_counts_as_seen() -> None:
    """Nor is any speaker of AN4 taken for a machine."""
    assert {kind_of_voice(name) for name in speakers("voices", "measure")} == {"synthetic, unseen"}
    assert {kind_of_voice(name) for name in speakers("an4", "measure")} == {"human"}


def test_each_noise_has_a_row_from_clean_on() -> None:
    """Kinds of voice are apart; what was heard clean begins every row."""
    pink, engine = Condition("pink", 10.0), Condition("engine", 10.0)
    heard = [
        trial(said, heard, voice, sound)
        for voice in ("fejs", "flite awb")
        for sound, said, heard in ((CLEAN, "one", "one"), (pink, "one", "nine"), (engine, "one", "one"))
    ]
    rows = {row: {at: s.whole for at, s in scores.items()} for row, scores in by_voice(heard).items()}
    assert len(rows) == 2 * 2 * 2
    assert rows["numbers", "human", "pink", "together"] == {"clean": 1, "10 dB": 0}
    assert rows["numbers", "synthetic, unseen", "engine", "vosk"] == {"clean": 1, "10 dB": 1}


def test_the_report_names_words_and_voices() -> None:
    """A row a word: how often said, how often right by each ear, mostly heard as; words put in have one too."""
    lines = list(report(HEARD))
    [ninety] = [line for line in lines if line.startswith("| ninety")]
    assert [cell.strip() for cell in ninety.split("|")[2:6]] == ["2", "50.0%", "50.0%", "nineteen 1"]
    assert any(line.startswith("| (put in)") and "five 1" in line for line in lines)
    assert any(line.startswith("| numbers | human") for line in lines)
