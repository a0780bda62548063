"""Where a number with a check digit may have slipped: the single characters, and the neighbours, that would mend it.

Of mod 10 with weights 3 and 1 each place can be mended by exactly one figure, and neighbours that differ by 5 may change
places unseen (GS1 General Specifications 7.9 gives the rule; that much follows from it). So a check digit alone says
*that* something slipped; *where* is told only as far as the sheet's own numbers or likely mishearings narrow it down.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from itertools import pairwise

FIGURES = "0123456789"
LONGEST = 40
"""Longer texts are no numbers that people say."""
ALIKE = (frozenset("59"), frozenset("19"), frozenset("68"), frozenset("38"))
"""Figures that are taken for each other: five and nine by ear (why ICAO says fife and niner), the rest by eye where print is
smeared (common practice, no source)."""


@dataclass(frozen=True)
class Slip:
    """At `place` (1: the first) stands `said`, and `instead` would mend it; two characters each where neighbours changed
    places."""

    place: int
    said: str
    instead: str

    def mend(self, text: str) -> str:
        """The text with the slip undone."""
        return text[: self.place - 1] + self.instead + text[self.place - 1 + len(self.said) :]


def find_slips(text: str, is_right: Callable[[str], bool], characters: str = FIGURES) -> tuple[Slip, ...]:
    """Every slip that would mend the text: single characters from the left, then neighbours. `is_right` judges a whole
    text; it is asked some len(text) * len(characters) times.

    >>> find_slips("21", lambda text: text == "12")
    (Slip(place=1, said='21', instead='12'),)
    """
    if len(text) > LONGEST or is_right(text):
        return ()
    singles = (Slip(at, said, c) for at, said in enumerate(text, 1) for c in characters if c != said)
    swaps = (Slip(at, a + b, b + a) for at, (a, b) in enumerate(pairwise(text), 1) if a != b)
    return tuple(slip for slip in (*singles, *swaps) if is_right(slip.mend(text)))


def likely_slips(text: str, slips: Collection[Slip], known: Collection[str] = ()) -> tuple[Slip, ...]:
    """Those that give a number which is known; else neighbours that changed places and characters that are alike."""
    to_known = tuple(slip for slip in slips if slip.mend(text) in known)
    alike = tuple(s for s in slips if len(s.said) == 2 or frozenset(s.said + s.instead) in ALIKE)
    return to_known or alike


def told_slips(text: str, is_right: Callable[[str], bool], characters: str = FIGURES) -> str:
    """For a fault: "likeliest place 3: 5 instead of 9; or places 7 and 8 the other way round"; at most four.

    Where none is likelier than another, that it may be any one character; where none mends it, that there is more than one
    slip.
    """
    slips = find_slips(text, is_right, characters)
    if not slips:
        return "more than one character slipped"
    told = [_told(slip) for slip in likely_slips(text, slips)[:4]]
    return f"likeliest {'; or '.join(told)}" if told else "one character slipped, and it may be any"


def _told(slip: Slip) -> str:
    if len(slip.said) == 2:
        return f"places {slip.place} and {slip.place + 1} the other way round"
    return f"place {slip.place}: {slip.instead} instead of {slip.said}"
