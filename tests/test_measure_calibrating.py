"""The fit of the calibration: on hearings made up by a known rule it finds that rule again."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest

from assistant.core.events import Candidate, Take
from assistant.core.speech.calibration import Calibration
from assistant.core.speech.evidence import Sense
from assistant.measure.calibrating import Row, fit

pytest.importorskip("scipy", reason="the fit needs scipy, which comes with the tools of tests/run")

PLAIN: Sense[str] = Sense(lambda said: (" ".join(said),))
WORDS = ("ninety", "fifty", "thirty")


def take(ear: str, logps: dict[str, float], fits: float = 0.0) -> Take:
    ranked = sorted(logps.items(), key=lambda pair: -pair[1])
    return Take(ear, tuple(Candidate((w,), logp, math.exp(logp)) for w, logp in ranked), fits=fits)


def lone(heard: Take, said: str) -> Row:
    """A row of one ear; nothing said for talk."""
    return Row((heard,), (heard,), PLAIN, frozenset({said} if said else ()))


def heard(rng: random.Random, trust: float) -> Row:
    """An ear that sets its best `trust` times too many nats above one other word, which then is said as often as that tells."""
    best, other = rng.sample(WORDS, 2)
    nats = rng.uniform(0.2, 3.0)
    said = best if rng.random() < 1 / (1 + math.exp(-nats)) else other
    return lone(take("ear", {best: 0.0, other: -nats * trust}), said)


def fitted(rows: Sequence[Row], *ears: str) -> Calibration:
    return fit(rows, ears)


@pytest.mark.parametrize("trust", [1.0, 2.0, 4.0])
def test_an_ear_that_claims_too_much_is_scaled_down(trust: float) -> None:
    """Where its nats are so many times too many, one of them is worth so many times less."""
    rng = random.Random(5)
    found = fitted([heard(rng, trust) for _ in range(700)], "ear")
    assert found.of("ear").scale == pytest.approx(1 / trust, rel=0.25)


def test_an_ear_that_knows_nothing_counts_for_little() -> None:
    """Beside one that is right, an ear that guesses gets hardly any weight."""
    rng = random.Random(6)
    rows = []
    for _ in range(400):
        said, other = rng.sample(WORDS, 2)
        guess = dict(zip(rng.sample((said, other), 2), (0.0, -3.0), strict=True))
        takes = (take("good", {said: 0.0, other: -3.0}), take("deaf", guess))
        rows.append(Row(takes, takes, PLAIN, frozenset({said})))
    found = fitted(rows, "good", "deaf")
    assert found.of("good").scale > 5 * found.of("deaf").scale


@pytest.mark.parametrize("charge", [0.0, 1.5, 3.0])
def test_an_ear_that_charges_for_every_word_gets_it_back(charge: float) -> None:
    """Where it is as often right about the longer string as its nats tell once the charge is given back, that is found."""
    rng = random.Random(8)
    rows = []
    for _ in range(700):
        short, *rest = rng.sample(WORDS, 3)
        nats = rng.uniform(-3.0, 3.0)
        said = " ".join((short, *rest)) if rng.random() < 1 / (1 + math.exp(-nats)) else short
        both = (Candidate((short,), 0.0, 0.5), Candidate((short, *rest), nats - charge * len(rest), 0.5))
        ranked = sorted(both, key=lambda one: -one.logp)
        rows.append(lone(Take("ear", tuple(ranked)), said))
    assert fitted(rows, "ear").of("ear").word == pytest.approx(charge, abs=0.3)


def test_a_bad_fit_comes_to_tell_of_other_words() -> None:
    """Where talk fits badly and readings well, each nat of misfit speaks for other words."""
    rng = random.Random(7)
    rows = [lone(take("ear", {"ninety": 0.0}, fits=-rng.uniform(0.0, 1.0)), "ninety") for _ in range(200)]
    rows += [lone(take("ear", {"ninety": 0.0}, fits=-rng.uniform(2.0, 5.0)), "") for _ in range(200)]
    found = fitted(rows, "ear")
    assert found.of("ear").misfit > 1.0
    assert found.other < 0.0
