"""Answers that sound alike, and how risky a reading's range is: judged from the sound-alike model."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.sounds import TOO_NEAR, judged, once_in
from assistant.core.procedure import Choice, Limit, Reading, Step
from assistant.core.speech import commands
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.risks import risks
from assistant.core.speech.sound_alikes import distance
from assistant.core.units import Amount


def judge(*readings: Reading) -> list[Finding]:
    """What is found of a step that asks for these."""
    step = Step("s", "S", "Look.", readings=readings, line=7)
    asked = tuple(Asked(reading) for reading in readings)
    return list(judged(step, risks(Expectation(commands.IN_STEP, asked))))


def choice(*words: str) -> Reading:
    """An answer of these words; the first is as it should be, the others not."""
    return Reading("r", "R", kind="choice", choices=tuple(Choice(w, (w,), n == 0) for n, w in enumerate(words)))


def number(least: int, most: int, low: int, high: int) -> Reading:
    """A pressure from least to most, of which low to high is allowed."""
    limit = Limit("between", low=Amount(Decimal(low), "psi"), high=Amount(Decimal(high), "psi"))
    return Reading("p", "P", unit="psi", plausible=(Decimal(least), Decimal(most)), limits=(limit,))


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("belt", "bent"), ["must answers sound alike"]),
        (("clean", "clear"), ["should answers sound alike"]),
        (("tight", "corroded"), []),
        (("good", "belt", "bent"), ["should answers sound alike"]),
        (("good", "wet", "white"), []),
        (("good", "top"), ["should answer like a command"]),
        (("good", "low"), ["look answer like a word"]),
        (("good", "flibber"), ["look unknown answer"]),
    ],
)
def test_answers_of_one_step(words: tuple[str, ...], expected: list[str]) -> None:
    """Two answers that turn the verdict must be apart; two bad ones should; a command's likeness should not be taken."""
    assert [f"{one.grade} {one.rule}" for one in judge(choice(*words))] == expected


def test_two_readings_of_one_step_are_compared_with_each_other() -> None:
    """A good answer of one and a bad one of the other are two answers of one step."""
    second = Reading("q", "Q", kind="choice", choices=(Choice("bent", ("bent",), False), Choice("good", ("good",))))
    assert [one.grade for one in judge(choice("belt", "worn"), second)] == ["must"]


def test_a_limit_that_parts_fifteen_and_fifty_is_listed_once() -> None:
    """With two values that it parts, how often, and how many pairs more; where none is parted nothing is."""
    [found] = judge(number(0, 60, 15, 15))
    assert (found.grade, found.rule, found.line, found.path) == ("look", "risky range", 7, ("readings", 0))
    assert "about once in 20" in found.what
    assert "'fifteen' and 'fifty' (15 psi / 50 psi" in found.what
    assert judge(number(60, 69, 62, 64)) == []
    assert judge(number(0, 99, 0, 99)) == []


def test_a_narrower_range_takes_the_risk_out() -> None:
    """What is advised helps: without fifty there is no fifteen to be taken for it."""
    assert judge(number(10, 25, 15, 20)) == []


def test_the_threshold_is_that_of_the_pairs_of_radiotelephony() -> None:
    """Every teen is nearer to its ten than the threshold (ICAO says figures one by one for it); five and nine are farther."""
    for teen, ten in (("thirteen", "thirty"), ("fifteen", "fifty"), ("nineteen", "ninety")):
        assert distance((teen,), (ten,)) < TOO_NEAR
    assert distance(("five",), ("nine",)) > TOO_NEAR
    assert once_in(TOO_NEAR) == 33
