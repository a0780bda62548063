"""*Say again all after WORD*, and *all before*: a part of what was said last (ICAO Doc 9432; ACP 125 has the same).

The words that may be named are those of the open step, not of the last sentence: the grammar so stays one for the whole step.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from assistant.core.speech.automaton import Piece, either, mark, seq, word
from assistant.core.speech.commands import EVERYDAY
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language

LETTERS = r"[^\W\d_]+"
WORD = re.compile(rf"{LETTERS}(?:[-']{LETTERS})*")


def words_in(texts: Iterable[str], everyday: Collection[str] = EVERYDAY) -> tuple[str, ...]:
    """The words of some texts, each once, in their order; not those that are listened for by themselves.

    >>> words_in(["Torque the bolts to 20 newton meters.", "Torque?"])
    ('torque', 'the', 'bolts', 'to', 'newton', 'meters')
    """
    found = dict.fromkeys(w for text in texts for w in WORD.findall(text.lower()))
    return tuple(w for w in found if w not in everyday)


def repeat_piece(phrases: Iterable[str], words: Iterable[str], language: Language = ENGLISH) -> Piece:
    """The grammar of the command with its part: `phrases` are the ways to say *say again*."""
    sides = either(*(word(said, ("side", side)) for said, side in language.sides.items()))
    named = either(*(word(w, ("from word", w)) for w in words))
    return seq(
        mark(("command", "say again")), either(*(word(phrase) for phrase in phrases)), word(language.all_), sides, named
    )


def part_of(texts: Iterable[str], side: str, said: str) -> str:
    """What stands after, or before, the word where it comes first; "" where it does not come, or nothing is left.

    >>> part_of(["Torque the bolts to 20 newton meters."], "after", "bolts")
    'to 20 newton meters.'
    """
    text = " ".join(texts)
    found = next((m for m in WORD.finditer(text.lower()) if m[0] == said), None)
    if found is None:
        return ""
    return (text[found.end() :].lstrip(" .,;:?!") if side == "after" else text[: found.start()]).strip()
