"""The proof beside a checker made by others: Z3's fixed-point engine, given the same page of rules (`independent_checker`).

A hundred procedures with the suite, the thousand (half a minute to a minute) with `LAYUP_WHOLE=1`.
"""

from __future__ import annotations

import os

import pytest

from assistant.core.proof import prove
from tests.generated_procedures import generated
from tests.independent_checker import Rules
from tests.test_core_proof import START, STOP, WATER_OFF, WATER_ON, asking, procedure, step

PROCEDURES = 1000 if os.environ.get("LAYUP_WHOLE") else 100
PARTS = 10
LEAST_OF_EACH = PROCEDURES // 4
"""So many of them at least must be safe and so many unsafe, or agreement says little."""


@pytest.mark.parametrize("part", range(PARTS))
def test_both_agree_on_generated_procedures(part: int) -> None:
    """Can a never be reached: the same answer for each, a tenth of them a part."""
    seeds = range(part * PROCEDURES // PARTS, (part + 1) * PROCEDURES // PARTS)
    differ = [
        seed for seed in seeds if (prove(generated(seed)).counterexample is not None) != Rules(generated(seed)).harm()
    ]
    assert differ == []


def test_they_are_safe_and_unsafe_in_good_numbers() -> None:
    unsafe = sum(prove(generated(seed)).counterexample is not None for seed in range(PROCEDURES))
    assert LEAST_OF_EACH <= unsafe <= PROCEDURES - LEAST_OF_EACH


def test_the_checker_tells_the_safe_flush_from_the_unsafe_one() -> None:
    """It is no yes-sayer: the flush with and without the need that makes it safe."""
    values = {"engine": ("stopped", "running"), "water": ("off", "on")}
    safe = procedure(START, WATER_ON, WATER_OFF, STOP, conditions=values)
    assert not Rules(safe).harm()
    assert Rules(
        procedure(START, WATER_ON, WATER_OFF, step("stop", {}, {"engine": "stopped"}), conditions=values)
    ).harm()


def test_the_checker_passes_over_what_is_for_other_machines() -> None:
    """A step for no answer there is, is never opened; one for an answer is."""
    values = {"engine": ("stopped", "running"), "water": ("off", "on"), "cooling": ("raw", "closed", "air")}
    start = {"engine": "stopped", "water": "off", "cooling": "air"}
    asked = asking("which", {"cooling": "raw"}, {"cooling": "raw"})
    steps = (asked, step("raw", only={"cooling": "raw"}), step("closed", only={"cooling": "closed"}))
    rules = Rules(procedure(*steps[1:], start=start, conditions=values))
    assert [rules.ever_open(n) for n in range(3)] == [False, False, True]
    assert Rules(procedure(*steps, start=start, conditions=values)).ever_open(1)
