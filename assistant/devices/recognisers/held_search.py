"""A beam search that is held to grammars: only pieces of words that a grammar allows may follow.

It knows nothing of sound or networks: a `Teller` gives the logarithms of the probabilities of all pieces after a
beginning. Two grammars are searched at once, over the same beginnings, since the teller's cost is mostly one reading
of its weights. The score of a string of words is log P(words) + log(P(end) + P("." then end)): speech written down may
or may not end in a full stop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from assistant.core.speech.automaton import Automaton, States

Floats = npt.NDArray[np.float32]
Pieces = tuple[int, ...]
Words = tuple[str, ...]

MOST_PIECES = 80
"""Where a string of words is given up; Whisper has room for 224 pieces after its prompt."""


class Teller(Protocol):
    """What a language model makes of one sound."""

    def first(self) -> Floats:
        """Of each piece to come first: log-probabilities, shape (1, V)."""

    def after(self, rows: Sequence[int], pieces: Sequence[int]) -> Floats:
        """Row `rows[i]` of the last answer is followed by `pieces[i]`: what comes next, shape (len(rows), V)."""


@dataclass(frozen=True)
class Ending:
    """The pieces that end an utterance: a full stop and the end of text."""

    stop: int
    end: int


@dataclass(frozen=True)
class _Move:
    """One piece that may follow: the word it completes, if it does, the pieces of a word half said, the states then."""

    piece: int
    text: str = ""
    part: Pieces = ()
    states: States = frozenset()
    stopped: bool = False


_Moves = tuple[npt.NDArray[np.int64], tuple[_Move, ...]]


@dataclass(frozen=True)
class _Beginning:
    """Words said so far and how it came there; `row` is the teller's, before and after its answer."""

    words: Words
    came: _Move
    logp: float
    row: int


@dataclass
class SpelledGrammar:
    """A grammar of words as moves over word pieces; `spell` gives the pieces of a word in the middle of others."""

    grammar: Automaton
    spell: Callable[[str], Pieces]
    ending: Ending
    _known: dict[tuple[States, Pieces], _Moves] = field(default_factory=dict)

    def moves(self, came: _Move) -> _Moves:
        """What may follow: the pieces as an index, and one by one."""
        key = (came.states, came.part)
        if key not in self._known:
            moves = tuple(self._find(came.states, came.part))
            self._known[key] = (np.array([m.piece for m in moves], np.int64), moves)
        return self._known[key]

    def may_end(self, came: _Move) -> bool:
        """May the utterance end here."""
        return came.stopped or (not came.part and self.grammar.may_end(came.states))

    def _find(self, states: States, part: Pieces) -> Iterator[_Move]:
        if not part and self.grammar.may_end(states):
            yield _Move(self.ending.stop, stopped=True)
        halves: set[Pieces] = set()
        for text in sorted(self.grammar.words(states)):
            pieces = self.spell(text)
            if pieces[: len(part)] != part or len(pieces) == len(part):
                continue
            half = pieces[: len(part) + 1]
            if half == pieces:
                yield _Move(half[-1], text, (), self.grammar.follow(states, text))
            elif half not in halves:
                halves.add(half)
                yield _Move(half[-1], "", half, states)


@dataclass
class Beam:
    """The search through one grammar: the `width` best beginnings, none more than `drop` below the best."""

    spelled: SpelledGrammar
    width: int
    drop: float
    done: dict[Words, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.alive = [_Beginning((), _Move(-1, states=self.spelled.grammar.start), 0.0, 0)]

    @property
    def best(self) -> float:
        """The logp of the best whole string so far."""
        return max(self.done.values(), default=-np.inf)

    def grow(self, told: Floats, floor: float = -np.inf) -> None:
        """Every beginning becomes its continuations; the best stay, where they are above `floor`."""
        scores: list[Floats] = [np.zeros(0, np.float32)]
        grown: list[tuple[_Beginning, _Move]] = []
        for at in self.alive:
            if self.spelled.may_end(at.came):
                self._finish(at.words, at.logp + float(told[at.row, self.spelled.ending.end]))
            if not at.came.stopped:
                index, moves = self.spelled.moves(at.came)
                scores.append(at.logp + told[at.row, index])
                grown.extend((at, move) for move in moves)
        self.alive = self._keep(grown, np.concatenate(scores), floor)

    def _finish(self, words: Words, logp: float) -> None:
        self.done[words] = float(np.logaddexp(self.done.get(words, -np.inf), logp))

    def _keep(self, grown: list[tuple[_Beginning, _Move]], scores: Floats, floor: float) -> list[_Beginning]:
        order = np.argsort(-scores)[: self.width]
        if not len(order):
            return []
        floor = max(floor, max(self.best, float(scores[order[0]])) - self.drop)
        return [_follow(grown[i], float(scores[i])) for i in order if scores[i] > floor]


def search(teller: Teller, held: Beam, loose: Beam) -> None:
    """Fill `done` of both beams; a loose string is followed only while it is likelier than the best held one."""
    told = teller.first()
    for _ in range(MOST_PIECES):
        held.grow(told)
        loose.grow(told, floor=held.best)
        asked: dict[tuple[int, int], int] = {}
        for beam in (held, loose):
            beam.alive = [_renumber(b, asked) for b in beam.alive]
        if not asked:
            return
        told = teller.after([row for row, _ in asked], [piece for _, piece in asked])


def _follow(step: tuple[_Beginning, _Move], logp: float) -> _Beginning:
    at, move = step
    return _Beginning((*at.words, move.text) if move.text else at.words, move, logp, at.row)


def _renumber(at: _Beginning, asked: dict[tuple[int, int], int]) -> _Beginning:
    return replace(at, row=asked.setdefault((at.row, at.came.piece), len(asked)))
