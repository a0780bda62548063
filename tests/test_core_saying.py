"""How numbers are read back and said: published vectors in each regime, an independent library, and the grammar's reverse."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from assistant.core.speech.automaton import Automaton, Tag
from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.letters import code_values, letters_piece
from assistant.core.speech.numbers import LAST_RESORT, NumberShape, number_piece, number_values
from assistant.core.speech.saying import REGIMES, ReadBack, figures, in_full, sent_singly, spoken, ways_to_say
from assistant.core.speech.understanding import take_of_words
from tests.conversation import TABLES
from tests.strategies import sentences, values

WIDE = compile_grammar(number_piece(NumberShape(6, places=1)))
CODES = compile_grammar(letters_piece())

SAID_AS = {"fower": "four", "fife": "five"}
"""ACP 125 as it was printed spells how figures sound; the read-back has the words, which sound so anyway to a listener."""


def vectors() -> list[tuple[str, str, ReadBack, str, str]]:
    """Value, sent as, regime, words, source."""
    lines = (TABLES / "number_vectors.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if not line.startswith("#")]
    return [(value, sent_as, cast(ReadBack, regime), words, source) for value, sent_as, regime, words, source in rows]


def heard(words: str) -> tuple[str, ...]:
    """The words as typed in, with what only shows pronunciation ("wun", "tou-sand") in its word."""
    return take_of_words(words).candidates[0].words


def worth(grammar: Automaton, said: tuple[str, ...]) -> set[Decimal]:
    """All that the words are worth; a last resort only where they can be nothing else."""
    plain: set[Decimal] = set()
    last_resort: set[Decimal] = set()
    for tags in grammar.paths(said):
        (last_resort if LAST_RESORT in tags else plain).update(number_values(tags))
    return plain or last_resort


@pytest.mark.parametrize(("value", "sent_as", "regime", "words", "source"), vectors())
def test_a_published_value_is_read_back_as_published(
    value: str, sent_as: str, regime: ReadBack, words: str, source: str
) -> None:
    """Value -> words, in the regime that the vector names."""
    published = " ".join(SAID_AS.get(w, w) for w in heard(words))
    assert (figures(Decimal(value), regime) if sent_as == "quantity" else sent_singly(value)) == published, source


@pytest.mark.parametrize(("value", "sent_as", "regime", "words", "source"), vectors())
def test_published_words_are_worth_the_value(
    value: str, sent_as: str, regime: ReadBack, words: str, source: str
) -> None:
    """Words -> value, whatever regime the speaker learnt; with its leading zeros where it is a text."""
    assert worth(WIDE, heard(words)) == {Decimal(value)}, source
    if sent_as == "figures":
        assert {code for tags in CODES.paths(heard(words)) for code in code_values(tags)} == {value}


def test_every_regime_has_vectors() -> None:
    """No regime of the setting is without published rows."""
    assert {regime for _, _, regime, _, _ in vectors()} == set(REGIMES)


@pytest.mark.parametrize("regime", REGIMES)
@given(value=values(NumberShape(5, places=2, below_zero=True)))
@settings(max_examples=200, deadline=None)
def test_a_read_back_said_again_is_the_value(regime: ReadBack, value: Decimal) -> None:
    """In every regime the read-back, said by the technician, is the value and no other."""
    assert worth(signed(), tuple(figures(value, regime).split())) == {value}


@cache
def signed() -> Automaton:
    """Numbers to 99 999 with two decimals, below zero too."""
    return compile_grammar(number_piece(NumberShape(5, places=2, below_zero=True)))


# num2words, an independent library


def counted() -> Iterator[int | Decimal]:
    """0 to 99 999; hundredths up to 49.99; every 9.9th up to 49 500; of each some below zero.

    Not between 0 and -1: there num2words 0.5.14 leaves out its "minus".
    """
    yield from range(100_000)
    for n in range(5_000):
        yield -(n * 10 + 1)
        yield Decimal(n).scaleb(-2)
        yield -Decimal(n + 100).scaleb(-2)
        yield Decimal(n * 99 + 1).scaleb(-1)


class Walk:
    """The paths of a grammar along words, each beginning of a sentence walked once."""

    def __init__(self, grammar: Automaton) -> None:
        self.grammar = grammar
        self.along = cache(self._along)

    def _along(self, said: tuple[str, ...]) -> tuple[tuple[int, tuple[Tag, ...]], ...]:
        if not said:
            return ((self.grammar.first, ()),)
        before = self.along(said[:-1])
        return tuple((to, tags + more) for s, tags in before for more, to in self.grammar.arcs[s].get(said[-1], ()))

    def worth(self, said: tuple[str, ...]) -> set[Decimal]:
        """As `worth`, of the sentence."""
        ends = [tags + last for s, tags in self.along(said) for last in self.grammar.ends.get(s, ())]
        return {v for tags in ends if LAST_RESORT not in tags for v in number_values(tags)}


def test_num2words_is_understood_and_agrees() -> None:
    """The words of num2words for 120 000 values are worth the value alone; ours are the same less its "and"."""
    walk, seen = Walk(signed()), 0
    for value in counted():
        theirs = tuple(num2words(value).replace("-", " ").replace(",", "").split())
        assert walk.worth(theirs) == {value}, theirs
        assert spoken(Decimal(value)).split() == [w for w in theirs if w != "and"]
        seen += 1
    assert seen == 120_000


def test_whole_numbers_in_full_agree_beyond_what_readings_need() -> None:
    """`in_full` and num2words have the same words up to 999 999, here every 997th."""
    for n in range(0, 1_000_000, 997):
        assert in_full(n) == [w for w in num2words(n).replace("-", " ").replace(",", "").split() if w != "and"]


# Every way to say a number


SHAPES = {
    "psi": NumberShape(3),
    "rpm": NumberShape(4),
    "volts to a hundredth": NumberShape(2, places=2, fractions=True),
    "hours": NumberShape(3, places=1, fractions=True, tenths=True),
    "freezing point": NumberShape(2, below_zero=True),
    "five digits": NumberShape(5),
    "six digits": NumberShape(6),
}
GRAMMARS = {name: compile_grammar(number_piece(shape)) for name, shape in SHAPES.items()}
MIXED_AT_WILL = {"tree", "fower", "fife", "niner", "double", "triple", "oh"}
"""Words that may be mixed with their like in one number; of such mixtures `ways_to_say` has a few."""


@pytest.mark.parametrize("name", SHAPES)
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_every_way_to_say_it_is_worth_it(name: str, data: st.DataObject) -> None:
    """Number -> every way to say it -> the grammar -> the number is among what the words are worth."""
    value = data.draw(values(SHAPES[name]))
    for said in ways_to_say(value, tenths=SHAPES[name].tenths):
        assert value in worth(GRAMMARS[name], tuple(said.split())), said


@pytest.mark.parametrize("name", SHAPES)
@given(data=st.data())
@settings(max_examples=150, deadline=None)
def test_the_grammar_has_no_form_that_the_reverse_lacks(name: str, data: st.DataObject) -> None:
    """Whatever the grammar accepts is a way to say its number, leading zeros and mixtures of digit words apart."""
    said = data.draw(sentences(GRAMMARS[name].without(MIXED_AT_WILL)))
    digits = said.removeprefix("minus ").removeprefix("negative ")
    if not said or (digits.startswith("zero ") and digits.split()[1] not in ("point", "decimal", "below")):
        return
    found = {v for tags in GRAMMARS[name].paths(said.split()) for v in number_values(tags)}
    if found != {Decimal(0)}:  # nothing is below zero: such a zero has no way of its own
        assert any(said in ways_to_say(v, tenths=True) for v in found), (said, found)
