"""Words that ears and people take for each other: what else might have been said.

The -teen and -ty pairs are the classic confusion of spoken figures (which is why radiotelephony says figures digit by
digit); five and nine are told apart by *fife* and *niner* for the same reason (ICAO Annex 10 volume II, 5.2.1.4).
fifty/sixty, sixty/seventy and a dropped or doubled "oh" and "eight" are what the bench model was measured to confuse.
"""

from __future__ import annotations

from collections.abc import Iterable

PAIRS: tuple[tuple[str, str], ...] = (
    ("thirteen", "thirty"), ("fourteen", "forty"), ("fifteen", "fifty"), ("sixteen", "sixty"),
    ("seventeen", "seventy"), ("eighteen", "eighty"), ("nineteen", "ninety"),
    ("five", "nine"), ("fifty", "sixty"), ("sixty", "seventy"),
)  # fmt: skip

ALIKE: dict[str, tuple[str, ...]] = {}
for _a, _b in PAIRS:
    ALIKE[_a] = (*ALIKE.get(_a, ()), _b)
    ALIKE[_b] = (*ALIKE.get(_b, ()), _a)


def might_be(said: tuple[str, ...]) -> Iterable[tuple[str, ...]]:
    """The same words with one of them taken for its sound-alike.

    >>> list(might_be(("one", "fifteen")))
    [('one', 'fifty')]
    """
    for i, text in enumerate(said):
        for other in ALIKE.get(text, ()):
            yield (*said[:i], other, *said[i + 1 :])
