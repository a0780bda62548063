"""Which words were taken for which: as many as the fewest edits, and the likely pairs."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.word_errors import NOTHING, word_edits

WORDS = st.lists(st.sampled_from(("one", "nine", "nineteen", "ninety", "oh")), max_size=6).map(tuple)


@cache
def fewest(said: tuple[str, ...], heard: tuple[str, ...]) -> int:
    """Levenshtein's distance by its definition (V. I. Levenshtein, Soviet Physics Doklady 10, 1966), without a table."""
    if not said or not heard:
        return len(said) + len(heard)
    changed = fewest(said[1:], heard[1:]) + (said[0] != heard[0])
    return min(changed, fewest(said[1:], heard) + 1, fewest(said, heard[1:]) + 1)


@given(WORDS, WORDS)
def test_the_fewest_edits(said: tuple[str, ...], heard: tuple[str, ...]) -> None:
    """Never more, never fewer, and the words that are left stand on both sides."""
    edits = word_edits(said, heard)
    assert len(edits) == fewest(said, heard)
    assert all(one != other for one, other in edits)
    assert len(said) - sum(one != NOTHING for one, _ in edits) == len(heard) - sum(
        other != NOTHING for _, other in edits
    )


@pytest.mark.parametrize(
    ("said", "heard", "edits"),
    [
        ("one ninety", "one nineteen", "ninety>nineteen"),
        ("one ninety", "one nineteen oh", "ninety>nineteen (nothing)>oh"),
        ("one ninety", "oh one nineteen", "(nothing)>oh ninety>nineteen"),
        ("cylinder two one eighty", "two one eighteen", "cylinder>(nothing) eighty>eighteen"),
        ("twelve point six", "", "twelve>(nothing) point>(nothing) six>(nothing)"),
        ("", "stop", "(nothing)>stop"),
        ("one", "one", ""),
    ],
)
def test_pairs(said: str, heard: str, edits: str) -> None:
    """Words spelt alike stand against each other; the rest was put in or left out."""
    assert " ".join(f"{one}>{other}" for one, other in word_edits(said.split(), heard.split())) == edits
