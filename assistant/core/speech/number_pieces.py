"""The pieces that every number is made of: digits, teens and tens, what follows a spoken point, parts of one.

A word's tag ("add", "90") says what it adds where it stands; `last` and `each` are what a figure one is worth there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from assistant.core.speech.automaton import Piece, either, maybe, seq, word
from assistant.core.speech.number_words import NumberWords

FINER = 2
"""Decimals beyond the customary ones that may be said after a spoken point: a technician may read finer than expected."""
ONE = Decimal(1)


@dataclass(frozen=True)
class NumberShape:
    """Which numbers a reading can be: digits before the point, customary decimals, and whether it may lie below zero.

    `fractions`: halves and quarters; `tenths`: "and four tenths".
    """

    whole_digits: int
    places: int = 0
    below_zero: bool = False
    fractions: bool = False
    tenths: bool = False


def worth(text: str, amount: Decimal) -> Piece:
    """Words that add that amount."""
    return word(text, ("add", str(amount)))


def table(figures: Mapping[str, str], each: Decimal) -> Piece:
    """Any one word of a table, worth its number times `each`."""
    return either(*(worth(w, Decimal(n) * each) for w, n in figures.items()))


def places_up(last: Decimal, n: int) -> Decimal:
    """Ten to the n times as much, with no more decimals than it needs: they show in what is kept."""
    more = last * Decimal(10) ** n
    return more.to_integral_value() if more == more.to_integral_value() else more.normalize()


@cache
def digits(count: int, last: Decimal, words: NumberWords) -> Piece:
    """Exactly that many digits one by one, or two and three alike as "double five"; the last is worth itself x `last`."""
    if count == 0:
        return seq()
    first = places_up(last, count - 1)
    forms = [seq(table(words.digits, first), digits(count - 1, last, words))]
    for text, n in ((text, int(n)) for text, n in words.times.items()):
        if count >= n:
            together = sum((first / 10**i for i in range(n)), Decimal(0))
            forms.append(seq(word(text), table(words.digits, together), digits(count - n, last, words)))
    return either(*forms)


@cache
def two_digits(last: Decimal, words: NumberWords, *, closed: bool = False) -> Piece:
    """A teen, or a ten with or without a unit: 10 to 99. `closed`: with, for a digit that follows would be taken for it."""
    unit = seq(word(words.and_unit), table(words.not_zero, last))
    return either(table(words.teens, last), seq(table(words.tens, last), unit if closed else maybe(unit)))


@cache
def below_hundred(each: Decimal, words: NumberWords) -> Piece:
    """1 to 99 as anyone says it."""
    return either(table(words.not_zero, each), two_digits(each, words))


def decimals(places: int, sign: Decimal, words: NumberWords) -> Piece:
    """The spoken point and up to `places` digits after it, one by one or two as a group ("point sixty five")."""
    point = either(*(word(w) for w in words.points))
    after = [digits(n, sign / 10**n, words) for n in range(1, places + 1)]
    if places >= 2:
        after.append(two_digits(sign / 100, words))
    return seq(point, either(*after))


def tail(shape: NumberShape, sign: Decimal, words: NumberWords) -> Piece:
    """What may follow a whole number: decimals, "and a half", "and four tenths", or nothing."""
    tails = [seq()]
    if shape.places:
        tails.append(decimals(shape.places + FINER, sign, words))
    tails += [seq(word(words.and_part), part) for part in parts_of_one(shape, sign, words)]
    return either(*tails)


def parts_of_one(shape: NumberShape, sign: Decimal, words: NumberWords) -> list[Piece]:
    """A half and its like, and so many tenths."""
    parts = []
    if shape.fractions:
        parts.append(table(words.fractions, sign))
    if shape.tenths:
        parts.append(seq(table(words.not_zero, sign / 10), either(*(word(w) for w in words.tenths))))
    return parts
