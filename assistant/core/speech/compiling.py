"""A written grammar made into an automaton: from its end to its beginning, so that equal futures are found equal and shared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.core.speech.automaton import Automaton, Piece, Tag

Option = tuple[str, tuple[Tag, ...], int]
"""A word that may come next, its tags, and the state after it."""


@dataclass(frozen=True)
class _State:
    """A state by what may follow it; two states with the same future are the same state."""

    options: tuple[Option, ...] = ()
    ends: tuple[tuple[Tag, ...], ...] = ()


_NOWHERE = _State()
"""No word may come, and it may not end: where an empty choice leads."""


class Weaver:
    """States made from the end of a grammar to its beginning, so that equal futures are found equal and shared."""

    def __init__(self) -> None:
        self.states: list[_State] = []
        self._number: dict[_State, int] = {}

    def add(self, options: tuple[Option, ...] = (), ends: tuple[tuple[Tag, ...], ...] = ()) -> int:
        """The number of the state with this future; a word that leads to no end is left out."""
        nowhere = self._number.get(_NOWHERE)
        state = _State(tuple(option for option in options if option[2] != nowhere), ends)
        if state not in self._number:
            self._number[state] = len(self.states)
            self.states.append(state)
        return self._number[state]

    def automaton(self, start: int) -> Automaton:
        """What can be reached from `start`, which becomes state 0."""
        number = {start: 0}
        order = [start]
        arcs: list[Mapping[str, tuple[tuple[tuple[Tag, ...], int], ...]]] = []
        ends: dict[int, tuple[tuple[Tag, ...], ...]] = {}
        for here, old in enumerate(order):
            state = self.states[old]
            if state.ends:
                ends[here] = state.ends
            by_word: dict[str, list[tuple[tuple[Tag, ...], int]]] = {}
            for text, tags, to in state.options:
                if to not in number:
                    number[to] = len(order)
                    order.append(to)
                by_word.setdefault(text, []).append((tags, number[to]))
            arcs.append({text: tuple(targets) for text, targets in by_word.items()})
        return Automaton(tuple(arcs), ends)


class _Builder(Weaver):
    """Makes the states of pieces."""

    def __init__(self) -> None:
        super().__init__()
        self._entered: dict[tuple[int, int], int] = {}

    def enter(self, piece: Piece, after: int) -> int:
        """The state from which `piece` is said and then goes on as from `after`."""
        key = (id(piece), after)
        if key not in self._entered:
            self._entered[key] = self._enter(piece, after)
        return self._entered[key]

    def _enter(self, piece: Piece, after: int) -> int:
        match piece.kind:
            case "word":
                return self.add(((piece.text, piece.tags, after),))
            case "seq":
                for part in reversed(piece.parts):
                    after = self.enter(part, after)
                return self._tagged(piece.tags, after) if piece.tags else after
            case "either":
                return self._any_of([self.enter(part, after) for part in piece.parts])
            case "embedded":
                assert piece.compiled is not None
                return self._embedded(piece.compiled, after)
            case _:
                return self._repeated(piece, after)

    def _embedded(self, compiled: Automaton, after: int) -> int:
        """The states of a compiled grammar once more, with `after` wherever it may end."""
        made: dict[int, int] = {}

        def copy(state: int) -> int:
            if state not in made:
                options = tuple((w, tags, copy(to)) for w, found in compiled.arcs[state].items() for tags, to in found)
                ways = [self._tagged(end, after) if end else after for end in compiled.ends.get(state, ())]
                made[state] = self._any_of([self.add(options), *ways]) if ways else self.add(options)
            return made[state]

        return copy(0)

    def _repeated(self, piece: Piece, after: int) -> int:
        at = after
        for done in reversed(range(piece.most)):
            at = self.enter(piece.parts[0], at)
            if done >= piece.least:
                at = self._any_of([at, after])
        return at

    def _tagged(self, tags: tuple[Tag, ...], after: int) -> int:
        """The same future with tags before it: they go onto the words that come next, or onto the end."""
        state = self.states[after]
        options = tuple((text, tags + more, to) for text, more, to in state.options)
        return self.add(options, tuple(tags + more for more in state.ends))

    def _any_of(self, numbers: list[int]) -> int:
        states = [self.states[n] for n in numbers]
        options = dict.fromkeys(option for state in states for option in state.options)
        ends = dict.fromkeys(end for state in states for end in state.ends)
        return self.add(tuple(options), tuple(ends))


def compile_grammar(piece: Piece) -> Automaton:
    """The automaton of a grammar, without empty moves and with equal states merged; state 0 is the start."""
    builder = _Builder()
    return builder.automaton(builder.enter(piece, builder.add(ends=((),))))


def embedded(compiled: Automaton) -> Piece:
    """A grammar that is compiled already, as a part of a larger one."""
    return Piece("embedded", compiled=compiled)
