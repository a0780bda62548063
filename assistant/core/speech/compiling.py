"""A written grammar made into an automaton: from its end to its beginning, so that equal futures are found equal and shared."""

from __future__ import annotations

from functools import lru_cache
from itertools import count

from assistant.core.speech.automaton import Automaton, ByWord, Piece, Tag

Option = tuple[str, tuple[Tag, ...], int]
"""A word that may come next, its tags, and the state after it."""
Future = tuple[tuple[Option, ...], tuple[tuple[Tag, ...], ...]]
"""What may follow a state, and the tags of ending there."""
_NOWHERE: Future = ((), ())
"""No word may come, and it may not end: where an empty choice leads."""
MOST_SHARED = 20_000
"""States that grammars share before they begin anew: 46 MB. The shipped job, talked through, makes 25,000."""


class Weaver:
    """States made from the end of a grammar to its beginning, so that equal futures are found equal and shared.

    Two threads may add to one: a state's number is found only where its future is.
    """

    def __init__(self) -> None:
        self._futures: dict[int, Future] = {}
        self._number: dict[Future, int] = {}
        self._unused = count()
        self._moves: dict[int, tuple[ByWord, tuple[int, ...]]] = {}
        self._embedded: dict[tuple[Automaton, int], int] = {}

    def __len__(self) -> int:
        return len(self._futures)

    def add(self, options: tuple[Option, ...] = (), ends: tuple[tuple[Tag, ...], ...] = ()) -> int:
        """The number of the state with this future; a word that leads to no end is left out."""
        nowhere = self._number.get(_NOWHERE)
        if nowhere is not None:
            options = tuple([option for option in options if option[2] != nowhere])
        future = (options, ends)
        number = self._number.get(future)
        if number is None:
            number = next(self._unused)
            self._futures[number] = future
            number = self._number.setdefault(future, number)
        return number

    def any_of(self, numbers: list[int]) -> int:
        """The state with the futures of all of these."""
        futures = [self._futures[n] for n in numbers]
        options = dict.fromkeys([option for future in futures for option in future[0]])
        ends = dict.fromkeys([end for future in futures for end in future[1]])
        return self.add(tuple(options), tuple(ends))

    def tagged(self, tags: tuple[Tag, ...], after: int) -> int:
        """The same future with tags before it: they go onto the words that come next, or onto the end."""
        options, ends = self._futures[after]
        onward = tuple([(text, tags + more, to) for text, more, to in options])
        return self.add(onward, tuple([tags + more for more in ends]))

    def embedded(self, compiled: Automaton, after: int) -> int:
        """The states of a compiled grammar once more, with `after` wherever it may end."""
        key = (compiled, after)
        if key not in self._embedded:
            made: dict[int, int] = {}
            for state, moves in compiled.from_the_ends:
                made[state] = self.add(tuple([(text, tags, made[to]) for text, tags, to in moves]))
                ways = [self.tagged(end, after) if end else after for end in compiled.ends.get(state, ())]
                if ways:
                    made[state] = self.any_of([made[state], *ways])
            self._embedded[key] = made[compiled.first]
        return self._embedded[key]

    def automaton(self, start: int) -> Automaton:
        """What can be reached from `start`."""
        arcs: dict[int, ByWord] = {}
        todo = {start: None}
        while todo:
            todo, now = {}, todo
            for state in now:
                arcs[state], onward = self._moves_of(state)
                todo |= dict.fromkeys([to for to in onward if to not in arcs and to not in now])
        ends = {state: ended for state in arcs if (ended := self._futures[state][1])}
        return Automaton(arcs, ends, start)

    def _moves_of(self, state: int) -> tuple[ByWord, tuple[int, ...]]:
        """A state's arcs, the same for every automaton that it is in, and the states that they lead to."""
        if state not in self._moves:
            options = self._futures[state][0]
            by_word: dict[str, tuple[tuple[tuple[Tag, ...], int], ...]] = {}
            for text, tags, to in options:
                by_word[text] = (*by_word.get(text, ()), (tags, to))
            self._moves[state] = by_word, tuple(dict.fromkeys([to for _, _, to in options]))
        return self._moves[state]


class _Builder:
    """Makes the states of the pieces of one grammar."""

    def __init__(self, weaver: Weaver) -> None:
        self._weaver = weaver
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
                return self._weaver.add(((piece.text, piece.tags, after),))
            case "seq":
                for part in reversed(piece.parts):
                    after = self.enter(part, after)
                return self._weaver.tagged(piece.tags, after) if piece.tags else after
            case "either":
                return self._weaver.any_of([self.enter(part, after) for part in piece.parts])
            case "embedded":
                assert piece.compiled is not None
                return self._weaver.embedded(piece.compiled, after)
            case _:
                return self._repeated(piece, after)

    def _repeated(self, piece: Piece, after: int) -> int:
        at = after
        for done in reversed(range(piece.most)):
            at = self.enter(piece.parts[0], at)
            if done >= piece.least:
                at = self._weaver.any_of([at, after])
        return at


@lru_cache(maxsize=1)
def _shared() -> Weaver:
    """One for all grammars: a moment's differs in little from the one before."""
    return Weaver()


def compile_grammar(piece: Piece, weaver: Weaver | None = None) -> Automaton:
    """The automaton of a grammar, without empty moves, equal states merged; the same whatever its weaver made before."""
    if weaver is None:
        weaver = _shared()
        if len(weaver) > MOST_SHARED:
            _shared.cache_clear()
    return weaver.automaton(_Builder(weaver).enter(piece, weaver.add(ends=((),))))


def embedded(compiled: Automaton) -> Piece:
    """A grammar that is compiled already, as a part of a larger one."""
    return Piece("embedded", compiled=compiled)
