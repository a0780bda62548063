"""The grammar of one moment: what the engine expects, as one automaton, and what a path through it means."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache

from assistant.core.procedure import Position, Reading, ReadingKind, place_of
from assistant.core.speech.automaton import Automaton, Piece, Tag, either, word
from assistant.core.speech.commands import spoken_forms
from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.dates import date_values
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.label_grammar import LABEL, label_numbers, label_piece
from assistant.core.speech.letters import code_values
from assistant.core.speech.numbers import IN_FULL, LAST_RESORT, number_values
from assistant.core.speech.places import position_of
from assistant.core.speech.reading_grammar import CORRECTION, INSTEAD, NEXT, NUMBERS, correction_piece, reading_piece
from assistant.core.speech.repeating import repeat_piece
from assistant.core.units import Amount, convert


@dataclass(frozen=True)
class SpokenReading:
    """One value as said: `value` in the reading's unit (or a choice's name, a code, an ISO date), `said_value` in the unit
    that was said. `kind` is the reading's.

    `each` and `at` say where: "cylinder" and 2, "side" and "port"; "" and None for a reading without positions.
    `implausible`: said digit by digit, and outside of what the reading can be: to be asked about, never kept in silence.
    """

    name: str
    each: str
    at: Position | None
    value: Decimal | str
    unit: str
    said_value: Decimal | str
    said_unit: str
    kind: ReadingKind = "measured"
    implausible: bool = False

    @property
    def place(self) -> str:
        """Where, as the job file has it: "cylinder 2", or "".

        Raises nothing; a reading with positions whose place was not said has "" too, and is asked for.
        """
        return place_of(self.each, self.at)


@dataclass(frozen=True)
class Meaning:
    """What an utterance means: a command, or readings; `correction` says that they replace the last one.

    `everyday`: a word that means nothing here ("yes"), and is known for that. `part`: of *say again*, what is to be
    repeated: ("after", "torque"). `label`: a part's number as it was spelled.
    """

    command: str = ""
    readings: tuple[SpokenReading, ...] = ()
    correction: bool = False
    everyday: str = ""
    part: tuple[str, ...] = ()
    label: str = ""

    @property
    def by_word(self) -> bool:
        """A command, or an answer by a word: no number was said."""
        return not self.label and all(r.kind == "choice" for r in self.readings)

    @property
    def implausible(self) -> bool:
        """Does it hold a value outside of what its reading can be."""
        return any(r.implausible for r in self.readings)

    @property
    def kind(self) -> str:
        """The word that `layup parse` prints."""
        if self.readings:
            return "reading"
        return {"part": "part", "note": "note"}.get(self.command, "command")


@lru_cache(maxsize=64)
def grammar_of(expectation: Expectation) -> Automaton:
    """The automaton of what may be said now; compiled once for each expectation."""
    language = expectation.language
    commands = spoken_forms(expectation.commands, expectation.command_words)
    forms: list[Piece] = [word(phrase, ("command", name)) for phrase, name in commands.items()]
    forms += [word(w, ("everyday", w)) for w in language.everyday if w not in commands]
    repeats = [phrase for phrase, name in commands.items() if name == "say again"]
    if repeats and expectation.repeatable:
        forms.append(repeat_piece(repeats, expectation.repeatable, language))
    if expectation.labels:
        forms.append(label_piece(_phrases(commands, "part"), language))
    dropped, corrections = _phrases(commands, "disregard"), _phrases(commands, "correction")
    gallon = expectation.gallon
    forms += [reading_piece(asked, gallon, dropped, corrections, language) for asked in expectation.asked]
    forms += [correction_piece(asked, gallon, corrections, language) for asked in _correctable(expectation)]
    return compile_grammar(either(*forms))


def _phrases(commands: dict[str, str], wanted: str) -> tuple[str, ...]:
    return tuple(phrase for phrase, name in commands.items() if name == wanted)


def _correctable(expectation: Expectation) -> tuple[Asked, ...]:
    """The reading that a correction replaces: the last one kept, wherever that was."""
    return (expectation.correctable,) if expectation.correctable else ()


def meanings_of(expectation: Expectation, said: tuple[str, ...]) -> frozenset[Meaning]:
    """Everything these words can mean now; empty when they may not be said.

    What is outside the plausible range counts only where the words can mean nothing else, and so does a last resort.
    """
    plain: set[Meaning] = set()
    last_resort: set[Meaning] = set()
    implausible: set[Meaning] = set()
    one_number = False
    for tags in grammar_of(expectation).paths(said):
        for meaning in _meanings_of_path(expectation, tags):
            kept = implausible if meaning.implausible else last_resort if LAST_RESORT in tags else plain
            kept.add(meaning)
            one_number |= kept is plain and _one_number(meaning, tags)
    if one_number:
        plain = {meaning for meaning in plain if len(meaning.readings) < 2}
    return frozenset(plain or last_resort or implausible)


def _one_number(meaning: Meaning, tags: tuple[Tag, ...]) -> bool:
    """Are these the words of one number, whatever they would be in pieces: "one hundred ninety", or "twelve six" volts.

    Else a value and its pieces stand beside each other, and it is asked which.
    """
    if len(meaning.readings) != 1:
        return False
    [said] = meaning.readings
    whole = isinstance(said.said_value, Decimal) and said.said_value == said.said_value.to_integral_value()
    return IN_FULL in tags or not whole


def _meanings_of_path(expectation: Expectation, tags: tuple[Tag, ...]) -> set[Meaning]:
    for tag in tags:
        if tag[0] == "command":
            return {Meaning(command=tag[1], part=tuple(t[1] for t in tags if t[0] in ("side", "from word")))}
        if tag[0] == "everyday":
            return {Meaning(everyday=tag[1])}
        if tag == LABEL:
            return {Meaning(command="part", label=code) for code in label_numbers(tags)}
    correction = tags[0] == CORRECTION
    pool = _correctable(expectation) if correction else expectation.asked
    asked = {a.reading.name: a for a in pool}[next(tag[1] for tag in tags if tag[0] == "reading")]
    combined: list[tuple[SpokenReading, ...]] = [()]
    for where, own in _split(asked, _as_corrected(tags)):
        values = _values_of(where, own, expectation.today)
        combined = [(*done, v) for done in combined for v in values]
    replaces = correction and not expectation.in_question
    return {Meaning(readings=r, correction=replaces) for r in combined if _places_differ(r)}


def _as_corrected(tags: tuple[Tag, ...]) -> tuple[Tag, ...]:
    """Without the value that was taken back in the same breath; its place stays until another is said."""
    if INSTEAD not in tags:
        return tags
    at = tags.index(INSTEAD)
    return (*(tag for tag in tags[:at] if tag[0] in ("reading", "at")), *tags[at + 1 :])


def _split(asked: Asked, tags: tuple[Tag, ...]) -> list[tuple[Asked, tuple[Tag, ...]]]:
    """Each value of the utterance, and what it was asked as: without a place it belongs to the next open one."""
    starts = [0, *(i for i, tag in enumerate(tags) if tag == NEXT)]
    parts = [tags[a:b] for a, b in zip(starts, [*starts[1:], len(tags)], strict=True)]
    if len(parts) == 1 or any(tag[0] == "at" for tag in tags):
        return [(asked, part) for part in parts]
    return [(replace(asked, next_at=at), part) for at, part in zip(asked.open_at, parts, strict=False)]


def _places_differ(readings: tuple[SpokenReading, ...]) -> bool:
    return len({(r.name, r.at) for r in readings}) == len(readings)


def _values_of(asked: Asked, tags: tuple[Tag, ...], today: date | None) -> list[SpokenReading]:
    reading = asked.reading
    at = asked.next_at
    unit = reading.unit
    for tag in tags:
        if tag[0] == "at":
            at = position_of(tag[1])
        elif tag[0] == "unit":
            unit = tag[1]
    if reading.kind not in NUMBERS:
        texts = _texts_of(reading, tags, today)
        return [SpokenReading(reading.name, reading.each, at, text, "", text, "", reading.kind) for text in texts]
    found = []
    for said in number_values(tags):
        value = convert(Amount(said, unit), reading.unit).value
        outside = not reading.plausible[0] <= value <= reading.plausible[1]
        found.append(
            SpokenReading(reading.name, reading.each, at, value, reading.unit, said, unit, reading.kind, outside)
        )
    return found


def _texts_of(reading: Reading, tags: tuple[Tag, ...], today: date | None) -> tuple[str, ...]:
    """What was said of a reading that is no number: a choice's name, a code, an ISO date."""
    if reading.kind == "letters":
        return code_values(tags)
    if reading.kind == "date":
        return date_values(tags, today)
    return tuple(tag[1] for tag in tags if tag[0] == "choice")


def value_text(value: Decimal | str) -> str:
    """A value as text: decimals without exponent, choices by name."""
    return format(value, "f") if isinstance(value, Decimal) else value
