"""Codes spelled by the ICAO alphabet: a table of what is said, and that each code comes back from its read-back."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.letters import ALPHABET, ANY_LENGTH, code_values, letters_piece, spelled_back
from assistant.core.speech.understanding import take_of_words
from tests.conversation import TABLES
from tests.strategies import sentences

GRAMMAR = compile_grammar(letters_piece())


def rows() -> list[list[str]]:
    """Length, said, text."""
    lines = (TABLES / "letters_said.tsv").read_text(encoding="utf-8").splitlines()
    return [line.split("\t") for line in lines if not line.startswith("#")]


def codes(said: str, length: tuple[int, int] = ANY_LENGTH) -> set[str]:
    """Every code that the words spell."""
    words = take_of_words(said).candidates[0].words
    grammar = compile_grammar(letters_piece(length))
    return {code for tags in grammar.paths(words) for code in code_values(tags)}


@pytest.mark.parametrize(("length", "said", "text"), rows())
def test_spelled_means(length: str, said: str, text: str) -> None:
    """The words spell what the table says, or are refused."""
    bounds = [int(n) for n in length.split("-")] if length != "any" else list(ANY_LENGTH)
    assert codes(said, (bounds[0], bounds[-1])) == (set() if text == "-" else set(text.split(" or ")))


# FAA AIM 4-2-7 and ICAO; the same in ITU Radio Regulations appendix 14 (reference.md 2.1).
OFFICIAL = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo Sierra "
    "Tango Uniform Victor Whiskey X-ray Yankee Zulu"
)


def test_the_read_back_has_the_official_spelling() -> None:
    """Alfa and Juliett are read back as the standard spells them, and both spellings are heard."""
    assert spelled_back("ABCDEFGHIJKLMNOPQRSTUVWXYZ") == OFFICIAL
    assert {ALPHABET["alfa"], ALPHABET["alpha"]} == {"A"}
    assert {ALPHABET["juliett"], ALPHABET["juliet"]} == {"J"}


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/", min_size=1, max_size=20))
@settings(max_examples=200, deadline=None)
def test_a_code_read_back_is_that_code(code: str) -> None:
    """What is read back, spelled again by the technician, is the code and no other."""
    words = spelled_back(code).lower().split()
    assert {c for tags in GRAMMAR.paths(words) for c in code_values(tags)} == {code}


@given(st.data(), st.integers(1, 20), st.integers(0, 5))
@settings(max_examples=60, deadline=None)
def test_nothing_of_another_length_is_heard(data: st.DataObject, least: int, more: int) -> None:
    """Whatever the grammar accepts has a length within the bounds."""
    length = (least, min(20, least + more))
    grammar = compile_grammar(letters_piece(length))
    said = data.draw(sentences(grammar, most=20))
    assert all(
        length[0] <= len(code) <= length[1] for tags in grammar.paths(said.split()) for code in code_values(tags)
    )
