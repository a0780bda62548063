"""What may be said while ears are measured: number words in any order, or a step of a procedure.

A `Moment` knows its grammar, what words mean in it, and what the program would do with what the ears heard: always by the
program's own rule (`weigh_strings`, or `engine.hear`), never by one made for measuring.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from assistant.core.engine import hear
from assistant.core.events import Heard, Take
from assistant.core.expected import expectation_of
from assistant.core.speech.automaton import Automaton, repeat, words
from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.core.speech.step_grammar import grammar_of, meanings_of
from assistant.core.speech.weighing import Decision, Weighed, weigh_strings
from assistant.core.state import State

ORDINARY = {"niner": "nine", "fife": "five", "fower": "four", "tree": "three"}
"""Pronunciations (ICAO Annex 10 volume II, 5.2.1.4) that are the same word: manifests write the plain one."""


NOT_LISTENED_FOR = ORDINARY.keys() - {"niner"}
SPELLED: Mapping[tuple[str, ...], str] = {("p", "s", "i"): "psi", ("r", "p", "m"): "rpm"}
"""Units that are written as letters or as one word, and said alike."""


class Moment(Protocol):
    """Where a recording is heard."""

    @property
    def grammar(self) -> Automaton:
        """What may be said."""

    def meanings(self, said: str) -> frozenset[Hashable]:
        """All that these words can mean here; empty when they mean nothing here."""

    def decide(self, takes: tuple[Take, ...]) -> Decision:
        """What the program does with what the ears heard."""

    def meaning_of(self, option: Weighed) -> Hashable:
        """What an option of a decision means, comparable with `meanings`."""


def ordinary(said: str) -> tuple[str, ...]:
    """The words with pronunciations written plainly and spelled units as one word; "oh" and "zero" stay two words.

    >>> ordinary("niner oh fife p s i")
    ('nine', 'oh', 'five', 'psi')
    """
    found: list[str] = []
    for w in said.split():
        found.append(ORDINARY.get(w, w))
        unit = SPELLED.get(tuple(found[-3:]))
        if unit:
            found[-3:] = [unit]
    return tuple(found)


def number_loop() -> Automaton:
    """One to ten number words in any order; of the pronunciations only *niner*: the rest take the place of real rivals."""
    table = {
        w: ("word", w) for w in (*DIGITS, *TEENS, *TENS, "hundred", "thousand", "point") if w not in NOT_LISTENED_FOR
    }
    return compile_grammar(repeat(words(table), 1, 10))


class AnyNumbers:
    """One to ten number words. What they mean is the words themselves, with "oh" as zero: the same figure is no wrong one."""

    def __init__(self) -> None:
        self.grammar = number_loop()

    def meanings(self, said: str) -> frozenset[Hashable]:
        """The figures said, if the loop allows them."""
        each = tuple(said.split())
        plain = tuple(ORDINARY.get(w, w) for w in each)
        return frozenset({_figures(each)}) if self.grammar.accepts(plain) else frozenset()

    def decide(self, takes: tuple[Take, ...]) -> Decision:
        """By the rule for strings of words."""
        return weigh_strings(takes, _figures)

    def meaning_of(self, option: Weighed) -> Hashable:
        """The figures of its words."""
        return _figures(tuple(option.words.split()))


def _figures(said: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("zero" if w == "oh" else ORDINARY.get(w, w) for w in said)


@dataclass(frozen=True)
class AtStep:
    """A step with nothing kept yet: the engine's own grammar, meaning and rule."""

    state: State

    @cached_property
    def grammar(self) -> Automaton:
        """The step's."""
        return grammar_of(expectation_of(self.state))

    def meanings(self, said: str) -> frozenset[Hashable]:
        """Readings or commands; an everyday word that the step knows as meaning nothing has none."""
        return frozenset(m for m in meanings_of(expectation_of(self.state), tuple(said.split())) if not m.everyday)

    def decide(self, takes: tuple[Take, ...]) -> Decision:
        """As the engine does."""
        return hear(self.state, Heard(0.0, "", takes)).decision

    def meaning_of(self, option: Weighed) -> Hashable:
        """Its meaning."""
        return option.meaning
