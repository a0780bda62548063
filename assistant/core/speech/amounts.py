"""A value as it is said at a reading: a number with its unit, in its own unit without, and forms that only units have.

"three gallons and a half", "a quart and a half", "half a gallon", "quarter quart", "five eighths of an inch", "ten degrees
below zero", "two rings". A fraction of an inch needs the word where the reading is in another unit. The tags are those of
`numbers`, and ("unit", name) where a unit was said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from functools import lru_cache

from assistant.core.procedure import Reading
from assistant.core.speech.automaton import Piece, either, maybe, seq, word
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.numbers import (
    ONE,
    NumberShape,
    number_piece,
    shape_of,
    table,
    whole_in_full,
    worth,
)
from assistant.core.speech.ranges import Span, numbers_or_digits, numbers_within, within
from assistant.core.speech.saying import below_hundred
from assistant.core.speech.unit_words import phrases_for
from assistant.core.units import KINDS, Amount, convert

NO_TENTHS = ("inch",)
"""Units whose "three tenths" is no tenth: to a machinist it is three tenths of a thou (common practice, no source)."""
MOST_INCHES = 2
"""Digits of the whole inches before a fraction."""


@lru_cache(maxsize=256)
def amount_piece(reading: Reading, gallon: str, language: Language = ENGLISH) -> Piece:
    """Every way to say a value of the reading: within its range, or digit by digit out of it."""
    units: dict[str, list[str]] = {}
    for phrase, unit in phrases_for(reading.unit, gallon, language.unit_words).items():
        units.setdefault(unit, []).append(phrase)
    forms = [_own(reading, units.get(reading.unit, []), language)]
    for unit, phrases in units.items():
        span = span_in(reading, unit)
        shape = shape_in(reading, unit)
        said = either(*(word(phrase, ("unit", unit)) for phrase in phrases))
        if unit != reading.unit:
            forms.append(seq(numbers_or_digits(shape, *span, language.numbers), said))
        forms.append(within(either(*_with_unit(shape, unit, phrases, said, language)), *span))
    return either(*forms)


@lru_cache(maxsize=256)
def one_after_another_piece(reading: Reading, language: Language = ENGLISH) -> Piece:
    """A value as one of several in a row: within the range, in the reading's own unit, and not so low that it may be a piece
    of another: a tenth of the most at least, and two digits where two are usual.

    So "one ninety" is never one and ninety, nor "one two six" twelve and six; a value so low is said by itself.
    """
    low, high = reading.plausible
    shape = shape_in(reading, reading.unit)
    least = max(low, high / 10, Decimal(10 if shape.whole_digits > 1 else 0))
    units = [
        phrase for phrase, unit in phrases_for(reading.unit, "", language.unit_words).items() if unit == reading.unit
    ]
    forms = [numbers_within(shape, least, high, language.numbers)]
    if reading.unit == "sg":
        forms.append(_points(least, high, language))
    return seq(either(*forms), maybe(_any_word(units)))


def _points(low: Decimal, high: Decimal, language: Language) -> Piece:
    """A specific gravity as the points of a hydrometer: "twelve sixty five" is 1.265 (common practice, no source)."""
    return within(number_piece(NumberShape(whole_digits=4), Decimal("0.001"), language.numbers), low, high)


def _own(reading: Reading, phrases: list[str], language: Language) -> Piece:
    """In the reading's own unit, said or not; of a count "none" as well."""
    own = numbers_or_digits(shape_in(reading, reading.unit), *reading.plausible, language.numbers)
    forms = [seq(own, maybe(_any_word(phrases)))]
    if reading.unit == "sg":
        forms.append(_points(*reading.plausible, language))
    if reading.unit == "inch":
        forms.append(within(_parts_of_an_inch(language), *reading.plausible))
    if reading.kind == "count":
        none = either(*(worth(w, Decimal(0)) for w in language.numbers.none))
        forms.append(within(none, *reading.plausible))
    return either(*forms)


@lru_cache(maxsize=256)
def counted_piece(reading: Reading, language: Language = ENGLISH) -> Piece:
    """A count with what is counted, which names the reading as well: "two rings", "no faults"."""
    things = counted(reading.spoken_name) if reading.kind == "count" else ()
    own = numbers_or_digits(shape_in(reading, reading.unit), *reading.plausible, language.numbers)
    nothing = either(*(worth(f"{language.numbers.no} {thing}", Decimal(0)) for thing in things))
    return either(seq(own, _any_word(things)), within(nothing, *reading.plausible))


def _any_word(phrases: Iterable[str]) -> Piece:
    return either(*(word(phrase) for phrase in phrases))


def counted(spoken_name: str) -> tuple[str, ...]:
    """What a count is of, one and many: the last word of the reading's name, "number" apart.

    >>> counted("ring number"), counted("faults"), counted("number")
    (('ring', 'rings'), ('fault', 'faults'), ())
    """
    words = [w for w in spoken_name.split() if w not in ("number", "numbers", "count")]
    if not words:
        return ()
    thing = words[-1]
    if thing.endswith("s") and not thing.endswith("ss"):
        return thing.removesuffix("s"), thing
    return thing, thing + ("es" if thing.endswith(("s", "x", "ch", "sh")) else "s")


def _with_unit(shape: NumberShape, unit: str, phrases: list[str], said: Piece, language: Language) -> list[Piece]:
    """The forms that only a unit makes."""
    forms, words = [], language.numbers
    of_an_inch = [of for of in words.of_one if of.split()[0] not in words.articles]
    if shape.fractions:
        half = seq(word(words.and_part), table(words.fractions, ONE))
        singular = language.unit_words.of_one
        of_one = either(*(word(phrase, ("unit", unit)) for phrase in phrases if phrase in singular))
        forms += [
            seq(whole_in_full(shape.whole_digits, ONE, words), said, half),
            seq(either(*(worth(a, ONE) for a in words.articles)), of_one, maybe(half)),
            seq(table(words.fractions, ONE), maybe(_any_word(words.of_one)), of_one),
        ]
    if unit == "inch":
        forms.append(seq(_parts_of_an_inch(language), maybe(_any_word(of_an_inch)), said))
    if KINDS[unit] == "temperature" and shape.below_zero:
        above = replace(shape, below_zero=False)
        forms.append(seq(number_piece(above, -ONE, words), said, _any_word(words.below)))
    return forms


def _parts_of_an_inch(language: Language) -> Piece:
    """ "five eighths", "one and three sixteenths", "three thirty seconds": halves to sixty-fourths."""
    words = language.numbers
    parts = [table(words.fractions, ONE)]
    for part_word, size in language.unit_words.inch_parts.items():
        how_many = either(*(worth(text, ONE / size * n) for text, n in _numerators(size, language)))
        parts.append(seq(how_many, word(part_word)))
    part = either(*parts)
    return either(part, seq(whole_in_full(MOST_INCHES, ONE, words), word(words.and_part), part))


def _numerators(size: int, language: Language) -> list[tuple[str, int]]:
    counted = [(" ".join(below_hundred(n, language)), n) for n in range(1, size)]
    return [*((a, 1) for a in language.numbers.articles[:1]), *counted]


def span_in(reading: Reading, unit: str) -> Span:
    """The plausible range in another unit of its kind."""
    if unit == reading.unit:
        return reading.plausible
    low, high = (convert(Amount(bound, reading.unit), unit).value for bound in reading.plausible)
    return low, high


def places_in(reading: Reading, unit: str) -> int:
    """As many decimals in another unit as tell as much or a little more."""
    if unit == reading.unit:
        return reading.places
    low, high = span_in(reading, unit)
    finer = ((reading.plausible[1] - reading.plausible[0]) / (high - low)).log10()
    return max(0, reading.places + int(finer.to_integral_value(ROUND_HALF_EVEN if finer > 0 else ROUND_CEILING)))


def shape_in(reading: Reading, unit: str) -> NumberShape:
    """The numbers that a reading can be in a unit: its range there, and as many decimals as `places_in` tells."""
    low, high = span_in(reading, unit)
    places = places_in(reading, unit)
    return replace(shape_of(low, high, places), tenths=places > 0 and unit not in NO_TENTHS)
