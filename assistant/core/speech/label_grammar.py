"""The grammar of a label that is said: *part number*, then its letters and figures one by one."""

from __future__ import annotations

from functools import lru_cache

from assistant.core.speech.automaton import Piece, Tag, either, seq, word
from assistant.core.speech.compiling import compile_grammar, embedded
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.letters import code_values, letters_piece

LABEL: Tag = ("label",)
LENGTH = (2, 20)
"""Signs of a number on a label: a GTIN has 14, a lot or serial of GS1 20 at most."""


@lru_cache(maxsize=4)
def label_piece(part: tuple[str, ...], language: Language = ENGLISH) -> Piece:
    """*Part number* and the number; `part`: the shop's words for *part*. Compiled, and kept."""
    start = either(*(word(f"{phrase} {language.part_number}", LABEL) for phrase in part))
    return embedded(compile_grammar(seq(start, letters_piece(LENGTH, language))))


def label_numbers(tags: tuple[Tag, ...]) -> tuple[str, ...]:
    """The numbers that a path spells. An "oh" among figures alone is a zero; beside letters it may be either."""
    found = code_values(tags)
    return found[:1] if found[0].isdigit() else found
