"""Where a value belongs, as it is said: "cylinder two", "on cylinder number two", "number two", "two is", "port side"."""

from __future__ import annotations

from assistant.core.procedure import Position, Reading
from assistant.core.speech.automaton import Piece, either, maybe, seq, word
from assistant.core.speech.numbers import NOT_ZERO, TEENS

NUMBERS: dict[str, str] = {**NOT_ZERO, **TEENS}
"""How numbered positions are said: 1 to 19."""


def place_piece(reading: Reading, positions: tuple[Position, ...] = ()) -> Piece:
    """The place before its value, beyond doubt: with the name of its kind, "number" or "is" (a word needs none of them).

    One of `positions`, all of the reading's where none are given. Its tag is ("at", position).
    """
    among = positions or reading.positions
    at, each = _position(among), word(reading.each)
    if _in_words(among):
        named = either(seq(each, at), seq(at, maybe(each)))
        return seq(maybe(seq(word("on"), maybe(word("the")))), named, maybe(word("is")))
    named = seq(maybe(word("on")), each, maybe(word("number")), at, maybe(word("is")))
    return either(named, seq(word("number"), at, maybe(word("is"))), seq(at, word("is")))


def place_after_piece(reading: Reading) -> Piece:
    """The place behind its value: "on cylinder two"."""
    at, each = _position(reading.positions), word(reading.each)
    if _in_words(reading.positions):
        return seq(word("on"), maybe(word("the")), either(seq(each, at), seq(at, maybe(each))))
    return seq(word("on"), each, maybe(word("number")), at)


def next_place_piece(reading: Reading, at: Position) -> Piece:
    """The place of the next value in one breath, where the first had one: the bare position is enough."""
    return either(place_piece(reading, (at,)), _position((at,)))


def _in_words(positions: tuple[Position, ...]) -> bool:
    return any(isinstance(at, str) for at in positions)


def _position(positions: tuple[Position, ...]) -> Piece:
    numbers = [word(w, ("at", n)) for w, n in NUMBERS.items() if int(n) in positions]
    return either(*numbers, *(word(at, ("at", at)) for at in positions if isinstance(at, str)))


def position_of(text: str) -> Position:
    """The position of an ("at", text) tag."""
    return int(text) if text.isdecimal() else text
