"""How often each word was said, heard right, and taken for which other, by each ear; words after `ordinary`, aligned.

Talk does not count: what it says is not listened for. An utterance that was refused does: its best string was heard too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from assistant.core.word_errors import NOTHING, word_pairs
from assistant.measure.speech_moments import ordinary
from assistant.measure.speech_trials import Trial


@dataclass(frozen=True)
class WordCount:
    """What was heard for one word, how often; "" stands for nothing: a word left out, or as `word` a place with none said."""

    word: str
    heard: Counter[str] = field(default_factory=Counter)

    @property
    def said(self) -> int:
        """How often it was said; of "", how many words were put in."""
        return self.heard.total()

    @property
    def right(self) -> int:
        """How often it was heard for itself."""
        return self.heard[self.word]

    @property
    def right_share(self) -> float:
        """The share of that; 0 for what was never said."""
        return self.right / self.said if self.said else 0.0

    def others(self, most: int) -> list[tuple[str, int]]:
        """What it was taken for, the most frequent first, and how often."""
        return [(w, n) for w, n in sorted(self.heard.items(), key=lambda one: (-one[1], one[0])) if w != self.word][
            :most
        ]


def word_counts(heard: Sequence[Trial]) -> dict[str, dict[str, WordCount]]:
    """For each ear the words said, each with what was heard for it; the last ear is all together where there are several."""
    found: dict[str, dict[str, WordCount]] = {}
    for trial in heard:
        said = ordinary(trial.recording.words)
        for outcome in trial.outcomes if not trial.of.talk else ():
            of_ear = found.setdefault(outcome.ear, {})
            for pair in word_pairs(said, ordinary(outcome.heard)):
                one, other = ("" if w == NOTHING else w for w in pair)
                of_ear.setdefault(one, WordCount(one)).heard[other] += 1
    return found
