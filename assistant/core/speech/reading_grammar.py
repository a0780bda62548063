"""The grammar of one reading: its name, its places, its values, in one breath or one by one.

Tags: ("reading", name) first, ("at", position), NEXT before each further value, INSTEAD between a value taken back and the one
that counts, CORRECTION first where a kept value is replaced, and those of the values (`amounts`, `letters`, `dates`).
"""

from __future__ import annotations

from functools import lru_cache

from assistant.core.procedure import Position, Reading
from assistant.core.speech.amounts import amount_piece, counted_piece, one_after_another_piece
from assistant.core.speech.automaton import Piece, Tag, either, mark, maybe, repeat, seq, word
from assistant.core.speech.compiling import compile_grammar, embedded
from assistant.core.speech.dates import date_piece
from assistant.core.speech.dates_plain import plain_date_piece
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.expectation import Asked
from assistant.core.speech.language import Language
from assistant.core.speech.letters import letters_piece
from assistant.core.speech.places import next_place_piece, place_after_piece, place_piece

IN_ONE_BREATH = 8
"""Readings without their places that one utterance may hold at most."""
IN_ANY_ORDER = 4
"""Places up to which several of them may be said in any order; where there are more they go upwards."""
NUMBERS = ("measured", "count")
"""Kinds of reading whose value is a number."""
NEXT: Tag = ("next",)
"""On the next of several values in one breath: it goes to the next open place, or to the one said."""
INSTEAD: Tag = ("instead",)
"""Behind it stands what takes the place of the value before it, in the same utterance."""
CORRECTION: Tag = ("correction",)
"""What follows replaces the value that was kept last."""


@lru_cache(maxsize=64)
def reading_piece(
    asked: Asked, gallon: str, dropped: tuple[str, ...], corrections: tuple[str, ...], language: Language = ENGLISH
) -> Piece:
    """All that may be said of a reading: a value, several in one breath, a value dropped or corrected while it is said.

    `dropped`, `corrections`: the shop's words for *disregard* and *correction*. Compiled, and kept: a moment differs from
    the one before in little else than commands.
    """
    one = _one(asked, gallon, language)
    forms = [one, *_breaths(asked, language), *(seq(one, word(phrase, ("command", "disregard"))) for phrase in dropped)]
    if corrections:
        behind = either(*(word(phrase, INSTEAD) for phrase in corrections))
        forms.append(seq(one, behind, _placed(asked, gallon, language, must=False)))
    return embedded(compile_grammar(either(*forms)))


@lru_cache(maxsize=64)
def correction_piece(asked: Asked, gallon: str, corrections: tuple[str, ...], language: Language = ENGLISH) -> Piece:
    """*Correction*, and what takes the place of the value that was kept."""
    start = either(*(word(phrase, CORRECTION) for phrase in corrections))
    return embedded(compile_grammar(seq(start, _one(asked, gallon, language))))


def _one(asked: Asked, gallon: str, language: Language) -> Piece:
    reading = asked.reading
    must_place = asked.next_at is None and bool(reading.positions)
    one = seq(_named(asked), _placed(asked, gallon, language, must=must_place))
    if reading.kind == "count" and not must_place:
        return either(one, seq(mark(("reading", reading.name)), counted_piece(reading, language)))
    return one


def _named(asked: Asked) -> Piece:
    name = seq(*(word(w) for w in asked.reading.spoken_name.split()))
    return seq(mark(("reading", asked.reading.name)), maybe(name) if asked.unnamed else name)


def _placed(asked: Asked, gallon: str, language: Language, *, must: bool) -> Piece:
    """A value with its place before or behind it, or without."""
    reading, value = asked.reading, _value(asked.reading, gallon, language)
    if not reading.positions:
        return value
    before = place_piece(reading, language=language)
    return either(seq(before if must else maybe(before), value), seq(value, place_after_piece(reading, language)))


def _breaths(asked: Asked, language: Language) -> list[Piece]:
    """Several values of one reading in one breath: each with its place, or all without over the open places."""
    reading = asked.reading
    if len(reading.positions) < 2 or reading.kind not in (*NUMBERS, "choice"):
        return []
    value = (one_after_another_piece if reading.kind in NUMBERS else _choice)(reading, language)
    follow = _Followers(reading, value, language)
    first = [
        seq(place_piece(reading, (at,), language), value, follow.after(reading.positions, at))
        for at in reading.positions
    ]
    forms = [seq(_named(asked), either(*first))]
    open_places = min(len(asked.open_at), IN_ONE_BREATH)
    if asked.unnamed and open_places > 1:
        forms.append(seq(_named(asked), value, repeat(seq(mark(NEXT), value), 1, open_places - 1)))
    if asked.unnamed and asked.next_at is not None:
        forms.append(seq(_named(asked), value, follow.after(reading.positions, asked.next_at)))
    return forms


class _Followers:
    """What may follow a value with its place in the same breath: the other places, each once."""

    def __init__(self, reading: Reading, value: Piece, language: Language) -> None:
        self.reading = reading
        self.language = language
        self.value = value
        self._after: dict[tuple[Position, ...], Piece] = {}

    def after(self, left: tuple[Position, ...], at: Position) -> Piece:
        """One more value at least; `left`: the places that were open before the one at `at`."""
        return self._one_of(self._without(left, at))

    def _without(self, left: tuple[Position, ...], at: Position) -> tuple[Position, ...]:
        if len(self.reading.positions) > IN_ANY_ORDER:
            return left[left.index(at) + 1 :]
        return tuple(other for other in left if other != at)

    def _one_of(self, left: tuple[Position, ...]) -> Piece:
        if left not in self._after:
            ways = [
                seq(
                    next_place_piece(self.reading, at, self.language),
                    self.value,
                    maybe(self._one_of(self._without(left, at))),
                )
                for at in left
            ]
            self._after[left] = seq(mark(NEXT), either(*ways))
        return self._after[left]


def _value(reading: Reading, gallon: str, language: Language) -> Piece:
    if reading.kind == "choice":
        return _choice(reading, language)
    if reading.kind == "letters":
        return letters_piece(reading.length, language)
    if reading.kind == "date":
        return date_piece() if language.dates else plain_date_piece(language)
    return amount_piece(reading, gallon, language)


def _choice(reading: Reading, _language: Language) -> Piece:
    """The words of a choice are the procedure's."""
    return either(*(word(phrase, ("choice", c.name)) for c in reading.choices for phrase in c.words))
