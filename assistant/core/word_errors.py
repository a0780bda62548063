"""Which words were heard in place of which: Levenshtein's alignment over words, the fewest put in, left out or changed.

Where several are the fewest, words that are spelt alike stand against each other: "ninety" was taken for "nineteen", and the
word beside it was put in.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher

NOTHING = "(nothing)"
"""What stands for the word that was left out, or for the place where one was put in."""
EDIT = 10_000
"""Cost of a word put in, left out or changed; spelling adds at most 100, and so decides only between equals."""
BETWEEN = 50
"""What a word put in or left out adds: less than two words that have no letter in common."""


def word_edits(said: Sequence[str], heard: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """The (said, heard) pairs that differ, in order; as many as Levenshtein's distance.

    >>> word_edits(("one", "ninety"), ("one", "nineteen", "oh"))
    (('ninety', 'nineteen'), ('(nothing)', 'oh'))
    """
    return tuple((one, other) for one, other in word_pairs(said, heard) if one != other)


def word_pairs(said: Sequence[str], heard: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Every word with what was heard for it, in order, right ones too.

    >>> word_pairs(("one", "ninety"), ("one", "nineteen"))
    (('one', 'one'), ('ninety', 'nineteen'))
    """
    table = _costs(said, heard)
    i, j = len(said), len(heard)
    found: list[tuple[str, str]] = []
    while i or j:
        if i and j and table[i][j] == table[i - 1][j - 1] + _change(said[i - 1], heard[j - 1]):
            i, j = i - 1, j - 1
            found.append((said[i], heard[j]))
        elif i and table[i][j] == table[i - 1][j] + EDIT + BETWEEN:
            i -= 1
            found.append((said[i], NOTHING))
        else:
            j -= 1
            found.append((NOTHING, heard[j]))
    return tuple(reversed(found))


def _costs(said: Sequence[str], heard: Sequence[str]) -> list[list[int]]:
    """The least cost from every beginning of one to every beginning of the other."""
    table = [[j * (EDIT + BETWEEN) for j in range(len(heard) + 1)]]
    for word in said:
        row = [table[-1][0] + EDIT + BETWEEN]
        for j, other in enumerate(heard, 1):
            row.append(min(min(table[-1][j], row[-1]) + EDIT + BETWEEN, table[-1][j - 1] + _change(word, other)))
        table.append(row)
    return table


def _change(word: str, other: str) -> int:
    return 0 if word == other else EDIT + round(100 * (1 - SequenceMatcher(None, word, other).ratio()))
