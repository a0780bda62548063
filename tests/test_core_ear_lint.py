"""The lint for the ear, text by text: what is found in what is said, and what is not."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.binding import say_amount
from assistant.core.ear_lint.bare_numbers import bare_numbers
from assistant.core.ear_lint.cautions import in_the_text
from assistant.core.ear_lint.findings import GRADES, Finding, worst_first
from assistant.core.ear_lint.prompts import MOST_ACTIONS, MOST_WORDS, actions, too_much
from assistant.core.ear_lint.sayable import Pronouncing, unsayable
from assistant.core.ear_lint.texts import Text, spoken_words
from assistant.core.units import SPOKEN, Amount
from assistant.files.dictionary import syllables

TABLE = Path(__file__).parent / "tables/ear_lint.tsv"
ROWS = [
    line.split("\t") for line in TABLE.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")
]
WITHOUT_A_VOICE = Pronouncing(syllables, lambda _: "")
SPOKEN_UNITS = sorted(unit for unit, said in SPOKEN.items() if said)


def found_in(said: str, kind: str = "say") -> list[Finding]:
    """All that is found in one text."""
    text = Text(said, kind, "step", 1, ("say",))
    return [*too_much(text), *bare_numbers(text), *in_the_text(text), *unsayable(text, WITHOUT_A_VOICE)]


@pytest.mark.parametrize(("kind", "said", "expected", "why"), ROWS, ids=[row[1][:40] for row in ROWS])
def test_what_is_said_and_what_is_found(kind: str, said: str, expected: str, why: str) -> None:
    """Each row of the table: the faults that it names, and no other."""
    found = sorted(f"{one.grade} {one.rule}" for one in found_in(said, kind))
    assert found == sorted(expected.split("; ") if expected != "-" else []), why


def test_every_fault_of_the_table_has_a_neighbour_that_passes() -> None:
    """Of each kind of text and rule there are rows that find it, and as many texts that are clean in the table."""
    faults = [row for row in ROWS if row[2] != "-"]
    assert len(ROWS) - len(faults) >= len(faults)


@given(st.integers(1, 60))
def test_the_twenty_first_word_is_one_too_many(count: int) -> None:
    """A prompt of so many words is too long just when they are more than twenty."""
    found = [one for one in found_in(f"{'very ' * (count - 1)}well.") if one.rule == "too long"]
    assert bool(found) == (count > MOST_WORDS)


@given(st.integers(1, 6))
def test_the_third_action_is_one_too_many(count: int) -> None:
    """However they are joined, more than two orders are found, each by its words."""
    orders = ["shut the tap", "open the lid", "lift the lever", "press the switch", "turn the key", "pull the rope"][
        :count
    ]
    for joint in (", then ", " and ", ". ", "; ", ", "):
        said = joint.join(orders)
        assert actions(said) == orders
        found = [one for one in found_in(f"{said}.") if one.rule == "too many actions"]
        assert bool(found) == (count > MOST_ACTIONS)


AMOUNTS = st.builds(
    Amount,
    st.decimals(Decimal(-999), Decimal(9999), places=2, allow_nan=False),
    st.sampled_from(SPOKEN_UNITS),
)


@given(AMOUNTS)
def test_an_amount_as_the_program_says_it_is_never_found(amount: Amount) -> None:
    """What a placeholder becomes carries its unit, and can be said."""
    said = f"Set it to {say_amount(amount)}. Then wait."
    assert [one for one in found_in(said) if one.rule != "unknown word"] == []


@given(AMOUNTS, st.sampled_from([".", " and wait.", ", then wait.", " exactly."]))
def test_the_same_without_its_unit_is_always_found(amount: Amount, end: str) -> None:
    """A number alone is found, wherever the sentence goes on."""
    number = say_amount(Amount(amount.value, "count")).removeprefix("minus ")
    assert "number without unit" in {one.rule for one in found_in(f"Set it to {number}{end}")}


@given(st.text(max_size=60), st.sampled_from(["say", "caution", "title", "ask", "countdown", "because"]))
def test_any_text_can_be_looked_at(said: str, kind: str) -> None:
    """Whatever is written, it is looked at, and what is found has a grade, a what and a do."""
    assert all(one.grade in GRADES and one.what and one.do for one in found_in(said, kind))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("Set 21.5 now", "Set twenty one point five now"),
        ("1,200 turns", "one thousand two hundred turns"),
        ("the O-ring's seat", "the O ring's seat"),
        ("{dose} of it", "of it"),
    ],
)
def test_words_are_counted_as_they_are_heard(said: str, words: str) -> None:
    """Numbers in full, hyphens opened, placeholders left out."""
    assert " ".join(spoken_words(said)) == words


def test_the_worst_comes_first() -> None:
    """Must before should before look; within a grade the heaviest, then by line; nothing twice."""
    light, heavy = Finding("should", "a", "a", "a", line=1), Finding("should", "b", "b", "b", line=9, weight=1.0)
    must, look = Finding("must", "c", "c", "c", line=5), Finding("look", "d", "d", "d", line=0)
    assert worst_first((look, light, heavy, must, light)) == (must, heavy, light, look)
