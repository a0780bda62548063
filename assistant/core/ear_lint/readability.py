"""How hard the texts are: Flesch's reading ease, and the school grade by Kincaid's formula.

    ease  = 206.835 - 1.015 x words/sentences - 84.6 x syllables/words     R. Flesch, J. Applied Psychology 32 (1948) 221
    grade = 0.39 x words/sentences + 11.8 x syllables/words - 15.59        J. P. Kincaid and others, Naval Technical
                                                                           Training Command, Research Branch Report 8-75 (1975)

Ease runs from about 0 to 121 (one syllable a word, one word a sentence); Flesch calls 60 to 70 plain English. Both count sound,
words as they are spoken: "89" has three syllables. They were made for samples of a hundred words and for the eye: of one step
the score is a hint, of a whole procedure a measure. Syllables are counted in the pronunciation of a dictionary; of a word
that it lacks, by its groups of vowels.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.texts import Text, sentences, spoken_words

PLAIN_ENGLISH = 60.0
"""The least ease of plain English (Flesch)."""
Syllables = Callable[[str], int | None]


@dataclass(frozen=True)
class Readability:
    """How much was counted; the scores follow from it."""

    words: int
    sentences: int
    syllables: int

    @property
    def ease(self) -> float:
        """Flesch's reading ease: the higher the easier; 0.0 of no words."""
        return 206.835 - 1.015 * self._length - 84.6 * self._weight if self.words else 0.0

    @property
    def grade(self) -> float:
        """Years of an American school that it takes; 0.0 of no words."""
        return 0.39 * self._length + 11.8 * self._weight - 15.59 if self.words else 0.0

    @property
    def _length(self) -> float:
        return self.words / self.sentences

    @property
    def _weight(self) -> float:
        return self.syllables / self.words

    def __add__(self, other: Readability) -> Readability:
        return Readability(self.words + other.words, self.sentences + other.sentences, self.syllables + other.syllables)

    def __str__(self) -> str:
        return f"reading ease {self.ease:.0f}, school grade {self.grade:.1f}"


NOTHING = Readability(0, 0, 0)


def readability(text: str, syllables: Syllables) -> Readability:
    """What is counted in one text; `syllables` of a word, None where it is in no dictionary."""
    found = NOTHING
    for sentence in sentences(text):
        words = spoken_words(sentence)
        if words:
            found += Readability(len(words), 1, sum(syllables_of(word, syllables) for word in words))
    return found


def syllables_of(word: str, syllables: Syllables) -> int:
    """Syllables of one word, at least one; a single letter is said by its name."""
    known = syllables(word.lower())
    return known if known is not None else by_vowel_groups(word)


def by_vowel_groups(word: str) -> int:
    """Groups of vowels, a silent e at the end left out: a guess for words that no dictionary has.

    >>> [by_vowel_groups(w) for w in ("impeller", "hose", "psst")]
    [3, 1, 1]
    """
    groups = re.findall(r"[aeiouy]+", word.lower())
    silent = len(groups) > 1 and re.search(r"[^aeiouyl]e$", word.lower()) is not None
    return max(1, len(groups) - silent)


def by_step(texts: Iterable[Text], syllables: Syllables) -> dict[str, Readability]:
    """Step id -> what is counted in all that is said there but its title; "" for what belongs to no step."""
    found: dict[str, Readability] = {}
    for text in texts:
        if text.kind in ("say", "caution", "ask", "because"):
            found[text.step] = found.get(text.step, NOTHING) + readability(text.text, syllables)
    return found


def hard_to_follow(whole: Readability) -> Iterator[Finding]:
    """The procedure as a whole where it is not plain English."""
    if whole.words and whole.ease < PLAIN_ENGLISH:
        what = f"the procedure is not plain English: {whole}"
        yield Finding("should", "readability", what, f"shorter sentences and words: ease {PLAIN_ENGLISH:.0f} at least")
