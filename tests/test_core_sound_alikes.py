"""Words that sound alike: the known confusions come out nearer than what nobody confuses."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.core.speech.pronunciations import PRONOUNCED
from assistant.core.speech.sound_alikes import distance, might_be, unknown_words

WORDS = st.lists(st.sampled_from(sorted({*DIGITS, *TEENS, *TENS})), min_size=1, max_size=4).map(tuple)
UNLIKE = ("two/seven", "one/six", "three/forty", "eleven/twenty", "zero/hundred", "two/ninety")
ALIKE = (
    "thirteen/thirty", "fourteen/forty", "fifteen/fifty", "sixteen/sixty", "seventeen/seventy", "eighteen/eighty",
    "nineteen/ninety", "five/nine", "fifty/sixty", "eight/eighty", "nine/ninety", "oh/four",
)  # fmt: skip
"""Teens and tens: why radiotelephony says figures one by one; five and nine: ICAO Annex 10 volume II, 5.2.1.4; the rest the
ears were measured to confuse."""


def between(pair: str) -> float:
    """The distance of "one thing/another"."""
    said, other = pair.split("/")
    return distance(tuple(said.split()), tuple(other.split()))


@pytest.mark.parametrize("alike", ALIKE)
def test_known_confusions_are_nearer_than_what_nobody_confuses(alike: str) -> None:
    """Each known pair lies nearer than every pair that is unlike."""
    assert between(alike) < min(map(between, UNLIKE))


def test_tens_that_begin_and_end_alike() -> None:
    """Sixty and seventy, which the bench model was measured to confuse, are nearer than two and seven."""
    assert between("sixty/seventy") < between("two/seven")


def test_icao_words_are_farther_apart_than_the_everyday_ones() -> None:
    """*Niner* and *fife* are told apart more easily than nine and five (ICAO Annex 10 volume II, 5.2.1.4)."""
    assert between("niner/fife") > between("nine/five")
    assert between("niner/five") > between("nine/five")


def test_a_teen_is_nearest_to_its_ten() -> None:
    """Of all number words "fifty" is the nearest to "fifteen", and so for each."""
    words = {*TEENS, *TENS}
    for teen, ten in (pair.split("/") for pair in ALIKE[:7]):
        assert min(words - {teen}, key=lambda w: distance((teen,), (w,))) == ten


@given(WORDS, WORDS)
def test_a_distance(said: tuple[str, ...], other: tuple[str, ...]) -> None:
    """Nothing to the same words, more than nothing to others, and the same both ways."""
    assert distance(said, said) == 0
    assert distance(said, other) == pytest.approx(distance(other, said))
    assert said == other or distance(said, other) > 0


@given(WORDS, st.sampled_from(sorted(DIGITS)))
def test_what_both_have_costs_nothing(said: tuple[str, ...], more: str) -> None:
    """The same word added to both brings them no farther apart."""
    other = (*said[:-1], "fifty")
    assert distance((more, *said), (more, *other)) <= distance(said, other) + 1e-9


def test_an_unknown_word_is_like_nothing_else() -> None:
    """A shop's own word without a pronunciation is infinitely far from others, and listed."""
    assert distance(("frobnicate",), ("four",)) == float("inf")
    assert distance(("one", "frobnicate"), ("nine", "frobnicate")) < 6
    assert might_be(("frobnicate",), 5.0, {"four", "frobnicate"}) == []
    assert unknown_words(("four", "frobnicate", "blorp")) == ("blorp", "frobnicate")


@pytest.mark.parametrize(
    ("said", "other"),
    [
        ("one fifteen", "one fifty"),
        ("two nine", "two five"),
        ("nine oh four", "nine four"),
        ("nine four", "nine oh four"),
        ("eighty eight", "eighty"),
        ("eighty", "eighty eight"),
        ("four eight", "forty"),
        ("eighty", "eight three"),
        ("one one four", "one four"),
    ],
)
def test_what_might_have_been_said(said: str, other: str) -> None:
    """A word for its neighbour, a word dropped or doubled, a ten for two digits and the other way."""
    assert tuple(other.split()) in dict(might_be(tuple(said.split()), 6.0))


@given(WORDS)
def test_what_might_have_been_said_is_near_and_in_order(said: tuple[str, ...]) -> None:
    """Nearest first, none beyond the bound or nearer than `distance` says, never the words themselves, of the given words."""
    among = frozenset((*DIGITS, *TEENS, *TENS))
    found = might_be(said, 5.0, among)
    assert [away for _, away in found] == sorted(away for _, away in found)
    assert all(words != said and away <= 5.0 and set(words) <= among for words, away in found)
    assert all(distance(said, words) <= away + 1e-9 for words, away in found)


def test_all_known_words_are_looked_through() -> None:
    """Without a list, every word with a pronunciation may be what was said."""
    assert (("tight",), pytest.approx(distance(("part",), ("tight",)))) in might_be(("part",), 5.0, set(PRONOUNCED))
    assert might_be(("part",), 5.0) == might_be(("part",), 5.0, set(PRONOUNCED))
