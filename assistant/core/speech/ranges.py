"""No number outside the range can be heard: a grammar whose words add up, cut down to what ends within two bounds.

A state of the cut grammar is a state of the whole one together with the sum so far. Where everything that may still come
lies within the bounds, the sum is dropped and the state is shared; where nothing does, the branch is cut off. So only
the numbers near a bound take states of their own.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache, lru_cache

from assistant.core.speech.automaton import Automaton, Piece, Tag, either
from assistant.core.speech.compiling import Option, Weaver, compile_grammar, embedded
from assistant.core.speech.number_words import ENGLISH_NUMBERS, NumberWords
from assistant.core.speech.numbers import ONE, NumberShape, digits_piece, number_piece

TWO_DIGITS = 2
"""A lone digit is not said digit by digit: it is a word like any other."""
Span = tuple[Decimal, Decimal]
"""The least and the most."""
ONE_DIGIT_MORE = 1
"""Digits one by one may be this many more than the range's widest number has, and outside the range: a gauge can show
it, and the asking rule asks about it. Fewer digits than the widest are held to the range: they are soon a piece of a
longer number (issue 4: a prefix is the recogniser's most dangerous error)."""


@cache
def _worth(tags: tuple[Tag, ...]) -> Decimal:
    return sum((Decimal(tag[1]) for tag in tags if tag[0] == "add"), Decimal(0))


class _Cutter:
    """One grammar and two bounds; states are worked out as they are met, each once."""

    def __init__(self, whole: Automaton, low: Decimal, high: Decimal) -> None:
        self.whole = whole
        self.low = low
        self.high = high
        self.made = Weaver()
        self._spans: dict[int, Span | None] = {}
        self._kept: dict[tuple[int, Decimal | None], int | None] = {}

    def span(self, state: int) -> Span | None:
        """The least and the most that may still be added from here; None where no way leads to an end."""
        if state not in self._spans:
            found = [(_worth(end), _worth(end)) for end in self.whole.ends.get(state, ())]
            for tags, to in self._targets(state):
                span, by = self.span(to), _worth(tags)
                found += [(span[0] + by, span[1] + by)] if span else []
            self._spans[state] = (min(low for low, _ in found), max(high for _, high in found)) if found else None
        return self._spans[state]

    def _targets(self, state: int) -> list[tuple[tuple[Tag, ...], int]]:
        return [target for targets in self.whole.arcs[state].values() for target in targets]

    def keep(self, state: int, so_far: Decimal | None) -> int | None:
        """The cut state; `so_far` None: all that comes is within. None: nothing that comes is."""
        span = self.span(state)
        if span is None:
            return None
        if so_far is not None:
            least, most = span[0] + so_far, span[1] + so_far
            if most < self.low or least > self.high:
                return None
            if self.low <= least and most <= self.high:
                so_far = None
        key = (state, so_far)
        if key not in self._kept:
            self._kept[key] = self._cut(state, so_far)
        return self._kept[key]

    def _cut(self, state: int, so_far: Decimal | None) -> int | None:
        options: list[Option] = []
        for text, targets in self.whole.arcs[state].items():
            for tags, to in targets:
                kept = self.keep(to, None if so_far is None else so_far + _worth(tags))
                if kept is not None:
                    options.append((text, tags, kept))
        ends = self.whole.ends.get(state, ())
        if so_far is not None:
            ends = tuple(end for end in ends if self.low <= so_far + _worth(end) <= self.high)
        return self.made.add(tuple(options), ends) if options or ends else None


def within(piece: Piece, low: Decimal, high: Decimal) -> Piece:
    """The same grammar less every path whose words add up to less than `low` or more than `high`."""
    cutter = _Cutter(compile_grammar(piece), low, high)
    start = cutter.keep(cutter.whole.first, Decimal(0))
    return either() if start is None else embedded(cutter.made.automaton(start))


@lru_cache(maxsize=256)
def numbers_within(shape: NumberShape, low: Decimal, high: Decimal, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """Every number of that shape from `low` to `high`."""
    return within(number_piece(shape, ONE, words), low, high)


@lru_cache(maxsize=256)
def numbers_or_digits(shape: NumberShape, low: Decimal, high: Decimal, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """Every number from `low` to `high`, and digits one by one of the range's width, whatever they come to."""
    fewest = max(TWO_DIGITS, shape.whole_digits)
    free = compile_grammar(digits_piece(shape, fewest, shape.whole_digits + ONE_DIGIT_MORE, words))
    return either(numbers_within(shape, low, high, words), embedded(free))
