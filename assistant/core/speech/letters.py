"""Lot codes, hull and serial numbers as they are spelled: the ICAO alphabet mixed with digits.

The alphabet is that of ICAO Annex 10 volume II 5.2.1.3 and of ITU Radio Regulations appendix 14. *Alpha*, *Juliet* and *whisky*
are everyday spellings that an ear may write; the read-back has the official ones. *Double five*, *triple zero*, *double alfa*
are two or three of one sign. Zero is *zero*: "oh" is never sent for it (ACP 125), and may be the letter as well, so a code
with an "oh" in it has two meanings, and is asked about.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from string import ascii_uppercase

from assistant.core.labels.part_check import spelled
from assistant.core.speech.automaton import Piece, Tag, either, maybe, seq, word
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language

OTHER_SPELLINGS: Mapping[str, str] = {"alpha": "A", "juliet": "J", "whisky": "W", "x ray": "X", "xray": "X"}
ALPHABET: Mapping[str, str] = {**{spelled(c).lower(): c for c in ascii_uppercase}, **OTHER_SPELLINGS}
"""Spoken word -> letter."""
OH = "oh"
"""The English word that may be a zero or a letter."""
ANY_LENGTH = (1, 20)
"""Signs that a code has where nothing says how many: a GS1 lot or serial number (10, 21) holds 20 at most."""


def signs_of(language: Language) -> dict[str, str]:
    """Spoken word -> sign of a code."""
    digits = {w: d for w, d in language.numbers.digits.items() if w != OH}
    return {**ALPHABET, **digits, **language.signs}


SIGNS: Mapping[str, str] = signs_of(ENGLISH)
TIMES: Mapping[str, int] = {w: int(n) for w, n in ENGLISH.numbers.times.items()}


@lru_cache(maxsize=16)
def letters_piece(length: tuple[int, int] = ANY_LENGTH, language: Language = ENGLISH) -> Piece:
    """The grammar of a code of that many signs, least and most; its tags are read by `code_values`."""
    least, most = length
    times = {w: int(n) for w, n in language.numbers.times.items()}
    rest = seq()
    after: list[Piece] = [rest]
    """after[n]: what may still be said where at most n signs may follow."""
    for room in range(1, most + 1):
        forms = [seq(_sign(language), after[room - 1])]
        forms += [seq(_several(w, n, language), after[room - n]) for w, n in times.items() if n <= room]
        rest = either(*forms)
        after.append(maybe(rest) if most - room >= least else rest)
    return after[most]


@lru_cache(maxsize=4)
def _sign(language: Language) -> Piece:
    signs = [word(w, ("sign", c)) for w, c in signs_of(language).items()]
    return either(*signs, word(OH, ("sign", OH))) if OH in language.numbers.digits else either(*signs)


@lru_cache(maxsize=8)
def _several(text: str, times: int, language: Language) -> Piece:
    return seq(word(text, ("sign times", str(times))), _sign(language))


def code_values(tags: tuple[Tag, ...]) -> tuple[str, ...]:
    """The code that a path spells, capitals and digits; two where "oh" may be the digit or the letter."""
    signs, times = "", 1
    unclear = False
    for tag in tags:
        if tag[0] == "sign times":
            times = int(tag[1])
        elif tag[0] == "sign":
            unclear |= tag[1] == "oh"
            signs += ("?" if tag[1] == "oh" else tag[1]) * times
            times = 1
    return (signs.replace("?", "0"), signs.replace("?", "O")) if unclear else (signs,)


def spelled_back(code: str, language: Language = ENGLISH) -> str:
    """The code as it is read back, by the alphabet in its official spelling.

    >>> spelled_back("N12A")
    'November one two Alfa'
    """
    return spelled(code, language)
