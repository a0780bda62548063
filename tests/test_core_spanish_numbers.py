"""Spanish numbers, spoken and heard, against num2words (an independent library): every whole number below ten thousand."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.dates import date_values
from assistant.core.speech.dates_plain import plain_date_piece
from assistant.core.speech.numbers import ONE, number_piece, number_values, shape_of
from assistant.core.speech.saying import figures, in_full, spoken
from assistant.files.language_file import FOLDER, load_language

SPANISH = load_language(FOLDER / "es.yaml")
WHOLE = compile_grammar(number_piece(shape_of(Decimal(0), Decimal(9999), 0), ONE, SPANISH.numbers))
LARGE = compile_grammar(number_piece(shape_of(Decimal(0), Decimal(999999), 0), ONE, SPANISH.numbers))
DECIMAL = compile_grammar(number_piece(shape_of(Decimal(-999), Decimal(999), 2), ONE, SPANISH.numbers))


def means(grammar: object, said: str) -> set[Decimal]:
    """All that the words can mean."""
    return {value for tags in grammar.paths(said.split()) for value in number_values(tags)}


def test_whole_numbers_are_said_as_num2words_says_them() -> None:
    """In full, 0 to 9999, letter for letter."""
    assert [" ".join(in_full(n, SPANISH)) for n in range(10_000)] == [num2words(n, lang="es") for n in range(10_000)]


def test_every_whole_number_is_understood_however_it_is_said() -> None:
    """num2words' Spanish, and ours figure by figure, mean that number and no other."""
    for n in range(10_000):
        for said in (num2words(n, lang="es"), figures(Decimal(n), "digits", SPANISH)):
            assert means(WHOLE, said) == {Decimal(n)}, said


@given(st.integers(10_000, 999_999))
def test_large_numbers_are_understood(n: int) -> None:
    """As num2words and as we say them, up to a million."""
    for said in (num2words(n, lang="es"), " ".join(in_full(n, SPANISH)), figures(Decimal(n), "digits", SPANISH)):
        assert means(LARGE, said) == {Decimal(n)}, said


@given(st.integers(-99_999, 99_999))
def test_decimals_are_understood_with_comma_and_point(hundredths: int) -> None:
    """As we say them with "coma", figure by figure and as anyone would; as num2words says them with "punto".

    num2words 0.5.14 drops the minus of what lies between nought and minus one: those it is not asked.
    """
    value = Decimal(hundredths) / 100
    ours = (spoken(value, SPANISH), figures(value, "digits", SPANISH))
    theirs = () if -1 < value < 0 else (num2words(value, lang="es"),)
    for said in (*ours, *theirs):
        assert means(DECIMAL, said) == {value}, said


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("uno nueve cero", "190"),
        ("doble cinco", "55"),
        ("triple cero", "0"),
        ("doce coma seis", "12.6"),
        ("doce punto seis", "12.6"),
        ("dos y medio", "2.5"),
        ("tres cuartos", "0.75"),
        ("veintiún", "21"),
        ("doscientas cinco", "205"),
        ("veinte bajo cero", "-20"),
        ("menos veinte", "-20"),
    ],
)
def test_other_ways_to_say_a_number(said: str, value: str) -> None:
    """Repeated figures, fractions, feminine forms, below zero (from memory)."""
    assert means(DECIMAL, said) == {Decimal(value)}


@pytest.mark.parametrize(
    "said", ["cien cinco", "ciento y dos", "treinta uno", "uno noventa", "doce seis y", "coma", "mil mil"]
)
def test_what_is_no_spanish_number_means_nothing(said: str) -> None:
    """Pairs are English alone; "cien" has nothing behind it; tens have a "y"."""
    assert means(DECIMAL, said) == set()
    assert means(LARGE, said) == set()


@pytest.mark.parametrize(
    ("value", "said"), [(100, "cien"), (500, "quinientos"), (1000, "mil"), (2500, "dos mil quinientos")]
)
def test_whole_hundreds_and_thousands_where_the_shop_wants_them(value: int, said: str) -> None:
    """As the rule of ICAO has it, in the language's own words (from memory)."""
    assert figures(Decimal(value), "icao", SPANISH) == said


@given(st.dates(date(1990, 1, 1), date(2099, 12, 31)))
def test_dates_are_understood_as_num2words_counts_them(day: date) -> None:
    """Day and year in full with the month by its name between them."""
    month = SPANISH.months[day.month - 1]
    said = f"{num2words(day.day, lang='es')} de {month} de {num2words(day.year, lang='es')}"
    grammar = compile_grammar(plain_date_piece(SPANISH))
    assert {v for tags in grammar.paths(said.split()) for v in date_values(tags, None)} == {day.isoformat()}


def test_no_day_is_heard_that_there_is_not() -> None:
    """The thirty-first of June."""
    grammar = compile_grammar(plain_date_piece(SPANISH))
    assert not grammar.accepts(["treinta", "y", "uno", "de", "junio", "de", "dos", "mil", "veintiséis"])
    assert grammar.accepts(["treinta", "de", "junio", "de", "dos", "mil", "veintiséis"])
