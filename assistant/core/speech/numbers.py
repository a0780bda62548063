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

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from assistant.core.speech.automaton import Piece, Tag, either, mark, maybe, seq, word

DIGITS: dict[str, str] = {
    "zero": "0", "oh": "0", "one": "1", "two": "2", "three": "3", "tree": "3", "four": "4", "fower": "4",
    "five": "5", "fife": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9", "niner": "9",
}  # fmt: skip
TEENS: dict[str, str] = {
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14", "fifteen": "15",
    "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19",
}  # fmt: skip
TENS: dict[str, str] = {
    "twenty": "20", "thirty": "30", "forty": "40", "fifty": "50",
    "sixty": "60", "seventy": "70", "eighty": "80", "ninety": "90",
}  # fmt: skip
FRACTIONS: dict[str, str] = {
    "a half": "0.5", "half": "0.5", "one half": "0.5", "a quarter": "0.25", "one quarter": "0.25",
    "three quarters": "0.75",
}  # fmt: skip
"""Words said after "and", or alone."""

NOT_ZERO = {w: d for w, d in DIGITS.items() if d != "0"}
NO_DIGIT = {w: d for w, d in DIGITS.items() if d == "0"}
POINT = ("point", "decimal")
FINER = 2
"""Decimals beyond the customary ones that may be said after a spoken point: a technician may read finer than expected."""
SIGNS = ("minus", "negative")

IN_FULL: Tag = ("in full",)
"""On a number said with hundreds, thousands, or as one word: its words are one number."""
LAST_RESORT: Tag = ("last resort",)
"""On a form that counts only where the words can mean nothing else."""

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


def shape_of(low: Decimal, high: Decimal, places: int) -> NumberShape:
    """The shape of the numbers from `low` to `high` with that many decimals."""
    widest = max(abs(low), abs(high)).to_integral_value(rounding="ROUND_FLOOR")
    return NumberShape(len(str(widest)), places, low < 0, fractions=places > 0)


def worth(text: str, amount: Decimal) -> Piece:
    """Words that add that amount."""
    return word(text, ("add", str(amount)))


def table(words: dict[str, str], each: Decimal) -> Piece:
    """Any one word of a table, worth its number times `each`."""
    return either(*(worth(w, Decimal(n) * each) for w, n in words.items()))


def _places_up(last: Decimal, n: int) -> Decimal:
    """Ten to the n times as much, with no more decimals than it needs: they show in what is kept."""
    more = last * Decimal(10) ** n
    return more.to_integral_value() if more == more.to_integral_value() else more.normalize()


@cache
def digits(count: int, last: Decimal) -> Piece:
    """Exactly that many digits one by one, or two and three alike as "double five"; the last is worth itself x `last`."""
    if count == 0:
        return seq()
    first = _places_up(last, count - 1)
    forms = [seq(table(DIGITS, first), digits(count - 1, last))]
    for n, text in ((2, "double"), (3, "triple")):
        if count >= n:
            together = sum((first / 10**i for i in range(n)), Decimal(0))
            forms.append(seq(word(text), table(DIGITS, together), digits(count - n, last)))
    return either(*forms)


@cache
def two_digits(last: Decimal, *, closed: bool = False) -> Piece:
    """A teen, or a ten with or without a unit: 10 to 99. `closed`: with, for a digit that follows would be taken for it."""
    unit = table(NOT_ZERO, last)
    return either(table(TEENS, last), seq(table(TENS, last), unit if closed else maybe(unit)))


@cache
def below_hundred(each: Decimal) -> Piece:
    """1 to 99 as anyone says it."""
    return either(table(NOT_ZERO, each), two_digits(each))


def decimals(places: int, sign: Decimal) -> Piece:
    """The spoken point and up to `places` digits after it, one by one or two as a group ("point sixty five")."""
    point = either(*(word(w) for w in POINT))
    after = [digits(n, sign / 10**n) for n in range(1, places + 1)]
    if places >= 2:
        after.append(two_digits(sign / 100))
    return seq(point, either(*after))


def _tail(shape: NumberShape, sign: Decimal) -> Piece:
    """What may follow a whole number: decimals, "and a half", "and four tenths", or nothing."""
    tails = [seq()]
    if shape.places:
        tails.append(decimals(shape.places + FINER, sign))
    tails += [seq(word("and"), part) for part in _parts(shape, sign)]
    return either(*tails)


def _parts(shape: NumberShape, sign: Decimal) -> list[Piece]:
    parts = []
    if shape.fractions:
        parts.append(table(FRACTIONS, sign))
    if shape.tenths:
        parts.append(seq(table(NOT_ZERO, sign / 10), either(word("tenths"), word("tenth"))))
    return parts


_ALONE, _ANY, _ZERO = "a digit that is not zero", "a digit", "oh"
_PAIR, _INNER, _CENTS, _TEN = (
    "two digits",
    "two digits, or oh and one",
    "two digits, or oh and one, zero apart",
    "a ten",
)
_GROUPINGS: tuple[tuple[str, ...], ...] = (
    (_ALONE, _INNER), (_PAIR, _INNER), (_PAIR, _ANY), (_TEN, _ZERO), (_PAIR, _INNER, _ANY), (_PAIR, _TEN, _ZERO),
    (_PAIR, _INNER, _INNER),
)  # fmt: skip
_WITH_A_POINT: tuple[tuple[str, ...], ...] = (
    (_ALONE, _CENTS), (_PAIR, _INNER), (_PAIR, _ANY), (_TEN, _ZERO), (_PAIR, _INNER, _ANY), (_PAIR, _TEN, _ZERO),
    (_PAIR, _INNER, _INNER),
)  # fmt: skip
"""The same with a point that is not said: "one oh five" may be 1.05, but "one zero five" is figure by figure, and 105."""
_POINT_AFTER_THE_FIRST: tuple[tuple[str, ...], ...] = ((_PAIR, _ANY, _ANY),)
"""Groupings that nobody uses for a whole number: "twelve six five" is 12.65."""


_POINTS = (
    *((kinds, cut) for kinds in _WITH_A_POINT for cut in range(1, len(kinds))),
    *((kinds, 1) for kinds in _POINT_AFTER_THE_FIRST),
)
"""Groups, and how many of them stand before the point."""


@cache
def _group(kind: str, last: Decimal, *, closed: bool) -> Piece:
    if kind == _ANY:
        return table(DIGITS, last)
    if kind in (_ALONE, _ZERO):
        return table(NOT_ZERO if kind == _ALONE else NO_DIGIT, last)
    if kind == _TEN:
        return table(TENS, last)
    pair = two_digits(last, closed=closed)
    if kind == _PAIR:
        return pair
    zero = {w: d for w, d in NO_DIGIT.items() if kind == _INNER or w != "zero"}
    return either(pair, seq(table(zero, _places_up(last, 1)), table(NOT_ZERO, last)))


def _grouped(kinds: tuple[str, ...], after_point: int, sign: Decimal) -> Piece:
    """These groups, the last `after_point` digits of them behind the point that is not said."""
    last = sign / 10**after_point
    parts = []
    for kind, follower in reversed(list(zip(kinds, (*kinds[1:], ""), strict=True))):
        parts.append(_group(kind, last, closed=follower == _ANY))
        last = _places_up(last, _width(kind))
    return seq(*reversed(parts))


def _width(kind: str) -> int:
    return 2 if kind in (_PAIR, _INNER, _CENTS, _TEN) else 1


def _in_groups(shape: NumberShape, sign: Decimal) -> list[Piece]:
    forms = []
    for kinds in _GROUPINGS:
        if sum(map(_width, kinds)) <= shape.whole_digits:
            forms.append(seq(_grouped(kinds, 0, sign), _tail(shape, sign)))
    for kinds, cut in _POINTS:
        before, after = sum(map(_width, kinds[:cut])), sum(map(_width, kinds[cut:]))
        if before <= shape.whole_digits and after <= shape.places:
            forms.append(_grouped(kinds, after, sign))
    if shape.places and shape.whole_digits <= 2:
        forms.append(seq(mark(LAST_RESORT), _grouped((_ALONE, _ANY), 1, sign)))
    return forms


@cache
def _rest(each: Decimal) -> Piece:
    """What follows hundreds: "and five", "ninety"."""
    return seq(maybe(word("and")), below_hundred(each))


def _hundreds(each: Decimal, *, many: bool) -> Piece:
    """ "two hundred and five", "a hundred", "nineteen hundred" (where `many`), "hundred and ninety"."""
    how_many = below_hundred(each * 100) if many else table(NOT_ZERO, each * 100)
    some = seq(either(worth("a", each * 100), how_many), word("hundred"), maybe(_rest(each)))
    return either(some, seq(worth("hundred", each * 100), _rest(each)))


def _thousands(whole_digits: int, each: Decimal) -> Piece:
    thousand = each * 1000
    heads = [worth("a", thousand), table(NOT_ZERO, thousand)]
    if whole_digits >= 5:
        heads += [two_digits(thousand), digits(2, thousand)]
    if whole_digits >= 6:
        heads += [_hundreds(thousand, many=False), digits(3, thousand)]
    rest = either(_rest(each), seq(table(NOT_ZERO, each * 100), word("hundred"), maybe(_rest(each))))
    return seq(either(*heads), word("thousand"), maybe(rest))


def whole_in_full(whole_digits: int, sign: Decimal) -> Piece:
    """A whole number in full, zero apart."""
    forms = [below_hundred(sign) if whole_digits >= 2 else table(NOT_ZERO, sign)]
    if whole_digits >= 3:
        forms.append(_hundreds(sign, many=whole_digits >= 4))
    if whole_digits >= 4:
        forms.append(_thousands(whole_digits, sign))
    return either(*forms)


def _digit_by_digit(shape: NumberShape, sign: Decimal) -> list[Piece]:
    whole = either(*(digits(n, sign) for n in range(1, shape.whole_digits + 1)))
    if not shape.places:
        return [whole]
    point = decimals(shape.places + FINER, sign)
    return [seq(whole, maybe(point)), point]


def _number(shape: NumberShape, sign: Decimal) -> Piece:
    full = seq(either(whole_in_full(shape.whole_digits, sign), worth("zero", Decimal(0))), _tail(shape, sign))
    full = either(full, *_parts(shape, sign))
    return either(*_digit_by_digit(shape, sign), seq(mark(IN_FULL), full), *_in_groups(shape, sign))


def with_sign(shape: NumberShape, number: Piece, below: Piece) -> Piece:
    """A number, and where the shape allows it the same below zero: "minus ten", "ten below", "ten below zero"."""
    if not shape.below_zero:
        return number
    signs = either(*(word(w) for w in SIGNS))
    return either(number, seq(signs, below), seq(below, word("below"), maybe(word("zero"))))


@cache
def number_piece(shape: NumberShape, sign: Decimal = ONE) -> Piece:
    """The grammar of every number of that shape, as it may be said; its tags are read by `number_values`.

    With `sign` -1 everything is worth its negative (for a "below" that stands apart from the number), with another as many
    times as much.
    """
    return with_sign(shape, _number(shape, sign), _number(shape, -sign) if shape.below_zero else seq())


def digits_piece(shape: NumberShape, fewest: int, most: int) -> Piece:
    """Whole digits one by one, so many of them, and at most the customary decimals."""

    def signed(sign: Decimal) -> Piece:
        whole = either(*(digits(n, sign) for n in range(fewest, most + 1)))
        return seq(whole, maybe(decimals(shape.places, sign))) if shape.places else whole

    return with_sign(shape, signed(ONE), signed(-ONE))


def number_values(tags: tuple[Tag, ...]) -> frozenset[Decimal]:
    """What a number's tags are worth: the sum of them; empty where there is no number in them.

    Decimals are kept as said: "twelve sixty" is 12.60.
    """
    adds = [Decimal(tag[1]) for tag in tags if tag[0] == "add"]
    return frozenset((sum(adds, Decimal(0)),)) if adds else frozenset()
