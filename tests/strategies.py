"""What property tests draw from, in one place: numbers, grammars, and what a bay may throw at the engine."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from assistant.core.speech.automaton import Automaton, Piece, either, maybe, repeat, seq, word
from assistant.core.speech.numbers import NumberShape

LETTERS = "abc"


def values(shape: NumberShape) -> st.SearchStrategy[Decimal]:
    """Every number of a shape, with as many decimals as it may have, or fewer."""

    def drawn(places: int) -> st.SearchStrategy[Decimal]:
        most = 10 ** (shape.whole_digits + places) - 1
        return st.integers(-most if shape.below_zero else 0, most).map(lambda n: Decimal(n).scaleb(-places))

    return st.integers(0, shape.places).flatmap(drawn)


def pieces() -> st.SearchStrategy[Piece]:
    """Small grammars of the words a, b and c; no loop is longer than two."""
    leaf = st.sampled_from(LETTERS).map(lambda text: word(text, ("is", text)))
    return st.recursive(leaf, _combined, max_leaves=5)


def _combined(inner: st.SearchStrategy[Piece]) -> st.SearchStrategy[Piece]:
    parts = st.lists(inner, min_size=1, max_size=3)
    return st.one_of(
        parts.map(lambda each: seq(*each)),
        parts.map(lambda each: either(*each)),
        inner.map(maybe),
        st.tuples(inner, st.integers(0, 1)).map(lambda pair: repeat(pair[0], pair[1], 2)),
    )


def sentences(grammar: Automaton, most: int = 12) -> st.SearchStrategy[str]:
    """What the grammar allows: a walk along its arcs that ends where it may end."""
    return st.lists(st.integers(0, 1 << 16), min_size=most, max_size=most).map(lambda turns: _walk(grammar, turns))


def _walk(grammar: Automaton, turns: list[int]) -> str:
    """Each turn picks the next word, or the end; a walk that is not at an end when the turns are used up is cut there."""
    states, said, whole = grammar.start, [], ""
    for turn in turns:
        choices = sorted(grammar.words(states))
        if grammar.may_end(states):
            whole = " ".join(said)
            choices.append("")
        picked = choices[turn % len(choices)]
        if not picked:
            break
        said.append(picked)
        states = grammar.follow(states, picked)
    return " ".join(said) if grammar.may_end(states) else whole
