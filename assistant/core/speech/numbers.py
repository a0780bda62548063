"""Numbers as they are said: a table of words, and the forms they may take. Every word adds what it is worth there.

A number may be said digit by digit ("one niner zero", "double five"), in groups ("one ninety", "two oh five", "eighteen
fifty", "twelve six"), in full ("one hundred and ninety five", "nineteen hundred", "one two thousand", "twelve point six"),
or with a fraction ("two and a half", "three quarters", "four tenths"). A number said in groups has no spoken point, so
"twelve six" is worth 126 and, where decimals are customary, 12.6 as well: two paths, and the reading's range decides.
"Two nine" is 29, and only where that cannot be is it 2.9 (a last resort). *decimal* and *point* are the same word (ICAO
Annex 10 says decimal, the FAA's manual says point); *niner, fife, tree, fower* are the radiotelephone pronunciations of
ICAO Annex 10 volume II, 5.2.1.4; *oh* for zero is everyday speech.

How worth is told: a word's tag ("add", "90") says what the word adds where it stands, so the worth of a path is a sum
(`number_values`), and the least and the most that may still come are sums as well: `ranges` cuts a grammar by them.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from assistant.core.speech.automaton import Piece, Tag, either, mark, maybe, seq, word
from assistant.core.speech.number_groups import LAST_RESORT, in_groups
from assistant.core.speech.number_pieces import (
    FINER,
    ONE,
    NumberShape,
    below_hundred,
    decimals,
    digits,
    parts_of_one,
    table,
    tail,
    two_digits,
    worth,
)
from assistant.core.speech.number_words import (
    DIGITS,
    ENGLISH_NUMBERS,
    FRACTIONS,
    POINT,
    SIGNS,
    TEENS,
    TENS,
    NumberWords,
)

__all__ = [
    "DIGITS", "FRACTIONS", "LAST_RESORT", "NOT_ZERO", "ONE", "POINT", "SIGNS", "TEENS", "TENS", "NumberShape", "table", "worth",
]  # fmt: skip

NOT_ZERO = ENGLISH_NUMBERS.not_zero
IN_FULL: Tag = ("in full",)
"""On a number said with hundreds, thousands, or as one word: its words are one number."""


def shape_of(low: Decimal, high: Decimal, places: int) -> NumberShape:
    """The shape of the numbers from `low` to `high` with that many decimals."""
    widest = max(abs(low), abs(high)).to_integral_value(rounding="ROUND_FLOOR")
    return NumberShape(len(str(widest)), places, low < 0, fractions=places > 0)


@cache
def _rest(each: Decimal, words: NumberWords) -> Piece:
    """What follows hundreds: "and five", "ninety"."""
    return seq(maybe(word(words.and_rest)), below_hundred(each, words))


def _hundreds(each: Decimal, words: NumberWords, *, many: bool) -> Piece:
    """ "two hundred and five", "a hundred", "nineteen hundred" (where `many`), "hundred and ninety"; "quinientos cinco"."""
    forms = [seq(table(words.hundreds, each), maybe(_rest(each, words)))]
    if words.hundred_alone:
        forms.append(worth(words.hundred_alone, each * 100))
    if words.hundred:
        how_many = below_hundred(each * 100, words) if many else table(words.not_zero, each * 100)
        counted = either(*(worth(a, each * 100) for a in words.articles[:1]), how_many)
        forms.append(seq(counted, word(words.hundred), maybe(_rest(each, words))))
        forms.append(seq(worth(words.hundred, each * 100), _rest(each, words)))
    return either(*forms)


def _thousands(whole_digits: int, each: Decimal, words: NumberWords) -> Piece:
    thousand = each * 1000
    heads = [*(worth(a, thousand) for a in words.articles[:1]), table(words.not_zero, thousand)]
    if whole_digits >= 5:
        heads += [two_digits(thousand, words), digits(2, thousand, words)]
    if whole_digits >= 6:
        heads += [_hundreds(thousand, words, many=False), digits(3, thousand, words)]
    rest = maybe(either(_rest(each, words), _hundreds_behind(each, words)))
    counted = seq(either(*heads), word(words.thousand), rest)
    return either(counted, seq(worth(words.thousand, thousand), rest)) if words.thousand_alone else counted


def _hundreds_behind(each: Decimal, words: NumberWords) -> Piece:
    """Hundreds behind thousands: always counted by a digit, where they are counted."""
    if not words.hundred:
        return _hundreds(each, words, many=False)
    return seq(table(words.not_zero, each * 100), word(words.hundred), maybe(_rest(each, words)))


def whole_in_full(whole_digits: int, sign: Decimal, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """A whole number in full, zero apart."""
    forms = [below_hundred(sign, words) if whole_digits >= 2 else table(words.not_zero, sign)]
    if whole_digits >= 3:
        forms.append(_hundreds(sign, words, many=whole_digits >= 4))
    if whole_digits >= 4:
        forms.append(_thousands(whole_digits, sign, words))
    return either(*forms)


def _digit_by_digit(shape: NumberShape, sign: Decimal, words: NumberWords) -> list[Piece]:
    whole = either(*(digits(n, sign, words) for n in range(1, shape.whole_digits + 1)))
    if not shape.places:
        return [whole]
    point = decimals(shape.places + FINER, sign, words)
    return [seq(whole, maybe(point)), point]


def _number(shape: NumberShape, sign: Decimal, words: NumberWords) -> Piece:
    whole = either(whole_in_full(shape.whole_digits, sign, words), worth(words.said("0"), Decimal(0)))
    full = either(seq(whole, tail(shape, sign, words)), *parts_of_one(shape, sign, words))
    return either(*_digit_by_digit(shape, sign, words), seq(mark(IN_FULL), full), *in_groups(shape, sign, words))


def with_sign(shape: NumberShape, number: Piece, below: Piece, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """A number, and where the shape allows it the same below zero: "minus ten", "ten below", "ten below zero"."""
    if not shape.below_zero:
        return number
    before, behind = (either(*(word(w) for w in said)) for said in (words.signs, words.below))
    return either(number, seq(before, below), seq(below, behind))


@cache
def number_piece(shape: NumberShape, sign: Decimal = ONE, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """The grammar of every number of that shape, as it may be said; its tags are read by `number_values`.

    With `sign` -1 everything is worth its negative (for a "below" that stands apart from the number), with another as many
    times as much.
    """
    below = _number(shape, -sign, words) if shape.below_zero else seq()
    return with_sign(shape, _number(shape, sign, words), below, words)


def digits_piece(shape: NumberShape, fewest: int, most: int, words: NumberWords = ENGLISH_NUMBERS) -> Piece:
    """Whole digits one by one, so many of them, and at most the customary decimals."""

    def signed(sign: Decimal) -> Piece:
        whole = either(*(digits(n, sign, words) for n in range(fewest, most + 1)))
        return seq(whole, maybe(decimals(shape.places, sign, words))) if shape.places else whole

    return with_sign(shape, signed(ONE), signed(-ONE), words)


def number_values(tags: tuple[Tag, ...]) -> frozenset[Decimal]:
    """What a number's tags are worth: the sum of them; empty where there is no number in them.

    Decimals are kept as said: "twelve sixty" is 12.60.
    """
    adds = [Decimal(tag[1]) for tag in tags if tag[0] == "add"]
    return frozenset((sum(adds, Decimal(0)),)) if adds else frozenset()
