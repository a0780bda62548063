"""Words that ears take for each other: how unlike two things said sound, and what else might have been said.

Distances are in nats: exp(-distance) is about the share of its certainty that an ear gives to the other as well. They rest on
the pronunciations of CMUdict and on costs learnt from the ears' own confusions (`phones`). The -teen and -ty pairs come out
nearest, as they are in radiotelephony, which therefore says figures digit by digit; five and nine are told apart there by
*fife* and *niner* (ICAO Annex 10 volume II, 5.2.1.4).

A word without a pronunciation here (a shop's own) is like nothing else; `unknown_words` lists them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache, lru_cache
from itertools import product

from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.core.speech.phones import NEVER, apart
from assistant.core.speech.pronunciations import PRONOUNCED, Phones

Words = tuple[str, ...]

ONE_EDIT = 2.6
"""What any confusion costs before its phones are counted, in nats; learnt with the costs of `phones`."""
LONGEST_GROUP = 3
"""Words in a row that may be taken for others as a whole: "where are we", "four eight" and "forty"."""
SLIPPED_IN = ("oh", "eight")
"""Words that are soon heard where none was said; so is any word once more behind itself."""
_BY_FIGURE = {figure: text for text, figure in DIGITS.items() if text not in ("oh", "tree", "fower", "fife", "niner")}
ROUND: dict[str, str] = {
    **{text: _BY_FIGURE[number[1]] for text, number in TEENS.items() if number > "12"},
    **{text: _BY_FIGURE[number[0]] for text, number in TENS.items()},
}
"""A teen or a ten -> its digit: "forty" is taken for "four" and a digit, and the other way."""


@lru_cache(maxsize=65536)
def distance(said: Words, other: Words) -> float:
    """How unlike they sound, in nats; 0 for the same words, infinite where a word that differs has no pronunciation.

    >>> round(distance(("fifteen",), ("fifty",)), 1), round(distance(("two",), ("seven",)), 1)
    (3.0, 8.1)
    """
    best = {(0, 0): 0.0}
    for i, j in product(range(len(said) + 1), range(len(other) + 1)):
        ways = [best[i, j]] if (i, j) in best else []
        if i and j and said[i - 1] == other[j - 1]:
            ways.append(best[i - 1, j - 1])
        for m, n in product(range(min(i, LONGEST_GROUP) + 1), range(min(j, LONGEST_GROUP) + 1)):
            if m or n:
                ways.append(best[i - m, j - n] + _confused(said[i - m : i], other[j - n : j]))
        best[i, j] = min(ways)
    return best[len(said), len(other)]


def unknown_words(words: Iterable[str]) -> tuple[str, ...]:
    """Those of the words that have no pronunciation, in order."""
    return tuple(sorted({w for w in words if w not in PRONOUNCED}))


def might_be(said: Words, within: float, among: Collection[str] = tuple(PRONOUNCED)) -> list[tuple[Words, float]]:
    """What else might have been said, with its distance in nats, nearest first and no farther than `within`.

    One word is taken for another of `among`; a ten or teen for two digits, or two digits for it; a word is dropped, or
    doubled, or an "oh" or "eight" slipped in. Grammars are not looked at: most of it may not be said there.

    >>> [words for words, _ in might_be(("one", "fifteen"), 3.1)]
    [('one', 'fifty')]
    """
    found: dict[Words, float] = {}
    for start, stop, others in _edits(said, frozenset(among), within):
        for other, away in others:
            words = (*said[:start], *other, *said[stop:])
            if away <= within and words and words != said and away < found.get(words, NEVER):
                found[words] = away
    return sorted(found.items(), key=lambda one: (one[1], one[0]))


def _edits(
    said: Words, among: frozenset[str], within: float
) -> Iterator[tuple[int, int, Iterable[tuple[Words, float]]]]:
    """Each part of what was said, from and to, with what it might have been."""
    for i, text in enumerate(said):
        yield i, i + 1, _neighbours(text, among, within)
        yield i, i + 1, [((), _confused((text,), ()))]
        yield i + 1, i + 1, [((more,), _confused((), (more,))) for more in (text, *SLIPPED_IN) if more in among]
        pair = said[i : i + 2]
        wholes = [whole for whole, digit in ROUND.items() if digit == text and whole in among and pair[-1] in DIGITS]
        yield i, i + 2, [((whole,), _confused(pair, (whole,))) for whole in wholes if len(pair) == 2]
        if text in ROUND:
            pairs = [(ROUND[text], digit) for digit in DIGITS if digit in among]
            yield i, i + 1, [(two, _confused((text,), two)) for two in pairs]


@lru_cache(maxsize=4096)
def _neighbours(text: str, among: frozenset[str], within: float) -> tuple[tuple[Words, float], ...]:
    near = (((other,), _confused((text,), (other,))) for other in among if other != text)
    return tuple((words, away) for words, away in near if away <= within)


@lru_cache(maxsize=65536)
def _confused(said: Words, other: Words) -> float:
    """One part of what was said taken for another, as a whole."""
    if said > other:
        return _confused(other, said)
    return ONE_EDIT + min((apart(a, b) for a in _pronounced(said) for b in _pronounced(other)), default=NEVER)


@cache
def _pronounced(words: Words) -> tuple[Phones, ...]:
    """Every pronunciation of words in a row; none where one of them is unknown."""
    return tuple(sum(variants, ()) for variants in product(*(PRONOUNCED.get(w, ()) for w in words)))
