"""Numbers said in groups: "one ninety", "two oh five", "eighteen fifty", and "twelve six" with a point that is not said."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from assistant.core.speech.automaton import Piece, Tag, either, mark, seq
from assistant.core.speech.number_pieces import NumberShape, places_up, table, tail, two_digits
from assistant.core.speech.number_words import NumberWords

LAST_RESORT: Tag = ("last resort",)
"""On a form that counts only where the words can mean nothing else."""

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
def _group(kind: str, last: Decimal, words: NumberWords, *, closed: bool) -> Piece:
    nothing = {w: d for w, d in words.digits.items() if d == "0"}
    if kind == _ANY:
        return table(words.digits, last)
    if kind in (_ALONE, _ZERO):
        return table(words.not_zero if kind == _ALONE else nothing, last)
    if kind == _TEN:
        return table(words.tens, last)
    pair = two_digits(last, words, closed=closed)
    if kind == _PAIR:
        return pair
    zero = {w: d for w, d in nothing.items() if kind == _INNER or w != words.said("0")}
    return either(pair, seq(table(zero, places_up(last, 1)), table(words.not_zero, last)))


def _grouped(kinds: tuple[str, ...], after_point: int, sign: Decimal, words: NumberWords) -> Piece:
    """These groups, the last `after_point` digits of them behind the point that is not said."""
    last = sign / 10**after_point
    parts = []
    for kind, follower in reversed(list(zip(kinds, (*kinds[1:], ""), strict=True))):
        parts.append(_group(kind, last, words, closed=follower == _ANY))
        last = places_up(last, _width(kind))
    return seq(*reversed(parts))


def _width(kind: str) -> int:
    return 2 if kind in (_PAIR, _INNER, _CENTS, _TEN) else 1


def in_groups(shape: NumberShape, sign: Decimal, words: NumberWords) -> list[Piece]:
    """A number in groups of digits; none in a language that has no such numbers."""
    if not words.pairs:
        return []
    forms = []
    for kinds in _GROUPINGS:
        if sum(map(_width, kinds)) <= shape.whole_digits:
            forms.append(seq(_grouped(kinds, 0, sign, words), tail(shape, sign, words)))
    for kinds, cut in _POINTS:
        before, after = sum(map(_width, kinds[:cut])), sum(map(_width, kinds[cut:]))
        if before <= shape.whole_digits and after <= shape.places:
            forms.append(_grouped(kinds, after, sign, words))
    if shape.places and shape.whole_digits <= 2:
        forms.append(seq(mark(LAST_RESORT), _grouped((_ALONE, _ANY), 1, sign, words)))
    return forms
