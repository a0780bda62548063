"""The grammar of a step: what the words mean at a reading, and that nothing outside of what it can be is heard."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.bench.listening import state_at
from assistant.core.expected import expectation_of
from assistant.core.procedure import Choice, Reading
from assistant.core.speech.amounts import span_in
from assistant.core.speech.commands import IN_STEP
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.numbers import DIGITS, POINT, SIGNS
from assistant.core.speech.saying import ways_to_say
from assistant.core.speech.step_grammar import Meaning, SpokenReading, grammar_of, meanings_of
from assistant.files.work import read_work
from tests.strategies import sentences

ROOT = Path(__file__).resolve().parents[1]
TABLE = ROOT / "tests" / "tables" / "said_meant_readings.tsv"


def measured(name: str, unit: str, low: str, high: str, places: int = 0, each: str = "", *at: int | str) -> Reading:
    plausible = Decimal(low), Decimal(high)
    return Reading(name, name.capitalize(), unit=unit, plausible=plausible, places=places, each=each, positions=at)


READINGS = {
    reading.name: reading
    for reading in (
        measured("gap", "inch", "0", "3", 3),
        measured("bore", "mm", "0", "90", 1),
        measured("clearance", "thou", "0", "40", 1),
        measured("trim", "mm", "0", "60", 0, "side", "port", "starboard"),
        measured("gravity", "sg", "1", "1.4", 3, "cell", 1, 2, 3, 4, 5, 6),
        measured("battery", "V", "5", "17", 1, "battery", 1, 2),
        measured("compression", "psi", "60", "300", 0, "cylinder", 1, 2, 3, 4),
        measured("torque", "lbf_ft", "1", "60", 1, "bolt", *range(1, 9)),
        measured("hours", "h", "0", "5000", 1),
        measured("freezing", "degF", "-90", "40"),
        measured("speed", "rpm", "0", "9000"),
        Reading("rings", "Ring number", kind="count", plausible=(Decimal(0), Decimal(20))),
    )
}


@cache
def expectation(name: str) -> Expectation:
    """That reading is asked for, at its first place; nothing of it is kept."""
    reading = READINGS[name]
    first = reading.positions[0] if reading.positions else None
    return Expectation(IN_STEP, (Asked(reading, first, open_at=reading.positions),))


def meanings(name: str, said: str) -> frozenset[Meaning]:
    return meanings_of(expectation(name), tuple(said.split()))


def rows() -> list[tuple[str, str, str]]:
    """Reading, said, meant."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    cells = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [(name, said, meant) for name, said, meant in cells]


def as_written(meaning: Meaning) -> str:
    return "; ".join(
        f"{r.place + ' = ' if r.place else ''}{r.value} {r.unit}{'!' if r.implausible else ''}"
        for r in meaning.readings
    )


@pytest.mark.parametrize(("name", "said", "meant"), rows())
def test_said_means(name: str, said: str, meant: str) -> None:
    """The words mean what the table says and nothing else, or may not be said."""
    expected = set() if meant == "nothing" else set(meant.split(" | "))
    assert {as_written(meaning) for meaning in meanings(name, said)} == expected
    assert grammar_of(expectation(name)).accepts(said.split()) == bool(expected)


@pytest.mark.parametrize("name", READINGS)
@given(data=st.data())
@settings(max_examples=100, deadline=None)
def test_every_value_of_the_range_can_be_said_in_every_way(name: str, data: st.DataObject) -> None:
    """A value between the bounds, in each form of `ways_to_say`, may be said and is among what the words mean."""
    reading = READINGS[name]
    value = data.draw(st.decimals(*reading.plausible, places=reading.places))
    for said in ways_to_say(value if value else Decimal(0), tenths=name == "hours"):
        assert value in {m.readings[0].value for m in meanings(name, said) if len(m.readings) == 1}, said


@pytest.mark.parametrize("name", READINGS)
@given(data=st.data())
@settings(max_examples=150, deadline=None)
def test_nothing_outside_the_range_can_be_heard(name: str, data: st.DataObject) -> None:
    """Whatever the automaton accepts has a meaning, and its values lie in the range, or were said digit by digit and say so."""
    said = data.draw(sentences(grammar_of(expectation(name))))
    found = meanings(name, said)
    assert found or not said
    for meaning in found:
        for r in meaning.readings:
            low, high = READINGS[name].plausible
            assert isinstance(r.value, Decimal)
            assert r.implausible == (not low <= r.value <= high)
            assert not r.implausible or digit_by_digit(said, r)


def digit_by_digit(said: str, r: SpokenReading) -> bool:
    """Digits alone, as many as the widest number of the range in that unit, or one more; no more decimals than usual."""
    corrected = said.partition(" correction ")[2] or said
    figures = " ".join(w for w in corrected.split() if w in (*DIGITS, *POINT, *SIGNS, "double", "triple", "below"))
    before, _, _ = re.sub("decimal", "point", figures).partition(" point ")
    width = sum({"double": 1, "triple": 2}.get(w, w in DIGITS) for w in before.split())
    places = -int(r.said_value.as_tuple().exponent) if isinstance(r.said_value, Decimal) else 0
    widest = max(len(str(int(abs(bound)))) for bound in span_in(READINGS[r.name], r.said_unit))
    extra = bool(r.place) + figures.endswith("below zero")
    return widest <= width <= widest + 1 + extra and (r.said_unit != r.unit or places <= READINGS[r.name].places)


@pytest.mark.parametrize("name", READINGS)
def test_no_word_leads_nowhere(name: str) -> None:
    """From every state of the automaton there is a way to an end."""
    grammar = grammar_of(expectation(name))
    ending = set(grammar.ends)
    for _ in grammar.arcs:
        ending |= {
            s for s, by_word in grammar.arcs.items() if any(t in ending for ts in by_word.values() for _, t in ts)
        }
        if len(ending) == len(grammar.arcs):
            return
    raise AssertionError(f"{len(grammar.arcs) - len(ending)} states lead nowhere")


def test_values_in_one_breath_go_to_the_places_that_are_open() -> None:
    """After cylinder two is kept, what is said in one breath goes to one, three and four."""
    reading = READINGS["compression"]
    asked = Expectation(IN_STEP, (Asked(reading, 1, open_at=(1, 3, 4)),))
    said = "one nine zero one eight eight one nine two"
    assert {as_written(m) for m in meanings_of(asked, tuple(said.split()))} == {
        "cylinder 1 = 190 psi; cylinder 3 = 188 psi; cylinder 4 = 192 psi"
    }
    assert not meanings_of(asked, tuple(f"{said} one nine one".split()))


def test_answers_in_words_can_be_given_in_one_breath() -> None:
    """Of plugs, too: with their places, or over the open ones."""
    answers = (Choice("good", ("good", "brown")), Choice("black", ("black",), good=False))
    plugs = Reading("plug", "Plug", kind="choice", each="plug", positions=(1, 2, 3), choices=answers)
    asked = Expectation(IN_STEP, (Asked(plugs, 1, open_at=(1, 2, 3)),))
    for said in ("good black good", "plug one good two black three brown"):
        [meaning] = meanings_of(asked, tuple(said.split()))
        assert [r.value for r in meaning.readings] == ["good", "black", "good"]


def test_what_is_counted_names_its_reading() -> None:
    """Where something else is asked for, "two rings" is enough; the bare number is not."""
    asked = Expectation(IN_STEP, (Asked(READINGS["hours"]), Asked(READINGS["rings"], unnamed=False)))
    assert {as_written(m) for m in meanings_of(asked, ("two", "rings"))} == {"2 count"}
    assert {as_written(m) for m in meanings_of(asked, ("no", "rings"))} == {"0 count"}
    assert {m.readings[0].name for m in meanings_of(asked, ("two",))} == {"hours"}


MOST_PHRASES = 6000
"""What the streaming ear takes at a step without growing slow (the brief of issue 4)."""


def test_every_step_of_the_shipped_procedure_is_small_enough() -> None:
    """The phrases that stand for a step's grammar are few."""
    procedures = ROOT / "procedures"
    files = ("pwc-off-season.yaml", "tern-3.sheet.yaml", "our-shop.site.yaml")
    work = read_work(*(procedures / name for name in files))
    for step in work.procedure.steps:
        assert len(grammar_of(expectation_of(state_at(work, step.id, date(2026, 11, 25)))).phrases) < MOST_PHRASES, (
            step.id
        )


def test_the_same_moment_is_compiled_once() -> None:
    """Swapping back to a step is looking it up."""
    assert grammar_of(expectation("gap")) is grammar_of(Expectation(IN_STEP, expectation("gap").asked))


def test_decimals_are_kept_as_they_were_said() -> None:
    """A zero that was said is kept: it tells how finely the gauge was read."""
    for said, kept in (("twelve point six", "12.6"), ("twelve point six oh", "12.60"), ("twelve oh", "12.0")):
        [meaning] = meanings("battery", said)
        assert str(meaning.readings[0].value) == kept
