"""The list that a technician repeats, and how what was heard of it is counted."""

from __future__ import annotations

from collections import Counter

import pytest

from assistant.core.enrolment import HALVES, PROMPTS, VOCABULARY, same_reading, words_wrong
from assistant.core.speech.commands import ALL
from assistant.core.speech.numbers import TEENS, TENS
from assistant.core.speech.saying import ORDINARY
from assistant.files.model_store import shipped_models


def counted(prompts: tuple[str, ...]) -> Counter[str]:
    return Counter(w for prompt in prompts for w in prompt.split())


@pytest.mark.parametrize("half", HALVES)
def test_each_half_has_all_of_it(half: tuple[str, ...]) -> None:
    """In either half each figure comes three times or more, each teen and ten at least once, each command once."""
    count = counted(half)
    assert min(count[w] for w in ORDINARY) >= 3
    assert min(count[w] for w in (*TEENS, *TENS)) >= 1
    assert sorted(p for p in half if p in {c.said[0] for c in ALL}) == sorted(c.said[0] for c in ALL)


def test_it_takes_about_two_minutes() -> None:
    """At the voice's 165 words a minute and half a second between prompts it takes 90 to 150 seconds to read out."""
    seconds = sum(counted(PROMPTS).values()) * 60 / 165 + len(PROMPTS) * 0.5
    assert 90 <= seconds <= 150


def test_the_bench_model_knows_every_word_of_it() -> None:
    """Each word stands in the model's own list."""
    text = (shipped_models() / "bench-en" / "graph" / "words.txt").read_text(encoding="utf-8")
    assert set(VOCABULARY) <= {line.split()[0] for line in text.splitlines()}


@pytest.mark.parametrize(
    ("said", "heard", "wrong", "same"),
    [
        ("one nine zero", "one niner oh", 2, True),
        ("one hundred and six", "one hundred six", 1, True),
        ("ten decimal one", "ten point one", 1, True),
        ("fifteen", "fifty", 1, False),
        ("one eight eight", "one eight", 1, False),
        ("stop", "", 1, False),
        ("done", "one done", 1, False),
    ],
)
def test_what_counts_as_wrong(said: str, heard: str, wrong: int, same: bool) -> None:
    """Words wrong are Levenshtein's distance; a prompt is right where a step would take it for the same."""
    assert words_wrong(said.split(), heard.split()) == wrong
    assert same_reading(said.split(), heard.split()) is same
