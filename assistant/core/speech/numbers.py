"""Numbers as they are said: a table of words, the forms they may take, and what each form is worth.

A number may be said digit by digit ("one niner zero", "double five"), in groups ("one ninety", "two oh five", "eighteen
fifty", "twelve six"), in full ("one hundred and ninety five", "nineteen hundred", "twelve point six"), or with a fraction
("two and a half", "three quarters"). A number said in groups has no spoken point, so "twelve six" is worth 126 and, where
decimals are customary, 12.6 as well: the reading's range decides.
"Two nine" is 29, and only where that cannot be is it 2.9. *decimal* and *point* are the same word (ICAO Annex 10 says
decimal, the FAA's manual says point); *niner, fife, tree, fower* are the radiotelephone pronunciations of ICAO Annex 10
volume II, 5.2.1.4; *oh* for zero is everyday speech.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from assistant.core.speech.automaton import Piece, Tag, either, mark, maybe, repeat, seq, word, words

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
POINT = ("point", "decimal")


@dataclass(frozen=True)
class NumberShape:
    """Which numbers a reading can be: digits before the point, decimals, and whether it may lie below zero."""

    whole_digits: int
    places: int = 0
    below_zero: bool = False
    fractions: bool = False


def shape_of(low: Decimal, high: Decimal, places: int) -> NumberShape:
    """The shape of the numbers from `low` to `high` with that many decimals."""
    widest = max(abs(low), abs(high)).to_integral_value(rounding="ROUND_FLOOR")
    return NumberShape(len(str(widest)), places, low < 0, fractions=places > 0)


def _table(table: dict[str, str], tag: str) -> Piece:
    return words({w: (tag, d) for w, d in table.items()})


def _point(places: int) -> Piece:
    """The spoken point and up to `places` digits after it; nothing where there are no decimals."""
    if places < 1:
        return seq()
    point = either(*(word(w, ("point",)) for w in POINT))
    return maybe(seq(point, repeat(_table(DIGITS, "group"), 1, places)))


def _digit_by_digit(shape: NumberShape) -> Piece:
    one = _table(DIGITS, "group")
    doubled = seq(word("double", ("times over", "2")), one)
    tripled = seq(word("triple", ("times over", "3")), one)
    several = either(one, doubled, tripled) if shape.whole_digits > 1 else one
    return seq(mark(("style", "digits")), repeat(several, 1, shape.whole_digits), _point(shape.places))


def _two_digits(*, oh: bool) -> Piece:
    """A group of two digits: a teen, a ten with or without a unit, or (inside a number) "oh five"."""
    tens = either(_table(TENS, "group"), seq(_table(TENS, "tens group"), _table(NOT_ZERO, "units")))
    parts = [_table(TEENS, "group"), tens]
    if oh:
        zero = words({"oh": ("tens group", "0"), "zero": ("tens group", "0")})
        parts.append(seq(zero, _table(NOT_ZERO, "units")))
    return either(*parts)


def _in_groups(shape: NumberShape) -> Piece:
    first = either(_table(NOT_ZERO, "group"), _two_digits(oh=False))
    forms = [seq(first, _two_digits(oh=True))]
    if shape.whole_digits >= 3 or shape.places:
        forms.append(seq(_two_digits(oh=False), _table(DIGITS, "group")))
    if shape.places and shape.whole_digits <= 2:
        forms.append(seq(mark(("last resort",)), _table(NOT_ZERO, "group"), _table(DIGITS, "group")))
    if shape.whole_digits >= 5 or (shape.places and shape.whole_digits >= 4):
        forms.append(
            seq(_two_digits(oh=False), _two_digits(oh=True), either(_table(DIGITS, "group"), _two_digits(oh=True)))
        )
    return seq(mark(("style", "groups")), either(*forms), _point(shape.places))


def _below_hundred() -> Piece:
    tens = seq(_table(TENS, "add"), maybe(_table(NOT_ZERO, "add")))
    return either(_table(NOT_ZERO, "add"), _table(TEENS, "add"), tens)


def _in_full(shape: NumberShape) -> Piece:
    hundred = word("hundred", ("times", "100"))
    thousand = word("thousand", ("times", "1000"))
    some_hundreds = seq(either(word("a", ("add", "1")), _below_hundred()), hundred)
    rest = seq(maybe(word("and")), _below_hundred())
    forms = [_below_hundred(), words({"zero": ("add", "0")})]
    if shape.whole_digits >= 3:
        forms.append(seq(some_hundreds, maybe(rest)))
    if shape.whole_digits >= 4:
        few = either(word("a", ("add", "1")), _below_hundred())
        forms.append(seq(few, thousand, maybe(either(rest, seq(_table(NOT_ZERO, "add"), hundred, maybe(rest))))))
    tail = either(_point(shape.places), seq(word("and"), _fraction())) if shape.fractions else _point(shape.places)
    return seq(mark(("style", "full")), either(*forms), tail)


def _fraction() -> Piece:
    return either(*(word(w, ("fraction", value)) for w, value in FRACTIONS.items()))


@lru_cache(maxsize=64)
def number_piece(shape: NumberShape) -> Piece:
    """The grammar of every number of that shape, as it may be said; its tags are read by `number_values`."""
    forms = [_digit_by_digit(shape), _in_full(shape)]
    if shape.whole_digits + shape.places >= 2:
        forms.append(_in_groups(shape))
    if shape.places:
        forms.append(seq(mark(("style", "digits")), either(*(word(w, ("point",)) for w in POINT)),
                         repeat(_table(DIGITS, "group"), 1, shape.places)))  # fmt: skip
    if shape.fractions:
        forms.append(seq(mark(("style", "full")), _fraction()))
    plain = either(*forms)
    if not shape.below_zero:
        return plain
    signs = either(word("minus", ("below zero",)), word("negative", ("below zero",)))
    return either(plain, seq(signs, plain), seq(plain, word("below", ("below zero",)), maybe(word("zero"))))


def number_values(tags: tuple[Tag, ...], places: int) -> frozenset[Decimal]:
    """What a number's tags are worth: one value, or two where groups leave the point open."""
    found = _full_value(tags) if ("style", "full") in tags else _grouped_values(tags, places)
    if ("below zero",) in tags:
        return frozenset(-v for v in found)
    return found


def _full_value(tags: tuple[Tag, ...]) -> frozenset[Decimal]:
    total, part, decimals = 0, 0, ""
    fraction = Decimal(0)
    after_point = False
    for tag in tags:
        if tag[0] == "add":
            part += int(tag[1])
        elif tag == ("times", "1000"):
            total, part = total + part * 1000, 0
        elif tag[0] == "times":
            part *= int(tag[1])
        elif tag[0] == "fraction":
            fraction = Decimal(tag[1])
        elif tag[0] == "point":
            after_point = True
        elif tag[0] == "group" and after_point:
            decimals += tag[1]
    whole = Decimal(f"{total + part}.{decimals}" if decimals else total + part)
    return frozenset((whole + fraction if fraction else whole,))


def _grouped_values(tags: tuple[Tag, ...], places: int) -> frozenset[Decimal]:
    groups: list[str] = []
    over = 1
    point_at: int | None = None
    for tag in tags:
        if tag[0] in ("group", "tens group"):
            groups.append(tag[1] * over)
            over = 1
        elif tag[0] == "units":
            groups[-1] = groups[-1][0] + tag[1]
        elif tag[0] == "times over":
            over = int(tag[1])
        elif tag[0] == "point":
            point_at = len(groups)
    if point_at is not None:
        return frozenset((Decimal(f"{''.join(groups[:point_at]) or '0'}.{''.join(groups[point_at:])}"),))
    found = {Decimal("".join(groups))}
    if ("style", "groups") in tags:
        for cut in range(1, len(groups)):
            after = "".join(groups[cut:])
            if len(after) <= places:
                found.add(Decimal(f"{''.join(groups[:cut])}.{after}"))
    return frozenset(found)
