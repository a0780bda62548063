"""The grammar of what may be said: which words may follow these, may it end here, what does it mean.

Theory of operation
-------------------
A grammar is written with six combinators (`word`, `mark`, `seq`, `either`, `maybe`, `repeat`) and compiled once (`compiling`)
into an automaton without empty moves, from its end to its beginning, so that equal futures are shared. Every arc carries a word
and, optionally, tags; the tags along a path are what the path means. One string of words may run along several paths
("twelve six": 126, or 12.6), and then has several meanings; the step's plausible range settles which remain.

Each ear takes the automaton in its own form: Whisper's search walks it with `follow`; Vosk gets `phrases()`.
An ear looks at words only; what they mean is worked out here, once, from the words.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

Tag = tuple[str, ...]
"""A step of meaning, such as ("digit", "4") or ("at", "cylinder")."""
States = frozenset[int]
Targets = tuple[tuple[tuple[Tag, ...], int], ...]
"""Where a word leads: tags and the next state, each way."""
ByWord = Mapping[str, Targets]


@dataclass(frozen=True)
class Piece:
    """A part of a grammar not yet compiled: `kind` is word, seq, either, repeat or embedded."""

    kind: str
    text: str = ""
    tags: tuple[Tag, ...] = ()
    parts: tuple[Piece, ...] = ()
    least: int = 1
    most: int = 1
    compiled: Automaton | None = None


def word(text: str, *tags: Tag) -> Piece:
    """One spoken word, or several in a row separated by spaces; the tags count once, at the last word."""
    each = text.split()
    if not each:
        return Piece("seq", tags=tags)
    if len(each) == 1:
        return Piece("word", each[0], tags)
    return seq(*(Piece("word", w) for w in each[:-1]), Piece("word", each[-1], tags))


def mark(*tags: Tag) -> Piece:
    """No word: only tags, put on the next word of the path (or on its end)."""
    return Piece("seq", tags=tags)


def seq(*parts: Piece) -> Piece:
    """The parts one after the other."""
    return Piece("seq", parts=parts)


def either(*parts: Piece) -> Piece:
    """Any one of the parts."""
    return Piece("either", parts=parts)


def words(table: Mapping[str, Tag]) -> Piece:
    """Any one word of a table, with its tag."""
    return either(*(word(w, tag) for w, tag in table.items()))


def maybe(part: Piece) -> Piece:
    """The part, or nothing."""
    return Piece("repeat", parts=(part,), least=0, most=1)


def repeat(part: Piece, least: int, most: int) -> Piece:
    """The part, from `least` to `most` times."""
    return Piece("repeat", parts=(part,), least=least, most=most)


@dataclass(frozen=True, eq=False)
class Automaton:
    """A compiled grammar. `arcs[state][word]` lists (tags, next state); `ends[state]` the tags of ending there.

    It begins in the state `first`; `arcs` has the states in the order in which they are reached from there. Compared and
    hashed by identity, so that ears can keep what they made of it.
    """

    arcs: Mapping[int, ByWord]
    ends: Mapping[int, tuple[tuple[Tag, ...], ...]]
    first: int = 0

    @property
    def start(self) -> States:
        """The states before the first word."""
        return frozenset((self.first,))

    def words(self, states: States) -> frozenset[str]:
        """The words that may come next."""
        return frozenset(w for s in states for w in self.arcs[s])

    def follow(self, states: States, text: str) -> States:
        """The states after one more word; empty when it may not be said here."""
        return frozenset(to for s in states for _, to in self.arcs[s].get(text, ()))

    def may_end(self, states: States) -> bool:
        """May the utterance end here."""
        return any(s in self.ends for s in states)

    def accepts(self, said: Iterable[str]) -> bool:
        """May exactly these words be said."""
        states = self.start
        for text in said:
            states = self.follow(states, text)
        return self.may_end(states)

    def paths(self, said: Iterable[str]) -> frozenset[tuple[Tag, ...]]:
        """The tags of every path that these words may run along."""
        at: set[tuple[int, tuple[Tag, ...]]] = {(self.first, ())}
        for text in said:
            at = {(to, tags + more) for s, tags in at for more, to in self.arcs[s].get(text, ())}
        return frozenset(tags + last for s, tags in at for last in self.ends.get(s, ()))

    def without(self, unknown: Iterable[str]) -> Automaton:
        """The same grammar less everything that needs one of these words."""
        gone = frozenset(unknown)
        arcs = {s: {w: found for w, found in by_word.items() if w not in gone} for s, by_word in self.arcs.items()}
        return Automaton(arcs, self.ends, self.first) if gone else self

    @cached_property
    def from_the_ends(self) -> tuple[tuple[int, tuple[tuple[str, tuple[Tag, ...], int], ...]], ...]:
        """Each state that can be reached, after all those that it leads to, and its moves: (word, tags, next state)."""
        found: dict[int, tuple[tuple[str, tuple[Tag, ...], int], ...]] = {}

        def find(state: int) -> None:
            moves = tuple([(w, tags, to) for w, targets in self.arcs[state].items() for tags, to in targets])
            for _, _, to in moves:
                if to not in found:
                    find(to)
            found[state] = moves

        find(self.first)
        return tuple(found.items())

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Every word of the grammar."""
        return frozenset(w for by_word in self.arcs.values() for w in by_word)

    @cached_property
    def phrases(self) -> tuple[tuple[str, ...], ...]:
        """Whole utterances that between them show every pair of words that may follow each other.

        They also begin and end with every word that may begin or end one: all that a recogniser whose own grammar is
        a bigram of example phrases can learn.
        """
        head = self._shortest_heads()
        tail = self._shortest_tails()
        may_follow = {s: (*by_word, *(("",) if s in self.ends else ())) for s, by_word in self.arcs.items()}
        begun: set[str] = set()
        shown: dict[str, set[str]] = {"": begun}  # word -> the words shown behind it; "" begins and ends
        found: list[tuple[str, ...]] = []
        for s, text, to in self._moves():
            if s not in head:
                continue
            followed = shown.setdefault(text, set())
            if (s != self.first or text in begun) and followed.issuperset(may_follow[to]):
                continue
            for after in may_follow[to]:
                if after in followed and (s != self.first or text in begun):
                    continue
                rest = self._rest(to, after, tail)
                if rest is None:
                    continue
                phrase = (*head[s], text, *rest)
                for one, other in zip(("", *phrase), (*phrase, ""), strict=True):
                    shown.setdefault(one, set()).add(other)
                found.append(phrase)
        return tuple(found)

    def _moves(self) -> Iterable[tuple[int, str, int]]:
        for s, by_word in self.arcs.items():
            for text, targets in by_word.items():
                for _, to in targets:
                    yield s, text, to

    def _rest(self, at: int, after: str, tail: Mapping[int, tuple[str, ...]]) -> tuple[str, ...] | None:
        """The shortest way to the end from `at` that begins with the word `after` ("": ends here)."""
        if not after:
            return ()
        ways = [tail[to] for _, to in self.arcs[at][after] if to in tail]
        return (after, *min(ways, key=len)) if ways else None

    def _shortest_heads(self) -> dict[int, tuple[str, ...]]:
        head: dict[int, tuple[str, ...]] = {self.first: ()}
        todo = deque(head)
        while todo:
            s = todo.popleft()
            for text, targets in self.arcs[s].items():
                for _, to in targets:
                    if to not in head:
                        head[to] = (*head[s], text)
                        todo.append(to)
        return head

    def _shortest_tails(self) -> dict[int, tuple[str, ...]]:
        back: dict[int, list[tuple[int, str]]] = {}
        for s, by_word in self.arcs.items():
            for text, targets in by_word.items():
                for _, to in targets:
                    back.setdefault(to, []).append((s, text))
        tail: dict[int, tuple[str, ...]] = dict.fromkeys(self.ends, ())
        todo = deque(tail)
        while todo:
            s = todo.popleft()
            for before, text in back.get(s, ()):
                if before not in tail:
                    tail[before] = (text, *tail[s])
                    todo.append(before)
        return tail
