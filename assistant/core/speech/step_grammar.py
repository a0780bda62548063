"""The grammar of one moment: what the engine expects, as one automaton, and what a path through it means."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from assistant.core.procedure import Reading
from assistant.core.speech.automaton import (
    Automaton,
    Piece,
    Tag,
    compile_grammar,
    either,
    mark,
    maybe,
    repeat,
    seq,
    word,
)
from assistant.core.speech.commands import EVERYDAY, spoken_forms
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.numbers import DIGITS, TEENS, NumberShape, number_piece, number_values, shape_of
from assistant.core.speech.unit_words import phrases_for
from assistant.core.units import Amount, convert

POSITION_WORDS = {**{w: int(d) for w, d in DIGITS.items() if d != "0"}, **{w: int(d) for w, d in TEENS.items()}}
IN_ONE_BREATH = 3
"""Readings with a spoken position that one utterance may hold."""


@dataclass(frozen=True)
class SpokenReading:
    """One value as said: `value` in the reading's unit (or a choice's name), `said_value` in the unit that was said.

    `each` and `at` say where: "cylinder" and 2; "" and None for a reading without positions.
    """

    name: str
    each: str
    at: int | None
    value: Decimal | str
    unit: str
    said_value: Decimal | str
    said_unit: str

    @property
    def place(self) -> str:
        """Where, as the job file has it: "cylinder 2", or "".

        Raises nothing; a reading with positions whose place was not said has "" too, and is asked for.
        """
        return "" if self.at is None else f"{self.each} {self.at}"


@dataclass(frozen=True)
class Meaning:
    """What an utterance means: a command, or readings; `correction` says that they replace the last one.

    `everyday`: a word that means nothing here ("yes"), and is known for that.
    """

    command: str = ""
    readings: tuple[SpokenReading, ...] = ()
    correction: bool = False
    everyday: str = ""

    @property
    def kind(self) -> str:
        """The word that `layup parse` prints."""
        if self.readings:
            return "reading"
        return {"part": "part", "note": "note"}.get(self.command, "command")


@lru_cache(maxsize=64)
def grammar_of(expectation: Expectation) -> Automaton:
    """The automaton of what may be said now; compiled once for each expectation."""
    commands = spoken_forms(expectation.commands, dict(expectation.renamed))
    forms: list[Piece] = [word(phrase, ("command", name)) for phrase, name in commands.items()]
    forms += [word(w, ("everyday", w)) for w in EVERYDAY if w not in commands]
    for asked in expectation.asked:
        forms.append(_reading_piece(asked, expectation.gallon))
        if asked.reading.positions:
            forms.append(repeat(_reading_piece(asked, expectation.gallon, place_said=True), 2, IN_ONE_BREATH))
    if "correction" in expectation.commands:
        start = [phrase for phrase, name in commands.items() if name == "correction"]
        what = [_reading_piece(a, expectation.gallon) for a in _correctable(expectation)]
        if what:
            forms.append(seq(either(*(word(w, ("correction",)) for w in start)), either(*what)))
    return compile_grammar(either(*forms))


def _correctable(expectation: Expectation) -> tuple[Asked, ...]:
    """The reading that a correction replaces: the last one kept, wherever that was."""
    return (expectation.correctable,) if expectation.correctable else ()


def _reading_piece(asked: Asked, gallon: str, *, place_said: bool = False) -> Piece:
    reading = asked.reading
    name = seq(*(word(w) for w in reading.spoken_name.split()))
    named = maybe(name) if asked.unnamed else name
    must_place = place_said or asked.next_at is None
    return seq(mark(("reading", reading.name)), named, _position(reading, said=must_place), _value(reading, gallon))


def _position(reading: Reading, *, said: bool) -> Piece:
    if not reading.positions:
        return seq()
    numbers = [word(w, ("at", str(n))) for w, n in POSITION_WORDS.items() if n in reading.positions]
    spoken = seq(word(reading.each), either(*numbers))
    return spoken if said else maybe(spoken)


def _value(reading: Reading, gallon: str) -> Piece:
    if reading.kind == "choice":
        return either(*(word(phrase, ("choice", c.name)) for c in reading.choices for phrase in c.words))
    by_shape: dict[NumberShape, list[Piece]] = {}
    for phrase, unit in phrases_for(reading.unit, gallon).items():
        by_shape.setdefault(_shape_in(reading, unit), []).append(word(phrase, ("unit", unit)))
    own = number_piece(_shape_in(reading, reading.unit))
    return either(own, *(seq(number_piece(shape), either(*units)) for shape, units in by_shape.items()))


def _shape_in(reading: Reading, unit: str) -> NumberShape:
    """The numbers that a reading can be in a unit: its range converted, and as many decimals as tell about as much."""
    if unit == reading.unit:
        return shape_of(*reading.plausible, reading.places)
    low, high = (convert(Amount(bound, reading.unit), unit).value for bound in reading.plausible)
    coarser = (reading.plausible[1] - reading.plausible[0]) / (high - low)
    places = reading.places + int(coarser.log10().to_integral_value())
    return shape_of(low, high, max(0, places))


def meanings_of(expectation: Expectation, said: tuple[str, ...]) -> frozenset[Meaning]:
    """Everything these words can mean now; empty when they may not be said, or no reading can be so high or low."""
    plain: set[Meaning] = set()
    last_resort: set[Meaning] = set()
    for tags in grammar_of(expectation).paths(said):
        (last_resort if ("last resort",) in tags else plain).update(_meanings_of_path(expectation, tags))
    return frozenset(plain or last_resort)


def _meanings_of_path(expectation: Expectation, tags: tuple[Tag, ...]) -> set[Meaning]:
    if tags and tags[0][0] == "command":
        return {Meaning(command=tags[0][1])}
    if tags and tags[0][0] == "everyday":
        return {Meaning(everyday=tags[0][1])}
    correction = tags[0] == ("correction",)
    pool = _correctable(expectation) if correction else expectation.asked
    by_name = {a.reading.name: a for a in pool}
    combined: list[tuple[SpokenReading, ...]] = [()]
    for part in _split(tags[1:] if correction else tags):
        asked = by_name[part[0][1]]
        values = _values_of(asked, part[1:])
        combined = [(*done, v) for done in combined for v in values]
    return {Meaning(readings=r, correction=correction) for r in combined if _places_differ(r)}


def _split(tags: tuple[Tag, ...]) -> list[tuple[Tag, ...]]:
    starts = [i for i, tag in enumerate(tags) if tag[0] == "reading"]
    return [tags[a:b] for a, b in zip(starts, [*starts[1:], len(tags)], strict=True)]


def _places_differ(readings: tuple[SpokenReading, ...]) -> bool:
    return len({(r.name, r.at) for r in readings}) == len(readings)


def _values_of(asked: Asked, tags: tuple[Tag, ...]) -> list[SpokenReading]:
    reading = asked.reading
    at = asked.next_at
    unit = reading.unit
    for tag in tags:
        if tag[0] == "at":
            at = int(tag[1])
        elif tag[0] == "unit":
            unit = tag[1]
        elif tag[0] == "choice":
            return [SpokenReading(reading.name, reading.each, at, tag[1], "", tag[1], "")]
    found = []
    for said in sorted(number_values(tags, reading.places)):
        value = convert(Amount(said, unit), reading.unit).value
        if reading.plausible[0] <= value <= reading.plausible[1]:
            found.append(SpokenReading(reading.name, reading.each, at, value, reading.unit, said, unit))
    return found
