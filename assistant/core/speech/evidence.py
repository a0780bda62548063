"""What the ears heard, added up: how likely each meaning is, and how likely that something else was said.

Each ear tells by how many nats its candidates lie apart. Those nats are worth less than they claim, and each ear's are
worth something else; an ear leaves words out far more often than it puts any in, so each word gives a string something back;
what an ear did not list lies a set distance below its best. The distances are added over the ears,
and beside the meanings stands one more rival: other words than this moment allows. It gains by every sign of it: a sound
that fits no allowed words well (`fits`), a loose loop that fits better (`loose_gap`), an ear that found nothing.
The softmax over all of them is the probability that the asking rule goes by.

The numbers in `CALIBRATIONS` are the maximum-likelihood fit of this model, made by `layup measure speech --fit` on the
tuning speakers alone; how well the probabilities hold on others is measured by `layup measure speech` (reliability table).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from assistant.core.events import Take
from assistant.core.speech.calibration import Calibration, Trust, calibration_of

M = TypeVar("M", bound=Hashable)
Words = tuple[str, ...]

WORST_FIT, WORST_GAP = 8.0, 12.0
"""Nats beyond which a misfit tells no more."""
UNHEARD = 0.003
"""Least probability that one of two hearings gives a meaning it did not think of: a part of what `KEEP` leaves to others."""
SAME_AGAIN = 0.75
"""Power that two hearings of one value are multiplied with: the same voice and ears tend to the same mistake, so they are less
than two witnesses (1), and more than one (0.5). Chosen, not measured: no recordings here say the same twice."""


@dataclass(frozen=True)
class Likely(Generic[M]):
    """A meaning, the words that carried most of it, and its probability (0 to 1)."""

    meaning: M
    words: str
    share: float


@dataclass(frozen=True)
class Evidence(Generic[M]):
    """Meanings, likeliest first, and the probability of other words.

    `hearings`: how many ears, or sayings, it rests on, 0 where their best was denied; `differ`: their bests are not all the
    same; `audible`: how much of what was said stood above the noise, 0 to 1.
    """

    ranked: tuple[Likely[M], ...]
    other: float
    hearings: int = 1
    differ: bool = False
    audible: float = 1.0

    def share_of(self, meaning: M) -> float:
        """The probability of a meaning; 0 where no ear thought of it."""
        return next((each.share for each in self.ranked if each.meaning == meaning), 0.0)


@dataclass(frozen=True)
class Sense(Generic[M]):
    """What strings mean at a moment: `means` gives every meaning of one; `is_word` tells bare words from numbers, `is_rare`
    what is seldom said."""

    means: Callable[[Words], Iterable[M]]
    is_word: Callable[[M], bool] = lambda _meaning: False
    is_rare: Callable[[M], bool] = lambda _meaning: False


def add_up(takes: Iterable[Take], sense: Sense[M]) -> Evidence[M]:
    """The evidence of takes of one utterance."""
    takes = tuple(takes)
    calibration = calibration_of(frozenset(take.ear for take in takes))
    heard = [(take, distances(take, sense.means, calibration.of(take.ear).word)) for take in takes]
    words = _best_words(calibration, heard, sense.means)
    scores = {m: sum(_score(calibration.of(take.ear), near, m) for take, near in heard) for m in words}
    scores = {m: score + (calibration.rare if sense.is_rare(m) else 0.0) for m, score in scores.items()}
    best = max(scores, key=lambda m: scores[m], default=None)
    if best is None:
        return Evidence((), 1.0, len(heard))
    certain = all(take.certain for take, _ in heard)
    other = -math.inf if certain else _other(calibration, heard, lone_word=sense.is_word(best))
    shares, rest = _softmax(scores, other)
    ranked = sorted((Likely(m, words[m], share) for m, share in shares.items()), key=_order)
    top = ranked[0].meaning
    differ = any(top not in near or near[top] < 0.0 for _, near in heard)
    return Evidence(tuple(ranked), rest, len(heard), differ, min(take.audible for take in takes))


def said_twice(first: Evidence[M], second: Evidence[M]) -> Evidence[M]:
    """Two hearings of the same value as one evidence: the probabilities multiplied, to the power `SAME_AGAIN`.

    A meaning that one of them did not think of has in it what it leaves to other words: if it was those, it tells nothing
    against that meaning. As much is audible as in the clearer of them: one engine drowns the same soft end each time.
    """
    words = {each.meaning: each.words for each in (*first.ranked, *second.ranked)}
    parts = {m: (_likely(first, m) * _likely(second, m)) ** SAME_AGAIN for m in words}
    rest = (first.other * second.other) ** SAME_AGAIN
    whole = sum(parts.values()) + rest
    ranked = sorted((Likely(m, words[m], part / whole) for m, part in parts.items()), key=_order)
    top = ranked[0].meaning
    heard = [each for each in (first, second) if each.hearings and each.ranked]
    differ = second.differ or any(each.share_of(top) < each.ranked[0].share for each in heard)
    audible = max((each.audible for each in heard), default=1.0)
    return Evidence(tuple(ranked), rest / whole, first.hearings + second.hearings, differ, audible)


def _likely(evidence: Evidence[M], meaning: M) -> float:
    return max(evidence.share_of(meaning), evidence.other, UNHEARD)


def without(evidence: Evidence[M], denied: Iterable[M]) -> Evidence[M] | None:
    """What is left of evidence when these meanings are known to be wrong, for `said_twice`; None where nothing is.

    The shares stay as they were: a runner-up that was hardly thought of is no likelier than before beside what was not
    thought of at all.
    """
    gone = frozenset(denied)
    rest = tuple(each for each in evidence.ranked if each.meaning not in gone)
    return Evidence(rest, evidence.other, hearings=0) if rest else None


def distances(take: Take, means: Callable[[Words], Iterable[M]], word: float) -> dict[M, float]:
    """Each meaning's distance below the take's best in nats, `word` added for each word, forms of one meaning summed."""
    summed: dict[M, float] = {}
    for c in take.candidates:
        logp = c.logp + word * len(c.words)
        for meaning in means(c.words):
            summed[meaning] = _log_add(summed.get(meaning, -math.inf), logp)
    top = max(summed.values(), default=0.0)
    return {m: logp - top for m, logp in summed.items()}


Heard = list[tuple[Take, dict[M, float]]]


def _best_words(calibration: Calibration, heard: Heard[M], means: Callable[[Words], Iterable[M]]) -> dict[M, str]:
    """Every meaning that an ear thought of, with the words that all ears together make likeliest for it."""
    strings = dict.fromkeys(c.words for take, _ in heard for c in take.candidates)
    scores = {said: sum(_string_score(calibration.of(take.ear), take, said) for take, _ in heard) for said in strings}
    found: dict[M, tuple[float, str]] = {}
    for said, score in scores.items():
        for meaning in means(said):
            found[meaning] = max(found.get(meaning, (-math.inf, "")), (score, " ".join(said)))
    return {m: text for m, (_, text) in found.items()}


def _string_score(trust: Trust, take: Take, said: Words) -> float:
    if not take.candidates:
        return 0.0
    logp = {c.words: c.logp + trust.word * len(c.words) for c in take.candidates}
    return trust.scale * max(logp.get(said, -math.inf) - max(logp.values()), -trust.floor)


def _order(each: Likely[M]) -> tuple[float, str, str]:
    """Likeliest first, and equals always in the same order."""
    return -each.share, each.words, repr(each.meaning)


def _score(trust: Trust, near: Mapping[M, float], meaning: M) -> float:
    distance = near.get(meaning, -math.inf)
    return trust.scale * max(distance, -trust.floor) if near else 0.0


def _other(calibration: Calibration, heard: Heard[M], *, lone_word: bool) -> float:
    """The score of "other words", on the scale of the meanings' scores (the best of them is at most 0)."""
    score = calibration.other + (calibration.lone_word if lone_word else 0.0)
    for take, near in heard:
        trust = calibration.of(take.ear)
        misfit, gap, silent = signs(take, found=bool(near))
        score += trust.misfit * misfit + trust.gap * gap + trust.silent * silent
    return score


def signs(take: Take, *, found: bool) -> tuple[float, float, float]:
    """The signs of other words in a take: nats a word by which it fits badly, nats by which a loose loop fits better, and
    whether it found nothing that means anything here, or says that other words were said and not by how much."""
    if not found or (take.unknown and take.loose_gap is None):
        return 0.0, 0.0, 1.0
    return min(-(take.fits or 0.0), WORST_FIT), min(-(take.loose_gap or 0.0), WORST_GAP), 0.0


def _softmax(scores: Mapping[M, float], other: float) -> tuple[dict[M, float], float]:
    top = max(*scores.values(), other)
    parts = {m: math.exp(score - top) for m, score in scores.items()}
    rest = math.exp(other - top)
    whole = sum(parts.values()) + rest
    return {m: part / whole for m, part in parts.items()}, rest / whole


def _log_add(a: float, b: float) -> float:
    top = max(a, b)
    return top if math.isinf(top) else top + math.log(math.exp(a - top) + math.exp(b - top))
