"""Readings of letters and dates in procedure files, and the read-back of a site: what is read, and what mistakes are told."""

from __future__ import annotations

import pytest

from assistant.core.problems import FileProblems
from assistant.core.procedure import Limit, Reading
from assistant.core.speech.saying import REGIMES
from assistant.files.procedure_file import read_procedure
from assistant.files.site_file import read_site

PROCEDURE = """\
procedure: small
title: Small
version: 1
for: boat
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never: []
steps:
  - id: one
    title: One
    say: Read it.
    readings:
      - {name: nr, ask: Number, %s}
"""


def read(keys: str) -> Reading:
    """The reading that has these keys."""
    (reading,) = read_procedure(PROCEDURE % keys, "p.yaml").step("one").readings
    return reading


@pytest.mark.parametrize(
    ("keys", "length"),
    [("kind: letters", (1, 20)), ("kind: letters, length: 12", (12, 12)), ("kind: letters, length: [6, 9]", (6, 9))],
)
def test_a_reading_of_letters(keys: str, length: tuple[int, int]) -> None:
    """A code has as many signs as the file says, or up to the 20 of a GS1 lot or serial number."""
    reading = read(keys)
    assert (reading.kind, reading.unit, reading.length) == ("letters", "", length)


def test_a_date_and_its_limits() -> None:
    """Bounds are days, months, quarters or today, with their source."""
    keys = (
        "kind: date, limits: [{at_least: today, source: label}, {between: [2019-Q4, 2026-11]}, {at_most: 2026-11-23}]"
    )
    reading = read(keys)
    assert (reading.kind, reading.unit) == ("date", "")
    assert reading.limits == (
        Limit("at_least", low="today", source="label"),
        Limit("between", low="2019-Q4", high="2026-11"),
        Limit("at_most", high="2026-11-23"),
    )


MISTAKES = [
    ("kind: letter", "p.yaml:13:39: there is no kind 'letter'\n  write letters or date, or a unit in its place"),
    ("kind: letters, unit: psi", "a reading of letters has no 'unit'\n  keep the one or the other"),
    ("kind: letters, limits: [{at_least: 1 psi}]", "a reading of letters has no 'limits'"),
    ("kind: date, length: 4", "a date has no 'length'"),
    ("kind: date, plausible: [0, 4]", "a date has no 'plausible'"),
    ("kind: letters, length: 21", "a length is one number or two, from 1 to 20\n  write 12, or [6, 12]"),
    ("kind: letters, length: [9, 6]", "a length is one number or two"),
    ("kind: letters, length: 0", "a length is one number or two"),
    ("kind: letters, length: twelve", "a length is one number or two"),
    ("kind: letters, length: [1, 2, 3]", "a length is one number or two"),
    ("unit: psi, plausible: [0, 9], length: 4", "only a reading of letters has a 'length'"),
    ("kind: date, choices: [{name: a, words: a}, {name: b, words: b}]", "a reading with choices has no 'kind'"),
    ("kind: date, limits: [{at_least: 2026-02-31}]", "there is no 2026-02-31\n  write it as 2026-11-23, 2026-11"),
    ("kind: date, limits: [{at_least: soon}]", "'soon' is no day, month or quarter of a year"),
    ("kind: date, limits: [{spread: 10 percent}]", "a limit of a date has no key 'spread'"),
    ("kind: date, limits: [{between: [2026]}]", "'2026' is no day, month or quarter of a year"),
    ("kind: date, limits: [{between: [2026-11, 2026-12, 2027-01]}]", "a limit has exactly one rule"),
    ("kind: date, limits: [{at_least: today, at_most: today}]", "a limit has exactly one rule"),
    ("kind: date, limits: [{source: label}]", "a limit has exactly one rule"),
]


@pytest.mark.parametrize(("keys", "told"), MISTAKES)
def test_a_mistake_is_told(keys: str, told: str) -> None:
    """Each mistake is answered with what is wrong, where, and what to write."""
    with pytest.raises(FileProblems) as caught:
        read(keys)
    assert any(told in str(problem) for problem in caught.value.problems), [str(p) for p in caught.value.problems]


@pytest.mark.parametrize("regime", REGIMES)
def test_a_site_names_its_read_back(regime: str) -> None:
    """Each regime may be set; without the key it is every figure by itself."""
    assert read_site(f"shop: ours\ngallon: us_gal\nread_back: {regime}\n", "site.yaml").read_back == regime
    assert read_site("shop: ours\ngallon: us_gal\n", "site.yaml").read_back == "digits"


def test_another_read_back_is_refused() -> None:
    """The regimes are named where another word stands."""
    with pytest.raises(FileProblems) as caught:
        read_site("shop: ours\ngallon: us_gal\nread_back: navy\n", "site.yaml")
    (problem,) = caught.value.problems
    told = "site.yaml:3:12: 'navy' is no way to read figures back\n  write one of digits, icao, faa, acp125, maritime"
    assert str(problem) == told
