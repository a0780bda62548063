"""Where a value belongs, as it is said: "cylinder two", "on cylinder number two", "number two", "two is", "port side"."""

from __future__ import annotations

from assistant.core.procedure import Position, Reading
from assistant.core.speech.automaton import Piece, either, maybe, seq, word
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language

NUMBERS: dict[str, str] = {**ENGLISH.numbers.not_zero, **ENGLISH.numbers.teens}
"""How numbered positions are said in English: 1 to 19."""


def place_piece(reading: Reading, positions: tuple[Position, ...] = (), language: Language = ENGLISH) -> Piece:
    """The place before its value, beyond doubt: with the name of its kind, "number" or "is" (a word needs none of them).

    One of `positions`, all of the reading's where none are given. Its tag is ("at", position).
    """
    among = positions or reading.positions
    at, each, words = _position(among, language), word(language.named(reading.each)), language.places
    is_, number = maybe(word(words.is_)), word(words.number)
    if _in_words(among):
        named = either(seq(each, at), seq(at, maybe(each)))
        return seq(maybe(_any_of(words.on_word)), named, is_)
    named = seq(maybe(_any_of(words.on_number)), each, maybe(number), at, is_)
    return either(named, seq(number, at, is_), seq(at, word(words.is_)))


def place_after_piece(reading: Reading, language: Language = ENGLISH) -> Piece:
    """The place behind its value: "on cylinder two"."""
    at, each, words = _position(reading.positions, language), word(language.named(reading.each)), language.places
    if _in_words(reading.positions):
        return seq(_any_of(words.on_word), either(seq(each, at), seq(at, maybe(each))))
    return seq(_any_of(words.on_number), each, maybe(word(words.number)), at)


def next_place_piece(reading: Reading, at: Position, language: Language = ENGLISH) -> Piece:
    """The place of the next value in one breath, where the first had one: the bare position is enough."""
    return either(place_piece(reading, (at,), language), _position((at,), language))


def _in_words(positions: tuple[Position, ...]) -> bool:
    return any(isinstance(at, str) for at in positions)


def _any_of(phrases: tuple[str, ...]) -> Piece:
    return either(*(word(phrase) for phrase in phrases))


def _position(positions: tuple[Position, ...], language: Language) -> Piece:
    said = {**language.numbers.not_zero, **language.numbers.teens}
    numbers = [word(w, ("at", n)) for w, n in said.items() if int(n) in positions]
    named = [word(language.names.get(at, at), ("at", at)) for at in positions if isinstance(at, str)]
    return either(*numbers, *named)


def position_of(text: str) -> Position:
    """The position of an ("at", text) tag."""
    return int(text) if text.isdecimal() else text
