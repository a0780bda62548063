"""The search held to grammars, against counting everything out."""

import itertools
import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.speech.automaton import either, maybe, repeat, seq, word
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.recognisers.held_search import Beam, Ending, Floats, SpelledGrammar, search

SPELLED = {"one": (0,), "two": (1,), "niner": (2, 3), "nine": (2,), "millimetres": (4, 5, 3)}
STOP, END, V = 6, 7, 8
ENDING = Ending(STOP, END)


class Table:
    """A teller whose probabilities hang on the last two pieces, drawn from a seed."""

    def __init__(self, seed: int) -> None:
        logits = np.random.default_rng(seed).normal(0, 2, (V + 1, V + 1, V))
        self.logp = (logits - np.log(np.exp(logits).sum(-1, keepdims=True))).astype(np.float32)
        self.rows: list[tuple[int, ...]] = [()]

    def told(self, said: tuple[int, ...]) -> Floats:
        before = (V, V, *said)
        row: Floats = self.logp[before[-2], before[-1]]
        return row

    def first(self) -> Floats:
        return self.told(())[None]

    def after(self, rows: Sequence[int], pieces: Sequence[int]) -> Floats:
        self.rows = [(*self.rows[row], piece) for row, piece in zip(rows, pieces, strict=True)]
        return np.stack([self.told(row) for row in self.rows])

    def score(self, words: tuple[str, ...]) -> float:
        """By the definition: log P(words) + log(P(end) + P("." then end))."""
        pieces = tuple(p for w in words for p in SPELLED[w])
        whole = sum(float(self.told(pieces[:i])[pieces[i]]) for i in range(len(pieces)))
        told = self.told(pieces)
        stopped = float(told[STOP]) + float(self.told((*pieces, STOP))[END])
        return whole + math.log(math.exp(float(told[END])) + math.exp(stopped))


def spelled(piece: object) -> SpelledGrammar:
    return SpelledGrammar(compile_grammar(piece), SPELLED.__getitem__, ENDING)  # type: ignore[arg-type]


GRAMMAR = seq(maybe(word("two")), repeat(either(word("one"), word("nine"), word("niner")), 1, 2), word("millimetres"))
LOOSE = repeat(either(*(word(w) for w in SPELLED)), 1, 4)


@given(st.integers(0, 10_000))
def test_it_finds_what_counting_everything_finds(seed: int) -> None:
    """With nothing pruned every string of the grammar has the score of the definition, words of many pieces included."""
    held, loose = Beam(spelled(GRAMMAR), 10_000, math.inf), Beam(spelled(LOOSE), 10_000, math.inf)
    search(Table(seed), held, loose)
    grammar = compile_grammar(GRAMMAR)
    every = [w for n in range(1, 5) for w in itertools.product(SPELLED, repeat=n)]
    expected = {words: Table(seed).score(words) for words in every if grammar.accepts(words)}
    assert held.done == pytest.approx(expected, abs=1e-4)


@given(st.integers(0, 10_000))
def test_the_loose_loop_is_followed_only_where_it_matters(seed: int) -> None:
    """The gap to the best loose string is exact where it is below zero."""
    held, loose = Beam(spelled(GRAMMAR), 10_000, math.inf), Beam(spelled(LOOSE), 10_000, math.inf)
    search(Table(seed), held, loose)
    best = max(Table(seed).score(w) for n in range(1, 5) for w in itertools.product(SPELLED, repeat=n))
    assert max(loose.best, held.best) == pytest.approx(best, abs=1e-4)


@given(st.integers(0, 10_000))
def test_a_narrow_beam_never_leaves_the_grammar(seed: int) -> None:
    """Whatever is pruned, what is done is legal and has the score of the definition, or less where a branch was cut."""
    held, loose = Beam(spelled(GRAMMAR), 2, 3.0), Beam(spelled(LOOSE), 2, 3.0)
    search(Table(seed), held, loose)
    for words, logp in held.done.items():
        assert held.spelled.grammar.accepts(words)
        assert logp <= Table(seed).score(words) + 1e-4


def test_an_empty_grammar_has_nothing() -> None:
    """No word may follow: nothing is done, and the search ends."""
    held, loose = Beam(spelled(seq(either())), 8, 5.0), Beam(spelled(LOOSE), 4, 5.0)
    search(Table(1), held, loose)
    assert not held.done
