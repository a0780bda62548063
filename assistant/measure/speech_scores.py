"""What the trials of one set add up to, for each ear. Intervals are Wilson's, 95 % (J. Am. Stat. Assoc. 22, 1927).

Words are compared after `ordinary` (niner is nine, p s i is psi; "oh" and "zero" are two words), by Levenshtein's distance: the
fewest words put in, left out or changed. *Kept wrong* is what would stand in the job file unasked and is not what was said; for
a number, "oh" and "zero" are the same figure.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from assistant.core.word_errors import word_edits
from assistant.measure.speech_moments import ordinary
from assistant.measure.speech_trials import Outcome, Trial

DENIED_TURNS = 2
"""*Negative*, then the value digit by digit."""


def wilson(right: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share."""
    if not of:
        return 0.0, 1.0
    z, p = 1.959964, right / of
    middle = (p + z * z / (2 * of)) / (1 + z * z / of)
    half = z * math.sqrt(p * (1 - p) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass(frozen=True)
class Score:
    """One ear's outcomes over the trials of a set, pairwise in order. For talk, `kept_wrong` is what was kept as a reading."""

    name: str
    ear: str
    talk: bool
    trials: tuple[Trial, ...]
    outcomes: tuple[Outcome, ...]

    @property
    def utterances(self) -> int:
        """How many were heard."""
        return len(self.outcomes)

    @cached_property
    def whole(self) -> int:
        """Heard word for word, whatever was made of it."""
        return 0 if self.talk else sum(ordinary(o.heard) == ordinary(t.recording.words) for t, o in self._pairs)

    @cached_property
    def word_errors(self) -> int:
        """Words wrong, left out or put in."""
        if self.talk:
            return 0
        return sum(len(word_edits(ordinary(t.recording.words), ordinary(o.heard))) for t, o in self._pairs)

    @cached_property
    def words(self) -> int:
        """Words said; 0 for talk, whose words do not count."""
        return 0 if self.talk else sum(len(ordinary(t.recording.words)) for t in self.trials)

    @cached_property
    def kept(self) -> int:
        """Taken without a question."""
        return self._count("kept")

    @cached_property
    def asked(self) -> int:
        """Asked about."""
        return self._count("asked")

    @cached_property
    def refused(self) -> int:
        """Not understood."""
        return self._count("refused")

    @cached_property
    def right_first(self) -> int:
        """The likeliest meaning is what was said, kept at once or in the question."""
        return sum(o.kind != "refused" and o.right for o in self.outcomes)

    @cached_property
    def kept_wrong(self) -> int:
        """Kept without a question, and wrong; of talk, kept as a reading."""
        return sum(o.kind == "kept" and not o.right and not (self.talk and o.taken == "command") for o in self.outcomes)

    @cached_property
    def commands(self) -> int:
        """Taken as a command."""
        return sum(o.taken == "command" for o in self.outcomes)

    @cached_property
    def median_s(self) -> float:
        """From the end of speech to the meaning."""
        return statistics.median(o.seconds for o in self.outcomes)

    @cached_property
    def turns(self) -> float:
        """Turns a reading: how often the technician speaks until the value stands, by the model of `turns_of`."""
        again = _said_again(self.trials, self.outcomes)
        return statistics.fmean(turns_of(o, other) for o, other in zip(self.outcomes, again, strict=True))

    def json(self) -> dict[str, object]:
        """The object of `--json`; of talk also how much was taken as a command."""
        row: dict[str, object] = {
            "set": self.name,
            "ear": self.ear,
            "utterances": self.utterances,
            "whole": self.whole,
            "word_errors": self.word_errors,
            "words": self.words,
            "kept": self.kept,
            "asked": self.asked,
            "refused": self.refused,
            "kept_wrong": self.kept_wrong,
            "median_s": round(self.median_s, 4),
        }
        return {**row, "commands": self.commands} if self.talk else row

    @property
    def _pairs(self) -> Iterable[tuple[Trial, Outcome]]:
        return zip(self.trials, self.outcomes, strict=True)

    def _count(self, kind: str) -> int:
        return sum(o.kind == kind for o in self.outcomes)


def turns_of(outcome: Outcome, again: Outcome | None) -> int:
    """Times the technician speaks until this reading stands, by a model of a technician who knows what he measured.

    Kept at once: 1 (a wrong one too; it is counted as kept wrong). Asked, and what he said is offered: he says *affirm*, or
    which of the two: 2. Asked for digits, or it is not offered: *negative*, then digit by digit: 3. Refused: he says it
    again, and what another recording of the same reading by the same speaker led to counts on top; where there is none,
    or it is refused as well, 2 more. His answers are taken to be understood.
    """
    if outcome.kind == "kept":
        return 1
    if outcome.kind == "asked":
        return 2 if outcome.offered and outcome.ask != "digits" else 1 + DENIED_TURNS
    if again is not None and again.kind != "refused":
        return 1 + turns_of(again, None)
    return 1 + DENIED_TURNS + (again is not None)


def _said_again(trials: Sequence[Trial], outcomes: Sequence[Outcome]) -> list[Outcome | None]:
    """For each trial the outcome of the next recording of the same reading by the same speaker in the same noise."""
    alike: dict[Hashable, list[int]] = defaultdict(list)
    for n, trial in enumerate(trials):
        alike[trial.recording.speaker, trial.meant, trial.condition].append(n)
    found: list[Outcome | None] = [None] * len(trials)
    for numbers in alike.values():
        for n, following in zip(numbers, [*numbers[1:], numbers[0]], strict=True):
            if following != n:
                found[n] = outcomes[following]
    return found


def scores(name: str, heard: Sequence[Trial]) -> tuple[Score, ...]:
    """The score of each ear over these trials of one set."""
    by_ear: dict[str, list[Outcome]] = {}
    for trial in heard:
        for outcome in trial.outcomes:
            by_ear.setdefault(outcome.ear, []).append(outcome)
    talk = bool(heard) and heard[0].of.talk
    return tuple(Score(name, ear, talk, tuple(heard), tuple(outcomes)) for ear, outcomes in by_ear.items())
